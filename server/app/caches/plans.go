package caches

import (
	"slices"
	"sync"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
)

// Planned is a trip with its plan.
type Planned struct {
	Trip   flybox.Trip
	Plan   plan.Plan
	Region string
	Boxes  []flybox.BoxInfo // that go along
	// learned are the counted trips that the rate rests on.
	Learned int
	// counted is the count after the trip, if there is one.
	Counted *flybox.TripReturn
}

// planKey is what a plan depends on, beside the ledger.
type planKey struct {
	trip   journal.ID
	region string
	place  hatchkeys.Place // zero for none
	day    string
}

// maxPlans bounds the plans that are kept; a season has not many trips ahead.
const maxPlans = 16

// plans are the plans for one state of the ledger.
type plans struct {
	mu    sync.Mutex
	state *flybox.State
	made  map[planKey]Planned
}

// PlanFor is the plan of a trip; ok is false if there is no such trip. It is
// made once for a trip, a state of the ledger, and prefs: every page of a trip
// shows it, and Bench those of all trips ahead.
func (a *Caches) PlanFor(id journal.ID, p screen.Asked) (out Planned, ok bool, err error) {
	key := planKey{trip: id, region: p.Region, day: a.Now().Format(time.DateOnly)}
	if p.Place != nil {
		key.place = *p.Place
	}
	a.plans.mu.Lock()
	defer a.plans.mu.Unlock()
	if a.plans.state != p.State || len(a.plans.made) >= maxPlans {
		a.plans.state, a.plans.made = p.State, map[planKey]Planned{}
	}
	if out, ok := a.plans.made[key]; ok {
		return out, true, nil
	}
	if out, ok, err = a.makePlan(id, p); ok && err == nil {
		a.plans.made[key] = out
	}
	return out, ok, err
}

func (a *Caches) makePlan(id journal.ID, p screen.Asked) (out Planned, ok bool, err error) {
	s := p.State
	l, ok := s.Trip(id)
	if !ok {
		return out, false, nil
	}
	out.Trip = l.Body
	fixed := map[journal.ID]int{}
	for _, line := range s.TripLines(id) {
		fixed[line.Pattern] = line.Take
	}
	for _, b := range s.Boxes() {
		if slices.Contains(out.Trip.Boxes, b.ID) {
			out.Boxes = append(out.Boxes, b)
		}
	}
	rate := plan.AssumedRate
	for _, back := range s.Returns() {
		if back.Body.ID == id {
			body := back.Body
			out.Counted = &body
			continue // a trip is not judged by what it taught
		}
		if back.Body.RodDays > 0 {
			out.Learned++
			rate = rate.Learn(float64(back.Body.Lost()), back.Body.RodDays)
		}
	}
	out.Region = out.Trip.Region
	key, err := a.Key(s, out.Region)
	if err != nil { // not said, or one that this version lacks
		out.Region = p.Region
		if key, err = a.Key(s, out.Region); err != nil {
			return out, true, err
		}
	}
	// What is not said of where the water lies is as at home.
	trip := out.Trip
	if p.Place != nil && out.Region == p.Region {
		trip.Waters = slices.Clone(trip.AllWaters())
		for i := range trip.Waters {
			if w := &trip.Waters[i]; w.Altitude == nil && w.Latitude == nil {
				w.Altitude, w.Latitude = &p.Place.Altitude, &p.Place.Latitude
			}
		}
	}
	slots := plan.NoLimit
	if len(out.Boxes) > 0 {
		slots = 0
		for _, b := range out.Boxes {
			slots += b.Rows * b.Columns
		}
	}
	box := a.Flies(s, key)
	out.Plan = plan.Make(plan.Request{
		Trip: trip, Today: a.Now(), Key: key, Quarries: box.Quarries, Flies: box.Compiled,
		Fixed: fixed, Slots: slots, Rate: rate,
	})
	return out, true, nil
}
