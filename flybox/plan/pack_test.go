package plan

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
)

// packed is a state with two boxes: "boat" of 1 x 3 goes along, "drawer" of
// 1 x 4 stays.
func packed(t *testing.T, bodies ...flybox.Body) *flybox.State {
	t.Helper()
	all := []flybox.Body{
		flybox.Box{ID: "boat", Name: "Boat", Rows: 1, Columns: 3},
		flybox.Box{ID: "drawer", Name: "Drawer", Rows: 1, Columns: 4},
	}
	for _, id := range []journal.ID{"a", "b", "c"} {
		all = append(all, flybox.Pattern{ID: id, Name: string(id), Style: flybox.Ant, Hook: 14})
	}
	s := flybox.NewState()
	at := time.Date(2026, 8, 1, 6, 0, 0, 0, time.UTC).UnixMilli()
	for i, b := range append(all, bodies...) {
		e, err := flybox.NewEntry(journal.ID(fmt.Sprint("e", i)), journal.Stamp{MS: at + int64(i), Device: "a"}, b)
		if err != nil {
			t.Fatal(err)
		}
		s.Apply(e)
	}
	return s
}

func boat(slot int) flybox.Place   { return flybox.Place{Box: "boat", Row: 1, Slot: slot} }
func drawer(slot int) flybox.Place { return flybox.Place{Box: "drawer", Row: 1, Slot: slot} }

func have(pattern journal.ID, at flybox.Place, n int) flybox.Body {
	m := flybox.StockMove{Pattern: pattern, Delta: n, Why: flybox.WhyTied}
	if at != flybox.Loose {
		m.Place = &at
	}
	return m
}

func TestPacking(t *testing.T) {
	for _, c := range []struct {
		name   string
		bodies []flybox.Body
		take   map[journal.ID]int
		slot   int
		want   []string
		noRoom int
	}{
		{"nothing to do", []flybox.Body{have("a", boat(1), 4)}, map[journal.ID]int{"a": 4}, 6, nil, 0},
		{"from a drawer to the slot that has it", []flybox.Body{have("a", boat(2), 1), have("a", drawer(1), 9)}, map[journal.ID]int{"a": 5}, 6, []string{"4 a drawer.1 boat.2"}, 0},
		{"to the slot that awaits it", []flybox.Body{flybox.Slot{Place: boat(3), Pattern: "a", Want: 4}, have("a", drawer(1), 9)}, map[journal.ID]int{"a": 5}, 6, []string{"5 a drawer.1 boat.3"}, 0},
		{"past a slot that awaits another", []flybox.Body{flybox.Slot{Place: boat(1), Pattern: "b"}, have("a", drawer(1), 3)}, map[journal.ID]int{"a": 3}, 6, []string{"3 a drawer.1 boat.2"}, 0},
		{"loose ones first", []flybox.Body{have("a", flybox.Loose, 2), have("a", drawer(1), 9)}, map[journal.ID]int{"a": 3}, 6, []string{"2 a loose boat.1", "1 a drawer.1 boat.1"}, 0},
		{"over two slots", []flybox.Body{have("a", drawer(1), 9)}, map[journal.ID]int{"a": 9}, 6, []string{"6 a drawer.1 boat.1", "3 a drawer.1 boat.2"}, 0},
		{"no more than there are", []flybox.Body{have("a", drawer(1), 2)}, map[journal.ID]int{"a": 9}, 6, []string{"2 a drawer.1 boat.1"}, 0},
		{"a count below nothing", []flybox.Body{have("a", drawer(1), 3), flybox.StockMove{Pattern: "a", Delta: -1, Why: flybox.WhyLost}}, map[journal.ID]int{"a": 9}, 6, []string{"2 a drawer.1 boat.1"}, 0},
		{"makes room, to the slot at home", []flybox.Body{have("b", boat(1), 5), have("b", boat(2), 5), have("b", boat(3), 5), have("b", drawer(4), 1), have("a", drawer(1), 6)},
			map[journal.ID]int{"a": 6}, 6, []string{"5 b boat.1 drawer.4 out", "6 a drawer.1 boat.1"}, 0},
		{"finds no room", []flybox.Body{have("b", boat(1), 5), have("b", boat(2), 5), have("b", boat(3), 5), have("a", drawer(1), 6)},
			map[journal.ID]int{"a": 6, "b": 15}, 6, nil, 6},
		{"leaves what is not in the plan where room is", []flybox.Body{have("b", boat(1), 5), have("a", drawer(1), 6)}, map[journal.ID]int{"a": 6}, 6, []string{"6 a drawer.1 boat.2"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := packed(t, c.bodies...)
			var lines []Line
			for _, f := range s.Patterns() {
				if n, ok := c.take[f.ID]; ok {
					lines = append(lines, Line{Fly: f, Take: n})
				}
			}
			p := Pack(s, flybox.Trip{ID: "t", Boxes: []journal.ID{"boat", "gone", "boat"}}, lines, c.slot)
			var got []string
			for _, st := range p.Steps {
				got = append(got, stepText(st))
			}
			if !slices.Equal(got, c.want) || p.NoRoom != c.noRoom {
				t.Errorf("steps %q, no room for %d; want %q and %d", got, p.NoRoom, c.want, c.noRoom)
			}
		})
	}
}

