package day

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// startForm starts an outing, filled in from the last one.
func (a *section) startForm(page views.Page, s *flybox.State, key *hatchkeys.Key, q, typed url.Values, bad journal.Problems) views.OutingForm {
	last := flybox.Outing{Rods: 1}
	if all := s.Outings(); len(all) > 0 {
		last = all[0].Body
	} else if seen := s.Sightings(); len(seen) > 0 {
		last.Water, last.Place = seen[0].Body.Water, seen[0].Body.Place
	}
	f := outingFields(page, flybox.Outing{Water: last.Water, Place: last.Place, Rods: last.Rods, Names: last.Names}, typed, bad)
	f.Action, f.FormID = "/day", a.FormID(typed)
	from := q
	if typed != nil {
		from = typed
	}
	rig := flybox.Rig{Pattern: screen.IDIn(from, "fly"), Hatch: from.Get("hatch"), Form: from.Get("stage")}
	fly, ok := s.Pattern(rig.Pattern)
	if !ok {
		rig.Pattern = ""
	}
	for _, kv := range [][2]string{{"fly", string(rig.Pattern)}, {"hatch", rig.Hatch}, {"stage", rig.Form}} {
		if kv[1] != "" {
			f.Carry = append(f.Carry, kv)
		}
	}
	switch {
	case ok && rig.Hatch != "":
		f.CarryText = page.T.F("day.carry.both", catalog.Data{"Fly": fly.Name, "On": onText(page.T, key, rig)})
	case ok:
		f.CarryText = page.T.F("day.carry.fly", catalog.Data{"Fly": fly.Name})
	case rig.Hatch != "":
		f.CarryText = page.T.F("day.carry.on", catalog.Data{"On": onText(page.T, key, rig)})
	}
	return f
}

// outingFields are the fields of an outing, or what was typed in them.
func outingFields(page views.Page, o flybox.Outing, typed url.Values, bad journal.Problems) views.OutingForm {
	f := func(name, kept string) views.Field {
		if typed != nil {
			kept = typed.Get(name)
		}
		return screen.FormField(page, "outing", name, kept, bad)
	}
	rods, temp := "", ""
	if o.Rods > 0 {
		rods = screen.Itoa(o.Rods)
	}
	if o.WaterC != nil {
		temp = page.U.TemperatureNumber(*o.WaterC)
	}
	v := views.OutingForm{Problems: screen.ProblemList(page, "outing", bad), Water: f("water", o.Water), Place: f("place", o.Place), Rods: f("rods", rods), Names: f("rod_names", strings.Join(o.Names, ", ")), WaterC: f("water_c", temp), Note: f("note", o.Note)}
	v.WaterC.Unit = page.U.TemperatureUnit()
	day, clock := momentFields(o.Start)
	v.StartDay, v.StartClock = f("start_day", day), f("start_clock", clock)
	day, clock = momentFields(o.End)
	v.EndDay, v.EndClock = f("end_day", day), f("end_clock", clock)
	return v
}

func momentFields(when string) (day, clock string) {
	at, err := time.Parse(time.RFC3339, when)
	if err != nil {
		return "", ""
	}
	return at.Format(time.DateOnly), at.Format("15:04")
}

// readOuting reads the fields that starting and changing have in common.
func readOuting(f url.Values, u measure.Units, o *flybox.Outing) (bad journal.Problems) {
	o.Water, o.Place = strings.TrimSpace(f.Get("water")), strings.TrimSpace(f.Get("place"))
	o.Rods = screen.OptionalNumber(f, "rods", &bad)
	screen.InRange("rods", o.Rods, 0, flybox.MaxRods, &bad)
	if f.Has("rod_names") { // a form of the release before has none
		o.Names = nil
	}
	for name := range strings.FieldsFuncSeq(f.Get("rod_names"), func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		o.Names = append(o.Names, strings.TrimSpace(name))
	}
	o.Rods = max(o.Rods, len(o.Names))
	old := o.WaterC
	o.WaterC = nil
	if c, given := screen.OptionalDecimal(f, "water_c", u.ParseTemperature, &bad); given {
		if !(c >= flybox.MinWaterC && c <= flybox.MaxWaterC) {
			bad = append(bad, journal.Problem{Field: "water_c", Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(flybox.MinWaterC), Max: journal.Of(flybox.MaxWaterC), Got: journal.Of(c)}})
		}
		if o.WaterC = &c; old != nil && strings.TrimSpace(f.Get("water_c")) == u.TemperatureNumber(*old) {
			o.WaterC = old // shown rounded, not changed
		}
	}
	return bad
}

