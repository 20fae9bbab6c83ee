package flybox

import "dampstone/flybox/journal"

// Fold is the state of a set of entries, for tests.
func Fold(entries []journal.Entry) *State {
	s := NewState()
	s.Apply(entries...)
	return s
}

// counted is the move that puts a count right.
func counted(s *State, pattern journal.ID, at Place, n int) StockMove {
	return StockMove{Pattern: pattern, Place: at.Ref(), Delta: n - s.CountAt(pattern, at), Why: WhyCounted, Counted: &n}
}

// moved are the moves of n flies from one place to another.
func moved(pattern journal.ID, from, to Place, n int) []Body {
	return []Body{StockMove{Pattern: pattern, Place: from.Ref(), Delta: -n, Why: WhyMoved}, StockMove{Pattern: pattern, Place: to.Ref(), Delta: n, Why: WhyMoved}}
}

// assigned are the bodies that give a slot to one pattern alone.
func assigned(s *State, at Place, pattern journal.ID, want int) (out []Body) {
	for _, c := range s.Cell(at).Contents {
		if c.Assigned {
			out = append(out, Slot{Place: at, Pattern: c.Pattern, Off: true})
		}
	}
	return append(out, Slot{Place: at, Pattern: pattern, Want: want})
}
