package flybox

// MoveFlies are the bodies that move n flies of a pattern from one place to
// another, none for no flies. More than one move holds become several pairs.
func MoveFlies(pattern string, from, to Place, n int) (bodies []Body) {
	for n != 0 {
		k := max(min(n, MaxCount), -MaxCount)
		bodies = append(bodies,
			StockMove{Pattern: pattern, Place: from.ref(), Delta: -k, Why: WhyMoved},
			StockMove{Pattern: pattern, Place: to.ref(), Delta: k, Why: WhyMoved})
		n -= k
	}
	return bodies
}

// Counted is the move that puts the count of a pattern at a place right, n
// flies having been counted there.
func (s *State) Counted(pattern string, place Place, n int) StockMove {
	return StockMove{Pattern: pattern, Place: place.ref(), Delta: n - s.CountAt(pattern, place), Why: WhyCounted, Counted: &n}
}

// Assign are the bodies that make a slot belong to a pattern, want of them,
// and to no other.
func (s *State) Assign(place Place, pattern string, want int) []Body {
	bodies := s.Unassign(place, pattern)
	return append(bodies, Slot{Place: place, Pattern: pattern, Want: want})
}

// Unassign are the bodies that take a slot from every pattern but keep.
func (s *State) Unassign(place Place, keep string) []Body {
	var bodies []Body
	for _, c := range s.Cell(place).Contents {
		if c.Assigned && c.Pattern != keep {
			bodies = append(bodies, Slot{Place: place, Pattern: c.Pattern, Off: true})
		}
	}
	return bodies
}

func (p Place) ref() *Place {
	if p == Loose {
		return nil
	}
	return &p
}
