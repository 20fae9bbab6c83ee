package e2e

import (
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/sync"
)

// at is where a server is, for another to take its place.
func (s *server) at() string {
	u, err := url.Parse(s.url)
	if err != nil {
		s.t.Fatal(err)
	}
	return u.Host
}

// demoAt and folderAt start a server at an address that another has left.
func demoAt(t *testing.T, at string) *server {
	t.Helper()
	s := &server{t: t, binary: binary, args: []string{"-demo"}}
	s.start(at)
	return s
}

func folderAt(t *testing.T, folder, at string) *server {
	t.Helper()
	s := &server{t: t, binary: binary, args: []string{"-data", folder}, folder: folder}
	s.start(at)
	return s
}

// chooseApart answers the question about another ledger.
func chooseApart(p *page) {
	p.t.Helper()
	p.tap(`form:has([value=apart]) button`)
	p.untilText("#main h1", "What is hatching?")
	p.untilSettled()
}

// TestDemoFirstThenOnesOwn: what a phone holds of the demo stays out of the
// ledger that its owner begins at the same address.
func TestDemoFirstThenOnesOwn(t *testing.T) {
	d := serveDemo(t)
	invented, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	b := freshContext(t)
	p := newPage(t, b)
	p.install(d, len(invented))
	p.untilText("body", "Demo: invented data")
	d.stop()

	own := folderAt(t, emptyFolder(t), d.at())
	giveDevices(t, b)
	p.goTo(own.url + "/")
	p.untilSettled()
	p.untilText("#notice", "keeps another ledger")
	p.goTo(own.url + "/setup/ledger")
	p.untilText("#main", "What is on this phone is invented demo data")
	if p.number(`() => document.querySelectorAll("form [value=join]").length`) != 0 {
		t.Error("invented data may be taken along")
	}
	p.goTo(own.url + "/")
	p.untilSettled()
	p.tap(`#notice a[href="/setup/ledger"]`)
	p.untilThere(`form:has([value=apart]) button`)
	chooseApart(p)
	if got := p.ledgerCount(own); got != "0" {
		t.Errorf("the phone shows a ledger of %s entries", got)
	}
	if got := p.text("body"); strings.Contains(got, "Demo: invented data") {
		t.Errorf("a ledger of one's own is called invented: %q", got)
	}
	p.untilThere(`a[href="/people"]`)

	// What is written now goes there, and nothing else.
	p.open(own, "/box/new")
	p.fill("#f-name", "Shirt pocket")
	p.send(`form[action="/box/new"]`)
	p.until("it is backed up", `() => document.querySelector("#exchange").dataset.exchange === "none"`)
	own.stop()
	if got := own.entries(); len(got) != 1 || got[0].Kind != flybox.KindBox {
		t.Errorf("the ledger holds %d entries", len(got))
	}

	// The demo is back, and so is what the phone holds of it.
	again := demoAt(t, d.at())
	p.goTo(again.url + "/setup")
	p.until("the demo's ledger is shown", `(n) => document.querySelector("#sync")?.textContent.includes(n + " entries")`, strconv.Itoa(len(invented)))
}

