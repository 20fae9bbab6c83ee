package acts

import (
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// MoveFlies are the bodies that move n flies of a pattern from one place to
// another, none for no flies. More than one move holds become several pairs.
func MoveFlies(pattern journal.ID, from, to flybox.Place, n int) (bodies []flybox.Body) {
	for n != 0 {
		k := max(min(n, flybox.MaxCount), -flybox.MaxCount)
		bodies = append(bodies,
			flybox.StockMove{Pattern: pattern, Place: from.Ref(), Delta: -k, Why: flybox.WhyMoved},
			flybox.StockMove{Pattern: pattern, Place: to.Ref(), Delta: k, Why: flybox.WhyMoved})
		n -= k
	}
	return bodies
}

// Counted is the move that puts the count of a pattern at a place right, n
// flies having been counted there.
func Counted(s *flybox.State, pattern journal.ID, place flybox.Place, n int) flybox.StockMove {
	return flybox.StockMove{Pattern: pattern, Place: place.Ref(), Delta: n - s.CountAt(pattern, place), Why: flybox.WhyCounted, Counted: &n}
}

// Assign are the bodies that make a slot belong to a pattern, want of them,
// and to no other.
func Assign(s *flybox.State, place flybox.Place, pattern journal.ID, want int) []flybox.Body {
	bodies := Unassign(s, place, pattern)
	return append(bodies, flybox.Slot{Place: place, Pattern: pattern, Want: want})
}

// FreeSlot is the first slot of a box where nothing is and nothing belongs; ok
// is false where there is none, or no such box.
func FreeSlot(s *flybox.State, box journal.ID) (at flybox.Place, ok bool) {
	b, _ := s.Box(box)
	for _, row := range b.Cells {
		for _, c := range row {
			if len(c.Contents) == 0 {
				return c.Place, true
			}
		}
	}
	return flybox.Place{}, false
}

// Unassign are the bodies that take a slot from every pattern but keep.
func Unassign(s *flybox.State, place flybox.Place, keep journal.ID) []flybox.Body {
	var bodies []flybox.Body
	for _, c := range s.Cell(place).Contents {
		if c.Assigned && c.Pattern != keep {
			bodies = append(bodies, flybox.Slot{Place: place, Pattern: c.Pattern, Off: true})
		}
	}
	return bodies
}

// CountedMaterial is the move that puts right how much of a material there is.
func CountedMaterial(s *flybox.State, id journal.ID, amount float64) flybox.MaterialMove {
	now, _ := s.MaterialOnHand(id)
	return flybox.MaterialMove{Material: id, Delta: amount - now.Amount, Why: flybox.MaterialCounted, Counted: &amount}
}
