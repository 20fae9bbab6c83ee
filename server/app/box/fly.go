package box

import (
	"net/http"
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// fly is one fly: where it is, how many are left, what can be done.
func (a *section) fly(r *http.Request, p screen.Asked) (screen.Result, error) {
	v, ok, err := a.flyView(r, p, screen.PathID(r, "fly"), nil, nil)
	if err != nil {
		return screen.Result{}, err
	}
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.Fly(v)), nil
}

func (a *section) flyView(r *http.Request, p screen.Asked, id journal.ID, typed url.Values, bad journal.Problems) (v views.FlyView, ok bool, err error) {
	page := a.View(r, p, "box", "")
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return v, false, err
	}
	box := a.Flies(p.State, key)
	s := p.State
	f, ok := s.Pattern(id)
	if !ok {
		return v, false, nil
	}
	page.Title = f.Name
	t := page.T
	v = views.FlyView{
		Page: page, Name: f.Name, Sub: words.StyleText(page, f.Pattern), Notes: f.Notes,
		Drawing: words.FlyDrawing(f.Pattern, page, t.F("draw.fly", catalog.Data{"Name": f.Name})),
		Left:    words.LeftText(t, f.Left), Edit: words.FlyHref(id) + "/edit", Facts: flyFacts(page, f.Pattern),
		Remove: a.Button(words.FlyHref(id)+"/remove", t.S("fly.remove")), Foam: words.FoamHref(f.Pattern, id),
	}
	for _, pl := range s.Places(id) {
		place := a.placeView(t, id, pl, s)
		if pl.Place == flybox.Loose {
			if pl.Count != 0 {
				v.Loose = &place
			}
		} else if pl.Count != 0 || !pl.Gone {
			v.Places = append(v.Places, place)
		}
	}
	for _, rev := range s.Lineage(id) {
		if rev.Rev != f.Rev {
			v.Lineage = append(v.Lineage, views.LineageLine{When: screen.DayTime(page, rev.At.Time().In(a.Now().Location())), What: rev.Name + ", " + words.StyleText(page, rev.Pattern)})
		}
	}
	v.CountForm = a.countForm(page, s, id, typed, bad)
	if f.Left > 0 {
		fish := a.Button("/day/fly", t.S("day.fish"), [2]string{"fly", string(id)})
		v.Fish = &fish
	}
	v.Fished = words.FishedLines(page, s, key, box, f)
	v.Recipe = words.RecipeView(page, s, id)
	v.Suits = words.Suits(box, v.Page, id)
	return v, ok, nil
}

// flyFacts are the details of a fly in lines.
func flyFacts(page views.Page, b flybox.Pattern) []string {
	t := page.T
	out := []string{t.S("style." + string(b.Style))}
	if b.Hook != 0 {
		text := t.F("fly.hook", catalog.Data{"Hook": b.Hook})
		if b.Shank > 0 && b.Shank != 1 {
			text += ", " + t.F("fly.shank", catalog.Data{"Times": page.U.Number(b.Shank, 2)})
		}
		out = append(out, text)
	}
	if mm, estimated := match.LengthMM(b); mm > 0 {
		id := "fly.length"
		if estimated {
			id = "fly.length.estimate"
		}
		out = append(out, t.F(id, catalog.Data{"Length": page.U.Length(mm)}))
	}
	if b.Bead != "" {
		text := t.S("fly.bead." + string(b.Bead))
		if b.BeadMM > 0 {
			text = t.F("fly.bead.size", catalog.Data{"Bead": text, "Size": page.U.Number(b.BeadMM, 2)})
		}
		out = append(out, text)
	}
	if b.Wire {
		out = append(out, t.S("fly.wire"))
	}
	if b.Jig {
		out = append(out, t.S("fly.jig"))
	}
	if b.Floats != "" {
		out = append(out, t.S("floats."+string(b.Floats)))
	}
	return out
}

// placeView is a place with what can be done there: take one out to fish it,
// put it back, lose it.
func (a *section) placeView(t *catalog.Text, id journal.ID, pl flybox.Placement, s *flybox.State) views.PlaceView {
	v := views.PlaceView{Where: words.PlaceText(t, pl), Count: screen.Itoa(pl.Count)}
	do := func(what string, at flybox.Place) {
		fields := append(words.PlaceFields(at), [2]string{"do", what})
		v.Does = append(v.Does, a.Button(words.FlyHref(id)+"/move", t.S("do."+what), fields...))
	}
	if pl.Place != flybox.Loose {
		if pl.Count > 0 {
			do("take", pl.Place)
		}
		if !pl.Gone {
			do("tied", pl.Place)
		}
		return v
	}
	if pl.Count > 0 {
		if home, ok := acts.HomeOf(s, id); ok {
			do("back", home)
		}
		do("lost", flybox.Loose)
		do("given", flybox.Loose)
	}
	return v
}

