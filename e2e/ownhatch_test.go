package e2e

import (
	"net/url"
	"strings"
	"testing"
)

// TestOwnHatchOffline adds a hatch on a phone with the server dead, meets it
// again, sets it beside another, and finds it on the server afterwards.
func TestOwnHatchOffline(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	s.kill()

	p.open(s, "/hatches/new")
	p.fill("#f-name", "Invented red drake")
	p.choose("#f-group", "mayfly")
	p.choose("#f-stage", "dun")
	for field, value := range map[string]string{"from_month": "11", "from_day": "1", "to_month": "11", "to_day": "31"} {
		p.choose("#f-"+field, value)
	}
	p.fill("#f-length_from", "31")
	p.fill("#f-length_to", "35")
	for name, value := range map[string]string{"colour": "#8a4526", "wings": "upright", "tails": "2", "doing": "drifting"} {
		p.chip(name, value)
	}
	p.send("form.long")
	p.untilText("#main .summary", "31 November")
	if got := p.eval(`() => document.querySelector("#f-name").value`).Value.Str(); got != "Invented red drake" {
		t.Errorf("the name is now %q", got)
	}
	p.choose("#f-to_day", "30")
	p.send("form.long")
	p.untilText("#main .flash", "Saved")
	p.untilText("#main .owned", "Invented red drake")
	p.untilKept(len(entries)+1, 1)

	// A new document, still without a server.
	const seen = "/?month=11&length=32&unit=mm&wings=upright&tails=2"
	p.goTo(s.url + seen)
	p.untilText("#lead h2", "Invented red drake")
	p.untilText("#lead .own", "Own")
	id, err := url.PathUnescape(p.eval(`() => new URL(document.querySelector("#lead h2 a").href).pathname`).Value.Str())
	if err != nil {
		t.Fatal(err)
	}
	p.open(s, "/compare?h=baetis&h="+url.QueryEscape(strings.TrimPrefix(id, "/hatch/"))+"&"+strings.TrimPrefix(seen, "/?"))
	p.untilText(".candidates", "Invented red drake")
	p.untilThere(".compare tbody tr")

	s.restart()
	p.goTo(s.url + "/")
	p.untilKept(len(entries)+1, 0)
	// Another browser has it from the server.
	other := newPage(t, freshContext(t))
	other.noScript()
	other.goTo(s.url + seen)
	other.untilText("#lead h2", "Invented red drake")
}