// TestOwnFirstThenTheDemo: a ledger of one's own never reaches a demo that is
// run at the same address, and goes on when its own server is back.
func TestOwnFirstThenTheDemo(t *testing.T) {
	folder, entries := demoFolder(t) // somebody's own, whatever it says
	own := serveFolder(t, folder)
	b := freshContext(t)
	p := newPage(t, b)
	p.install(own, len(entries))
	own.kill()
	p.open(own, "/box/new")
	p.fill("#f-name", "Private box")
	p.send(`form[action="/box/new"]`)
	p.untilKept(len(entries)+1, 1)

	d := demoAt(t, own.at())
	p.goTo(d.url + "/")
	p.untilSettled()
	p.untilText("#notice", "keeps another ledger")
	p.goTo(d.url + "/setup/ledger")
	p.untilText("#main", "is the demo, whose data is invented")
	if p.number(`() => document.querySelectorAll("form [value=join]").length`) != 0 {
		t.Error("a ledger may go into the demo")
	}
	p.untilKept(len(entries)+1, 1)
	if a := d.post("/sync", nil, "Content-Type", "application/json"); a.status != http.StatusBadRequest {
		t.Errorf("the demo answers an empty exchange with %d", a.status)
	}
	chooseApart(p)
	p.untilText("body", "Demo: invented data")
	if a := send(t, http.MethodGet, d.url+"/box", nil); strings.Contains(a.body, "Private box") {
		t.Error("the private box is in the demo")
	}
	d.stop()

	back := folderAt(t, folder, own.at())
	back.device = own.device
	back.pairOnce("")
	p.goTo(back.url + "/")
	p.until("the person's own ledger is shown", `async (want) => {
		if (document.documentElement.dataset.engine !== "awake") return false;
		const text = await (await fetch("/setup")).text();
		return text.includes(want);
	}`, strconv.Itoa(len(entries)+1)+" entries")
	p.untilKept(len(entries)+1, 0)
	back.stop()
	if got := back.entries(); len(got) != len(entries)+1 {
		t.Errorf("the ledger holds %d entries, want %d", len(got), len(entries)+1)
	}
}

// TestALedgerFileIsReadIn sends the form with a file as a browser does, with
// the server and with it dead.
func TestALedgerFileIsReadIn(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	file := filepath.Join(t.TempDir(), "ledger.jsonl")
	export := send(t, http.MethodGet, s.url+"/setup/safe/ledger", nil)
	if err := os.WriteFile(file, []byte(export.body), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, h := range hosts {
		t.Run(h.name, func(t *testing.T) {
			p, s := h.open(t, emptyFolder(t), 0)
			p.open(s, "/setup/safe")
			if err := p.element("#f-file").SetFiles([]string{file}); err != nil {
				t.Fatal(err)
			}
			p.send(`#import form`)
			p.untilText("#imported", strconv.Itoa(len(entries)))
			if got := p.ledgerCount(s); got != strconv.Itoa(len(entries)) {
				t.Errorf("the ledger holds %s entries", got)
			}
		})
	}
}

// TestAFormWhoseReplyIsLostCountsOnce: the server has it, the phone does not
// know, the person sends it again, and the two exchange.
func TestAFormWhoseReplyIsLostCountsOnce(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	p := newPage(t, b)
	p.install(s, len(entries))
	fly := demo.ID("golden-short")
	left := stateOf(t, entries).Count(fly)
	at, l := s.behindLine(t)
	l.does(func(res *http.Response) error {
		if res.Request.URL.Path == sync.Path {
			res.StatusCode = http.StatusServiceUnavailable // not yet
		}
		return nil
	})
	p.goTo(at + "/box/fly/" + string(fly))
	p.untilSettled()
	// The very form of the screen reaches the server by another way.
	form := p.eval(`() => {
		const f = document.querySelector(".placeline .does form:has([value=tied])");
		return [f.getAttribute("action"), new URLSearchParams(new FormData(f)).toString()];
	}`).Value.Arr()
	values, err := url.ParseQuery(form[1].Str())
	if err != nil {
		t.Fatal(err)
	}
	if a := s.post(form[0].Str(), values); a.status >= 400 {
		t.Fatalf("status %d", a.status)
	}
	p.tap(`.placeline .does form:has([value=tied]) button`)
	p.untilText("#main .flash", "Saved")
	p.untilKept(len(entries)+1, 1)
	l.does(func(*http.Response) error { return nil })
	p.goTo(at + "/setup")
	p.untilSettled()
	p.tap("[data-sync-now]")
	p.untilKept(len(entries)+1, 0)
	p.goTo(at + "/box/fly/" + string(fly))
	p.untilSettled()
	p.untilText(".left", strconv.Itoa(left+1)+" left")
	s.stop()
	got := s.entries()
	if n := stateOf(t, got).Count(fly); len(got) != len(entries)+1 || n != left+1 {
		t.Errorf("the server holds %d entries and counts %d, want %d and %d", len(got), n, len(entries)+1, left+1)
	}
	if !slices.ContainsFunc(got, func(e journal.Entry) bool { return flybox.IsDerived(e.ID) }) {
		t.Error("no entry has an id derived from a form")
	}
}