// moveFly does what the buttons of a place say.
func (a *section) moveFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "fly")
	f := r.PostForm
	at := flybox.Place{Box: screen.IDIn(f, "box"), Row: screen.Atoi(f.Get("row")), Slot: screen.Atoi(f.Get("slot"))}
	does := map[string]struct {
		did  string
		plan func(*flybox.State) ([]flybox.Body, error)
	}{
		"take":  {"taken", func(s *flybox.State) ([]flybox.Body, error) { return acts.TakeOut(s, id, at) }},
		"back":  {"back", func(s *flybox.State) ([]flybox.Body, error) { return acts.PutBack(s, id, at) }},
		"lost":  {"lost", func(s *flybox.State) ([]flybox.Body, error) { return acts.CountOff(s, id, at, flybox.WhyLost) }},
		"given": {"given", func(s *flybox.State) ([]flybox.Body, error) { return acts.CountOff(s, id, at, flybox.WhyGiven) }},
		"tied":  {"added", func(s *flybox.State) ([]flybox.Body, error) { return acts.CountOn(s, id, at) }},
	}
	do, ok := does[f.Get("do")]
	if !ok {
		return screen.Result{}, screen.ErrBadForm
	}
	if err := a.Record(r, a.Form(r), do.plan); err != nil {
		return screen.Result{}, err
	}
	to := words.FlyHref(id)
	if back := f.Get("back"); strings.HasPrefix(back, "/hatch/") || back == "/" || strings.HasPrefix(back, "/?") {
		to = back
	}
	return screen.GoTo(to, do.did, a.Ledger.State().Count(id)), nil
}

// countForm counts, adds or takes away several at once.
func (a *section) countForm(page views.Page, s *flybox.State, id journal.ID, typed url.Values, bad journal.Problems) views.CountForm {
	t := page.T
	c := views.CountForm{Action: words.FlyHref(id) + "/count", FormID: a.FormID(typed), Problems: screen.ProblemList(page, "count", bad)}
	why := typed.Get("why")
	if why == "" {
		why = string(flybox.WhyCounted)
	}
	c.Why = views.Choices{Field: screen.FormField(page, "count", "why", why, bad)}
	for _, w := range flybox.Whys {
		if w != flybox.WhyMoved {
			c.Why.Options = append(c.Why.Options, views.Option{Value: string(w), Label: t.S("why." + string(w)), Chosen: string(w) == why})
		}
	}
	c.Place = views.Choices{Field: screen.FormField(page, "count", "place", typed.Get("place"), bad)}
	loose := false
	for _, pl := range s.Places(id) {
		loose = loose || pl.Place == flybox.Loose
		c.Place.Options = append(c.Place.Options, placeOption(t, pl, typed.Get("place")))
	}
	if !loose {
		c.Place.Options = append(c.Place.Options, placeOption(t, flybox.Placement{}, typed.Get("place")))
	}
	c.Count = screen.FormField(page, "count", "count", typed.Get("count"), bad)
	return c
}

func placeOption(t *catalog.Text, pl flybox.Placement, chosen string) views.Option {
	v := words.PlaceValue(pl.Place)
	return views.Option{Value: v, Label: words.PlaceText(t, pl) + " (" + screen.Itoa(pl.Count) + ")", Chosen: v == chosen}
}

func (a *section) countFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "fly")
	f := r.PostForm
	var bad journal.Problems
	n := screen.WholeNumber(f, "count", &bad)
	screen.InRange("count", n, 0, flybox.MaxCount, &bad)
	at, ok := words.ParsePlace(f.Get("place"))
	if !ok {
		bad = append(bad, journal.Problem{Field: "place", Code: journal.CodeUnknown})
	}
	why := flybox.Why(f.Get("why"))
	plan := func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Pattern(id); !ok {
			return nil, screen.ErrNotFound
		}
		move := acts.Counted(s, id, at, n)
		if why != flybox.WhyCounted {
			move = flybox.StockMove{Pattern: id, Place: move.Place, Delta: n, Why: why}
			if why != flybox.WhyTied && why != flybox.WhyBought {
				move.Delta = -n
				screen.InRange("count", n, 0, max(s.CountAt(id, at), 0), &bad)
			}
			screen.InRange("count", n, 1, flybox.MaxCount, &bad)
		}
		bad = screen.Merge(bad, move.Check())
		if len(bad) > 0 {
			return nil, bad
		}
		return []flybox.Body{move}, nil
	}
	err := a.Record(r, a.Form(r), plan)
	if list, is := screen.AsProblems(err); is {
		v, found, err := a.flyView(r, p, id, f, list)
		if err != nil || !found {
			return screen.Result{}, screen.ErrNotFound
		}
		return screen.Retry(views.Fly(v)), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.FlyHref(id), "counted", a.Ledger.State().Count(id)), nil
}

func (a *section) removeFly(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "fly")
	return a.Remove(r, id, "/box", func(s *flybox.State) bool {
		_, ok := s.Pattern(id)
		return ok
	})
}
