package sync

import (
	"fmt"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

func TestWhatIsSetQuarantine(t *testing.T) {
	here := map[journal.ID]bool{}
	has := func(id journal.ID) bool { return here[id] }
	bad := func(id string) flybox.Bad {
		return flybox.Bad{ID: journal.ID(id), Err: &journal.Problem{Field: "delta", Code: journal.CodeRange}}
	}
	var a Quarantine
	for _, tc := range []struct {
		name   string
		report Report
		whole  bool
		want   Quarantine
	}{
		{"nothing", Report{}, true, Quarantine{}},
		{"one is refused", Report{Refused: []Refused{{"a", "x"}}}, true, Quarantine{Refused: []Refused{{"a", "x"}}}},
		{"the line breaks before it is offered again", Report{}, false, Quarantine{Refused: []Refused{{"a", "x"}}}},
		{"and after another was refused", Report{Refused: []Refused{{"b", "y"}, {"a", "z"}}}, false, Quarantine{Refused: []Refused{{"a", "z"}, {"b", "y"}}}},
		{"one is taken at last", Report{Refused: []Refused{{"b", "y"}}}, true, Quarantine{Refused: []Refused{{"b", "y"}}}},
		{"two of the server are not taken", Report{Bad: []flybox.Bad{bad("s"), bad("t"), bad("s")}}, true, Quarantine{Untaken: []Refused{{"s", journal.CodeRange}, {"t", journal.CodeRange}}}},
		{"which is remembered", Report{}, true, Quarantine{Untaken: []Refused{{"s", journal.CodeRange}, {"t", journal.CodeRange}}}},
	} {
		if a = a.After(tc.report, tc.whole, has); !a.Equal(tc.want) {
			t.Errorf("%s: %+v, want %+v", tc.name, a, tc.want)
		}
	}
	here["s"] = true
	if a = a.After(Report{}, true, has); !a.Equal(Quarantine{Untaken: []Refused{{"t", journal.CodeRange}}}) {
		t.Errorf("what an update took is still set aside: %+v", a)
	}
	var many Report
	for i := range 3 * maxUntaken {
		many.Bad = append(many.Bad, bad(fmt.Sprint("n", i)))
	}
	if a = a.After(many, true, has); len(a.Untaken) != maxUntaken || a.Untaken[maxUntaken-1].ID != "n299" {
		t.Errorf("%d are remembered", len(a.Untaken))
	}
}
