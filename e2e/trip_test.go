package e2e

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// tripBodies are a boat box that is all but empty and a drawer with flies.
// The ants are for no hatch of winter, so they go along only if somebody says
// so, whatever day the test runs on.
func tripBodies() []flybox.Body {
	boat, drawer := flybox.Place{Box: "boat", Row: 1, Slot: 1}, flybox.Place{Box: "drawer", Row: 1, Slot: 1}
	next := drawer
	next.Slot = 2
	return []flybox.Body{
		flybox.Box{ID: "boat", Name: "Boat box", Rows: 2, Columns: 3},
		flybox.Box{ID: "drawer", Name: "Bench drawer", Rows: 2, Columns: 3},
		flybox.Pattern{ID: "midge", Name: "Grey midge", Style: flybox.MidgeAdult, Hook: 20, Length: 5, Body: "#55534e", Wing: "#bdbcb6"},
		flybox.Pattern{ID: "scud", Name: "Olive scud", Style: flybox.Scud, Hook: 6, Length: 30, Body: "#6f7044"},
		flybox.StockMove{Pattern: "midge", Place: &boat, Delta: 2, Why: flybox.WhyTied},
		flybox.StockMove{Pattern: "midge", Place: &drawer, Delta: 9, Why: flybox.WhyTied},
		flybox.StockMove{Pattern: "scud", Place: &next, Delta: 8, Why: flybox.WhyTied},
	}
}

// TestTripOffline goes through a whole trip with the server dead: plan, pack,
// fish, return, learn; and then backs it up.
func TestTripOffline(t *testing.T) {
	folder := seededFolder(t, tripBodies()...)
	s := serveFolder(t, folder)
	seeded := len(tripBodies())
	p := newPage(t, ownBrowser(t, newProfile(t)).Browser)
	p.install(s, seeded)
	s.kill()

	// Plan.
	p.goTo(s.url + "/trip")
	p.untilSettled()
	p.tap(`#main .actions a[href="/trip/new"]`)
	p.untilThere("#f-rods")
	p.fill("#f-name", "Two days on the Sorrel")
	day := func(offset int) string {
		return p.eval(`n => { const d = new Date(Date.now() + n * 864e5); return [d.getFullYear(), String(d.getMonth() + 1).padStart(2, "0"), String(d.getDate()).padStart(2, "0")].join("-"); }`, offset).Value.Str()
	}
	p.set("#f-from", day(-1))
	p.set("#f-to", day(1))
	p.chip("boxes", "drawer") // was chosen like all boxes; it stays at home
	p.fill("#f-water0", "Sorrel River")
	p.choose("#f-type0", "tailwater")
	p.tap(`#main form.long button[type=submit]`)
	p.untilText("#main h1", "Two days on the Sorrel")
	p.untilText("#main", "of 6 slots")
	href := p.eval(`() => location.pathname`).Value.Str()
	if got := p.number(`() => document.querySelectorAll("#days .dayline").length`); got == 0 {
		t.Error("no hatch is shown by day")
	}
	p.untilText("#basis", "assumed")

	// Overrule: more scuds than the plan says.
	p.tap("#line-scud summary")
	p.fill("#line-scud input[name^=take]", "5")
	p.tap("#line-scud form button")
	p.untilText("#line-scud", "You decided")

	// Pack.
	p.tap(fmt.Sprintf(`#main .actions a[href=%q]`, href+"/pack"))
	p.untilThere("#steps .step")
	for n := p.number(`() => document.querySelectorAll("#steps .step").length`); n > 0; n-- {
		p.tap("#steps .step button")
		p.until("one move less is left", `n => document.querySelectorAll("#steps .step").length === n`, n-1)
	}
	p.untilText("#main", "All is in its place")
	p.untilText("#sheet", "Olive scud Boat box, row 1, slot")

	// The files come from the phone too.
	for _, file := range []string{"/trip.ics", "/card.txt"} {
		p.goTo(s.url + href)
		p.untilSettled()
		if file == "/card.txt" {
			p.goTo(s.url + href + "/card")
			p.untilText("#main h1", "Two days on the Sorrel")
		}
		p.eval(`() => { window.saved = ""; const make = URL.createObjectURL; URL.createObjectURL = (blob) => { blob.text().then((t) => { window.saved = t; }); return make.call(URL, blob); }; }`)
		p.tap(fmt.Sprintf(`#main a[href=%q]`, href+file))
		p.until("the file is there", `() => window.saved.includes("Two days on the Sorrel")`)
	}

	// Fish: one scud comes out of the box and stays in a willow.
	p.goTo(s.url + "/box/fly/scud")
	p.untilSettled()
	p.tap(`form:has(input[name=do][value=take]):has(input[name=box][value=boat]) button`)
	p.untilText("#main .flash", "one is out of the box")
	p.tap(`form:has(input[name=do][value=lost]) button`)
	p.untilText("#main .flash", "one lost")

	// Return: one more is missing.
	p.goTo(s.url + href + "/back")
	p.untilSettled()
	field := `#main input[name="back.scud"]`
	p.untilText(".countback:has("+field[len("#main "):]+")", "4 on record. 1 noted as lost")
	p.fill(field, "3")
	p.tap("#countback button[type=submit]")
	p.untilText("#results", "2 flies lost or given")
	p.untilText("#results", "The plan expected about")

	// Learn.
	p.goTo(s.url + "/trip/new")
	p.untilSettled()
	p.fill("#f-name", "The next one")
	p.set("#f-from", day(5))
	p.set("#f-to", day(6))
	p.tap(`#main form.long button[type=submit]`)
	p.untilText("#main h1", "The next one")
	p.untilText("#basis", "learned from 1 counted trip")

	// Back up, once.
	all, unsent := p.kept()
	if all-unsent != seeded || unsent == 0 {
		t.Errorf("the phone has %d entries, %d unsent; %d were there before", all, unsent, seeded)
	}
	s.restart()
	p.goTo(s.url + href)
	p.untilAwake()
	p.untilKept(all, 0)
	s.stop()
	checkTrip(t, stateOf(t, s.entries()), strings.TrimPrefix(href, "/trip/"))
}

func checkTrip(t *testing.T, state *flybox.State, id string) {
	t.Helper()
	trip, ok := state.Trip(journal.ID(id))
	back, counted := state.Return(journal.ID(id))
	if !ok || !counted || len(state.Trips()) != 2 {
		t.Fatalf("trip %v, count %v, %d trips", ok, counted, len(state.Trips()))
	}
	if b := trip.Body; b.Rods != 2 || len(b.Boxes) != 1 || b.Boxes[0] != "boat" || b.AllWaters()[0].Type != "tailwater" {
		t.Errorf("trip %+v", b)
	}
	if n := state.Count("scud"); n != 6 {
		t.Errorf("%d scuds are left of 8, want 6", n)
	}
	for _, l := range back.Body.Lines {
		if l.Pattern == "scud" && (l.Took != 5 || l.Back != 3) {
			t.Errorf("scud: took %d, %d back; want 5 and 3", l.Took, l.Back)
		}
	}
	if back.Body.Lost() != 2 {
		t.Errorf("%s lost, want 2", strconv.Itoa(back.Body.Lost()))
	}
}
