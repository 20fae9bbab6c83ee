package acts

import (
	"slices"

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
