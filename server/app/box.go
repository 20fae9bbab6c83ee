package app

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/views"
	"dampstone/views/catalog"
)

// pageOfFlies is how many flies a list shows at once.
const pageOfFlies = 60

// boxes lists the boxes and all flies, narrowed by q.
func (a *App) boxes(r *http.Request, p prefs) (result, error) {
	page := a.view(r, p, "box", catalog.For(p.lang).S("box.title"))
	t := page.T
	q := strings.TrimSpace(clip(r.URL.Query().Get("q")))
	from := max(atoi(r.URL.Query().Get("from")), 0)
	v := views.BoxesView{Page: page, Query: q}
	a.Ledger.View(func(s *flybox.State) {
		for _, b := range s.Boxes() {
			v.Boxes = append(v.Boxes, views.BoxLine{
				Name: b.Name, Href: boxHref(b.ID),
				Size:  t.F("box.size", catalog.Data{"Rows": b.Rows, "Slots": b.Columns}),
				Holds: t.N("flies", b.Count, nil),
			})
		}
		all := s.Patterns()
		var found []flybox.Fly
		for _, f := range all {
			if matches(t, f, q) {
				found = append(found, f)
			}
		}
		v.Empty = len(all) == 0 && len(v.Boxes) == 0
		from = min(from, len(found))
		shown := found[from:min(from+pageOfFlies, len(found))]
		for _, f := range shown {
			v.Flies = append(v.Flies, flyLine(page, s, f))
		}
		v.Showing = t.N("box.showing", len(found), catalog.Data{"All": len(all), "From": min(from+1, len(found)), "To": from + len(shown)})
		if from+len(shown) < len(found) {
			v.More = withQuery("/box", url.Values{"q": {q}, "from": {itoa(from + len(shown))}}.Encode())
		}
	})
	return show(views.Boxes(v)), nil
}

