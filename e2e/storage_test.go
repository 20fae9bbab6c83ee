package e2e

import (
	"strings"
	"testing"
)

// TestClearedPhone: a browser may clear the database of an app that is not
// used for weeks. That is said, and what was backed up comes back.
func TestClearedPhone(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	p.until("the phone remembers that it holds something", `() => document.cookie.includes("held=1")`)
	s.kill() // so that nothing comes back before the person looks
	p.until("the database is cleared", `() => new Promise((resolve) => {
		const gone = indexedDB.deleteDatabase("dampstone");
		gone.onsuccess = () => resolve(true);
		gone.onerror = () => resolve(false);
	})`)
	p.goTo(s.url + "/box")
	const word = "The browser has cleared what this phone held"
	p.untilText("#notice", word)
	p.untilSettled()
	s.restart()
	p.eval(`() => window.dispatchEvent(new Event("online"))`)
	p.untilKept(len(entries), 0)
	p.untilText("#main", "Boat box")
	if got := p.text("#notice"); !strings.Contains(got, word) {
		t.Errorf("the screens that came since have wiped the word about the loss: %q", got)
	}
	p.tap(`#nav a[href="/setup"]`)
	p.untilText("#main h1", "Setup")
	if got := p.text("#notice"); got != "" {
		t.Errorf("the word about the loss still stands: %q", got)
	}
}

// TestUnreadPhone: a database that this release cannot read, here one of a
// later release, is not shown as an empty box.
func TestUnreadPhone(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	p.untilSettled()
	p.until("the database is of a later release", `() => new Promise((resolve) => {
		const later = indexedDB.open("dampstone", 99);
		later.onsuccess = () => { later.result.close(); resolve(true); };
		later.onerror = () => resolve(false);
	})`)
	p.goTo(s.url + "/box")
	p.untilText("#main", "It is not empty, and nothing was deleted")
	if text := p.text("#main"); strings.Contains(text, "no boxes") {
		t.Errorf("it says %q", text)
	}
	p.goTo(s.url + "/")
	p.untilSettled()
	p.chip("wings", "short")
	p.until("the key still answers", `() => document.querySelector("#lead .chance") !== null`)
}
