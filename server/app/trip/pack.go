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
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		l, ok := s.Trip(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		if undo := f.Get("undo"); undo != "" {
			return unpack(s, l.Body, undo)
		}
		return packStep(s, id, f)
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.TripHref(id)+"/pack", did, 0), nil
}

// packStep are the entries of one move for a trip.
func packStep(s *flybox.State, trip journal.ID, f url.Values) ([]flybox.Body, error) {
	fly, n := screen.IDIn(f, "fly"), screen.Atoi(f.Get("n"))
	from, ok := words.ParsePlace(f.Get("from"))
	to, ok2 := words.ParsePlace(f.Get("to"))
	if !ok || !ok2 || n < 1 || from == to {
		return nil, screen.ErrBadForm
	}
	if _, ok := s.Pattern(fly); !ok || s.CountAt(fly, from) < n {
		return nil, screen.ErrNotFound // moved, lost or counted since the list was shown
	}
	if _, ok := s.Box(to.Box); !ok && to != flybox.Loose {
		return nil, screen.ErrNotFound
	}
	bodies := acts.MoveFlies(fly, from, to, n)
	for i := range bodies {
		move := bodies[i].(flybox.StockMove)
		move.Trip = trip
		bodies[i] = move
	}
	return bodies, nil
}

// unpack takes back a move that was made for the trip.
func unpack(s *flybox.State, trip flybox.Trip, entries string) ([]flybox.Body, error) {
	for _, st := range plan.Pack(s, trip, nil, 1).Done {
		if doneText(st) != entries {
			continue
		}
		var bodies []flybox.Body
		for _, id := range st.Done {
			bodies = append(bodies, flybox.Deleted{Target: id})
		}
		return bodies, nil
	}
	return nil, screen.ErrNotFound
}

// doneText are the entries of a step, for a form that takes it back.
func doneText(st plan.Step) string {
	ids := make([]string, len(st.Done))
	for i, id := range st.Done {
		ids[i] = string(id)
	}
	return strings.Join(ids, " ")
}
