package e2e

import (
	"testing"

	"github.com/go-rod/rod/lib/proto"
)

// host is one of the two places where the application runs.
type host struct {
	name string
	// open gives a tab in which screens come from this host, and a way to the
	// number of entries in its ledger.
	open func(t *testing.T, folder string, entries int) (p *page, s *server)
}

// hosts: the binary, to a browser without scripts, and the phone's engine
// with the server dead. Both must do the same.
var hosts = []host{
	{"binary", func(t *testing.T, folder string, _ int) (*page, *server) {
		s := serveFolder(t, folder)
		p := newPage(t, freshContext(t))
		p.noScript()
		p.goTo(s.url + "/")
		return p, s
	}},
	{"phone", func(t *testing.T, folder string, entries int) (*page, *server) {
		s := serveFolder(t, folder)
		b := freshContext(t)
		p := newPage(t, b)
		p.install(s, entries)
		s.kill()
		return p, s
	}},
}

// noScript switches the page's own scripts off; what the test evaluates still
// runs.
func (p *page) noScript() {
	p.t.Helper()
	p.do((proto.EmulationSetScriptExecutionDisabled{Value: true}).Call(p))
}

// open shows a screen by its address.
func (p *page) open(s *server, path string) {
	p.t.Helper()
	p.goTo(s.url + path)
	p.untilShown()
}

// untilShown waits until the screen is there, whichever host makes it.
func (p *page) untilShown() {
	p.t.Helper()
	p.until("the screen is shown", `() => document.readyState === "complete" && document.querySelector("#main h1") !== null && !document.querySelector("#main[aria-busy]") &&
		(document.documentElement.dataset.script !== "on" || document.documentElement.dataset.engine === "awake" && !document.documentElement.dataset.shell)`)
}

// send taps a form's button and waits for the screen that answers.
func (p *page) send(form string) {
	p.t.Helper()
	p.eval(`() => { document.querySelector("#main").dataset.old = "yes"; }`)
	p.tap(form + " button[type=submit]")
	p.until("the form is answered", `() => document.querySelector("#main") !== null && !document.querySelector("#main[data-old]")`)
	p.untilShown()
}

// ledgerCount is how many entries the host has, as Setup says.
func (p *page) ledgerCount(s *server) string {
	p.t.Helper()
	p.open(s, "/setup")
	found := ledgerHas.FindStringSubmatch(p.text("#sync"))
	if found == nil {
		p.t.Fatalf("Setup does not say how many entries there are: %s", p.text("#sync"))
	}
	return found[1]
}
