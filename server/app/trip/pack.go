package trip

import (
	"net/http"
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// pack is what to move so that the plan's flies are in the boxes.
func (a *section) pack(r *http.Request, p screen.Asked) (screen.Result, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "trip", catalog.For(p.Lang).S("trip.pack"))
	t := page.T
	v := views.PackView{Page: page, Name: pl.Trip.Name, When: daysText(t, pl.Trip), Back: words.TripHref(pl.Trip.ID)}
	action := words.TripHref(pl.Trip.ID) + "/pack"
	s := p.State
	packing := plan.Pack(s, pl.Trip, pl.Plan.Lines, pl.Plan.PerSlot)
	step := func(st plan.Step) views.PackStep {
		f, _ := s.Pattern(st.Pattern)
		to := placeName(t, s, st.To)
		if st.Out && st.To == flybox.Loose {
			to = t.S("trip.out")
		}
		return views.PackStep{Name: screen.Or(f.Name, t.S("slot.unknown")), Count: screen.Itoa(st.N), From: placeName(t, s, st.From), To: to}
	}
	for _, st := range packing.Steps {
		line := step(st)
		do := a.Button(action, t.S("trip.tick"), [2]string{"fly", string(st.Pattern)}, [2]string{"n", screen.Itoa(st.N)}, [2]string{"from", words.PlaceValue(st.From)}, [2]string{"to", words.PlaceValue(st.To)})
		line.Do = &do
		v.Steps = append(v.Steps, line)
	}
	for _, st := range packing.Done {
		line := step(st)
		undo := a.Button(action, t.S("trip.untick"), [2]string{"undo", doneText(st)})
		line.Do = &undo
		v.Done = append(v.Done, line)
	}
	switch {
	case len(pl.Boxes) == 0:
		v.Lead = t.S("trip.notice.noboxes")
	case len(v.Steps) > 0:
		v.Lead = t.N("trip.pack.todo", len(v.Steps), nil)
	default:
		v.Lead = t.S("trip.pack.done")
	}
	if packing.NoRoom > 0 {
		v.Notices = append(v.Notices, t.N("trip.pack.noroom", packing.NoRoom, nil))
	}
	v.Lines = packLines(t, s, pl)
	if y := pl.Plan.Tying; y.Wanted > 0 {
		v.Notices = append(v.Notices, t.N("trip.pack.tie", y.Wanted, nil))
	}
	return screen.Show(views.Pack(v)), nil
}

// packLines are the flies that are to go along, with where they lie in the
// boxes that do.
func packLines(t *catalog.Text, s *flybox.State, pl caches.Planned) []views.PackLine {
	along := map[journal.ID]bool{}
	for _, b := range pl.Boxes {
		along[b.ID] = true
	}
	var out []views.PackLine
	for _, l := range pl.Plan.Lines {
		if l.Take == 0 || l.New != nil {
			continue
		}
		var where []string
		for _, at := range s.Places(l.Fly.ID) {
			if at.Count > 0 && along[at.Place.Box] {
				where = append(where, words.PlaceText(t, at)+": "+screen.Itoa(at.Count))
			}
		}
		out = append(out, views.PackLine{Count: screen.Itoa(l.Take), Name: l.Fly.Name, Where: strings.Join(where, "; ")})
	}
	return out
}

func placeName(t *catalog.Text, s *flybox.State, at flybox.Place) string {
	pl := flybox.Placement{Place: at}
	if b, ok := s.Box(at.Box); ok {
		pl.BoxName = b.Name
	} else {
		pl.Gone = at != flybox.Loose
	}
	return words.PlaceText(t, pl)
}

// savePack ticks a move off: the flies have gone from one place to another.
// Or it takes such a tick back.
func (a *section) savePack(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "trip")
	f := r.PostForm
	did := "packed"
	if f.Get("undo") != "" {
		did = "unpacked"
	}
	if _, ok := p.State.Trip(id); !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	step, err := readStep(f)
	if err != nil {
		return screen.Result{}, err
	}
	err = a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		if len(step.Done) > 0 {
			return plan.Unpack(s, id, step.Done)
		}
		return acts.PackFlies(s, id, step.Pattern, step.From, step.To, step.N)
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.TripHref(id)+"/pack", did, 0), nil
}

// readStep reads a move to tick off, or the entries of one to take back.
func readStep(f url.Values) (st plan.Step, err error) {
	if undo := f.Get("undo"); undo != "" {
		for _, id := range strings.Split(undo, " ") {
			st.Done = append(st.Done, journal.ID(id))
		}
		return st, nil
	}
	from, ok := words.ParsePlace(f.Get("from"))
	to, ok2 := words.ParsePlace(f.Get("to"))
	st = plan.Step{Pattern: screen.IDIn(f, "fly"), N: screen.Atoi(f.Get("n")), From: from, To: to}
	if !ok || !ok2 || st.N < 1 || from == to {
		return st, screen.ErrBadForm
	}
	return st, nil
}

// doneText are the entries of a step, for a form that takes it back.
func doneText(st plan.Step) string {
	ids := make([]string, len(st.Done))
	for i, id := range st.Done {
		ids[i] = string(id)
	}
	return strings.Join(ids, " ")
}
