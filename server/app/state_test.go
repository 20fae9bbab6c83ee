package app

import (
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
)

// A request is answered from one state of the ledger, whatever is recorded
// while it is worked out, and nothing of an older state is shown for a newer.
func TestARequestReadsOneState(t *testing.T) {
	b := newFixture(t, true)
	trip := b.tripOf("name", "Autumn canyon", "from", "2026-09-14", "to", "2026-09-18", "rods", "4", "region", "west-na", "type0", "tailwater", "level", "99")
	paths := append(routesOf(t, "GET"), september, "/bench", "/trip/"+trip, "/trip/"+trip+"/pack", "/trip/"+trip+"/back", "/trip/"+trip+"/card",
		"/hatch/claassenia?wings=short&length=22")

	writes := 0
	change := func() {
		writes++
		var bodies []flybox.Body
		s := b.ledger.State()
		for _, f := range s.Patterns() {
			f.Pattern.Name += "x"
			bodies = append(bodies, f.Pattern,
				flybox.StockMove{Pattern: f.ID, Delta: 1, Why: flybox.WhyTied},
				flybox.Outcome{When: now.Format(time.RFC3339), Result: flybox.Take, Pattern: f.ID, Rev: f.Rev, Hatch: "claassenia", Form: "adult-male"})
		}
		for _, x := range s.Boxes() {
			x.Box.Name += "x"
			bodies = append(bodies, x.Box)
		}
		for _, x := range s.Trips() {
			x.Body.Name += "x"
			bodies = append(bodies, x.Body)
		}
		for _, x := range s.Orders() {
			x.Body.For += "x"
			bodies = append(bodies, x.Body)
		}
		for _, x := range s.Materials() {
			x.Material.Name += "x"
			bodies = append(bodies, x.Material)
		}
		bodies = append(bodies, flybox.Sighting{When: now.Format(time.RFC3339), Hatch: "claassenia", Form: "adult-male"})
		b.record(bodies...)
	}
	page := func(c screen.Config, path string) string {
		c.NewID = func() journal.ID { return "0198c0de-0000-4000-8000-00000000000a" } // of forms
		r := httptest.NewRequest("GET", path, nil)
		r.Header.Set("Cookie", screen.PrefsCookie+"=lang=en")
		w := httptest.NewRecorder()
		a := b.app
		b.app = New(c) // with empty caches
		b.app.ServeHTTP(w, r)
		// Again, with caches that the first request filled.
		again := httptest.NewRecorder()
		if c.Now = b.config.Now; strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			b.app.Config.Now = b.config.Now
			b.app.ServeHTTP(again, r)
		}
		b.app = a
		return w.Body.String() + "\x00" + again.Body.String()
	}
	for _, path := range paths {
		if path == "/setup/safe/ledger" {
			continue // the journal itself, as far as it goes
		}
		busy := b.config
		calls := 0
		busy.Now = func() time.Time {
			if calls++; calls <= 3 {
				change()
			}
			return now
		}
		before := page(b.config, path)
		got := page(busy, path)
		after := page(b.config, path)
		first, _, _ := strings.Cut(before, "\x00")
		during, then, _ := strings.Cut(got, "\x00")
		_, last, _ := strings.Cut(after, "\x00")
		if during != first {
			t.Errorf("%s: what was recorded while it was worked out is on part of the page", path)
		}
		if calls > 0 && then != last {
			t.Errorf("%s: the next request shows something of the state before", path)
		}
	}
	if writes < 10 {
		t.Errorf("only %d screens ask for the time", writes)
	}
}
