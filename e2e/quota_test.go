package e2e

import (
	"slices"
	"strings"
	"testing"

	"github.com/go-rod/rod/lib/proto"

	"dampstone/data/demo"
)

// quota sets how many bytes the browser gives to the app, as a phone that is
// almost full would; 0 gives back what it had.
func (p *page) quota(s *server, bytes float64) {
	p.t.Helper()
	o := proto.StorageOverrideQuotaForOrigin{Origin: s.url}
	if bytes > 0 {
		o.QuotaSize = &bytes
	}
	p.do(o.Call(p))
}

// TestFullPhone: a phone that runs out of room refuses in words what it cannot
// keep, keeps what was typed, and loses nothing. Whether the browser keeps
// what is there is said beforehand.
func TestFullPhone(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	profile := newProfile(t)
	b := ownBrowser(t, profile)
	p := newPage(t, b.Browser)
	p.install(s, len(entries))
	s.kill()
	p.open(s, "/setup")
	p.untilThere("[data-storage] p")
	if text := p.text("#sync"); p.text("#notice") != "" || !containsAny(text, "The browser keeps what is on this phone", "The browser may clear what is on this phone") {
		t.Errorf("with room it says %q, notice %q", text, p.text("#notice"))
	}

	// The browser looks at its room now and then only, so it starts anew.
	b.quit()
	p = newPage(t, ownBrowser(t, profile).Browser)
	p.quota(s, 1)
	p.open(s, string("/box/fly/new?box="+demo.ID("boat-box")+"&row=2&slot=2"))
	p.set("#f-name", "The last straw")
	p.choose("#f-style", "beetle")
	p.choose("#f-hook", "14")
	p.set("#f-notes", "tied in the boat")
	p.tap("form.long button[type=submit]")
	p.untilText("#notice", "There is no space left, so this was not saved. Free some space and save again.")
	p.untilKept(len(entries), 0)

	p.quota(s, 0)
	wantValue(t, p, "#f-name", "The last straw")
	wantValue(t, p, "#f-notes", "tied in the boat")
	p.send("form.long")
	p.untilText("#main .flash", "Saved")
	p.until("it is kept", `async n => (await (`+kept+`)())[0] > n`, len(entries))
	if _, unsent := p.kept(); unsent == 0 {
		t.Error("what was saved does not wait for the server")
	}
}

func containsAny(text string, parts ...string) bool {
	return slices.ContainsFunc(parts, func(part string) bool { return strings.Contains(text, part) })
}
