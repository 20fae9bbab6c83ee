package e2e

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"testing"

	"github.com/go-rod/rod/lib/proto"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// tyingBodies are a bench at work: orders, slots that run short, recipes and
// materials, some of which do not suffice.
func tyingBodies() []flybox.Body {
	slot := func(n int) flybox.Place { return flybox.Place{Box: "boat", Row: 1, Slot: n} }
	at := slot(2)
	return []flybox.Body{
		flybox.Box{ID: "boat", Name: "Boat box", Rows: 2, Columns: 4},
		flybox.Pattern{ID: "hopper", Name: "Tan hopper with a long name that runs on", Style: flybox.Hopper, Hook: 8, Length: 22, Body: "#c49a5a"},
		flybox.Pattern{ID: "stub", Name: "Golden stubs", Style: flybox.ShortWingStone, Hook: 8, Length: 21, Body: "#a98545"},
		flybox.Pattern{ID: "olive", Name: "Small olive", Style: flybox.ParachuteDun, Hook: 18, Body: "#6f7044"},
		flybox.Slot{Place: slot(1), Pattern: "stub", Want: 6}, flybox.Slot{Place: at, Pattern: "olive", Want: 5},
		flybox.StockMove{Pattern: "olive", Place: &at, Delta: 2, Why: flybox.WhyTied},
		flybox.Order{ID: "lodge", For: "Ember lodge", Pattern: "hopper", Count: 12, Due: "2026-01-20", Note: "Short ones."},
		flybox.Order{ID: "boat-two", For: "the second boat", Pattern: "stub", Count: 4, Due: "2099-08-20"},
		flybox.StockMove{Pattern: "hopper", Delta: 5, Why: flybox.WhyTied, Order: "lodge", Tie: "t-1"},
		flybox.Recipe{ID: "hopper", Minutes: 14, Lines: []flybox.RecipeLine{
			{Name: "Hook #8, long shank", Amount: 1, Unit: flybox.Pieces}, {Name: "Foam 2 mm", Colour: "Tan", Amount: 24, Unit: flybox.Millimetres, Note: "two layers"},
			{Name: "Rubber legs", Amount: 60, Unit: flybox.Millimetres}, {Name: "Thread", Amount: 60, Unit: flybox.Turns},
		}, Steps: "Cut the foam.\nTie it in behind the eye.\nSegment it.\nLegs at the first two segments."},
		flybox.Material{ID: "hooks", Name: "Hook #8, long shank", Unit: flybox.Pieces}, flybox.Material{ID: "foam", Name: "Foam 2 mm", Colour: "Tan", Unit: flybox.Millimetres},
		flybox.MaterialMove{Material: "hooks", Delta: 25, Why: flybox.MaterialBought}, flybox.MaterialMove{Material: "foam", Delta: 90, Why: flybox.MaterialBought},
	}
}

// TestTyingOffline is an evening at the vise with the server dead: flies are
// tied from the queue, a recipe is written, a foam body is opened and printed.
// Then the server comes back and has it all.
func TestTyingOffline(t *testing.T) {
	bodies := tyingBodies()
	s := serveFolder(t, seededFolder(t, bodies...))
	p := newPage(t, ownBrowser(t, newProfile(t)).Browser)
	// The screen was calibrated: paper must not follow it.
	p.do(p.SetCookies([]*proto.NetworkCookieParam{{Name: "prefs", Value: "lang=en&px=6.4", URL: s.url, Expires: 4e9}}))
	p.install(s, len(bodies))
	s.kill()

	// A recipe for the stubs, copied from the hopper.
	p.goTo(s.url + "/bench")
	p.untilSettled()
	p.untilText("#main", "Order: Ember lodge")
	p.untilText("#main", "Short of: Foam 2 mm, Tan")
	p.goTo(s.url + "/bench/recipe/stub")
	p.untilSettled()
	p.eval(`() => { document.querySelector("#copy").open = true; }`)
	p.choose("#f-from", "hopper")
	p.tap("#copy button[type=submit]")
	p.untilText("#main", "Not saved yet")
	p.fill("#f-amount1", "20")
	p.fill("#f-minutes", "11")
	p.tap("form.long button[type=submit]")
	p.untilText("#recipe", "Foam 2 mm, Tan: 20 mm (two layers)")
	p.untilText("#recipe", "11 minutes a fly")

	// Three hoppers for the lodge, from the queue; a slip is taken back.
	p.goTo(s.url + "/bench")
	p.untilSettled()
	const job = `form.tieform:has(input[name=order][value=lodge])`
	p.fill(job+` input[inputmode=numeric]`, "3")
	p.tap(job + " button")
	p.untilText("#main .flash", "3 tied")
	p.fill(job+` input[inputmode=numeric]`, "9")
	p.tap(job + " button")
	p.untilText("#main .flash", "9 tied")
	p.tap("#last button")
	p.untilText("#main .flash", "Taken back")
	p.untilText(`#queue li:has(input[name=order][value=lodge]) .number`, "4")

	// Eight are handed over.
	p.goTo(s.url + "/bench/order/lodge")
	p.untilSettled()
	p.untilText("#main", "8 of 12 tied, 0 handed over")
	p.fill("#f-n", "8")
	p.tap("#hand button")
	p.untilText("#main", "8 of 12 tied, 8 handed over")

	// A foam body, opened from its fly and made wider.
	p.goTo(s.url + "/box/fly/stub")
	p.untilSettled()
	p.tap(`#main a[href^="/bench/foam?fly=stub"]`)
	p.untilThere(".cutsheet svg.onscreen")
	p.fill("#f-width", "7")
	p.tap("#measures button[type=submit]")
	p.untilText(".cutsheet figcaption", "by 7 mm")
	checkPrinted(t, p)
	address := p.eval(`() => location.href`).Value.Str()
	p.goTo(s.url + "/bench")
	p.untilSettled()
	p.goTo(address) // as from a bookmark
	p.untilSettled()
	p.untilText(".cutsheet figcaption", "by 7 mm")

	all, unsent := p.kept()
	if all-unsent != len(bodies) || unsent == 0 {
		t.Errorf("the phone has %d entries, %d unsent; %d were there before", all, unsent, len(bodies))
	}
	s.restart()
	p.goTo(s.url + "/bench")
	p.untilAwake()
	p.untilKept(all, 0)
	s.stop()
	checkTied(t, stateOf(t, s.entries()))
}

