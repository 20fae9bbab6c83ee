package e2e

import (
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// toTrip taps the trip in the list, and gives the ms until its plan stands on
// the screen.
const toTrip = `() => new Promise((resolve) => {
	const begun = performance.now();
	const seen = new MutationObserver(() => {
		if (!document.querySelector("#days .dayline")) return;
		seen.disconnect();
		resolve(performance.now() - begun);
	});
	seen.observe(document, { childList: true, subtree: true });
	document.querySelector('#main a[href="/trip/season"]').click();
})`

// BenchmarkTripSeason gives how long the phone takes to plan 60 days for 600
// patterns and 40 hatches, from the tap to the plan on the screen.
func BenchmarkTripSeason(b *testing.B) {
	needBrowser(b)
	bodies := append(manyFlies(), flybox.Trip{ID: "season", Name: "Season", From: "2027-06-15", To: "2027-08-13", Rods: 6, Region: "west-na",
		Waters: []flybox.TripWater{{Type: "freestone"}, {Type: "tailwater"}}, Boxes: []journal.ID{"big"}})
	s := serveFolder(b, seededFolder(b, bodies...))
	br := ownBrowser(b, newProfile(b))
	newPage(b, br.Browser).install(s, len(bodies))
	s.kill()
	for _, slow := range slownesses {
		b.Run(slow.name, func(b *testing.B) {
			var ms []float64
			for range max(b.N, runs) {
				p := newPage(b, br.Browser)
				p.goTo(s.url + "/trip")
				p.untilSettled()
				undo := slow.do(br, p)
				ms = append(ms, p.eval(toTrip).Value.Num())
				undo()
				p.do(p.Close())
			}
			b.Logf("%s: plan of a season after %s ms", slow.name, spread(ms))
			b.ReportMetric(median(ms), "ms-median")
			b.ReportMetric(0, "ns/op")
		})
	}
}