// matches tells whether a fly has every word of q in its name, style or hook.
func matches(t *catalog.Text, f flybox.Fly, q string) bool {
	text := fold(f.Name + " " + t.S("style."+string(f.Style)) + " #" + itoa(f.Hook))
	for word := range strings.FieldsSeq(fold(q)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// fold makes text comparable without case and without Spanish accents.
var folder = strings.NewReplacer("á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u", "ü", "u", "ñ", "n")

func fold(s string) string { return folder.Replace(strings.ToLower(s)) }

func boxHref(id string) string { return "/box/" + url.PathEscape(id) }
func flyHref(id string) string { return "/box/fly/" + url.PathEscape(id) }

// flyLine is a fly in a list.
func flyLine(page views.Page, s *flybox.State, f flybox.Fly) views.FlyLine {
	line := views.FlyLine{
		Name: f.Name, Href: flyHref(f.ID), Drawing: flyDrawing(f.Pattern, page, ""),
		Fit: styleText(page, f.Pattern), Left: leftText(page.T, f.Left), None: f.Left <= 0,
	}
	for _, pl := range s.Places(f.ID) {
		if pl.Count != 0 {
			line.Places = append(line.Places, views.PlaceLine{Where: placeText(page.T, pl), Count: itoa(pl.Count)})
		}
	}
	return line
}

// styleText is the style, hook and length in a line.
func styleText(page views.Page, b flybox.Pattern) string {
	text := page.T.S("style." + string(b.Style))
	if b.Hook != 0 {
		text += " #" + itoa(b.Hook)
	}
	if mm, _ := b.LengthMM(); mm > 0 {
		text += ", " + page.U.Length(mm)
	}
	return text
}

func leftText(t *catalog.Text, n int) string {
	if n < 0 {
		return t.F("left.negative", catalog.Data{"Count": n})
	}
	if n == 0 {
		return t.S("left.none")
	}
	return t.N("left", n, nil)
}

// placeText says where flies are.
func placeText(t *catalog.Text, pl flybox.Placement) string {
	switch {
	case pl.Place == flybox.Loose:
		return t.S("place.loose")
	case pl.Gone:
		return t.F("place.gone", catalog.Data{"Row": pl.Place.Row, "Slot": pl.Place.Slot})
	}
	return t.F("place", catalog.Data{"Box": pl.BoxName, "Row": pl.Place.Row, "Slot": pl.Place.Slot})
}

// box shows the slots of one box as they lie.
func (a *App) box(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["box"]
	var v views.BoxView
	found := false
	page := a.view(r, p, "box", "")
	a.Ledger.View(func(s *flybox.State) {
		b, ok := s.Box(id)
		if !ok {
			return
		}
		found = true
		page.Title = b.Name
		t := page.T
		v = views.BoxView{
			Page: page, ID: id, Name: b.Name, Edit: boxHref(id) + "/edit",
			Sub: t.F("box.size", catalog.Data{"Rows": b.Rows, "Slots": b.Columns}) + " · " + t.N("flies", b.Count, nil),
		}
		for row, cells := range b.Cells {
			sr := views.SlotRow{Name: itoa(row + 1)}
			for _, c := range cells {
				sr.Slots = append(sr.Slots, slotView(page, c))
			}
			v.Rows = append(v.Rows, sr)
		}
		for _, c := range b.Outside {
			for _, in := range c.Contents {
				if in.Known {
					v.Outside = append(v.Outside, flyLine(page, s, in.Fly))
				}
			}
		}
	})
	if !found {
		return result{}, errNotFound
	}
	return show(views.Box(v)), nil
}

// slotView is one slot: the fly that belongs there, or the way to put one in.
func slotView(page views.Page, c flybox.Cell) views.SlotView {
	t := page.T
	at := catalog.Data{"Row": c.Place.Row, "Slot": c.Place.Slot}
	if len(c.Contents) == 0 {
		q := url.Values{"box": {c.Place.Box}, "row": {itoa(c.Place.Row)}, "slot": {itoa(c.Place.Slot)}}
		return views.SlotView{Empty: true, Count: "+", Label: t.F("slot.empty", at), Href: withQuery("/box/fly/new", q.Encode())}
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
	v := views.SlotView{Count: itoa(count), Low: count < want, Label: t.F("slot", at), Href: flyHref(first.Pattern)}
	if len(c.Contents) > 1 {
		v.Count += " *"
	}
	if first.Known {
		v.Drawing = flyMark(first.Fly.Pattern)
	}
	return v
}

// boxForm is the form for a box, with what was typed.
func (a *App) boxForm(r *http.Request, p prefs, id string, b flybox.Box, typed url.Values, bad flybox.Problems) views.BoxFormView {
	t := catalog.For(p.lang)
	heading, back := t.S("box.new"), "/box"
	action := "/box/new"
	if id != "" {
		heading, back, action = t.F("box.change", catalog.Data{"Name": b.Name}), boxHref(id), boxHref(id)+"/edit"
	}
	v := views.BoxFormView{Page: a.view(r, p, "box", heading), Heading: heading, Action: action, Back: back, FormID: a.formID(typed)}
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	v.Name = formField(v.Page, "box", "name", value("name", b.Name), bad)
	v.Rows = formField(v.Page, "box", "rows", value("rows", itoa(b.Rows)), bad)
	v.Columns = formField(v.Page, "box", "columns", value("columns", itoa(b.Columns)), bad)
	v.Problems = problemList(v.Page, "box", bad)
	if id != "" {
		v.Remove = &views.PostForm{Action: boxHref(id) + "/remove", Label: t.S("box.remove"), Fields: [][2]string{{"form", a.NewID()}}}
	}
	return v
}

func (a *App) newBox(r *http.Request, p prefs) (result, error) {
	return show(views.BoxForm(a.boxForm(r, p, "", flybox.Box{Rows: 4, Columns: 6}, nil, nil))), nil
}

func (a *App) editBox(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["box"]
	b, ok := a.findBox(id)
	if !ok {
		return result{}, errNotFound
	}
	return show(views.BoxForm(a.boxForm(r, p, id, b, nil, nil))), nil
}

func (a *App) findBox(id string) (b flybox.Box, ok bool) {
	a.Ledger.View(func(s *flybox.State) {
		var v flybox.BoxView
		if v, ok = s.Box(id); ok {
			b = v.Box
		}
	})
	return b, ok
}

func (a *App) saveBox(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["box"]
	old := flybox.Box{}
	if id != "" {
		var ok bool
		if old, ok = a.findBox(id); !ok {
			return result{}, errNotFound
		}
	}
	b := old
	b.Name = strings.TrimSpace(r.PostForm.Get("name"))
	var bad flybox.Problems
	b.Rows = wholeNumber(r.PostForm, "rows", &bad)
	b.Columns = wholeNumber(r.PostForm, "columns", &bad)
	if b.ID == "" {
		b.ID = a.NewID()
	}
	bad = merge(bad, b.Check())
	if len(bad) > 0 {
		return retry(views.BoxForm(a.boxForm(r, p, id, old, r.PostForm, bad))), nil
	}
	err := a.once(r, func() error {
		_, err := a.Ledger.Record(r.Context(), b)
		return err
	})
	if err != nil {
		return result{}, err
	}
	return goTo(boxHref(b.ID), "saved", 0), nil
}

func (a *App) removeBox(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["box"]
	if _, ok := a.findBox(id); !ok {
		return result{}, errNotFound
	}
	err := a.once(r, func() error {
		// The flies in it become loose, so that none is lost with the box.
		_, err := a.Ledger.RecordWith(r.Context(), func(s *flybox.State) ([]flybox.Body, error) {
			return append(emptyBox(s, id), flybox.Deleted{Target: id}), nil
		})
		return err
	})
	if err != nil {
		return result{}, err
	}
	return goTo("/box", "removed", 0), nil
}

// emptyBox takes all flies out of a box and its slots from their patterns.
func emptyBox(s *flybox.State, id string) []flybox.Body {
	var bodies []flybox.Body
	b, _ := s.Box(id)
	cells := b.Outside
	for _, row := range b.Cells {
		cells = append(cells, row...)
	}
	for _, c := range cells {
		for _, in := range c.Contents {
			if in.Count != 0 {
				bodies = append(bodies, flybox.MoveFlies(in.Pattern, c.Place, flybox.Loose, in.Count)...)
			}
		}
		bodies = append(bodies, s.Unassign(c.Place, "")...)
	}
	return bodies
}
