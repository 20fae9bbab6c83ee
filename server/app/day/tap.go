package day

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// startForm starts an outing, filled in from the last one.
func (a *section) startForm(page views.Page, s *flybox.State, key *hatchkeys.Key, q, typed url.Values, bad flybox.Problems) views.OutingForm {
	last := flybox.Outing{Rods: 1}
	if all := s.Outings(); len(all) > 0 {
		last = all[0].Body
	} else if seen := s.Sightings(); len(seen) > 0 {
		last.Water, last.Place = seen[0].Body.Water, seen[0].Body.Place
	}
	f := outingFields(page, flybox.Outing{Water: last.Water, Place: last.Place, Rods: last.Rods}, typed, bad)
	f.Action, f.FormID = "/day", a.FormID(typed)
	from := q
	if typed != nil {
		from = typed
	}
	rig := flybox.Rig{Pattern: from.Get("fly"), Hatch: screen.Clip(from.Get("hatch")), Form: screen.Clip(from.Get("stage"))}
	fly, ok := s.Pattern(rig.Pattern)
	if !ok {
		rig.Pattern = ""
	}
	for _, kv := range [][2]string{{"fly", rig.Pattern}, {"hatch", rig.Hatch}, {"stage", rig.Form}} {
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
func outingFields(page views.Page, o flybox.Outing, typed url.Values, bad flybox.Problems) views.OutingForm {
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
	v := views.OutingForm{Problems: screen.ProblemList(page, "outing", bad), Water: f("water", o.Water), Place: f("place", o.Place), Rods: f("rods", rods), WaterC: f("water_c", temp), Note: f("note", o.Note)}
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
func readOuting(f url.Values, u measure.Units, o *flybox.Outing) (bad flybox.Problems) {
	o.Water, o.Place = strings.TrimSpace(f.Get("water")), strings.TrimSpace(f.Get("place"))
	o.Rods = screen.OptionalNumber(f, "rods", &bad)
	screen.InRange("rods", o.Rods, 0, flybox.MaxRods, &bad)
	old := o.WaterC
	o.WaterC = nil
	if c, given := screen.OptionalDecimal(f, "water_c", u.ParseTemperature, &bad); given {
		if !(c >= flybox.MinWaterC && c <= flybox.MaxWaterC) {
			bad = append(bad, flybox.Problem{Field: "water_c", Code: flybox.CodeRange, Data: map[string]any{"min": flybox.MinWaterC, "max": flybox.MaxWaterC, "got": c}})
		}
		if o.WaterC = &c; old != nil && strings.TrimSpace(f.Get("water_c")) == u.TemperatureNumber(*old) {
			o.WaterC = old // shown rounded, not changed
		}
	}
	return bad
}

// startOuting starts an outing, perhaps with a fly on.
func (a *section) startOuting(r *http.Request, p screen.Prefs) (screen.Result, error) {
	f := r.PostForm
	now := a.Now().Format(time.RFC3339)
	o := flybox.Outing{ID: a.NewID(), Start: now}
	bad := readOuting(f, p.Units, &o)
	bad = screen.Merge(bad, o.Check())
	if len(bad) > 0 {
		return a.dayScreen(r, p, f, bad)
	}
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		o.Trip = tripOn(s, a.Now())
		bodies := []flybox.Body{o}
		if f.Get("fly") != "" || f.Get("hatch") != "" {
			rig := flybox.Rig{When: now, Outing: o.ID, Hatch: f.Get("hatch"), Form: f.Get("stage")}
			if f.Get("fly") != "" {
				fly, ok := s.Pattern(f.Get("fly"))
				if !ok {
					return nil, screen.ErrNotFound
				}
				rig.Pattern, rig.Rev = fly.ID, fly.Rev
			}
			bodies = append(bodies, rig)
		}
		return bodies, nil
	})
	if list, is := screen.AsProblems(err); is {
		return a.dayScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/day", "started", 0), nil
}

// tripOn is the trip of a day, "" if there is none or more than one.
func tripOn(s *flybox.State, now time.Time) (id string) {
	day := now.Format(time.DateOnly)
	for _, l := range s.Trips() {
		if l.Body.From <= day && day <= l.Body.To {
			if id != "" {
				return ""
			}
			id = l.Body.ID
		}
	}
	return id
}

// fish puts a fly on, or says what the fish are on, or both. What is not said
// stays as it is. If no outing runs, it leads to the form that starts one.
func (a *section) fish(r *http.Request, p screen.Prefs) (screen.Result, error) {
	f := r.PostForm
	running, to := false, "/day"
	a.Ledger.View(func(s *flybox.State) { _, _, running = runningAt(s, f.Get("at")) })
	if !running {
		q := url.Values{}
		for _, name := range []string{"fly", "hatch", "stage"} {
			if f.Get(name) != "" {
				q.Set(name, screen.Clip(f.Get(name)))
			}
		}
		return screen.Result{GoTo: screen.WithQuery("/day", q.Encode()) + "#start"}, nil
	}
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		fly, known := s.Pattern(f.Get("fly"))
		if f.Get("fly") != "" && !known {
			return nil, screen.ErrNotFound
		}
		o, _, running := runningAt(s, f.Get("at"))
		if !running {
			return nil, nil // ended on another screen just now
		}
		to = dayHref(s, o.ID)
		rig := s.RigNow(o.ID).Body
		rig = flybox.Rig{When: a.Now().Format(time.RFC3339), Outing: o.ID, Pattern: rig.Pattern, Rev: rig.Rev, Hatch: rig.Hatch, Form: rig.Form}
		if known {
			rig.Pattern, rig.Rev = fly.ID, fly.Rev
		}
		if f.Has("hatch") {
			rig.Hatch, rig.Form = f.Get("hatch"), f.Get("stage")
		}
		return []flybox.Body{rig}, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(to, "rigged", 0), nil
}

// tap notes what a fish did, or that the fly is gone, or both.
func (a *section) tap(r *http.Request, p screen.Prefs) (screen.Result, error) {
	f := r.PostForm
	id := mux.Vars(r)["outing"]
	fish, gone := flybox.Result(f.Get("result")), f.Get("gone") != ""
	if fish == "" && !gone || fish != "" && !slices.Contains(flybox.Results, fish) {
		return screen.Result{}, screen.ErrBadForm
	}
	to, did := "", string(fish)
	switch {
	case gone:
		did = "fly-gone"
	case fish == flybox.Lost:
		did = "lost-fish"
	}
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		l, ok := s.Outing(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		to = dayHref(s, id)
		// The fly that the screen showed when it was tapped, even if another
		// tab has changed it since.
		rig := s.RigNow(id).Body
		if shown, ok := s.Rig(f.Get("rig")); ok && shown.Body.Outing == id {
			rig = shown.Body
		}
		if rig.Pattern == "" {
			return nil, screen.ErrNotFound
		}
		var bodies []flybox.Body
		outcome := ""
		if fish != "" {
			outcome = a.NewID()
			bodies = append(bodies, flybox.Outcome{
				ID: outcome, When: a.Now().Format(time.RFC3339), Result: fish, Pattern: rig.Pattern, Rev: rig.Rev,
				Hatch: rig.Hatch, Form: rig.Form, Sighting: sightingOf(s, rig, a.Now()), Outing: id, Water: l.Body.Water,
			})
		}
		if gone {
			move := s.Lose(rig.Pattern)
			move.Outing, move.Outcome, move.Trip = id, outcome, l.Body.Trip
			bodies = append(bodies, move)
		}
		return bodies, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	if to == "" {
		to = "/day"
	}
	return screen.GoTo(to, did, 0), nil
}

// sightingOf is the sighting of today that the fish are on, if one was noted.
func sightingOf(s *flybox.State, rig flybox.Rig, now time.Time) string {
	if rig.Hatch == "" {
		return ""
	}
	day := now.Format(time.DateOnly)
	for l := range s.SightingsOf(rig.Hatch) {
		if strings.HasPrefix(l.Body.When, day) && l.Body.Form == rig.Form {
			return l.Body.ID
		}
	}
	return ""
}

// undoTap takes back an outcome, with the fly that was lost to it, or the loss
// of a fly. What is gone already stays gone.
func (a *section) undoTap(r *http.Request, p screen.Prefs) (screen.Result, error) {
	id, target := mux.Vars(r)["outing"], r.PostForm.Get("entry")
	if target == "" {
		return screen.Result{}, screen.ErrBadForm
	}
	to := "/day"
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		l, ok := s.Outing(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		if to = dayHref(s, id); l.Body.End != "" || r.PostForm.Get("back") != "" {
			to = outingHref(id)
		}
		var bodies []flybox.Body
		if o, ok := s.Outcome(target); ok && o.Body.Outing == id {
			bodies = append(bodies, flybox.Deleted{Target: target})
		}
		for _, m := range s.LossesOf(id) {
			if m.Outcome == target || m.Entry == target {
				bodies = append(bodies, flybox.Deleted{Target: m.Entry})
			}
		}
		return bodies, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(to, "undone", 0), nil
}

// endOuting ends an outing now, or when something was last noted on it.
func (a *section) endOuting(r *http.Request, p screen.Prefs) (screen.Result, error) {
	id := mux.Vars(r)["outing"]
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		l, ok := s.Outing(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		o := l.Body
		if o.End != "" {
			return nil, nil // ended on another screen
		}
		end := a.Now()
		if start, err := time.Parse(time.RFC3339, o.Start); r.PostForm.Get("at") == "last" || err == nil && end.Before(start) {
			end = lastMoment(s, o)
		}
		o.End = end.Format(time.RFC3339)
		return []flybox.Body{o}, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(outingHref(id), "ended", 0), nil
}