func checkTied(t *testing.T, state *flybox.State) {
	t.Helper()
	o, ok := state.OrderNow("lodge")
	if !ok || o.Tied != 8 || o.Handed != 8 {
		t.Errorf("order %+v", o)
	}
	if n := state.Count("hopper"); n != 0 {
		t.Errorf("%d hoppers are left, want none of 5 + 3 - 8", n)
	}
	r, ok := state.Recipe("stub")
	if !ok || r.Body.Minutes != 11 || len(r.Body.Lines) != 4 || r.Body.Lines[1].Amount != 20 {
		t.Errorf("recipe %+v", r.Body)
	}
	// By hand: 25 - 3 hooks, 90 - 3 x 24 mm of foam; the slip is not counted.
	for id, want := range map[string]float64{"hooks": 22, "foam": 18} {
		if m, _ := state.MaterialOnHand(journal.ID(id)); math.Abs(m.Amount-want) > 1e-9 {
			t.Errorf("%v of %s on hand, want %v", m.Amount, id, want)
		}
	}
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page\b`)

// checkPrinted looks at the foam body as it is printed: nothing but the
// template, true to scale whatever the screen was calibrated to, on one sheet.
func checkPrinted(t *testing.T, p *page) {
	t.Helper()
	p.do((proto.EmulationSetEmulatedMedia{Media: "print"}).Call(p))
	got := p.eval(`() => {
		const mm = 96 / 25.4, of = (s) => document.querySelector(".cutsheet " + s).getBoundingClientRect();
		const seen = (el) => el.checkVisibility();
		return {
			bar: of("svg.onpaper .bar").width / mm, square: of("svg.onpaper .square").height / mm,
			piece: of(".piece svg.onpaper .cutline").height / mm, wide: of(".piece svg.onpaper .cutline").width / mm,
			screens: [...document.querySelectorAll("svg.onscreen")].filter(seen).length,
			others: [...document.querySelectorAll("body > *, #main > *")].filter((el) => seen(el) && !el.matches("#main, .cutsheet, script")).map((el) => el.outerHTML.slice(0, 80)),
			caption: document.querySelector(".cutsheet p.onpaper").checkVisibility(),
		};
	}`).Value
	near := func(what string, want float64) {
		t.Helper()
		// To a fiftieth of a mm: lines have a width, which a browser may count.
		if x := got.Get(what).Num(); math.Abs(x-want) > 0.02 {
			t.Errorf("printed, the %s is %v mm, want %v", what, x, want)
		}
	}
	near("bar", 50)
	near("square", 50)
	near("piece", 21)
	near("wide", 7)
	if n := got.Get("screens").Int(); n != 0 {
		t.Errorf("printed, %d drawings for the screen show", n)
	}
	if list := got.Get("others").Arr(); len(list) != 0 {
		t.Errorf("printed, this shows as well: %v", list)
	}
	if !got.Get("caption").Bool() {
		t.Error("printed, the sheet does not say what it is")
	}
	p.do((proto.EmulationSetEmulatedMedia{}).Call(p))
	checkOneSheet(t, p, "stubs")
}

// TestLargestFoamBodyPrintsOnOneSheet prints the largest body, folded and as
// layers apart, on both sizes of paper.
func TestLargestFoamBodyPrintsOnOneSheet(t *testing.T) {
	s := serveDemo(t)
	p := newPage(t, freshContext(t))
	p.noScript()
	p.do((proto.EmulationClearDeviceMetricsOverride{}).Call(p)) // a printer is no phone
	for _, fold := range []string{"yes", "no"} {
		p.goTo(s.url + "/bench/foam?length=80&width=30&head=10&taper=20&thick=6&layers=4&segments=8&legs=3&step=0&hook=2&shank=1.3&wire=heavy&fold=" + fold)
		p.untilThere(".cutsheet")
		checkOneSheet(t, p, "fold "+fold)
	}
}

// checkOneSheet prints on A4 (ISO 216) and on letter paper.
func checkOneSheet(t *testing.T, p *page, what string) {
	t.Helper()
	const inch = 25.4
	for name, size := range map[string][2]float64{"A4": {210 / inch, 297 / inch}, "letter": {8.5, 11}} {
		stream, err := p.PDF(&proto.PagePrintToPDF{PaperWidth: &size[0], PaperHeight: &size[1]})
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(stream)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(pdfPage.FindAll(raw, -1)); n != 1 || !bytes.HasPrefix(raw, []byte("%PDF")) {
			t.Errorf("%s: on %s it takes %d sheets, want 1", what, name, n)
		}
	}
}
