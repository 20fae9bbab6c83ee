package e2e

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"dampstone/data/demo"
)

// nextRelease builds the program again with one byte more in its style sheet.
func nextRelease(t *testing.T) string {
	t.Helper()
	sheet, err := filepath.Abs("../static/app.css")
	if err != nil {
		t.Fatal(err)
	}
	css, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	changed := filepath.Join(dir, "app.css")
	if err := os.WriteFile(changed, append(css, '\n'), 0o600); err != nil {
		t.Fatal(err)
	}
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{sheet: changed}})
	if err != nil {
		t.Fatal(err)
	}
	list := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(list, overlay, 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "next")
	if err := build(out, "-overlay", list); err != nil {
		t.Fatal(err)
	}
	return out
}

// look is what a browser does by itself now and then.
const look = `async () => { const r = await navigator.serviceWorker.getRegistration(); await r.update(); }`

// countLoads counts in the tab's session how often a document was loaded.
const countLoads = `sessionStorage.setItem("loads", Number(sessionStorage.getItem("loads") ?? 0) + 1);`

// TestUpdate: a new release waits until the person says so, and then until a
// half-filled form is sent; it comes with one load, and neither the form nor
// the ledger is lost.
func TestUpdate(t *testing.T) {
	needBrowser(t)
	next := nextRelease(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	p := newPage(t, b)
	p.install(s, len(entries))
	old := releaseOf(t, s.url)

	remove, err := p.EvalOnNewDocument(countLoads)
	p.do(err)
	defer remove()
	p.open(s, string("/box/fly/new?box="+demo.ID("boat-box")+"&row=2&slot=2"))
	p.set("#f-name", "Half a fly")
	p.set("#f-count", "7")
	p.set("#f-notes", "tied by lamplight\nsecond line")
	p.choose("#f-style", "beetle")
	p.choose("#f-hook", "14")
	p.eval(`() => { document.querySelector("input[name=floats][value=film]").click(); }`)
	loads := p.number(`() => Number(sessionStorage.getItem("loads"))`)

	s.stop()
	s.binary = next
	s.restart()
	now := releaseOf(t, s.url)
	if now.Version == old.Version {
		t.Fatal("the second program has the same release")
	}
	p.eval(look)
	p.until("the notice of a new release is shown", `() => { const u = document.getElementById("update"); return u && !u.hidden && u.getBoundingClientRect().height > 0; }`)
	if has := p.eval(`v => caches.has("dampstone-" + v)`, old.Version).Value.Bool(); !has {
		t.Error("the old release is gone before the person agreed")
	}
	wantValue(t, p, "#f-name", "Half a fly")

	p.tap("[data-update]")
	p.until("the new release is in charge", `async v => !await caches.has("dampstone-" + v)`, old.Version)
	if p.eval(`() => !document.getElementById("update").hidden`).Value.Bool() {
		t.Error("the notice is still there")
	}
	for field, want := range map[string]string{"name": "Half a fly", "count": "7", "notes": "tied by lamplight\nsecond line", "style": "beetle", "row": "2", "slot": "2"} {
		wantValue(t, p, "#f-"+field, want)
	}
	wantChecked(t, p, "floats", "film")
	p.send("form.long")
	p.untilText(".flash", "Saved")
	if got := p.number(`() => Number(sessionStorage.getItem("loads"))`); got != loads {
		t.Errorf("the document was loaded %d times while a form was being filled in", got-loads)
	}

	p.tap(`#nav a[href="/day"]`)
	p.untilInstalled(now)
	p.untilText("#main h1", "Day")
	p.untilSettled()
	if got := p.number(`() => Number(sessionStorage.getItem("loads"))`); got != loads+1 {
		t.Errorf("the document was loaded %d times, want once", got-loads)
	}
	if got := p.eval(`() => document.querySelector("link[rel=stylesheet]").getAttribute("href")`).Value.Str(); !inRelease(now, got) || inRelease(old, got) {
		t.Errorf("the style sheet is %s, of the old release", got)
	}
	p.untilKept(len(entries)+3, 0)
}

// TestUpdateAtTheNextOpening: who does not answer the notice has the new
// release when the app is opened the next time, and what is being written in
// another tab stays.
func TestUpdateAtTheNextOpening(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	p := newPage(t, b)
	p.install(s, len(entries))
	old := releaseOf(t, s.url)
	s.stop()
	s.binary = nextRelease(t)
	s.restart()
	now := releaseOf(t, s.url)
	p.eval(look)
	p.until("the notice of a new release is shown", `() => { const u = document.getElementById("update"); return u && !u.hidden; }`)

	// A form is being filled in here while the app is opened in another tab.
	p.tap(`nav a[href="/box"]`)
	p.untilText("#main", "Boat box")
	p.tap(`a[href="/box/new"]`)
	p.untilThere("#f-rows")
	p.set("#f-name", "Half a box")
	p.set("#f-rows", "2")
	p.set("#f-columns", "3")
	if has := p.eval(`v => caches.has("dampstone-" + v)`, old.Version).Value.Bool(); !has {
		t.Error("going on inside the app took the new release")
	}
	second := newPage(t, b)
	second.goTo(s.url + "/box")
	second.until("the new release is in charge", `async v => !await caches.has("dampstone-" + v)`, old.Version)
	second.untilInstalled(now)
	second.untilSettled()
	second.untilText("#main", "Boat box")
	wantValue(t, p, "#f-name", "Half a box")
	p.send("form.long")
	p.untilText(".flash", "Saved")
	p.untilKept(len(entries)+1, 0)
}

func inRelease(r release, url string) bool {
	for _, f := range r.Files {
		if f.URL == url {
			return true
		}
	}
	return false
}

// TestUpdateCutOff: a release that does not come whole is not installed at
// all. The one before goes on working, also without a server, and the new one
// comes when the line holds.
func TestUpdateCutOff(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	old := releaseOf(t, s.url)
	s.binary = nextRelease(t)
	at, l := s.behindLine(t)
	now := releaseOf(t, s.url)
	var sheet string
	for _, f := range now.Files {
		if strings.HasSuffix(f.URL, ".css") && !inRelease(old, f.URL) {
			sheet = f.URL
		}
	}
	if sheet == "" {
		t.Fatal("the new release has no new style sheet")
	}
	var cuts atomic.Int64
	l.does(func(res *http.Response) error {
		if res.Request.URL.Path == sheet && res.StatusCode == http.StatusOK {
			cuts.Add(1)
			cutOff(res)
		}
		return nil
	})
	p.until("the install has failed", `async () => {
		const r = await navigator.serviceWorker.getRegistration();
		try { await r.update(); } catch { return true; }
		const w = r.installing;
		if (!w) return false;
		return new Promise((resolve) => w.addEventListener("statechange", () => resolve(w.state === "redundant")));
	}`)
	if cuts.Load() == 0 {
		t.Fatal("nothing was cut off")
	}
	if !p.eval(`async (old, now) => await caches.has("dampstone-" + old) && !await caches.has("dampstone-" + now)`, old.Version, now.Version).Value.Bool() {
		t.Errorf("half a release is kept, or the old one is gone: %s", p.eval(workerState).Value.Str())
	}
	if p.eval(`() => { const u = document.getElementById("update"); return Boolean(u && !u.hidden); }`).Value.Bool() {
		t.Error("a release that did not come is offered")
	}

	// Without any server the old one still stands.
	l.server.Close()
	p.goTo(at + "/box")
	p.untilSettled()
	p.untilText("#main", "Boat box")

	lineTo(t, at, s.url)
	p.eval(look)
	p.until("the new release is offered", `() => { const u = document.getElementById("update"); return u && !u.hidden; }`)
	p.tap("[data-update]")
	p.until("the new release is in charge", `async v => !await caches.has("dampstone-" + v)`, old.Version)
	p.untilInstalled(now)
}

// TestWithdrawn: a release that is taken back goes off the phone by itself.
// What the person wrote stays, also what no server has yet, and a good
// release comes back later.
func TestWithdrawn(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	release := releaseOf(t, s.url)
	s.kill()
	p.open(s, string("/box/fly/"+demo.ID("golden-short")))
	p.tap(`.placeline .does form:has([value=tied]) button`)
	p.untilText("#main .flash", "Saved")
	p.untilKept(len(entries)+1, 1)

	args := s.args
	s.args = append(slices.Clone(args), "-withdraw")
	s.restart()
	p.goTo(s.url + "/box") // the browser looks for a new worker at each opening
	p.until("the app is off the phone", `async v => !await caches.has("dampstone-" + v)`, release.Version)
	p.goTo(s.url + "/box")
	p.untilText("#main", "Boat box")
	p.untilKept(len(entries)+1, 0) // the engine still runs, and has delivered
	if names := p.eval(`async () => (await caches.keys()).join(" ")`).Value.Str(); strings.TrimSpace(strings.ReplaceAll(names, "dampstone-prefs", "")) != "" {
		t.Errorf("caches that are left: %s", names)
	}

	s.stop()
	if got := len(s.entries()); got != len(entries)+1 {
		t.Errorf("the server holds %d entries, want %d", got, len(entries)+1)
	}
	s.args = args
	s.restart()
	p.install(s, len(entries)+1)
	s.kill()
	p.goTo(s.url + "/box")
	p.untilSettled()
	p.untilText("#main", "Boat box")
}
