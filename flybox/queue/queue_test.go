package queue

import (
	"fmt"
	"math"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/plan"
)

var dawn = time.Date(2026, 9, 12, 5, 0, 0, 0, time.UTC)

// stateOf folds bodies, a second after one another.
func stateOf(t testing.TB, bodies ...flybox.Body) *flybox.State {
	t.Helper()
	s := flybox.NewState()
	for i, b := range bodies {
		e, err := flybox.NewEntry(journal.ID(fmt.Sprint("e", i)), journal.Stamp{MS: dawn.UnixMilli() + int64(i)*1000, Device: "a"}, b)
		if err != nil {
			t.Fatal(err)
		}
		s.Apply(e)
	}
	return s
}

func fly(id journal.ID) flybox.Pattern {
	return flybox.Pattern{ID: id, Name: string("Fly " + id), Style: flybox.Hopper, Hook: 10}
}

func stock(id journal.ID, n int) flybox.StockMove {
	return flybox.StockMove{Pattern: id, Delta: n, Why: flybox.WhyCounted, Counted: &n}
}

// line is a line of a plan that wants n flies and expects to use up used.
func line(s *flybox.State, id journal.ID, n int, used float64) plan.Line {
	f, _ := s.Pattern(id)
	return plan.Line{Fly: f, Want: n, Demand: plan.Demand{Mean: used}}
}

var boat = flybox.Place{Box: "boat", Row: 1, Slot: 1}

func jobs(q Queue) (out []string) {
	for _, j := range q.Jobs {
		out = append(out, fmt.Sprintf("%s %s %d %s", j.For, j.Pattern, j.N, j.Due))
	}
	return out
}

func same(t *testing.T, got []string, want ...string) {
	t.Helper()
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("queue\n%q, want\n%q", got, want)
	}
}

func TestWhatIsDueFirstStandsFirst(t *testing.T) {
	s := stateOf(t, fly("a"), fly("b"), fly("c"),
		flybox.Box{ID: "boat", Name: "Boat", Rows: 2, Columns: 2}, flybox.Slot{Place: boat, Pattern: "c", Want: 4},
		flybox.Order{ID: "late", For: "x", Pattern: "a", Count: 2, Due: "2026-09-01"}, flybox.Order{ID: "some-day", For: "y", Pattern: "a", Count: 9},
		flybox.Order{ID: "soon", For: "z", Pattern: "b", Count: 3, Due: "2026-09-14"})
	q := Make(s, []Trip{{ID: "t", Name: "Float", Eve: "2026-09-14", Lines: []plan.Line{line(s, "b", 5, 2)}}}, "2026-09-12")
	same(t, jobs(q), "order a 2 2026-09-01", "order b 3 2026-09-14", "trip b 5 2026-09-14", "order a 9 ", "slot c 4 ")
	if !q.Jobs[0].Late || q.Jobs[1].Late || q.Jobs[3].Late {
		t.Error("the wrong jobs are overdue")
	}
	// By hand: 23 flies at the assumed 12 minutes are 276, three evenings of 2 h.
	if q.Flies != 23 || math.Abs(q.Minutes-276) > 1e-9 || q.Evenings(2) != 3 || q.Evenings(4.6) != 1 || q.Evenings(0) != 0 {
		t.Errorf("%d flies, %v minutes, %d evenings", q.Flies, q.Minutes, q.Evenings(2))
	}
}

func TestAFlyIsAskedForOnce(t *testing.T) {
	next := boat
	next.Slot = 2
	base := []flybox.Body{fly("a"), flybox.Box{ID: "boat", Name: "Boat", Rows: 2, Columns: 2}, flybox.Slot{Place: boat, Pattern: "a", Want: 6}, flybox.Slot{Place: next, Pattern: "a", Want: 2}}
	s := stateOf(t, append(base, stock("a", 3))...)
	// The trip lacks 7 of 10; they fill both slots. The next trip finds 3 + 7 - 4
	// = 6 and lacks 2 of 8.
	q := Make(s, []Trip{
		{ID: "u", Eve: "2026-09-30", Lines: []plan.Line{line(s, "a", 8, 4)}},
		{ID: "t", Eve: "2026-09-14", Lines: []plan.Line{line(s, "a", 10, 4)}},
	}, "2026-09-12")
	same(t, jobs(q), "trip a 7 2026-09-14", "trip a 2 2026-09-30")
	if q.Jobs[0].Place != boat {
		t.Errorf("they go to %v, want the emptiest slot", q.Jobs[0].Place)
	}
	// Flies that wait to be handed over go on no trip.
	s = stateOf(t, append(base, stock("a", 3), flybox.Order{ID: "o", For: "x", Pattern: "a", Count: 4},
		flybox.StockMove{Pattern: "a", Delta: 4, Why: flybox.WhyTied, Order: "o"})...)
	q = Make(s, []Trip{{ID: "t", Eve: "2026-09-14", Lines: []plan.Line{line(s, "a", 10, 4)}}}, "2026-09-12")
	same(t, jobs(q), "trip a 7 2026-09-14", "slot a 1 ")
}

