package app

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *App) routeHatches(r *mux.Router) {
	r.Handle("/hatches", a.page(a.hatches)).Methods("GET", "HEAD")
	r.Handle("/hatches/new", a.page(a.newHatch)).Methods("GET", "HEAD")
	r.Handle("/hatches/new", a.page(a.saveHatch)).Methods("POST")
	r.Handle("/hatches/{id}/edit", a.page(a.editHatch)).Methods("GET", "HEAD")
	r.Handle("/hatches/{id}/edit", a.page(a.saveHatch)).Methods("POST")
	r.Handle("/hatches/{id}/remove", a.page(a.removeHatch)).Methods("POST")
}

func hatchesHref(id string) string { return "/hatches/" + url.PathEscape(id) }

// hatches lists the hatches that the reader added, of every region.
func (a *App) hatches(r *http.Request, p prefs) (result, error) {
	page := a.view(r, p, "setup", catalog.For(p.lang).S("own.title"))
	t := page.T
	v := views.HatchesView{Page: page}
	var list []flybox.Logged[flybox.Hatch]
	a.Ledger.View(func(s *flybox.State) { list = s.Hatches() })
	here := 0
	for _, l := range list {
		h := localHatch(l.Body)
		if h == nil {
			continue
		}
		line := views.OwnHatch{HatchLine: views.HatchLine{
			Name: h.Name(p.lang), Form: t.S("group." + string(h.Group)), Drawing: insect(h, &h.Forms[0], page, ""),
		}, Region: regionName(t, l.Body.Region), Edit: hatchesHref(l.Body.ID) + "/edit"}
		if l.Body.Region == p.region {
			if here++; here <= maxLocalHatches {
				line.Href = hatchHref(h.ID, "", &evidenceForm{})
			}
		}
		v.Lines = append(v.Lines, line)
	}
	if here > maxLocalHatches {
		v.Full = t.F("own.full", catalog.Data{"Count": maxLocalHatches})
	}
	return show(views.Hatches(v)), nil
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
func (a *App) newHatch(r *http.Request, p prefs) (result, error) {
	ans := p.answers(r.URL.Query())
	values := blankHatch(&ans.evidence, int(a.Now().Month()), p.units)
	return show(views.HatchForm(a.hatchForm(r, p, "", "", values, nil))), nil
}

// ownHatch is a hatch that the reader added.
func (a *App) ownHatch(id string) (b flybox.Hatch, h *hatchkeys.Hatch, ok bool) {
	a.Ledger.View(func(s *flybox.State) {
		var l flybox.Logged[flybox.Hatch]
		if l, ok = s.Hatch(id); ok {
			b = l.Body
		}
	})
	if ok {
		h = localHatch(b)
	}
	return b, h, ok && h != nil
}

func (a *App) editHatch(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["id"]
	_, h, ok := a.ownHatch(id)
	if !ok {
		return result{}, errNotFound
	}
	return show(views.HatchForm(a.changeForm(r, p, id, h, hatchValues(h, p.units), nil))), nil
}

// changeForm is the form for a hatch that is there, with what else can be done
// with it.
func (a *App) changeForm(r *http.Request, p prefs, id string, h *hatchkeys.Hatch, values url.Values, bad flybox.Problems) views.HatchFormView {
	v := a.hatchForm(r, p, id, h.Name(p.lang), values, bad)
	remove := a.button(hatchesHref(id)+"/remove", v.T.S("own.remove"))
	v.Remove = &remove
	name := h.Scientific
	if name == "" {
		name = h.Name("en")
	}
	v.PackText = hatchkeys.PackText(h, hatchkeys.Slug(name))
	return v
}

// saveHatch adds a hatch to the key of the reader's region, or changes one.
func (a *App) saveHatch(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["id"]
	b := flybox.Hatch{ID: id, Region: p.region}
	var old *hatchkeys.Hatch
	var before []byte
	if id != "" {
		var ok bool
		if b, old, ok = a.ownHatch(id); !ok {
			return result{}, errNotFound
		}
		before = b.Hatch
	}
	again := func(bad flybox.Problems) (result, error) {
		if old != nil {
			return retry(views.HatchForm(a.changeForm(r, p, id, old, r.PostForm, bad))), nil
		}
		return retry(views.HatchForm(a.hatchForm(r, p, "", "", r.PostForm, bad))), nil
	}
	h, bad := readHatch(r.PostForm, p.units, old)
	var err error
	if b.Hatch, err = json.Marshal(h); err != nil {
		return result{}, err
	}
	t := catalog.For(p.lang)
	if bad = merge(bad, formProblems(t, b.Check(), r.PostForm)); len(bad) > 0 {
		return again(bad)
	}
	// Written as it will be read: tidy, and every value with its source.
	h, _ = hatchkeys.ParseLocal(b.Hatch)
	h.ID = "" // the entry has it
	if b.Hatch, err = json.Marshal(h); err != nil {
		return result{}, err
	}
	if id == "" {
		b.ID = a.NewID()
	}
	err = a.once(r, func() error {
		if bytes.Equal(before, b.Hatch) {
			return nil // nothing was changed
		}
		_, err := a.Ledger.Record(r.Context(), b)
		return err
	})
	if list, is := asProblems(err); is {
		return again(formProblems(t, list, r.PostForm))
	}
	if err != nil {
		return result{}, err
	}
	return goTo("/hatches", "saved", 0), nil
}

func (a *App) removeHatch(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["id"]
	return a.removeOnce(r, id, "/hatches", func(s *flybox.State) bool {
		_, ok := s.Hatch(id)
		return ok
	})
}
