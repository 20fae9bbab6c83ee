package app

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/results"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
)

// A trip is counted, then changed, then counted again: what had been expected
// of it stays what it was.
func TestARecountKeepsTheForecast(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon()...)
	href := "/trip/" + id
	count := func() flybox.TripReturn {
		t.Helper()
		b.saved(href+"/back", b.get(href+"/back", http.StatusOK).form(href+"/back", 0)...)
		var back flybox.TripReturn
		b.state(func(s *flybox.State) { l, _ := s.Return(journal.ID(id)); back = l.Body })
		return back
	}
	first := count()
	if first.Expected == 0 {
		t.Fatal("nothing was expected of the trip")
	}
	d := b.get(href+"/edit", http.StatusOK)
	b.submits(d, href+"/edit", "rods", "1")
	again := count()
	if again.Expected != first.Expected || again.Low != first.Low || again.High != first.High {
		t.Errorf("the forecast was %g (%d to %d) and is %g (%d to %d)", first.Expected, first.Low, first.High, again.Expected, again.Low, again.High)
	}
}

// Where home lies moves the season of a trip whose waters do not say.
func TestPlansKnowWhereHomeLies(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon("from", "2026-09-20", "to", "2026-09-24")...)
	chances := func(prefs string) string {
		b.prefs = prefs
		return b.get("/trip/"+id, http.StatusOK).text()
	}
	at := chances("lang=en&region=west-na")
	high := chances("lang=en&region=west-na&lat=49&alt=2400")
	if at == high {
		t.Error("a home high in the north plans as one that is not said")
	}
	if chances("lang=en&region=west-na") != at {
		t.Error("a plan for one home is shown for another")
	}
}

// A plan is made once for a trip and a state of the ledger, and anew when that
// changes.
func TestAPlanIsMadeOnce(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon()...)
	plan := func() *flybox.Fly {
		t.Helper()
		out, ok, err := b.app.PlanFor(journal.ID(id), screen.Asked{Prefs: screen.Prefs{Region: "west-na", Lang: "en"}, State: b.ledger.State()})
		if !ok || err != nil || len(out.Plan.Lines) == 0 {
			t.Fatal(ok, err)
		}
		return &out.Plan.Lines[0].Fly
	}
	first := plan()
	b.get("/trip/"+id, http.StatusOK)
	b.get("/bench", http.StatusOK)
	if plan() != first {
		t.Error("the plan was made again")
	}
	b.record(flybox.Note{Text: "something new"})
	if plan() == first {
		t.Error("the plan does not follow the ledger")
	}
}

// What fish did to a version weighs on the one that was made from it, and not
// on a fly that happens to look the same.
func TestResultsFollowTheLineage(t *testing.T) {
	b := newFixture(t, false)
	fly := flybox.Pattern{ID: "0198c0de-0000-4000-8000-000000000001", Name: "Golden foam", Style: flybox.ShortWingStone, Hook: 8, Body: "#a98545"}
	entries, err := b.ledger.Record(t.Context(), fly)
	if err != nil {
		t.Fatal(err)
	}
	parent := entries[0].ID
	for i := range 12 {
		b.record(flybox.Outcome{ID: journal.ID(fmt.Sprint("0198c0de-0000-4000-9000-00000000000", i)), When: now.Format(time.RFC3339), Result: flybox.Refusal, Pattern: fly.ID, Rev: parent, Hatch: "claassenia", Form: "adult-male"})
	}
	child, stranger := fly, fly
	child.ID, child.Parent, child.Name = "0198c0de-0000-4000-8000-000000000002", parent, "Golden foam, shorter"
	stranger.ID, stranger.Name = "0198c0de-0000-4000-8000-000000000003", "Another golden foam"
	b.record(child, stranger)
	key, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	own := b.app.Flies(b.ledger.State(), key).Own(results.Form{Hatch: "claassenia", Form: "adult-male"})
	weight := map[string]float64{}
	fit := map[journal.ID]float64{}
	b.state(func(s *flybox.State) {
		for _, f := range s.Patterns() {
			fit[f.Rev] = 0.8
		}
		for _, f := range s.Patterns() {
			weight[string(f.ID)] = own.Estimates(fit)[f.Rev].Mean()
		}
	})
	// The stranger has the rate of all others; the version has its parent's,
	// at a discount, and that of others without it.
	if c, s := weight[string(child.ID)], weight[string(stranger.ID)]; c < s+0.05 && s < c+0.05 {
		t.Errorf("the next version has %.3f and a stranger %.3f, as if nothing were known of its parent", c, s)
	}
}