func TestNothingToTie(t *testing.T) {
	if q := Make(stateOf(t), nil, "2026-09-12"); len(q.Jobs) != 0 || q.Flies != 0 || q.Evenings(2) != 0 {
		t.Errorf("queue %+v", q)
	}
	// A fly that was removed still stands in its order, as unknown.
	q := Make(stateOf(t, fly("a"), flybox.Order{ID: "o", For: "x", Pattern: "a", Count: 4}, flybox.Deleted{Target: "a"}), nil, "2026-09-12")
	if len(q.Jobs) != 1 || q.Jobs[0].Known {
		t.Errorf("queue %+v", q.Jobs)
	}
}

func TestMaterialsGoToWhatIsDueFirst(t *testing.T) {
	foam := flybox.RecipeLine{Name: "Tan  foam", Amount: 20, Unit: flybox.Millimetres}
	have := 100.0
	s := stateOf(t, fly("a"), fly("b"),
		flybox.Recipe{ID: "a", Minutes: 10, Lines: []flybox.RecipeLine{foam, {Name: "Hook", Amount: 1, Unit: flybox.Pieces}, {Name: "Thread"}}},
		flybox.Recipe{ID: "b", Lines: []flybox.RecipeLine{foam, {Name: "tan foam", Amount: 5, Unit: flybox.Millimetres}}},
		flybox.Material{ID: "m1", Name: "Tan foam", Unit: flybox.Millimetres}, flybox.Material{ID: "m2", Name: "TAN FOAM", Unit: flybox.Millimetres},
		flybox.Material{ID: "m3", Name: "Tan foam", Unit: flybox.Pieces}, // in another unit it is another thing
		flybox.MaterialMove{Material: "m1", Delta: 60, Why: flybox.MaterialBought}, flybox.MaterialMove{Material: "m2", Delta: 40, Why: flybox.MaterialBought},
		flybox.MaterialMove{Material: "m3", Delta: have, Why: flybox.MaterialCounted, Counted: &have},
		flybox.Order{ID: "1", For: "x", Pattern: "a", Count: 4, Due: "2026-09-14"}, flybox.Order{ID: "2", For: "x", Pattern: "b", Count: 3, Due: "2026-09-15"})
	q := Make(s, nil, "2026-09-12")
	// By hand: 4 x 20 = 80 of 100 mm for the first; 3 x 25 = 75 for the second,
	// which finds 20.
	if j := q.Jobs[0]; j.Minutes != 10 || j.Assumed || len(j.Short) != 2 || j.Short[0].Name != "Hook" || j.Short[0].Counted {
		t.Errorf("first %+v", j)
	}
	if j := q.Jobs[1]; !j.Assumed || len(j.Short) != 1 || j.Short[0].Amount != 75 || j.Short[0].Have != 20 || !j.Short[0].Counted {
		t.Errorf("second %+v", j.Short)
	}
	if n := q.Needs[0]; n.Amount != 155 || n.Have != 100 || n.Buy() != 55 || n.Flies != 7 || !n.Missing() {
		t.Errorf("need %+v", n)
	}
	if len(q.Needs) != 3 || q.NoRecipe != 0 {
		t.Errorf("%d needs, %d without a recipe", len(q.Needs), q.NoRecipe)
	}

	// Tying takes off what the recipe says, from where most is, and taking back
	// gives it back.
	bodies := Tied(s, "b", "2", boat, 3, "tie-1")
	if len(bodies) != 2 || bodies[0].(flybox.StockMove).Delta != 3 || bodies[0].(flybox.StockMove).Order != "2" {
		t.Fatalf("bodies %+v", bodies)
	}
	if m := bodies[1].(flybox.MaterialMove); m.Material != "m1" || m.Delta != -75 || m.Tie != "tie-1" {
		t.Errorf("material %+v", m)
	}
	for i, b := range bodies {
		e, err := flybox.NewEntry(journal.ID(fmt.Sprint("t", i)), journal.Stamp{MS: dawn.UnixMilli() + 1e6, Device: "a"}, b)
		if err != nil {
			t.Fatal(err)
		}
		s.Apply(e)
	}
	if o, _ := s.OrderNow("2"); o.ToTie() != 0 || s.CountAt("b", boat) != 3 {
		t.Errorf("order %+v", o)
	}
	lately := Lately(s, dawn, 5)
	if len(lately) != 1 || lately[0].N != 3 || lately[0].Tie != "tie-1" {
		t.Fatalf("lately %+v", lately)
	}
	for i, b := range TakeBack(s, "tie-1") {
		e, err := flybox.NewEntry(journal.ID(fmt.Sprint("u", i)), journal.Stamp{MS: dawn.UnixMilli() + 2e6, Device: "a"}, b)
		if err != nil {
			t.Fatal(err)
		}
		s.Apply(e)
	}
	if m, _ := s.MaterialOnHand("m1"); m.Amount != 60 || s.Count("b") != 0 || len(TakeBack(s, "tie-1")) != 0 || len(Lately(s, dawn, 5)) != 0 {
		t.Errorf("taken back, %v mm and %d flies are there", m.Amount, s.Count("b"))
	}
}

