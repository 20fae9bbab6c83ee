package results

import (
	"fmt"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

func stateOf(t *testing.T, bodies ...flybox.Body) *flybox.State {
	t.Helper()
	s := flybox.NewState()
	for i, b := range bodies {
		at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, i, 0, time.UTC).UnixMilli(), Device: "a"}
		e, err := flybox.NewEntry(journal.ID(fmt.Sprint("e", i)), at, b)
		if err != nil {
			t.Fatal(err)
		}
		s.Apply(e)
	}
	return s
}

func TestTally(t *testing.T) {
	fly := func(id, parent journal.ID) flybox.Body {
		return flybox.Pattern{ID: id, Name: string(id), Parent: parent, Style: flybox.Beetle, Hook: 12}
	}
	s := stateOf(t,
		fly("ant", ""),   // e0
		fly("ant", "e0"), // e1
		fly("hen", "e1"), // e2
		flybox.Outcome{ID: "a", When: "2026-08-14T23:30:00-06:00", Result: flybox.Take, Pattern: "ant", Rev: "e0", Hatch: "h", Form: "f", Water: "Sorrel River"},
		flybox.Outcome{ID: "b", When: "2026-08-15T06:00:00-06:00", Result: flybox.Refusal, Pattern: "ant", Hatch: "h", Form: "f", Water: "Ember Creek"},
		flybox.Outcome{ID: "c", When: "2026-08-15T06:10:00-06:00", Result: flybox.Follow, Pattern: "ant", Rev: "e1", Hatch: "h", Form: "g"},
		flybox.Outcome{ID: "d", When: "2026-08-16T06:10:00-06:00", Result: flybox.Lost, Pattern: "nobody"},
		flybox.Outcome{ID: "x", When: "2026-08-16T06:20:00-06:00", Result: flybox.Take, Pattern: "ant", Rev: "e0", Hatch: "h", Form: "f"},
		flybox.Deleted{Target: "x"},
	)
	f, g := Form{"h", "f"}, Form{"h", "g"}
	all := Tally(s, Filter{})
	want := Table{
		{"e0", f}: {Takes: 1}, {"e1", f}: {Refusals: 1}, // the revision that is newest, where none was said
		{"e1", g}: {Follows: 1}, {"nobody", Form{}}: {Lost: 1},
	}
	if fmt.Sprint(all) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", all, want)
	}
	if of := all.Of(f); len(of) != 2 || of["e0"].Takes != 1 {
		t.Errorf("of the form: %v", of)
	}
	if by := all.Revisions(); by["e1"] != (Count{Refusals: 1, Follows: 1}) {
		t.Errorf("by revision: %v", by)
	}
	for _, c := range []struct {
		name   string
		filter Filter
		fish   int
	}{
		{"one hatch", Filter{Hatch: "h"}, 3},
		{"one form", Filter{Hatch: "h", Form: "g"}, 1},
		{"one water", Filter{Water: "Ember Creek"}, 1},
		{"the local day, not that in UTC", Filter{From: "2026-08-14", To: "2026-08-14"}, 1},
		{"from a day on", Filter{From: "2026-08-15"}, 3},
		{"up to a day", Filter{To: "2026-08-15"}, 3},
		{"nothing", Filter{Hatch: "other"}, 0},
	} {
		n := 0
		for _, count := range Tally(s, c.filter) {
			n += count.Fish()
		}
		if n != c.fish {
			t.Errorf("%s: %d fish, want %d", c.name, n, c.fish)
		}
	}
	if got := Ancestors(s, "e2"); fmt.Sprint(got) != "[e1 e0]" {
		t.Errorf("ancestors %v", got)
	}
	if got := Ancestors(s, "nobody"); got != nil {
		t.Errorf("ancestors of nothing: %v", got)
	}
	// Two that name each other as parent, as no device of ours writes.
	loop := stateOf(t, fly("a", "e1"), fly("b", "e0"))
	if got := Ancestors(loop, "e0"); fmt.Sprint(got) != "[e1]" {
		t.Errorf("a loop: %v", got)
	}
}