func stepText(s Step) string {
	name := func(p flybox.Place) string {
		if p == flybox.Loose {
			return "loose"
		}
		return fmt.Sprint(p.Box, ".", p.Slot)
	}
	text := fmt.Sprint(s.N, " ", s.Pattern, " ", name(s.From), " ", name(s.To))
	if s.Out {
		text += " out"
	}
	return text
}

func TestStepsDoneAreRememberedUntilUndone(t *testing.T) {
	from, to := drawer(1), boat(1)
	move := func(n int, trip journal.ID) []flybox.Body {
		out := acts.MoveFlies("a", from, to, n)
		for i := range out {
			m := out[i].(flybox.StockMove)
			m.Trip = trip
			out[i] = m
		}
		return out
	}
	bodies := append([]flybox.Body{have("a", drawer(1), 9)}, move(3, "t")...)
	bodies = append(bodies, move(2, "other")...)
	trip := flybox.Trip{ID: "t", Boxes: []journal.ID{"boat"}}
	s := packed(t, bodies...)
	f, _ := s.Pattern("a")
	lines := []Line{{Fly: f, Take: 6}}
	p := Pack(s, trip, lines, 8)
	if len(p.Done) != 1 || stepText(p.Done[0]) != "3 a drawer.1 boat.1" || len(p.Steps) != 1 || p.Steps[0].N != 1 {
		t.Fatalf("%+v", p)
	}
	for _, id := range p.Done[0].Done {
		bodies = append(bodies, flybox.Deleted{Target: id})
	}
	p = Pack(packed(t, bodies...), trip, lines, 8)
	if len(p.Done) != 0 || len(p.Steps) != 1 || p.Steps[0].N != 4 {
		t.Errorf("after undoing: %+v", p)
	}
	if p := Pack(s, flybox.Trip{ID: "t"}, lines, 8); len(p.Steps) != 0 {
		t.Errorf("without boxes: %+v", p)
	}
}

func TestEveryStyleIsMadeOfSomething(t *testing.T) {
	for _, style := range flybox.Styles {
		if len(made[style]) == 0 {
			t.Errorf("%s is made of nothing", style)
		}
		for _, m := range made[style] {
			if !slices.Contains(Materials, m.code) {
				t.Errorf("%s is made of %q", style, m.code)
			}
		}
	}
	p := Plan{Lines: []Line{
		{Fly: flybox.Fly{Revision: flybox.Revision{Pattern: flybox.Pattern{Style: flybox.Beetle, Hook: 12, Body: "#2b2825"}}}, Tie: 4},
		{Fly: flybox.Fly{Revision: flybox.Revision{Pattern: flybox.Pattern{Style: flybox.Ant, Hook: 12, Body: "#2b2825"}}}, Tie: 2},
		{Fly: flybox.Fly{Revision: flybox.Revision{Pattern: flybox.Pattern{Style: flybox.Hopper, Hook: 8}}}},
	}}
	want := []Material{{Code: "hook", Hook: 12, Flies: 6}, {Code: "foam", Colour: "#2b2825", Flies: 6}, {Code: "hackle", Colour: "#2b2825", Flies: 2}, {Code: "legs", Colour: "#2b2825", Flies: 4}, {Code: "thread", Flies: 6}}
	if got := p.Needs(); !slices.Equal(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
}