// startOuting starts an outing, perhaps with a fly on.
func (a *section) startOuting(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, form := r.PostForm, a.Form(r)
	o := flybox.Outing{ID: form.NewID(), Start: a.Now().Format(time.RFC3339)}
	bad := readOuting(f, p.Units, &o)
	bad = screen.Merge(bad, o.Check())
	if len(bad) > 0 {
		return a.dayScreen(r, p, f, bad)
	}
	err := a.Record(r, form, func(s *flybox.State) ([]flybox.Body, error) {
		return acts.StartOuting(s, o, flybox.Rig{Pattern: screen.IDIn(f, "fly"), Hatch: f.Get("hatch"), Form: f.Get("stage")})
	})
	if list, is := screen.AsProblems(err); is {
		return a.dayScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(a.dayHref(o.ID, 0), "started", 0), nil
}

// fish puts a fly on, or says what the fish are on, or both. If no outing
// runs, it leads to the form that starts one. Where the one that was shown has
// ended, nothing is changed: another that runs may be that of another boat.
func (a *section) fish(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, at := r.PostForm, screen.IDIn(r.PostForm, "at")
	running := p.State.Running()
	switch {
	case at == "" && len(running) == 0:
		q := url.Values{}
		for _, name := range []string{"fly", "hatch", "stage"} {
			if f.Get(name) != "" {
				q.Set(name, f.Get(name))
			}
		}
		return screen.Result{GoTo: screen.WithQuery("/day", q.Encode()) + "#start"}, nil
	case at == "":
		at = running[0].Body.ID
	case !slices.ContainsFunc(running, func(l flybox.Logged[flybox.Outing]) bool { return l.Body.ID == at }):
		return ended(p.State, at)
	}
	rod := rodIn(f)
	c := acts.Change{Rod: rod, Fly: screen.IDIn(f, "fly"), Place: screen.Atoi(f.Get("place")), Hang: f.Has("hang"), Off: f.Has("off")}
	if f.Has("hatch") {
		c.On = &acts.On{Hatch: f.Get("hatch"), Form: f.Get("stage")}
	}
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		return acts.ChangeRig(s, at, c, a.Now())
	})
	did := "rigged"
	if errors.Is(err, acts.ErrFull) {
		did, err = "rig-full", nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(a.dayHref(at, rod), did, 0), nil
}

// ended says that an outing does not run any more, on its page.
func ended(s *flybox.State, id journal.ID) (screen.Result, error) {
	if _, ok := findOuting(s, id); !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.GoTo(outingHref(id), "had-ended", 0), nil
}

// dayHref is the screen Day with a rod of an outing on it, after something was
// recorded.
func (a *section) dayHref(id journal.ID, rod int) string {
	return dayHref(a.Ledger.State(), id, rod)
}

// rodIn is the number of a rod, 0 if none was named: the first.
func rodIn(q url.Values) int {
	if rod := screen.Atoi(q.Get("rod")); rod > 0 && rod <= flybox.MaxNamedRods {
		return rod
	}
	return 0
}

// tap notes what a fish did, or that the fly is gone, or both.
func (a *section) tap(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, form := r.PostForm, a.Form(r)
	id := screen.PathID(r, "outing")
	fish := acts.Fish{
		Rod: rodIn(f), Shown: screen.IDIn(f, "rig"), Place: screen.Atoi(f.Get("place")),
		Did: flybox.Result(f.Get("result")), Gone: f.Get("gone") != "",
	}
	if fish.Did == "" && !fish.Gone || fish.Did != "" && !slices.Contains(flybox.Results, fish.Did) {
		return screen.Result{}, screen.ErrBadForm
	}
	did := string(fish.Did)
	switch {
	case fish.Gone:
		did = "fly-gone"
	case fish.Did == flybox.Lost:
		did = "lost-fish"
	}
	fish.ID = form.NewID()
	err := a.Record(r, form, func(s *flybox.State) ([]flybox.Body, error) { return acts.NoteFish(s, id, fish, a.Now()) })
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(a.dayHref(id, fish.Rod), did, 0), nil
}

// undoTap takes back an outcome, with the fly that was lost to it, or the loss
// of a fly.
func (a *section) undoTap(r *http.Request, p screen.Asked) (screen.Result, error) {
	id, target := screen.PathID(r, "outing"), screen.IDIn(r.PostForm, "entry")
	if target == "" {
		return screen.Result{}, screen.ErrBadForm
	}
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) { return acts.UndoFish(s, id, target) })
	if err != nil {
		return screen.Result{}, err
	}
	to := a.dayHref(id, rodIn(r.PostForm))
	if o, _ := findOuting(a.Ledger.State(), id); o.End != "" || r.PostForm.Get("back") != "" {
		to = outingHref(id)
	}
	return screen.GoTo(to, "undone", 0), nil
}

// endOuting ends an outing now, or when something was last noted on it.
func (a *section) endOuting(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "outing")
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		end := a.Now()
		if r.PostForm.Get("at") == "last" {
			l, _ := s.Outing(id)
			end = acts.LastMoment(s, l.Body)
		}
		return acts.EndOuting(s, id, end)
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(outingHref(id), "ended", 0), nil
}
