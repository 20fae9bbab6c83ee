package e2e

import (
	"fmt"
	"strings"
	"testing"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// endOuting ends the outing that runs, if one does.
func endOuting(p *page) {
	p.t.Helper()
	p.untilSettled()
	if p.eval(`() => document.querySelector("#end") !== null`).Value.Bool() {
		p.eval(`() => { document.querySelector("#end").open = true; }`)
		p.tap("#end button")
		p.untilThere(".timeline")
		p.eval(`() => document.querySelector('#nav a[href="/day"]').click()`)
	}
	p.untilThere("#start")
}

// startFishing starts an outing with the first fly for the September hatch on.
func startFishing(p *page) {
	p.t.Helper()
	endOuting(p)
	p.eval(`() => document.querySelector('#nav a[href="/"]').click()`)
	walkKey(p)
	p.until("the reading has all answers", `() => new URLSearchParams(location.search).get("wings") === "short" && document.querySelector("#lead .chance") !== null`)
	p.untilThere(`#reading form[action="/day/fly"]`)
	p.tap(`#reading form[action="/day/fly"] button`)
	p.untilThere("#start")
	p.tap("#start button")
	p.untilThere(".tapgrid")
}

// TestDayOffline fishes a day with the server dead: start, three flies, ten
// taps, one of them taken back, a fly lost, end; then the server comes back
// and has it, once.
func TestDayOffline(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	profile := newProfile(t)
	b := ownBrowser(t, profile)
	p := newPage(t, b.Browser)
	p.install(s, len(entries))
	s.kill()

	// From the insect to the fly to the river.
	p.goTo(s.url + "/")
	walkKey(p)
	p.untilAwake()
	p.untilText("#lead h2", "Short-winged golden stonefly")
	p.untilThere(`#reading form[action="/day/fly"]`)
	p.tap(`#reading form[action="/day/fly"] button`)
	p.untilText("#start", "Short-winged golden stonefly")
	p.fill("#f-place", "Below the islands")
	p.tap("#start button")
	p.untilText("#main h1 + .sub", "Below the islands")
	p.untilText("#rig", "Golden foam, short wing")

	taps := 0
	tap := func(result, counts string) {
		t.Helper()
		p.tap(".tap-" + result)
		taps++
		p.untilText("#counts", counts)
	}
	tap("refusal", "1 refusal")
	tap("refusal", "2 refusals")
	tap("follow", "1 follow")

	// Two taps to another fly; the reload in between is a phone that slept.
	put := func(fly string) {
		t.Helper()
		p.tap("#change")
		sel := fmt.Sprintf(`.rigs form:has(input[name=fly][value=%q]) button`, fly)
		p.tap(sel)
		p.untilThere(".tapgrid")
	}
	put(string(demo.ID("golden-foam")))
	p.untilText("#rig", "Golden foam, long wing")
	tap("refusal", "3 refusals")
	p.do(p.Reload())
	p.untilSettled()
	p.untilText("#counts", "3 refusals, 1 follow")
	tap("take", "1 take, 3 refusals")
	tap("take", "2 takes, 3 refusals")

	// One that does not fit is found by its name.
	p.tap("#change")
	p.fill("#f-q", "olive dun")
	p.tap(".find button")
	p.untilText("main .sub[role=status]", "2 flies")
	p.tap(string(`.rigs form:has(input[name=fly][value="` + demo.ID("olive-dun") + `"]) button`))
	p.untilText("#rig", "Olive dun, parachute")
	tap("lost", "1 fish lost")
	tap("take", "3 takes")
	tap("take", "4 takes")
	tap("refusal", "4 refusals")

	// The last tap was a cold thumb.
	p.tap(".last button")
	p.untilText("#counts", "4 takes, 3 refusals, 1 follow, 1 fish lost")
	p.untilText(".last", "Take")

	// A willow has the fly.
	p.tap("#gone form:last-of-type button")
	p.untilText("#main .flash", "one fly less")

	p.eval(`() => { document.querySelector("#end").open = true; }`)
	p.tap("#end button")
	p.untilText("#main .flash", "Ended")
	p.untilText(".timeline", "Olive dun, parachute")
	href := p.eval(`() => location.pathname`).Value.Str()

	// What the fish say, still without a server.
	p.goTo(s.url + "/day/results")
	p.untilSettled()
	p.untilText("#main", "Golden foam, long wing")

	all, unsent := p.kept()
	if all-unsent != len(entries) || unsent == 0 {
		t.Errorf("the phone has %d entries, %d unsent; %d were there before", all, unsent, len(entries))
	}
	s.restart()
	p.goTo(s.url + href)
	p.untilAwake()
	p.untilKept(all, 0)
	s.stop()

	was, is := stateOf(t, entries), stateOf(t, s.entries())
	id := strings.TrimPrefix(href, "/day/")
	outing, ok := is.Outing(journal.ID(id))
	if !ok || outing.Body.End == "" || outing.Body.Place != "Below the islands" || outing.Body.Water != "Sorrel River" {
		t.Fatalf("the outing on the server is %+v", outing.Body)
	}
	counts := map[string]map[flybox.Result]int{}
	for _, o := range is.OutcomesOf(journal.ID(id)) {
		if counts[string(o.Body.Pattern)] == nil {
			counts[string(o.Body.Pattern)] = map[flybox.Result]int{}
		}
		counts[string(o.Body.Pattern)][o.Body.Result]++
		if o.Body.Hatch != "claassenia" || o.Body.Rev == "" {
			t.Errorf("outcome %+v", o.Body)
		}
	}
	for fly, want := range map[string]map[flybox.Result]int{
		string(demo.ID("golden-short")): {flybox.Refusal: 2, flybox.Follow: 1},
		string(demo.ID("golden-foam")):  {flybox.Refusal: 1, flybox.Take: 2},
		string(demo.ID("olive-dun")):    {flybox.Lost: 1, flybox.Take: 2},
	} {
		if fmt.Sprint(counts[fly]) != fmt.Sprint(want) {
			t.Errorf("%s: %v, want %v", fly, counts[fly], want)
		}
	}
	if a, b := was.Count(demo.ID("olive-dun")), is.Count(demo.ID("olive-dun")); b != a-1 {
		t.Errorf("%d olive duns are left of %d, want one less", b, a)
	}
	if taps != 10 || len(is.OutcomesOf(journal.ID(id))) != 9 {
		t.Errorf("%d taps and one taken back make %d outcomes", taps, len(is.OutcomesOf(journal.ID(id))))
	}
}

// TestDayWithoutScript taps plain forms of the binary.
func TestDayWithoutScript(t *testing.T) {
	s := serveDemo(t)
	p := newPage(t, freshContext(t))
	p.noScript()
	p.goTo(s.url + "/day")
	p.tap("#start button")
	p.untilThere("#change")
	p.tap("#change")
	p.untilThere(".rigs form")
	p.tap(".rigs form button")
	p.untilThere(".tapgrid")
	p.tap(".tap-take")
	p.untilText("#counts", "1 take")
	p.tap(".last button")
	p.untilText("#counts", "No fish noted yet")
}
