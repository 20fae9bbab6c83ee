package box

import (
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys/colour"

	"dampstone/flybox"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// newFly shows the form, filled in from the address: a slot, or what the key
// suggests to tie.
func (a *section) newFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	q := r.URL.Query()
	in := acts.FlyInput{Pattern: flybox.Pattern{
		Parent: screen.IDIn(q, "parent"), Name: screen.ClipName(q.Get("name")), Style: flybox.Style(q.Get("style")), Hook: screen.Atoi(q.Get("hook")),
		Body: q.Get("body"), Wing: q.Get("wing"), Under: q.Get("under"), Floats: flybox.Float(q.Get("floats")),
	}}
	in.Pattern.Length, _ = p.Units.ParseLength(q.Get("length_mm"))
	in.Pattern.Shank, _ = strconv.ParseFloat(q.Get("shank"), 64)
	in.Place = flybox.Place{Box: screen.IDIn(q, "box"), Row: screen.Atoi(q.Get("row")), Slot: screen.Atoi(q.Get("slot"))}
	v := a.flyForm(r, p, "", in, nil, nil)
	v.Lead = words.ChangeLead(v.T, q)
	return screen.Show(views.FlyForm(v)), nil
}

func (a *section) editFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "fly")
	in, ok := acts.FlyNow(p.State, id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	// What the address says to change is filled in, not saved.
	q := r.URL.Query()
	if mm, err := p.Units.ParseLength(q.Get("length_mm")); err == nil {
		in.Pattern.Length = mm
	}
	for name, into := range map[string]*string{"body": &in.Pattern.Body, "under": &in.Pattern.Under} {
		if ok := colour.Valid(q.Get(name)); ok {
			*into = q.Get(name)
		}
	}
	if fl := flybox.Float(q.Get("floats")); slices.Contains(flybox.Floats, fl) {
		in.Pattern.Floats = fl
	}
	v := a.flyForm(r, p, id, in, nil, nil)
	v.Lead = words.ChangeLead(v.T, q)
	return screen.Show(views.FlyForm(v)), nil
}

