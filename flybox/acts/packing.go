package acts

import (
	"slices"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
)

// PlacesOn are where flies of a pattern lie on a trip, or anywhere for a trip
// without boxes: loose ones first, then where most are.
func PlacesOn(s *flybox.State, trip flybox.Trip, pattern journal.ID) []flybox.Placement {
	list := slices.DeleteFunc(s.Places(pattern), func(at flybox.Placement) bool {
		return at.Count <= 0 || at.Place != flybox.Loose && len(trip.Boxes) > 0 && !slices.Contains(trip.Boxes, at.Place.Box)
	})
	sortby.Stable(list, func(x, y *flybox.Placement) int {
		if loose := x.Place == flybox.Loose; loose != (y.Place == flybox.Loose) {
			if loose {
				return -1
			}
			return 1
		}
		return y.Count - x.Count
	})
	return list
}

// TakeOn are moves like one that take n flies of a pattern away from where
// they lie on a trip, see PlacesOn.
func TakeOn(s *flybox.State, trip flybox.Trip, pattern journal.ID, n int, like flybox.StockMove) (bodies []flybox.Body) {
	for _, at := range PlacesOn(s, trip, pattern) {
		for left := at.Count; left > 0 && n > 0; {
			k := min(n, left, flybox.MaxCount)
			move := like
			move.Delta = -k
			if place := at.Place; place != flybox.Loose {
				move.Place = &place
			}
			bodies = append(bodies, move)
			left, n = left-k, n-k
		}
	}
	return bodies
}

// PackFlies are the bodies that move n flies of a pattern for a trip.
func PackFlies(s *flybox.State, trip, pattern journal.ID, from, to flybox.Place, n int) ([]flybox.Body, error) {
	if _, ok := s.Trip(trip); !ok {
		return nil, ErrUnknown
	}
	if _, ok := s.Pattern(pattern); !ok || s.CountAt(pattern, from) < n {
		return nil, ErrUnknown // moved, lost or counted since the list was made
	}
	if _, ok := s.Box(to.Box); !ok && to != flybox.Loose {
		return nil, ErrUnknown
	}
	bodies := MoveFlies(pattern, from, to, n)
	for i := range bodies {
		move := bodies[i].(flybox.StockMove)
		move.Trip = trip
		bodies[i] = move
	}
	return bodies, nil
}

// Carried is a kind of fly that was on a trip.
type Carried struct {
	Fly  flybox.Fly
	Now  int // in the boxes that went along, or loose, as the ledger has it
	Gone int // lost or given on the trip, as noted so far
}

// CarriedOn are the flies that were on a trip, by name. loc tells what day it
// was when something was noted.
func CarriedOn(s *flybox.State, trip flybox.Trip, loc *time.Location) []Carried {
	gone := map[journal.ID]int{}
	for _, m := range s.Moves("") {
		if m.Deleted || m.Why != flybox.WhyLost && m.Why != flybox.WhyGiven {
			continue
		}
		day := m.At.Time().In(loc).Format(time.DateOnly)
		if m.Trip == trip.ID || m.Trip == "" && day >= trip.From && day <= trip.To {
			gone[m.Pattern] -= m.Delta
		}
	}
	var out []Carried
	for _, f := range s.Patterns() {
		c := Carried{Fly: f, Gone: gone[f.ID]}
		for _, at := range PlacesOn(s, trip, f.ID) {
			c.Now += at.Count
		}
		if c.Now > 0 || c.Gone > 0 {
			out = append(out, c)
		}
	}
	return out
}

// BackFrom are the bodies of a count after a trip, the count itself last.
// count names the trip and has what was expected of it in all; back has how
// many came back by fly, for those that were counted; expected is how many of
// a fly the plan thought would be used up. What is missing was lost on the
// trip, what is more was counted wrong before.
func BackFrom(s *flybox.State, count flybox.TripReturn, back map[journal.ID]int, loc *time.Location, expected func(fly journal.ID) float64) ([]flybox.Body, error) {
	l, ok := s.Trip(count.ID)
	if !ok {
		return nil, ErrUnknown
	}
	trip := l.Body
	var bodies []flybox.Body
	for _, c := range CarriedOn(s, trip, loc) {
		n, counted := back[c.Fly.ID]
		if !counted {
			continue
		}
		if len(count.Lines) < flybox.MaxReturnLines {
			count.Lines = append(count.Lines, flybox.ReturnLine{Pattern: c.Fly.ID, Took: max(c.Now+c.Gone, n), Back: n, Expected: expected(c.Fly.ID)})
		}
		if n < c.Now {
			bodies = append(bodies, TakeOn(s, trip, c.Fly.ID, c.Now-n, flybox.StockMove{Pattern: c.Fly.ID, Why: flybox.WhyLost, Trip: trip.ID})...)
		} else if n > c.Now {
			at := foundAt(s, trip, c.Fly.ID)
			bodies = append(bodies, Counted(s, c.Fly.ID, at, max(s.CountAt(c.Fly.ID, at), 0)+n-c.Now))
		}
	}
	return append(bodies, count), nil
}

// foundAt is where flies of a pattern are put that nobody knew of.
func foundAt(s *flybox.State, trip flybox.Trip, pattern journal.ID) flybox.Place {
	for _, at := range PlacesOn(s, trip, pattern) {
		if at.Place != flybox.Loose && at.Count < flybox.MaxCount {
			return at.Place
		}
	}
	return flybox.Loose
}
