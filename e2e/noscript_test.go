package e2e

import "testing"

// TestNoScript walks the loop without a line of script: every screen is plain
// HTML, every act a form.
func TestNoScript(t *testing.T) {
	s := serveFolder(t, emptyFolder(t))
	p := newPage(t, freshContext(t))
	p.noScript()

	// See: the key answers when its form is sent.
	p.open(s, "/")
	p.choose("#f-month", "9")
	p.chip("trend", "dropping")
	p.chip("shucks", "damp-stones")
	p.set("#f-length", "22")
	p.chip("wings", "short")
	p.send("#key")
	p.untilText("#lead h2", "Short-winged golden stonefly")
	checkLead(t, p)
	if got := p.eval(`() => [document.querySelector("#f-length").value, document.querySelector("#f-month").value, document.querySelector("[name=wings][value=short]").checked].join()`).Value.Str(); got != "22,9,true" {
		t.Errorf("the answers stand in the form as %q", got)
	}

	// Choose: the hatch; there is no fly for it yet.
	p.tap("#lead .button")
	p.untilText("#main h1", "Short-winged golden stonefly")
	p.untilText("#flies", "No flies are entered yet.")

	// Stock: a box, and a fly in a slot of it.
	p.open(s, "/box/new")
	p.set("#f-name", "Test box")
	p.set("#f-rows", "2")
	p.set("#f-columns", "3")
	p.send("form.long")
	p.untilText("#main h1", "Test box")
	p.untilText("#main .flash", "Saved.")
	p.tap(".slots tr:nth-child(2) td:nth-of-type(3) a")
	p.untilText("#main h1", "New fly")
	if got := p.eval(`() => document.querySelector("#f-row").value + "," + document.querySelector("#f-slot").value`).Value.Str(); got != "2,3" {
		t.Errorf("the form is for slot %q, want 2,3", got)
	}
	p.set("#f-name", "Test short wing")
	p.choose("#f-style", "short-wing-stone")
	p.choose("#f-hook", "8")
	p.set("#f-length_mm", "22")
	p.set("#f-count", "4")
	p.set("#f-want", "6")
	p.send("form.long")
	p.untilText("#main h1", "Test box")
	p.untilText(".slots td:not(.empty)", "4")
	p.open(s, "/box")
	p.untilText(".flies", "Test short wing")

	// Fish: one comes out; then they are counted.
	p.tap(".flies .fly a")
	p.untilText("#main h1", "Test short wing")
	p.untilText(".left", "4 left")
	p.tap(".placeline form button")
	p.untilText("#main .flash", "one is out of the box")
	p.tap("#count summary")
	p.tap(`#count label.chip:has([value=counted])`)
	p.eval(`() => { const s = document.querySelector("#f-place"); s.value = [...s.options].find((o) => o.value !== "loose").value; }`)
	p.set("#f-count", "2")
	p.send("#count")
	p.untilText("#main .flash", "3 left in all")
	p.untilText(".left", "3 left")
	p.open(s, "/box")
	p.tap(".boxes a")
	p.untilText(".slots td:not(.empty)", "2")

	// Setup keeps how things are shown, without script too.
	p.open(s, "/setup")
	p.chip("lang", "es")
	p.chip("len", "in")
	p.send("form.long")
	if got := p.eval(`() => document.documentElement.lang`).Value.Str(); got != "es" {
		t.Errorf("the language is %q after Spanish was chosen", got)
	}
	p.open(s, "/")
	p.untilText("#q-length_mm", "in")

	s.stop()
	if got := stateOf(t, s.entries()); len(got.Patterns()) != 1 || got.Patterns()[0].Left != 3 {
		t.Errorf("the journal has %+v, want one fly, 3 left", got.Patterns())
	}
}