// flyForm is the form with a fly in it, or with what was typed.
func (a *section) flyForm(r *http.Request, p screen.Asked, id journal.ID, in acts.FlyInput, typed url.Values, bad journal.Problems) views.FlyFormView {
	t := catalog.For(p.Lang)
	v := views.FlyFormView{Heading: t.S("fly.new"), Action: "/box/fly/new", Back: "/box", New: id == "", FormID: a.FormID(typed), Parent: string(in.Pattern.Parent)}
	if id != "" {
		v.Heading, v.Action, v.Back = t.F("fly.change", catalog.Data{"Name": in.Pattern.Name}), words.FlyHref(id)+"/edit", words.FlyHref(id)
	}
	page := a.View(r, p, "box", v.Heading)
	v.Page = page
	v.Problems = screen.ProblemList(page, "fly", bad)
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	f := func(name, kept string) views.Field {
		return screen.FormField(page, "fly", name, value(name, kept), bad)
	}
	number := func(n int) string {
		if n == 0 {
			return ""
		}
		return screen.Itoa(n)
	}
	b := in.Pattern
	v.Name = f("name", b.Name)
	v.Style = views.Choices{Field: f("style", string(b.Style))}
	for _, s := range flybox.Styles {
		v.Style.Options = append(v.Style.Options, views.Option{Value: string(s), Label: t.S("style." + string(s)), Chosen: string(s) == v.Style.Value})
	}
	v.Hook = views.Choices{Field: f("hook", number(b.Hook))}
	v.Hook.Options = append(v.Hook.Options, views.Option{Value: "", Label: t.S("fly.hook.none"), Chosen: v.Hook.Value == ""})
	for h := flybox.MinHook; h <= flybox.MaxHook; h++ {
		if h > 12 && h%2 == 1 && screen.Itoa(h) != v.Hook.Value {
			continue // small hooks come in even sizes
		}
		v.Hook.Options = append(v.Hook.Options, views.Option{Value: screen.Itoa(h), Label: "#" + screen.Itoa(h), Chosen: screen.Itoa(h) == v.Hook.Value})
	}
	v.Shank = views.Choices{Field: f("shank", words.ShankValue(words.NearestShank(b.Shank)))}
	for _, n := range words.Shanks {
		o := views.Option{Value: words.ShankValue(n), Label: t.S("fly.shank.standard"), Chosen: words.ShankValue(n) == v.Shank.Value}
		if n > 0 {
			o.Label = t.F("fly.shank.long", catalog.Data{"N": n})
		}
		v.Shank.Options = append(v.Shank.Options, o)
	}
	length := ""
	if b.Length > 0 {
		length = page.U.LengthNumber(b.Length)
	}
	v.Length = f("length_mm", length)
	v.Length.Unit = page.U.LengthUnit()
	v.Body = f("body", screen.Or(b.Body, "#b08d45"))
	v.Wing = f("wing", screen.Or(b.Wing, "#d8d2c4"))
	v.Under = f("under", screen.Or(b.Under, screen.Or(b.Body, "#b08d45")))
	v.Differs = b.Under != "" && b.Under != b.Body
	if typed != nil {
		v.Differs = typed.Get("differs") != ""
	}
	v.Floats = views.Choices{Field: f("floats", string(b.Floats))}
	v.Floats.Options = append(v.Floats.Options, views.Option{Value: "", Label: t.S("floats.style"), Chosen: v.Floats.Value == ""})
	for _, fl := range flybox.Floats {
		v.Floats.Options = append(v.Floats.Options, views.Option{Value: string(fl), Label: t.S("floats." + string(fl)), Chosen: string(fl) == v.Floats.Value})
	}
	v.Bead = views.Choices{Field: f("bead", string(b.Bead))}
	v.Bead.Options = append(v.Bead.Options, views.Option{Value: "", Label: t.S("fly.bead.none"), Chosen: v.Bead.Value == ""})
	for _, bead := range flybox.Beads {
		v.Bead.Options = append(v.Bead.Options, views.Option{Value: string(bead), Label: t.S("fly.bead." + string(bead)), Chosen: string(bead) == v.Bead.Value})
	}
	bead := ""
	if b.BeadMM > 0 {
		bead = page.U.Number(b.BeadMM, 2)
	}
	v.BeadMM = f("bead_mm", bead)
	v.BeadMM.Unit = "mm" // in which beads are sold everywhere
	v.Wire, v.Jig = f("wire", ticked(b.Wire)), f("jig", ticked(b.Jig))
	v.Box = views.Choices{Field: f("box", string(in.Place.Box))}
	v.Box.Options = append(v.Box.Options, views.Option{Value: "", Label: t.S("place.loose"), Chosen: v.Box.Value == ""})
	s := p.State
	for _, bx := range s.Boxes() {
		label := bx.Name + " (" + t.F("box.size", catalog.Data{"Rows": bx.Rows, "Slots": bx.Columns}) + ")"
		id := string(bx.ID)
		v.Box.Options = append(v.Box.Options, views.Option{Value: id, Label: label, Chosen: id == v.Box.Value})
	}
	v.Row, v.Slot = f("row", number(in.Place.Row)), f("slot", number(in.Place.Slot))
	v.Count, v.Want = f("count", number(in.Count)), f("want", number(in.Want))
	v.Notes = f("notes", b.Notes)
	return v
}

// ticked is the value of a box that is ticked or not.
func ticked(yes bool) string {
	if yes {
		return "yes"
	}
	return ""
}

