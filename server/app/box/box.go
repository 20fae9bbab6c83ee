package box

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/box", a.Page(a.boxes)).Methods("GET", "HEAD")
	r.Handle("/box/new", a.Page(a.newBox)).Methods("GET", "HEAD")
	r.Handle("/box/new", a.Page(a.saveBox)).Methods("POST")
	r.Handle("/box/fly/new", a.Page(a.newFly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/new", a.Page(a.saveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}", a.Page(a.fly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/{fly}/edit", a.Page(a.editFly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/{fly}/edit", a.Page(a.saveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/count", a.Page(a.countFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/move", a.Page(a.moveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/remove", a.Page(a.removeFly)).Methods("POST")
	r.Handle("/box/{box}", a.Page(a.box)).Methods("GET", "HEAD")
	r.Handle("/box/{box}/edit", a.Page(a.editBox)).Methods("GET", "HEAD")
	r.Handle("/box/{box}/edit", a.Page(a.saveBox)).Methods("POST")
	r.Handle("/box/{box}/remove", a.Page(a.removeBox)).Methods("POST")
}

// pageOfFlies is how many flies a list shows at once.
const pageOfFlies = 60

// boxes lists the boxes and all flies, narrowed by q.
func (a *section) boxes(r *http.Request, p screen.Asked) (screen.Result, error) {
	page := a.View(r, p, "box", catalog.For(p.Lang).S("box.title"))
	t := page.T
	q := screen.Search(r.URL.Query())
	from := max(screen.Atoi(r.URL.Query().Get("from")), 0)
	v := views.BoxesView{Page: page, Query: q}
	s := p.State
	for _, b := range s.Boxes() {
		v.Boxes = append(v.Boxes, views.BoxLine{
			Name: b.Name, Href: words.BoxHref(b.ID),
			Size:  t.F("box.size", catalog.Data{"Rows": b.Rows, "Slots": b.Columns}),
			Holds: t.N("flies", b.Count, nil),
		})
	}
	all := s.Patterns()
	var found []flybox.Fly
	for _, f := range all {
		if words.Matches(t, f, q) {
			found = append(found, f)
		}
	}
	v.Empty = len(all) == 0 && len(v.Boxes) == 0
	from = min(from, len(found))
	shown := found[from:min(from+pageOfFlies, len(found))]
	for _, f := range shown {
		v.Flies = append(v.Flies, words.FlyLine(page, s, f))
	}
	v.Showing = t.N("box.showing", len(found), catalog.Data{"All": len(all), "From": min(from+1, len(found)), "To": from + len(shown)})
	if from+len(shown) < len(found) {
		v.More = screen.WithQuery("/box", url.Values{"q": {q}, "from": {screen.Itoa(from + len(shown))}}.Encode())
	}
	return screen.Show(views.Boxes(v)), nil
}

// box shows the slots of one box as they lie.
func (a *section) box(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "box")
	page := a.View(r, p, "box", "")
	s := p.State
	b, ok := s.Box(id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	page.Title = b.Name
	t := page.T
	v := views.BoxView{
		Page: page, ID: string(id), Name: b.Name, Edit: words.BoxHref(id) + "/edit",
		Sub: t.F("box.size", catalog.Data{"Rows": b.Rows, "Slots": b.Columns}) + " · " + t.N("flies", b.Count, nil),
	}
	for row, cells := range b.Cells {
		sr := views.SlotRow{Name: screen.Itoa(row + 1)}
		for _, c := range cells {
			sr.Slots = append(sr.Slots, slotView(page, c))
		}
		v.Rows = append(v.Rows, sr)
	}
	for _, c := range b.Outside {
		for _, in := range c.Contents {
			if in.Known {
				v.Outside = append(v.Outside, words.FlyLine(page, s, in.Fly))
			}
		}
	}
	return screen.Show(views.Box(v)), nil
}

// slotView is one slot: the fly that belongs there, or the way to put one in.
func slotView(page views.Page, c flybox.Cell) views.SlotView {
	t := page.T
	at := catalog.Data{"Row": c.Place.Row, "Slot": c.Place.Slot}
	if len(c.Contents) == 0 {
		q := url.Values{"box": {string(c.Place.Box)}, "row": {screen.Itoa(c.Place.Row)}, "slot": {screen.Itoa(c.Place.Slot)}}
		return views.SlotView{Empty: true, Count: "+", Label: t.F("slot.empty", at), Href: screen.WithQuery("/box/fly/new", q.Encode())}
	}
	first := c.Contents[0]
	count, want := 0, 0
	names := make([]string, 0, len(c.Contents))
	for _, in := range c.Contents {
		count += in.Count
		want += in.Want
		name := in.Fly.Name
		if !in.Known {
			name = t.S("slot.unknown")
		}
		names = append(names, name)
	}
	at["Flies"], at["Count"], at["Want"] = strings.Join(names, ", "), count, want
	v := views.SlotView{Count: screen.Itoa(count), Low: count < want, Label: t.F("slot", at), Href: words.FlyHref(first.Pattern)}
	if len(c.Contents) > 1 {
		v.Count += " *"
	}
	if first.Known {
		v.Drawing = words.FlyMark(first.Fly.Pattern)
	}
	return v
}

// boxForm is the form for a box, with what was typed.
func (a *section) boxForm(r *http.Request, p screen.Asked, id journal.ID, b flybox.Box, typed url.Values, bad journal.Problems) views.BoxFormView {
	t := catalog.For(p.Lang)
	heading, back := t.S("box.new"), "/box"
	action := "/box/new"
	if id != "" {
		heading, back, action = t.F("box.change", catalog.Data{"Name": b.Name}), words.BoxHref(id), words.BoxHref(id)+"/edit"
	}
	v := views.BoxFormView{Page: a.View(r, p, "box", heading), Heading: heading, Action: action, Back: back, FormID: a.FormID(typed)}
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	v.Name = screen.FormField(v.Page, "box", "name", value("name", b.Name), bad)
	v.Rows = screen.FormField(v.Page, "box", "rows", value("rows", screen.Itoa(b.Rows)), bad)
	v.Columns = screen.FormField(v.Page, "box", "columns", value("columns", screen.Itoa(b.Columns)), bad)
	v.Problems = screen.ProblemList(v.Page, "box", bad)
	if id != "" {
		v.Remove = &views.PostForm{Action: words.BoxHref(id) + "/remove", Label: t.S("box.remove"), Fields: [][2]string{{"form", string(a.NewID())}}}
	}
	return v
}

func (a *section) newBox(r *http.Request, p screen.Asked) (screen.Result, error) {
	return screen.Show(views.BoxForm(a.boxForm(r, p, "", flybox.Box{Rows: 4, Columns: 6}, nil, nil))), nil
}

func (a *section) editBox(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "box")
	b, ok := findBox(p.State, id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.BoxForm(a.boxForm(r, p, id, b, nil, nil))), nil
}

func findBox(s *flybox.State, id journal.ID) (flybox.Box, bool) {
	l, ok := s.Box(id)
	return l.Box, ok
}

func (a *section) saveBox(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "box")
	old := flybox.Box{}
	if id != "" {
		var ok bool
		if old, ok = findBox(p.State, id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
	}
	b := old
	b.Name = strings.TrimSpace(r.PostForm.Get("name"))
	var bad journal.Problems
	b.Rows = screen.WholeNumber(r.PostForm, "rows", &bad)
	b.Columns = screen.WholeNumber(r.PostForm, "columns", &bad)
	form := a.Form(r)
	if b.ID == "" {
		b.ID = form.NewID()
	}
	bad = screen.Merge(bad, b.Check())
	if len(bad) > 0 {
		return screen.Retry(views.BoxForm(a.boxForm(r, p, id, old, r.PostForm, bad))), nil
	}
	err := a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{b}, nil })
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.BoxHref(b.ID), "saved", 0), nil
}

func (a *section) removeBox(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "box")
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) { return acts.RemoveBox(s, id) })
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/box", "removed", 0), nil
}
