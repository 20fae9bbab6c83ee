package acts

import (
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// FlyInput is a fly as a form has it: the pattern and where it goes.
type FlyInput struct {
	Pattern flybox.Pattern
	Place   flybox.Place // where it belongs; Loose for nowhere
	Count   int          // flies there, of a new one
	Want    int          // flies wanted there
}

// FlyNow is a fly as it is, with the slot that it belongs in. Its parent is
// its present revision, from which the next is made.
func FlyNow(s *flybox.State, id journal.ID) (in FlyInput, ok bool) {
	f, ok := s.Pattern(id)
	if !ok {
		return in, false
	}
	in.Pattern = f.Pattern
	in.Pattern.Parent = f.Rev
	home, found := HomeOf(s, id)
	if !found {
		in.Place, in.Want = assigned(s, id)
		return in, true
	}
	in.Place = home
	for _, c := range s.Cell(home).Contents {
		if c.Pattern == id {
			in.Want = c.Want
		}
	}
	return in, true
}

// HomeOf is the slot that a loose fly goes back to: one that belongs to it, or
// one where others of it are.
func HomeOf(s *flybox.State, id journal.ID) (flybox.Place, bool) {
	var fallback flybox.Place
	for _, pl := range s.Places(id) {
		if pl.Place == flybox.Loose || pl.Gone {
			continue
		}
		for _, c := range s.Cell(pl.Place).Contents {
			if c.Pattern == id && c.Assigned {
				return pl.Place, true
			}
		}
		if fallback == flybox.Loose {
			fallback = pl.Place
		}
	}
	return fallback, fallback != flybox.Loose
}

// assigned finds a slot that belongs to a fly of which none is left anywhere.
func assigned(s *flybox.State, id journal.ID) (flybox.Place, int) {
	for _, b := range s.Boxes() {
		v, _ := s.Box(b.ID)
		for _, row := range v.Cells {
			for _, c := range row {
				for _, in := range c.Contents {
					if in.Pattern == id && in.Assigned {
						return c.Place, in.Want
					}
				}
			}
		}
	}
	return flybox.Loose, 0
}

// SaveFly are the bodies that make a fly what in says, old being what it was
// (zero for a new one): the revision if anything changed, the slot, and the
// first flies in it.
func SaveFly(s *flybox.State, in, old FlyInput) []flybox.Body {
	var bodies []flybox.Body
	id := in.Pattern.ID
	if old.Pattern.ID == "" || in.Pattern != old.Pattern {
		bodies = append(bodies, in.Pattern)
	}
	if old.Pattern.ID == "" {
		if in.Place != flybox.Loose {
			bodies = append(bodies, flybox.Slot{Place: in.Place, Pattern: id, Want: in.Want})
		}
		if in.Count > 0 {
			bodies = append(bodies, flybox.StockMove{Pattern: id, Place: in.Place.Ref(), Delta: in.Count, Why: flybox.WhyTied})
		}
		return bodies
	}
	if in.Place != old.Place {
		if old.Place != flybox.Loose {
			bodies = append(bodies, flybox.Slot{Place: old.Place, Pattern: id, Off: true})
		}
		// The flies move along with their slot.
		bodies = append(bodies, MoveFlies(id, old.Place, in.Place, s.CountAt(id, old.Place))...)
	}
	if in.Place != flybox.Loose && (in.Place != old.Place || in.Want != old.Want) {
		bodies = append(bodies, flybox.Slot{Place: in.Place, Pattern: id, Want: in.Want})
	}
	return bodies
}

// RemoveBox are the bodies that take a box away. The flies in it become loose,
// so that none is lost with it.
func RemoveBox(s *flybox.State, id journal.ID) ([]flybox.Body, error) {
	b, ok := s.Box(id)
	if !ok {
		return nil, ErrUnknown
	}
	var bodies []flybox.Body
	cells := b.Outside
	for _, row := range b.Cells {
		cells = append(cells, row...)
	}
	for _, c := range cells {
		for _, in := range c.Contents {
			bodies = append(bodies, MoveFlies(in.Pattern, c.Place, flybox.Loose, in.Count)...)
		}
		bodies = append(bodies, Unassign(s, c.Place, "")...)
	}
	return append(bodies, flybox.Deleted{Target: id}), nil
}

// TakeOut are the bodies that take a fly out of a slot to fish it.
func TakeOut(s *flybox.State, pattern journal.ID, from flybox.Place) ([]flybox.Body, error) {
	if _, ok := s.Pattern(pattern); !ok || s.CountAt(pattern, from) <= 0 {
		return nil, ErrUnknown
	}
	return MoveFlies(pattern, from, flybox.Loose, 1), nil
}

// PutBack are the bodies that put a loose fly back into a slot. Where that is
// not there any more it goes to another that the fly belongs in, or stays
// loose.
func PutBack(s *flybox.State, pattern journal.ID, to flybox.Place) ([]flybox.Body, error) {
	if _, ok := s.Pattern(pattern); !ok || s.CountAt(pattern, flybox.Loose) <= 0 {
		return nil, ErrUnknown
	}
	if to = standing(s, pattern, to); to == flybox.Loose {
		return nil, nil
	}
	return MoveFlies(pattern, flybox.Loose, to, 1), nil
}

// standing is a place, or where it is not there any more the home of the
// pattern, or Loose.
func standing(s *flybox.State, pattern journal.ID, at flybox.Place) flybox.Place {
	if b, ok := s.Box(at.Box); ok && at.Row >= 1 && at.Row <= b.Rows && at.Slot >= 1 && at.Slot <= b.Columns {
		return at
	}
	home, _ := HomeOf(s, pattern)
	return home
}

// CountOff are the bodies for one fly that went from a place for a reason.
func CountOff(s *flybox.State, pattern journal.ID, from flybox.Place, why flybox.Why) ([]flybox.Body, error) {
	if _, ok := s.Pattern(pattern); !ok {
		return nil, ErrUnknown
	}
	return []flybox.Body{flybox.StockMove{Pattern: pattern, Place: from.Ref(), Delta: -1, Why: why}}, nil
}

// CountOn are the bodies for one fly that was tied and put in a place, see
// PutBack.
func CountOn(s *flybox.State, pattern journal.ID, to flybox.Place) ([]flybox.Body, error) {
	if _, ok := s.Pattern(pattern); !ok {
		return nil, ErrUnknown
	}
	if to != flybox.Loose {
		to = standing(s, pattern, to)
	}
	return []flybox.Body{flybox.StockMove{Pattern: pattern, Place: to.Ref(), Delta: 1, Why: flybox.WhyTied}}, nil
}
