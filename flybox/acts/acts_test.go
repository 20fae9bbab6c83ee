package acts_test

import (
	"fmt"
	"math"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
)

func fold(t *testing.T, bodies ...flybox.Body) *flybox.State {
	t.Helper()
	s := flybox.NewState()
	for i, b := range bodies {
		s.Apply(entry(t, i, b))
	}
	return s
}

// entry is one of a body, in the order of n, under an id as real ones are.
func entry(t *testing.T, n int, b flybox.Body) journal.Entry {
	t.Helper()
	e, err := flybox.NewEntry(journal.ID(fmt.Sprintf("00000000-0000-4000-8000-%012d", n)), journal.Stamp{MS: int64(n + 1), Device: "a"}, b)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestCountingAMaterialPutsItRight(t *testing.T) {
	s := fold(t, flybox.Material{ID: "foam", Name: "Foam", Unit: flybox.Millimetres}, flybox.MaterialMove{Material: "foam", Delta: 75.4, Why: flybox.MaterialBought})
	if got := acts.CountedMaterial(s, "foam", 80); math.Abs(got.Delta-4.6) > 1e-9 || got.Counted == nil || *got.Counted != 80 {
		t.Errorf("counting 80 moves %+v, want 4.6", got)
	}
}

func TestLoseTakesTheFlyThatIsOnTheLine(t *testing.T) {
	home, spare := flybox.Place{Box: "box", Row: 1, Slot: 2}, flybox.Place{Box: "box", Row: 1, Slot: 1}
	in := func(p flybox.Place, n int) flybox.Body {
		return flybox.StockMove{Pattern: "p", Place: &p, Delta: n, Why: flybox.WhyTied}
	}
	loose := flybox.StockMove{Pattern: "p", Delta: 1, Why: flybox.WhyTied}
	belongs := flybox.Slot{Place: home, Pattern: "p", Want: 4}
	for _, c := range []struct {
		name   string
		bodies []flybox.Body
		want   flybox.Place
	}{
		{"one was taken out of the box", []flybox.Body{belongs, in(home, 3), loose}, flybox.Loose},
		{"the slot where it belongs comes first", []flybox.Body{belongs, in(spare, 3), in(home, 1)}, home},
		{"another slot, if its own is empty", []flybox.Body{belongs, in(spare, 3)}, spare},
		{"a slot taken from it is as good as any", []flybox.Body{belongs, flybox.Slot{Place: home, Pattern: "p", Off: true}, in(spare, 1), in(home, 1)}, spare},
		{"none on record", []flybox.Body{belongs}, flybox.Loose},
	} {
		s := fold(t, c.bodies...)
		m := acts.Lose(s, "p")
		if m.At() != c.want || m.Delta != -1 || m.Why != flybox.WhyLost || len(m.Check()) > 0 {
			t.Errorf("%s: %+v at %+v, want %+v", c.name, m, m.At(), c.want)
		}
		before := s.Count("p")
		s.Apply(entry(t, 60, m))
		if s.Count("p") != before-1 {
			t.Errorf("%s: %d left of %d", c.name, s.Count("p"), before)
		}
	}
}