// A slot asks for what it lacks; a full one asks for nothing, and what is tied
// for a trip is not sent to it.
func TestASlotAsksForWhatItLacks(t *testing.T) {
	next := boat
	next.Slot = 2
	at := func(id journal.ID, place flybox.Place, n int) flybox.StockMove {
		return flybox.StockMove{Pattern: id, Place: &place, Delta: n, Why: flybox.WhyCounted, Counted: &n}
	}
	s := stateOf(t, fly("a"), fly("b"), flybox.Box{ID: "boat", Name: "Boat", Rows: 2, Columns: 2},
		flybox.Slot{Place: boat, Pattern: "a", Want: 6}, at("a", boat, 6),
		flybox.Slot{Place: next, Pattern: "b", Want: 6}, at("b", next, 2))
	q := Make(s, []Trip{{ID: "t", Eve: "2026-09-14", Lines: []plan.Line{line(s, "a", 9, 4)}}}, "2026-09-14")
	same(t, jobs(q), "trip a 3 2026-09-14", "slot b 4 ")
	if q.Jobs[0].Place != (flybox.Place{}) {
		t.Errorf("flies for the trip go to the full slot %v", q.Jobs[0].Place)
	}
	if q.Jobs[0].Late {
		t.Error("what is due today is late")
	}
	if q.Jobs[1].Place != next || q.Jobs[1].Name != "Boat" {
		t.Errorf("flies for the slot go to %v of %q", q.Jobs[1].Place, q.Jobs[1].Name)
	}
}

// A fly that is yet to be made is tied as often as the plan says, however many
// others there are, and not at all where it says none.
func TestAFlyYetToBeMade(t *testing.T) {
	s := stateOf(t, fly("a"), stock("a", 50))
	made := &match.Tying{}
	q := Make(s, []Trip{{ID: "t", Name: "Float", Eve: "2026-09-14", Lines: []plan.Line{{New: made, Want: 3}, {New: made}, line(s, "a", 9, 4)}}}, "2026-09-12")
	same(t, jobs(q), "trip  3 2026-09-14")
	if q.Flies != 3 || q.Jobs[0].New != made || q.Jobs[0].Known || q.NoRecipe != 3 {
		t.Errorf("queue %+v", q)
	}
}

func BenchmarkMake600(b *testing.B) {
	var bodies []flybox.Body
	bodies = append(bodies, flybox.Box{ID: "big", Name: "Big", Rows: 30, Columns: 20})
	for i := range 600 {
		id := fmt.Sprint("f", i)
		bodies = append(bodies, fly(journal.ID(id)), flybox.Slot{Place: flybox.Place{Box: "big", Row: 1 + i/20, Slot: 1 + i%20}, Pattern: journal.ID(id), Want: 5},
			flybox.Recipe{ID: journal.ID(id), Lines: []flybox.RecipeLine{{Name: "Hook", Amount: 1, Unit: flybox.Pieces}, {Name: "Thread", Amount: 20, Unit: flybox.Turns}}})
	}
	s := stateOf(b, bodies...)
	for b.Loop() {
		if q := Make(s, nil, "2026-09-12"); len(q.Jobs) != 600 {
			b.Fatal(len(q.Jobs))
		}
	}
}

// Tying takes off each material once, one line or several; of those of one
// name that of which most is there, the first where they are alike, and
// nothing for what nobody counts.
func TestTyingTakesOffWhatIsCounted(t *testing.T) {
	bought := func(id journal.ID, n float64) flybox.MaterialMove {
		return flybox.MaterialMove{Material: id, Delta: n, Why: flybox.MaterialBought}
	}
	s := stateOf(t, fly("a"),
		flybox.Recipe{ID: "a", Lines: []flybox.RecipeLine{{Name: "Hook", Amount: 1, Unit: flybox.Pieces}, {Name: "Hackle", Amount: 2, Unit: flybox.Pieces}}},
		flybox.Material{ID: "m1", Name: "Hook", Unit: flybox.Pieces}, flybox.Material{ID: "m2", Name: "Hook", Unit: flybox.Pieces},
		flybox.Material{ID: "m3", Name: "Wire", Unit: flybox.Pieces}, bought("m1", 20), bought("m2", 20), bought("m3", 90))
	bodies := Tied(s, "a", "", boat, 3, "tie-1")
	if len(bodies) != 2 {
		t.Fatalf("bodies %+v, want the flies and the hooks", bodies)
	}
	if m := bodies[1].(flybox.MaterialMove); m.Material != s.Materials()[0].ID || m.Delta != -3 {
		t.Errorf("taken off %+v", m)
	}
}
