package caches

import (
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/plan"
	"dampstone/server/app/screen"
)

// planned is a trip with its plan.
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

// planFor makes the plan of a trip; ok is false if there is no such trip.
func (a *Caches) PlanFor(id string, p screen.Prefs) (out Planned, ok bool, err error) {
	var fixed map[string]int
	rate := plan.AssumedRate
	a.Ledger.View(func(s *flybox.State) {
		var l flybox.Logged[flybox.Trip]
		if l, ok = s.Trip(id); !ok {
			return
		}
		out.Trip, fixed = l.Body, map[string]int{}
		for _, line := range s.TripLines(id) {
			fixed[line.Pattern] = line.Take
		}
		for _, b := range s.Boxes() {
			if slices.Contains(out.Trip.Boxes, b.ID) {
				out.Boxes = append(out.Boxes, b)
			}
		}
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
	})
	if !ok {
		return out, false, nil
	}
	out.Region = out.Trip.Region
	key, err := a.Key(out.Region)
	if err != nil { // not said, or one that this version lacks
		out.Region = p.Region
		if key, err = a.Key(out.Region); err != nil {
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
	box := a.Flies(key)
	out.Plan = plan.Make(plan.Request{
		Trip: trip, Today: a.Now(), Key: key, Quarries: box.Quarries, Flies: box.Compiled,
		Fixed: fixed, Slots: slots, Rate: rate,
	})
	return out, true, nil
}
