package e2e

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
)

// TestOfflineLoop walks from an insect on a stone to a fly out of the box
// with the server dead, and checks that what was written down there arrives
// once, whatever is repeated.
func TestOfflineLoop(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	profile := newProfile(t)
	b := ownBrowser(t, profile)

	p := newPage(t, b.Browser)
	p.install(s, len(entries))
	s.kill()

	// A new tab of the same phone, without a server.
	p = newPage(t, b.Browser)
	p.goTo(s.url + "/")
	p.untilText("#main h1", "What is hatching?")
	p.untilSettled()
	p.chip("wings", "short")
	p.until("the reading answers", `() => document.querySelector("#lead .chance") !== null`)

	// The whole browser anew, as after a night in a dry bag.
	b.quit()
	b = ownBrowser(t, profile)
	p = newPage(t, b.Browser)
	p.goTo(s.url + "/")
	walkKey(p)
	p.untilAwake()
	p.untilText("#lead h2", "Short-winged golden stonefly")
	checkLead(t, p)

	// The flies in the reading are those of the boxes, with place and count.
	p.until("own flies are there", `() => document.querySelectorAll("#reading .fly .placeline").length > 0`)
	state := stateOf(t, entries)
	flies := readFlies(p, "#reading")
	checkFlies(t, state, flies)
	if !slices.ContainsFunc(flies, func(f shownFly) bool {
		fly, _ := state.Pattern(journal.ID(f.id))
		return fly.Style == flybox.ShortWingStone
	}) {
		t.Errorf("no short-winged fly is offered: %+v", flies)
	}

	p.tap("#lead h2 a")
	p.untilText("#main h1", "Short-winged golden stonefly")
	p.untilThere("#flies .fly form")
	first := readFlies(p, "#flies")[0]
	before := state.CountAt(journal.ID(first.id), first.place)
	p.tap("#flies .fly .placeline form button")
	p.untilText("#main .flash", "one is out of the box")

	// It is kept, and said not to be backed up.
	moves := 2 // out of the slot, and loose
	p.untilKept(len(entries)+moves, moves)
	if got := p.waiting(); !strings.Contains(got, strconv.Itoa(moves)) {
		t.Errorf("the frame says %q, want that %d entries are not backed up", got, moves)
	}
	p.goTo(s.url + "/box/fly/" + first.id)
	p.untilThere(".left")
	after := readPlaces(p, first.id)
	if after[first.place] != before-1 || after[flybox.Loose] != state.CountAt(journal.ID(first.id), flybox.Loose)+1 {
		t.Errorf("after taking one of %d out of %v the screen has %v", before, first.place, after)
	}

	// The server is back.
	s.restart()
	for range 3 {
		p.goTo(s.url + "/")
		p.untilAwake()
		p.untilKept(len(entries)+moves, 0)
	}
	p.goTo(s.url + "/setup#sync")
	p.untilThere("[data-sync-now]")
	p.tap("[data-sync-now]")
	p.untilText("#sync [role=status]", "Everything is backed up")
	p.goTo(s.url + "/")
	p.untilAwake()
	p.untilKept(len(entries)+moves, 0)
	s.stop()
	checkJournal(t, s.entries(), entries, first, moves)
}

// walkKey answers what a person sees on a September morning after a drop.
func walkKey(p *page) {
	p.t.Helper()
	p.untilThere("#key")
	p.choose("#f-month", "9")
	p.chip("trend", "dropping")
	p.chip("shucks", "damp-stones")
	p.fill("#f-length", "22")
	p.chip("wings", "short")
}

// checkLead wants the short-winged golden stonefly, clearly.
// Common practice, no source: design of the key, section 4.
func checkLead(t *testing.T, p *page) {
	t.Helper()
	p.until("the lead has more than 80 %", `() => Number(/(\d+)\s*%/.exec(document.querySelector("#lead .chance")?.textContent)?.[1]) > 80`)
	// The screen says what the key says.
	key, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	var e hatchkeys.Evidence
	e.Month, e.LengthMM = 9, 22
	for trait, value := range map[hatchkeys.Trait]string{hatchkeys.Trend: "dropping", hatchkeys.Shucks: "damp-stones", hatchkeys.Wings: "short"} {
		if e.Choices[trait], err = hatchkeys.OneOf(trait, value); err != nil {
			t.Fatal(err)
		}
	}
	lead := key.Read(e).Leader()
	if lead == nil || lead.Hatch.Name("en") != p.text("#lead h2") {
		t.Errorf("the screen leads with %q, the key with %+v", p.text("#lead h2"), lead)
	}
}

func checkJournal(t *testing.T, got, before []journal.Entry, taken shownFly, moves int) {
	t.Helper()
	seen := map[string]int{}
	for _, e := range got {
		seen[string(e.ID)]++
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("entry %q is there %d times", id, n)
		}
	}
	if len(got) != len(before)+moves {
		t.Errorf("the journal has %d entries, want %d", len(got), len(before)+moves)
	}
	was, is := stateOf(t, before), stateOf(t, got)
	if a, b := was.CountAt(journal.ID(taken.id), taken.place), is.CountAt(journal.ID(taken.id), taken.place); b != a-1 {
		t.Errorf("the slot has %d, want one less than %d", b, a)
	}
	if a, b := was.Count(journal.ID(taken.id)), is.Count(journal.ID(taken.id)); a != b {
		t.Errorf("in all there are %d, want %d as before", b, a)
	}
}
