package e2e

import (
	"fmt"
	"testing"
	"time"

	"dampstone/data/demo"
	"dampstone/flybox"
)

// putOn chooses a fly on the screen that a link leads to.
func (p *page) putOn(link, fly string) {
	p.t.Helper()
	p.tap(link)
	p.untilThere(`form[role=search]`)
	p.tap(fmt.Sprintf(`.rigs form:has(input[name=fly][value="%s"]) button`, demo.ID(fly)))
	p.untilThere(".tapgrid")
}

// rodUp shows a rod by its name.
func (p *page) rodUp(name string) {
	p.t.Helper()
	p.eval(`(name) => [...document.querySelectorAll(".rods a")].find((a) => a.textContent.includes(name)).click()`, name)
	p.until(name+" is up", fmt.Sprintf(`() => document.querySelector(".rods a[aria-current]")?.textContent.includes(%q)`, name))
}

// twoRods starts an outing with two rods, one of them with three flies.
func twoRods(p *page) {
	p.t.Helper()
	endOuting(p)
	p.fill("#f-rods", "2")
	p.fill("#f-rod_names", "Bow, Stern")
	p.tap("#start button")
	p.untilThere("#change")
	p.putOn("#change", "golden-short")
	p.rodUp("Stern")
	p.putOn("#change", "golden-foam")
	for n, fly := range []string{"olive-dun", "golden-nymph"} {
		p.putOn("#more a", fly)
		p.until("one more fly is on", fmt.Sprintf(`() => document.querySelectorAll(".cast li").length === %d`, n+2))
	}
}

// tapFly notes what a fish did to a fly of a rig with several.
func (p *page) tapFly(result, fly string) {
	p.t.Helper()
	p.tap(".tap-" + result)
	p.untilThere(".which")
	p.eval(`(fly) => [...document.querySelectorAll(".which button")].find((b) => b.textContent.includes(fly)).click()`, fly)
	p.untilThere(".tapgrid")
}

// TestTwoRodsThreeFliesOffline fishes a day of forty fish with the server dead:
// two rods, three flies on one of them, the browser killed and the server
// brought back and killed in between. Nothing is lost or doubled.
func TestTwoRodsThreeFliesOffline(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	profile := newProfile(t)
	b := ownBrowser(t, profile)
	p := newPage(t, b.Browser)
	p.install(s, len(entries))
	s.kill()
	p.goTo(s.url + "/day")
	twoRods(p)

	want := map[string]int{}
	count := func() int {
		n := 0
		for _, m := range want {
			n += m
		}
		return n
	}
	fish := func(rod, result, fly string) {
		t.Helper()
		if p.number(`(name) => Number(!document.querySelector(".rods a[aria-current]").textContent.includes(name))`, rod) == 1 {
			p.rodUp(rod)
		}
		before := p.number(`(r) => Number(document.querySelector(".tap-" + r + " b").textContent)`, result)
		if rod == "Bow" {
			p.tap(".tap-" + result)
		} else {
			p.tapFly(result, nameOf(t, fly))
		}
		p.until("the tap is counted", fmt.Sprintf(`() => document.querySelector(".tap-%s b")?.textContent === "%d"`, result, before+1))
		want[rod+" "+result+" "+fly]++
	}
	flies := []string{"golden-foam", "olive-dun", "golden-nymph"}
	for i := range 40 {
		result := []string{"take", "refusal", "follow", "refusal", "lost"}[i%5]
		if i%4 == 3 {
			fish("Bow", result, "golden-short")
		} else {
			fish("Stern", result, flies[i%3])
		}
		switch i {
		case 12: // why it refused, in one touch
			fish("Bow", "refusal", "golden-short")
			p.tap(`.says form:nth-of-type(2) button`) // the first takes it back
			p.untilText(".says .said", "Drag")
		case 17: // the phone's browser is killed
			b.kill()
			b = ownBrowser(t, profile)
			p = newPage(t, b.Browser)
			p.goTo(s.url + "/day")
			p.untilSettled()
		case 25: // signal for a moment
			s.restart()
			p.goTo(s.url + "/day")
			p.untilAwake()
			all, _ := p.kept()
			p.untilKept(all, 0)
			s.kill()
		}
	}
	all, unsent := p.kept()
	if unsent == 0 {
		t.Error("nothing waits for the server")
	}
	s.restart()
	p.goTo(s.url + "/day")
	p.untilAwake()
	p.untilKept(all, 0)
	s.stop()

	is := stateOf(t, s.entries())
	outing := is.Running()[0].Body
	got, drag := map[string]int{}, 0
	names := map[string]string{}
	for _, id := range []string{"golden-short", "golden-foam", "olive-dun", "golden-nymph"} {
		names[string(demo.ID(id))] = id
	}
	for _, l := range is.OutcomesOf(outing.ID) {
		o := l.Body
		got[outing.Names[max(o.Rod, 1)-1]+" "+string(o.Result)+" "+names[string(o.Pattern)]]++
		if o.Why == flybox.Drag {
			drag++
		}
		if _, err := time.Parse(time.RFC3339, o.When); err != nil || o.Rev == "" {
			t.Errorf("outcome %+v", o)
		}
	}
	if fmt.Sprint(got) != fmt.Sprint(want) || count() != 41 || drag != 1 {
		t.Errorf("%d fish and %d for drag\nhas  %v\nwant %v", count(), drag, got, want)
	}
}

// nameOf is the name of a fly of the demo.
func nameOf(t testing.TB, fly string) string {
	t.Helper()
	entries, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	f, ok := stateOf(t, entries).Pattern(demo.ID(fly))
	if !ok {
		t.Fatalf("the demo has no %s", fly)
	}
	return f.Name
}

// TestSwipeChangesTheRod: a finger drawn across what is tied on shows the next
// rod, one drawn down the screen does not.
func TestSwipeChangesTheRod(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	p.goTo(s.url + "/day")
	twoRods(p)
	p.rodUp("Bow")
	swipe := func(dx, dy float64) {
		t.Helper()
		p.eval(`(dx, dy) => {
			const rig = document.querySelector("#rig"), at = rig.getBoundingClientRect();
			const touch = (x, y) => new Touch({ identifier: 1, target: rig, clientX: x, clientY: y });
			const x = at.left + at.width / 2, y = at.top + at.height / 2;
			rig.dispatchEvent(new TouchEvent("touchstart", { bubbles: true, touches: [touch(x, y)], changedTouches: [touch(x, y)] }));
			rig.dispatchEvent(new TouchEvent("touchend", { bubbles: true, touches: [], changedTouches: [touch(x + dx, y + dy)] }));
		}`, dx, dy)
	}
	up := func(name string) {
		t.Helper()
		p.until(name+" is up", fmt.Sprintf(`() => document.querySelector(".rods a[aria-current]")?.textContent.includes(%q)`, name))
	}
	swipe(-30, 0) // a tap that slipped
	swipe(-60, 80)
	swipe(90, 0) // there is none before the first
	up("Bow")
	swipe(-90, 10)
	up("Stern")
	swipe(90, -10)
	up("Bow")
}
