package flybox

import (
	"fmt"
	"testing"
	"time"

	"dampstone/flybox/journal"
)

func TestRigNowIsWhatWasSaidLast(t *testing.T) {
	hour := func(h int) string { return dawn.Add(time.Duration(h) * time.Hour).Format(time.RFC3339) }
	s := foldOf(t,
		Outing{ID: "o", Start: hour(0)},
		Rig{ID: "r1", When: hour(9), Outing: "o", Pattern: "long"}, // a clock that ran ahead
		Rig{ID: "r2", When: hour(2), Outing: "o", Pattern: "short", Hatch: "claassenia"},
		Rig{ID: "r3", When: hour(3), Outing: "other", Pattern: "ant"},
	)
	if now := s.RigNow("o", 0); now.Body.Pattern != "short" || now.Body.Hatch != "claassenia" {
		t.Errorf("now %+v", now.Body)
	}
	if n := len(s.RigsOf("o")); n != 2 {
		t.Errorf("%d rigs of the outing, want 2", n)
	}
	if now := s.RigNow("none", 0); now.Entry != "" {
		t.Errorf("an outing without a rig has %+v", now)
	}
	s.Apply(entryAt(t, "late", 60, "a", Deleted{Target: "r2"}))
	if now := s.RigNow("o", 0); now.Body.Pattern != "long" {
		t.Errorf("after the last one was taken back: %+v", now.Body)
	}
}

func TestRunningOutings(t *testing.T) {
	s := foldOf(t,
		Outing{ID: "a", Start: "2026-08-14T05:00:00Z"},
		Outing{ID: "b", Start: "2026-08-14T09:00:00Z"},
		Outing{ID: "c", Start: "2026-08-14T11:00:00Z", End: "2026-08-14T12:00:00Z"},
		Outcome{ID: "x", When: "2026-08-14T06:00:00Z", Result: Take, Pattern: "p", Outing: "a"},
		Outcome{ID: "y", When: "2026-08-14T07:00:00Z", Result: Refusal, Pattern: "p", Outing: "a"},
		Outcome{ID: "z", When: "2026-08-14T07:00:00Z", Result: Refusal, Pattern: "p", Outing: "b"},
		Deleted{Target: "x"},
	)
	if r := s.Running(); len(r) != 2 || r[0].Body.ID != "b" || r[1].Body.ID != "a" {
		t.Errorf("running %+v", r)
	}
	if o := s.OutcomesOf("a"); len(o) != 1 || o[0].Body.ID != "y" {
		t.Errorf("outcomes %+v", o)
	}
	n := 0
	for range s.AllOutcomes() {
		n++
	}
	if n != 2 {
		t.Errorf("%d outcomes in all, want 2", n)
	}
}

func TestLossesOfAnOuting(t *testing.T) {
	s := foldOf(t,
		StockMove{Pattern: "p", Delta: -1, Why: WhyLost, Outing: "o", Outcome: "x"},
		StockMove{Pattern: "p", Delta: -1, Why: WhyLost},
		StockMove{Pattern: "q", Delta: -1, Why: WhyLost, Outing: "o"},
		StockMove{Pattern: "q", Delta: -1, Why: WhyGiven, Outing: "o"},
		Deleted{Target: "e2"},
	)
	if l := s.LossesOf("o"); len(l) != 1 || l[0].Outcome != "x" || l[0].Entry != "e0" {
		t.Errorf("losses %+v", l)
	}
	if l := s.LossesOf(""); len(l) != 0 {
		t.Errorf("losses on no outing: %+v", l)
	}
}

func TestRodsAreToldApart(t *testing.T) {
	when := "2026-08-14T05:00:00Z"
	s := NewState()
	for i, b := range []struct {
		device string
		body   Body
	}{
		{"phone", Outing{ID: "o", Start: when, Rods: 2, Names: []string{"Bow", "Stern"}}},
		{"phone", Rig{ID: "r0", When: when, Outing: "o", Pattern: "old"}}, // before rods had numbers
		{"phone", Rig{ID: "r2", When: when, Outing: "o", Rod: 2, Pattern: "point", Above: []Tied{{Pattern: "dropper"}, {Pattern: "top"}}}},
		{"other", Outcome{ID: "x", When: when, Result: Take, Pattern: "old", Outing: "o", Rod: 1}},
		{"other", Rig{ID: "r3", When: when, Outing: "o", Rod: 3, Pattern: "ant"}},
	} {
		s.Apply(entryAt(t, journal.ID(fmt.Sprintf("00000000-0000-4000-8000-%012d", i)), i, b.device, b.body))
	}
	o, _ := s.Outing("o")
	for rod, want := range map[int]string{0: "old", 1: "old", 2: "point", 3: "ant", 4: ""} {
		if got := s.RigNow("o", rod).Body; string(got.Pattern) != want {
			t.Errorf("rod %d has %q on, want %q", rod, got.Pattern, want)
		}
	}
	if n := s.RodCount(o.Body); n != 3 {
		t.Errorf("%d rods, want the 2 that were said and the one that has a rig", n)
	}
	for device, want := range map[string]int{"phone": 2, "other": 3, "third": 1} {
		if got := s.LastRod("o", device); got != want {
			t.Errorf("%s used rod %d last, want %d", device, got, want)
		}
	}
	flies := s.RigNow("o", 2).Body.Flies()
	if len(flies) != 3 || flies[0].Pattern != "point" || flies[2].Pattern != "top" {
		t.Errorf("flies %+v", flies)
	}
	if got := (Rig{}).Flies(); len(got) != 0 {
		t.Errorf("an empty rig has %+v", got)
	}
}
