package bank

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/packtext"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) routeHatches(r *mux.Router) {
	r.Handle("/hatches", a.Page(a.hatches)).Methods("GET", "HEAD")
	r.Handle("/hatches/new", a.Page(a.newHatch)).Methods("GET", "HEAD")
	r.Handle("/hatches/new", a.Page(a.saveHatch)).Methods("POST")
	r.Handle("/hatches/{id}/edit", a.Page(a.editHatch)).Methods("GET", "HEAD")
	r.Handle("/hatches/{id}/edit", a.Page(a.saveHatch)).Methods("POST")
	r.Handle("/hatches/{id}/remove", a.Page(a.removeHatch)).Methods("POST")
}

func hatchesHref(id journal.ID) string { return "/hatches/" + url.PathEscape(string(id)) }

// hatches lists the hatches that the reader added, of every region.
func (a *section) hatches(r *http.Request, p screen.Asked) (screen.Result, error) {
	page := a.View(r, p, "setup", catalog.For(p.Lang).S("own.title"))
	t := page.T
	v := views.HatchesView{Page: page}
	list := p.State.Hatches()
	here := 0
	for _, l := range list {
		h := caches.LocalHatch(l.Body)
		if h == nil {
			continue
		}
		line := views.OwnHatch{HatchLine: views.HatchLine{
			Name: h.Name(p.Lang), Form: t.S("group." + string(h.Group)), Drawing: words.Insect(h, &h.Forms[0], page, ""),
		}, Region: regionName(t, l.Body.Region), Edit: hatchesHref(l.Body.ID) + "/edit"}
		if l.Body.Region == p.Region {
			if here++; here <= caches.MaxLocalHatches {
				line.Href = words.HatchHref(h.ID, "", &screen.EvidenceForm{})
			}
		}
		v.Lines = append(v.Lines, line)
	}
	if here > caches.MaxLocalHatches {
		v.Full = t.F("own.full", catalog.Data{"Count": caches.MaxLocalHatches})
	}
	return screen.Show(views.Hatches(v)), nil
}

// regionName is the name of a region, or its id where it is not known here.
func regionName(t *catalog.Text, id string) string {
	if t.Has("region." + id) {
		return t.S("region." + id)
	}
	return id
}

// newHatch shows the form, filled in with answers of the key if the address
// has some.
func (a *section) newHatch(r *http.Request, p screen.Asked) (screen.Result, error) {
	ans := p.Answers(r.URL.Query())
	values := blankHatch(&ans.Evidence, int(a.Now().Month()), p.Units)
	return screen.Show(views.HatchForm(a.hatchForm(r, p, "", "", values, nil))), nil
}

// ownHatch is a hatch that the reader added.
func ownHatch(s *flybox.State, id journal.ID) (b flybox.Hatch, h *hatchkeys.Hatch, ok bool) {
	l, ok := s.Hatch(id)
	if ok {
		h = caches.LocalHatch(l.Body)
	}
	return l.Body, h, h != nil
}

func (a *section) editHatch(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "id")
	_, h, ok := ownHatch(p.State, id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.HatchForm(a.changeForm(r, p, id, h, hatchValues(h, p.Units), nil))), nil
}

// changeForm is the form for a hatch that is there, with what else can be done
// with it.
func (a *section) changeForm(r *http.Request, p screen.Asked, id journal.ID, h *hatchkeys.Hatch, values url.Values, bad journal.Problems) views.HatchFormView {
	v := a.hatchForm(r, p, id, h.Name(p.Lang), values, bad)
	remove := a.Button(hatchesHref(id)+"/remove", v.T.S("own.remove"))
	v.Remove = &remove
	name := h.Scientific
	if name == "" {
		name = h.Name("en")
	}
	v.PackText = packtext.PackText(h, packtext.Slug(name))
	return v
}

// saveHatch adds a hatch to the key of the reader's region, or changes one.
func (a *section) saveHatch(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "id")
	b := flybox.Hatch{ID: id, Region: p.Region}
	var old *hatchkeys.Hatch
	var before []byte
	if id != "" {
		var ok bool
		if b, old, ok = ownHatch(p.State, id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
		before = b.Hatch
	}
	again := func(bad journal.Problems) (screen.Result, error) {
		if old != nil {
			return screen.Retry(views.HatchForm(a.changeForm(r, p, id, old, r.PostForm, bad))), nil
		}
		return screen.Retry(views.HatchForm(a.hatchForm(r, p, "", "", r.PostForm, bad))), nil
	}
	h, bad := readHatch(r.PostForm, p.Units, old)
	var err error
	if b.Hatch, err = json.Marshal(h); err != nil {
		return screen.Result{}, err
	}
	t := catalog.For(p.Lang)
	tidy, wrong := hatchkeys.ParseLocal(b.Hatch)
	if len(bad) > 0 || len(wrong) > 0 {
		return again(screen.Merge(bad, formProblems(t, b.Check(), r.PostForm)))
	}
	// Written as it will be read: tidy, and every value with its source.
	tidy.ID = "" // the entry has it
	if b.Hatch, err = json.Marshal(tidy); err != nil {
		return screen.Result{}, err
	}
	form := a.Form(r)
	if id == "" {
		b.ID = form.NewID()
	}
	err = a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) {
		if bytes.Equal(before, b.Hatch) {
			return nil, nil // nothing was changed
		}
		return []flybox.Body{b}, nil
	})
	if list, is := screen.AsProblems(err); is {
		return again(formProblems(t, list, r.PostForm))
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/hatches", "saved", 0), nil
}

func (a *section) removeHatch(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "id")
	return a.Remove(r, id, "/hatches", func(s *flybox.State) bool {
		_, ok := s.Hatch(id)
		return ok
	})
}
