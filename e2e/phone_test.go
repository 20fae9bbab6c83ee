package e2e

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
)

// These are what the tests know of the phone: how to tell that it is ready,
// and what it holds.

// release is what the service worker is told to keep.
type release struct {
	Version string
	Files   []struct{ URL string }
	Pages   string   // of the files, the one that has the screens
	Shells  []string // those, by their paths
}

// kept are the addresses that a phone with the release has in its cache.
func (r release) kept() (urls []string) {
	for _, f := range r.Files {
		if f.URL != r.Pages {
			urls = append(urls, f.URL)
		}
	}
	return append(urls, r.Shells...)
}

func releaseOf(t testing.TB, url string) release {
	t.Helper()
	res, err := http.Get(url + "/sw.js")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(body), "\n")
	first = strings.TrimSuffix(strings.TrimPrefix(first, "self.RELEASE="), ";")
	var r release
	if err := json.Unmarshal([]byte(first), &r); err != nil {
		t.Fatalf("first line of the service worker: %v", err)
	}
	if r.Version == "" || len(r.Files) == 0 {
		t.Fatalf("release is empty: %+v", r)
	}
	return r
}

// untilAwake waits for the engine.
func (p *page) untilAwake() {
	p.t.Helper()
	p.until("the engine is awake", `() => document.documentElement.dataset.engine === "awake"`)
}

// untilSettled waits until the screen is the engine's own and nothing is on
// its way.
func (p *page) untilSettled() {
	p.t.Helper()
	p.untilAwake()
	p.until("the screen is settled", `() => !document.documentElement.dataset.shell && !document.querySelector("#main[aria-busy]")`)
}

// untilInstalled waits until every file of the release is on the phone and
// its service worker is in charge.
func (p *page) untilInstalled(r release) {
	p.t.Helper()
	p.until("the release is installed", `async (version, urls) => {
		const registration = await navigator.serviceWorker.getRegistration();
		if (registration?.active?.state !== "activated" || !navigator.serviceWorker.controller) return false;
		if (!await caches.has("dampstone-" + version)) return false;
		const cache = await caches.open("dampstone-" + version);
		return (await Promise.all(urls.map((u) => cache.match(u)))).every(Boolean);
	}`, r.Version, r.kept())
}

// kept is how many entries the phone has, and how many of them no server has
// confirmed, as its database says.
const kept = `() => new Promise((resolve) => {
	const open = indexedDB.open("dampstone");
	open.onupgradeneeded = () => open.transaction.abort();
	open.onerror = () => resolve([0, 0]);
	open.onsuccess = () => {
		const all = open.result.transaction("entries").objectStore("entries");
		const a = all.count(), b = all.index("unsent").count();
		a.transaction.oncomplete = () => { open.result.close(); resolve([a.result, b.result]); };
	};
})`

func (p *page) kept() (all, unsent int) {
	p.t.Helper()
	n := p.eval(kept).Value.Arr()
	return n[0].Int(), n[1].Int()
}

// untilKept waits until the phone has so many entries.
func (p *page) untilKept(all, unsent int) {
	p.t.Helper()
	p.until("the phone holds the entries", `async (all, unsent) => { const [a, b] = await (`+kept+`)(); return a === all && b === unsent; }`, all, unsent)
}

// putRecord writes a record into the phone's database as a fault would have,
// unless it is there.
func (p *page) putRecord(raw string) {
	p.t.Helper()
	p.until("the record is in the database", `raw => new Promise((resolve) => {
		const open = indexedDB.open("dampstone");
		open.onerror = () => resolve(false);
		open.onsuccess = () => {
			const tx = open.result.transaction("entries", "readwrite"), all = tx.objectStore("entries"), id = JSON.parse(raw).id;
			all.index("id").getKey(id).onsuccess = (known) => {
				if (known.target.result !== undefined) return;
				all.openKeyCursor(null, "prev").onsuccess = (last) => all.add({ seq: (last.target.result?.key ?? 0) + 1, id, raw, unsent: 1 });
			};
			tx.oncomplete = () => { open.result.close(); resolve(true); };
		};
	})`, raw)
}

// waiting is what the frame says is not backed up yet.
func (p *page) waiting() string {
	p.t.Helper()
	return p.eval(`() => { const el = document.querySelector("#exchange"); return el.hidden || el.dataset.exchange === "none" ? "" : el.textContent; }`).Value.Str()
}

// install opens the address and waits until the phone needs no server.
func (p *page) install(s *server, entries int) {
	p.t.Helper()
	p.goTo(s.url + "/")
	p.untilAwake()
	p.untilInstalled(releaseOf(p.t, s.url))
	p.untilKept(entries, 0)
}
