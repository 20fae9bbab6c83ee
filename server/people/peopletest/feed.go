package peopletest

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/server/people"
)

func note(t *testing.T, id string) journal.Entry {
	t.Helper()
	e, err := journal.ParseEntry([]byte(`{"id":"` + id + `","at":"2026-08-14T05:12:09.123Z-0000-crew","v":1,"kind":"sighting","body":{"when":"2026-08-14T12:00:00Z","hatch":"claassenia","note":"<b>&</b>"}}`))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func give(t *testing.T, r *people.Registry, from people.Person, ids ...string) {
	t.Helper()
	kept, err := r.Looked(from.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	g := people.Gift{From: from.ID, Day: "2026-08-14", Kept: kept, Looked: kept}
	for _, id := range ids {
		g.Entries = append(g.Entries, note(t, id))
		g.Things = append(g.Things, journal.ID("thing-of-"+id))
		g.Given = append(g.Given, journal.ID("own-"+id))
		g.Looked++
	}
	if err := r.Give(g); err != nil {
		t.Fatal(err)
	}
}

func share(t *testing.T, r *people.Registry, p people.Person, yes bool) {
	t.Helper()
	if err := r.SetShares(p.ID, yes, 7); err != nil {
		t.Fatal(err)
	}
}

// gets are the ids that somebody reads from a place on, in pages of one limit.
func gets(t *testing.T, r *people.Registry, p people.Person, at journal.Place, limit int) (ids []string, last journal.Place) {
	t.Helper()
	for more := true; more; {
		var entries []journal.Entry
		var err error
		before := at
		entries, at, more, err = r.Feed(p.ID, at, limit, 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		if more && at == before {
			t.Fatal("the feed stands still")
		}
		for _, e := range entries {
			ids = append(ids, string(e.ID))
		}
	}
	return ids, at
}

func testAFeedIsReadOfTheTimesInTheCrew(t *testing.T, open Open) {
	r, reopen := open(t)
	ana, bo, cy := add(t, r, "Ana"), add(t, r, "Bo"), add(t, r, "Cy")
	share(t, r, ana, true)
	share(t, r, bo, true)
	give(t, r, ana, "a1", "a2")
	give(t, r, bo, "b1")
	share(t, r, cy, true)
	give(t, r, ana, "a3")
	share(t, r, cy, false)
	give(t, r, ana, "a4")
	share(t, r, cy, true)
	share(t, r, cy, false) // nothing came meanwhile
	share(t, r, cy, true)
	give(t, r, bo, "b2", "b1") // one that is there already
	give(t, r, cy, "c1")

	want := map[string][]string{ana.ID: {"b1", "b2", "c1"}, bo.ID: {"a1", "a2", "a3", "a4", "c1"}, cy.ID: {"a3", "b2"}}
	check := func(r *people.Registry) {
		t.Helper()
		for _, p := range []people.Person{ana, bo, cy} {
			for _, limit := range []int{1, 2, 500} {
				ids, at := gets(t, r, p, journal.Place{}, limit)
				if !slices.Equal(ids, want[p.ID]) {
					t.Errorf("%s reads %v by %d, want %v", p.Name, ids, limit, want[p.ID])
				}
				if again, _ := gets(t, r, p, at, limit); len(again) != 0 {
					t.Errorf("%s reads %v again", p.Name, again)
				}
			}
		}
	}
	check(r)
	if e, ok, err := r.FeedEntry(bo.ID, "a1"); err != nil || !ok || string(e.Raw()) != string(note(t, "a1").Raw()) {
		t.Errorf("the feed gives Bo %s, %v", e.Raw(), err)
	}
	for _, who := range []people.Person{ana, cy} {
		if _, ok, err := r.FeedEntry(who.ID, "a1"); err != nil || ok {
			t.Errorf("%s finds a1, which is not for them: %v", who.Name, err)
		}
	}
	came, err := r.Came(cy.ID, []journal.ID{"a1", "thing-of-a1", "c1", "thing-of-c1", "else"})
	if err != nil || !came["a1"] || !came["thing-of-a1"] || came["c1"] || came["thing-of-c1"] || came["else"] {
		t.Errorf("what is not Cy's to share is %v, %v", came, err)
	}
	if n, err := r.GivenOn(ana.ID, "2026-08-14"); err != nil || n != 4 {
		t.Errorf("Ana gave %d, %v", n, err)
	}
	if n, err := r.GivenOn(ana.ID, "2026-08-15"); err != nil || n != 0 {
		t.Errorf("Ana gave %d the day after, %v", n, err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	r = reopen()
	check(r)

	// Whoever is taken off takes along what they gave.
	if err := r.Remove(ana.ID, now); err != nil {
		t.Fatal(err)
	}
	want = map[string][]string{bo.ID: {"c1"}, cy.ID: {"b2"}, ana.ID: nil}
	check(r)
	if came, err := r.Came(cy.ID, []journal.ID{"a1", "thing-of-a1"}); err != nil || len(came) != 0 {
		t.Errorf("of Ana is left %v, %v", came, err)
	}
}

// A place in a feed that was an older copy, or another one, is its start.
func testAPlaceThatIsNotInTheFeedIsItsStart(t *testing.T, open Open) {
	r, _ := open(t)
	ana, bo := add(t, r, "Ana"), add(t, r, "Bo")
	share(t, r, ana, true)
	share(t, r, bo, true)
	give(t, r, ana, "a1", "a2", "a3")
	_, end := gets(t, r, bo, journal.Place{}, 10)
	for _, at := range []journal.Place{{Seq: 2, Mark: end.Mark}, {Seq: 4, Mark: end.Mark}, {Seq: 1 << 63, Mark: ""}, {Seq: 3, Mark: ""}, {Seq: 0, Mark: "x"}} {
		if ids, last := gets(t, r, bo, at, 10); len(ids) != 3 || last != end {
			t.Errorf("from %v Bo reads %v up to %v", at, ids, last)
		}
	}
}

// A long feed of others' times and of one's own is read in bounded steps.
func testALongFeedIsReadInSteps(t *testing.T, open Open) {
	r, _ := open(t)
	ana, bo := add(t, r, "Ana"), add(t, r, "Bo")
	share(t, r, ana, true)
	share(t, r, bo, true)
	var ids []string
	for i := range 900 {
		ids = append(ids, fmt.Sprint("a", i))
	}
	give(t, r, ana, ids...)
	give(t, r, bo, "b1")
	entries, at, more, err := r.Feed(ana.ID, journal.Place{}, 2, 1<<20)
	if err != nil || !more || len(entries) != 0 || at.Seq != 200 {
		t.Errorf("Ana reads %d entries up to %d, more: %v, %v", len(entries), at.Seq, more, err)
	}
	if got, _ := gets(t, r, ana, journal.Place{}, 2); !slices.Equal(got, []string{"b1"}) {
		t.Errorf("Ana reads %v in the end", got)
	}
	if _, at, more, err = r.Feed(bo.ID, journal.Place{}, 500, 1000); err != nil || !more || at.Seq > 10 {
		t.Errorf("Bo reads up to %d where 1000 bytes were asked for, %v", at.Seq, err)
	}
}

// What is given rests on how the crew and the ledger stood when somebody
// looked: another may have looked meanwhile, and the person may have left, and
// come back.
func testAGiftOutOfDateIsNotTaken(t *testing.T, open Open) {
	r, _ := open(t)
	ana := add(t, r, "Ana")
	gift := people.Gift{From: ana.ID, Entries: []journal.Entry{note(t, "a1")}, Things: []journal.ID{"s1"}, Kept: 7, Looked: 9}
	for name, change := range map[string]func(){
		"not in the crew":        func() {},
		"looked at meanwhile":    func() { share(t, r, ana, true); give(t, r, ana, "a0") },
		"left":                   func() { share(t, r, ana, true); share(t, r, ana, false) },
		"left and has come back": func() { share(t, r, ana, true); share(t, r, ana, false); _ = r.SetShares(ana.ID, true, 8) },
	} {
		change()
		if err := r.Give(gift); !errors.Is(err, people.ErrMoved) {
			t.Errorf("%s: %v", name, err)
		}
		if err := r.SetLooked(ana.ID, 7, 9); !errors.Is(err, people.ErrMoved) {
			t.Errorf("%s: %v", name, err)
		}
		share(t, r, ana, false)
	}
	share(t, r, ana, true)
	if err := r.Give(gift); err != nil {
		t.Error(err)
	}
}