// readFly reads the form. What is wrong is in the problems.
func readFly(f url.Values, u measure.Units) (in acts.FlyInput, bad journal.Problems) {
	b := &in.Pattern
	b.Name, b.Notes, b.Parent = strings.TrimSpace(f.Get("name")), strings.ReplaceAll(f.Get("notes"), "\r\n", "\n"), screen.IDIn(f, "parent")
	b.Style, b.Floats = flybox.Style(f.Get("style")), flybox.Float(f.Get("floats"))
	b.Hook = screen.OptionalNumber(f, "hook", &bad)
	b.Body, b.Wing, b.Under = f.Get("body"), f.Get("wing"), ""
	if f.Get("differs") != "" { // a field for a colour is never empty
		b.Under = f.Get("under")
	}
	if s := f.Get("shank"); s != "" {
		x, err := measure.Parse(s)
		if err != nil {
			bad = append(bad, journal.Problem{Field: "shank", Code: screen.CodeNotNumber, Detail: journal.Detail{Got: journal.Of(screen.Clip(s))}})
		}
		if math.Abs(x-1) > 1e-6 {
			b.Shank = x
		}
	}
	if s := strings.TrimSpace(f.Get("length_mm")); s != "" {
		mm, err := u.ParseLength(s)
		switch {
		case err != nil:
			bad = append(bad, journal.Problem{Field: "length_mm", Code: screen.CodeNotNumber, Detail: journal.Detail{Got: journal.Of(screen.Clip(s))}})
		case mm < flybox.MinLengthMM || mm > flybox.MaxLengthMM:
			bad = append(bad, journal.Problem{Field: "length_mm", Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(flybox.MinLengthMM), Max: journal.Of(flybox.MaxLengthMM), Got: journal.Of(mm)}})
		default:
			b.Length = mm
		}
	}
	b.Bead, b.Wire, b.Jig = flybox.Bead(f.Get("bead")), f.Get("wire") != "", f.Get("jig") != ""
	if mm, given := screen.OptionalDecimal(f, "bead_mm", measure.Parse, &bad); given {
		b.BeadMM = mm
	}
	in.Count = screen.OptionalNumber(f, "count", &bad)
	screen.InRange("count", in.Count, 0, flybox.MaxCount, &bad)
	in.Want = screen.OptionalNumber(f, "want", &bad)
	screen.InRange("want", in.Want, 0, flybox.MaxCount, &bad)
	if box := screen.IDIn(f, "box"); box != "" {
		in.Place.Box = box
		if strings.TrimSpace(f.Get("row")+f.Get("slot")) != "" { // else the first that is free
			in.Place.Row = screen.WholeNumber(f, "row", &bad)
			in.Place.Slot = screen.WholeNumber(f, "slot", &bad)
		}
	}
	return in, screen.Merge(bad, b.Check())
}

// codeBoxFull says that no slot of the box is free.
const codeBoxFull = "box-full"

// saveFly adds a fly or a revision of it.
func (a *section) saveFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "fly")
	var old acts.FlyInput
	if id != "" {
		var ok bool
		if old, ok = acts.FlyNow(p.State, id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
	}
	in, bad := readFly(r.PostForm, p.Units)
	in.Pattern.Wings = old.Pattern.Wings // not on the form
	if !r.PostForm.Has("bead") {         // a form from before there were any
		o := old.Pattern
		in.Pattern.Bead, in.Pattern.BeadMM, in.Pattern.Wire, in.Pattern.Jig = o.Bead, o.BeadMM, o.Wire, o.Jig
	}
	if old.Pattern.Length > 0 && r.PostForm.Get("length_mm") == p.Units.LengthNumber(old.Pattern.Length) {
		in.Pattern.Length = old.Pattern.Length // shown rounded, not changed
	}
	if in.Place.Box != "" {
		if b, ok := findBox(p.State, in.Place.Box); !ok {
			bad = append(bad, journal.Problem{Field: "box", Code: journal.CodeUnknown})
		} else if in.Place.Row == 0 && in.Place.Slot == 0 && bad.Field("row") == nil && bad.Field("slot") == nil {
			if free, ok := acts.FreeSlot(p.State, in.Place.Box); ok {
				in.Place = free
			} else {
				bad = append(bad, journal.Problem{Field: "row", Code: codeBoxFull})
			}
		} else {
			screen.InRange("row", in.Place.Row, 1, b.Rows, &bad)
			screen.InRange("slot", in.Place.Slot, 1, b.Columns, &bad)
		}
	}
	if len(bad) > 0 {
		in.Pattern.Name = screen.Or(old.Pattern.Name, in.Pattern.Name)
		return screen.Retry(views.FlyForm(a.flyForm(r, p, id, in, r.PostForm, bad))), nil
	}
	form := a.Form(r)
	if in.Pattern.ID = id; id == "" {
		in.Pattern.ID = form.NewID()
	}
	err := a.Record(r, form, func(s *flybox.State) ([]flybox.Body, error) { return acts.SaveFly(s, in, old), nil })
	if list, is := screen.AsProblems(err); is {
		return screen.Retry(views.FlyForm(a.flyForm(r, p, id, in, r.PostForm, list))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	if id == "" {
		to := "/box"
		if in.Place.Box != "" {
			to = words.BoxHref(in.Place.Box)
		}
		return screen.GoTo(to, "added", in.Count), nil
	}
	return screen.GoTo(words.FlyHref(id), "saved", 0), nil
}
