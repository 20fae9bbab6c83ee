package e2e

import (
	"strconv"
	"testing"

	"dampstone/data/demo"
	"dampstone/flybox/journal"
)

// TestTwoTabs: what is written down in one tab stands in the other when a
// person turns to it, and both write into one ledger.
func TestTwoTabs(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	one, two := newPage(t, b), newPage(t, b)
	one.install(s, len(entries))
	s.kill()

	fly := "/box/fly/" + demo.ID("golden-short")
	left := stateOf(t, entries).Count(demo.ID("golden-short"))
	says := func(n int) string { return strconv.Itoa(n) + " left" }
	two.open(s, string(fly))
	two.untilText(".left", says(left))
	one.open(s, string(fly))
	one.untilText(".left", says(left))
	if _, err := one.Activate(); err != nil {
		t.Fatal(err)
	}
	add := `.placeline .does form:has([value=tied]) button`
	one.tap(add)
	one.untilText(".left", says(left+1))

	if _, err := two.Activate(); err != nil {
		t.Fatal(err)
	}
	two.untilText(".left", says(left+1))
	two.tap(add)
	two.untilText(".left", says(left+2))
	if _, err := one.Activate(); err != nil {
		t.Fatal(err)
	}
	one.untilText(".left", says(left+2))
	one.untilKept(len(entries)+2, 2)

	// A person who types in the other tab keeps what was typed.
	two.open(s, "/box/fly/new")
	two.set("#f-name", "Half a name")
	one.tap(add)
	one.untilText(".left", says(left+3))
	if _, err := two.Activate(); err != nil {
		t.Fatal(err)
	}
	two.untilKept(len(entries)+3, 3)
	wantValue(t, two, "#f-name", "Half a name")

	s.restart()
	one.goTo(s.url + "/")
	one.untilKept(len(entries)+3, 0)
	s.stop()
	checkCount(t, s.entries(), len(entries)+3, string(demo.ID("golden-short")), left+3)
}

func checkCount(t *testing.T, got []journal.Entry, entries int, fly string, left int) {
	t.Helper()
	if len(got) != entries {
		t.Errorf("the journal has %d entries, want %d", len(got), entries)
	}
	if n := stateOf(t, got).Count(journal.ID(fly)); n != left {
		t.Errorf("%d of %s are left, want %d", n, fly, left)
	}
}

// TestSavedBeforeSaid: once the screen says saved, even a browser that is
// killed on the spot has it.
func TestSavedBeforeSaid(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	profile := newProfile(t)
	b := ownBrowser(t, profile)
	p := newPage(t, b.Browser)
	p.install(s, len(entries))
	s.kill()
	p.open(s, string("/box/fly/"+demo.ID("golden-short")))
	p.tap(`.placeline .does form:has([value=tied]) button`)
	p.untilText("#main .flash", "Saved")
	b.kill()

	b = ownBrowser(t, profile)
	p = newPage(t, b.Browser)
	p.open(s, string("/box/fly/"+demo.ID("golden-short")))
	p.untilKept(len(entries)+1, 1)
	left := stateOf(t, entries).Count(demo.ID("golden-short"))
	p.untilText(".left", strconv.Itoa(left+1)+" left")
}

// TestDoubleTap: two taps of cold thumbs on one button are one act.
func TestDoubleTap(t *testing.T) {
	for _, h := range hosts {
		t.Run(h.name, func(t *testing.T) {
			folder, entries := demoFolder(t)
			p, s := h.open(t, folder, len(entries))
			left := stateOf(t, entries).Count(demo.ID("golden-short"))
			p.open(s, string("/box/fly/"+demo.ID("golden-short")))
			p.eval(`() => { const b = document.querySelector(".placeline .does form:has([value=tied]) button"); b.click(); b.click(); }`)
			p.untilText("#main .flash", "Saved")
			p.open(s, string("/box/fly/"+demo.ID("golden-short")))
			p.untilText(".left", strconv.Itoa(left+1)+" left")
			if got := p.ledgerCount(s); got != strconv.Itoa(len(entries)+1) {
				t.Errorf("the ledger has %s entries, want %d", got, len(entries)+1)
			}
		})
	}
}
