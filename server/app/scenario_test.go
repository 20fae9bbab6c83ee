package app

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/boltstore"
	"dampstone/server/sync"
)

// Whole loops through the handlers, on ledgers as they are: ids of 36
// characters, names as long and as odd as they may be, forms sent as a browser
// sends them.

// longName has as many characters as a name may have, of many scripts.
var longName = func() string {
	odd := "Ám <b>&\"'> فراشة 石蝿 🪰 e\u0301 "
	return string([]rune(odd + strings.Repeat("lower_canyon-golden/", 10))[:flybox.MaxName])
}()

// onBothHosts runs a test on the application as the binary has it, over a file,
// and as a phone has it.
func onBothHosts(t *testing.T, test func(t *testing.T, b *fixture)) {
	for _, phone := range []bool{false, true} {
		t.Run(map[bool]string{false: "binary", true: "phone"}[phone], func(t *testing.T) {
			var store journal.Store = &memstore.Store{}
			if !phone {
				file, err := boltstore.Open(filepath.Join(t.TempDir(), "journal.bolt"), time.Second)
				if err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { file.Close() })
				store = file
			}
			test(t, hostOver(t, store, phone))
		})
	}
}

func hostOver(t *testing.T, store journal.Store, phone bool) *fixture {
	t.Helper()
	clock := func() time.Time { return now }
	l, err := flybox.Open(context.Background(), store, flybox.Options{Device: map[bool]string{false: "server", true: "phone1"}[phone], Now: clock, NewID: flybox.RandomID})
	if err != nil {
		t.Fatal(err)
	}
	b := &fixture{T: t, ledger: l, prefs: "lang=en"}
	b.config = screen.Config{Ledger: l, Now: clock, NewID: flybox.RandomID, Phone: phone, Asset: func(s string) string { return "/static/" + s }, Log: slog.New(slog.DiscardHandler)}
	b.app = New(b.config)
	return b
}

// filled is what a browser sends of the first form that fits, with fields
// changed as a person would.
func (d *doc) filled(action string, change ...string) url.Values {
	d.Helper()
	for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == action }) {
		v := url.Values{}
		for n := range f.Descendants() {
			name, kind := attr(n, "name"), attr(n, "type")
			if name == "" || has(n, "disabled") {
				continue
			}
			switch n.Data {
			case "input":
				if (kind == "checkbox" || kind == "radio") && !has(n, "checked") || kind == "file" || kind == "submit" {
					continue
				}
				v.Add(name, attr(n, "value"))
			case "textarea":
				v.Add(name, textOf(n))
			case "select":
				chosen, first := "", true
				for o := range n.Descendants() {
					if o.Data == "option" && (first || has(o, "selected")) {
						chosen, first = attr(o, "value"), false
					}
				}
				v.Add(name, chosen)
			}
		}
		fits := true
		for i := 0; i+1 < len(change); i += 2 {
			if rest, must := strings.CutPrefix(change[i], "="); must { // tells forms apart
				fits = fits && v.Get(rest) == change[i+1]
				continue
			}
			v.Set(change[i], change[i+1])
		}
		if fits {
			return v
		}
	}
	d.Fatalf("no form posts %v to %s", change, action)
	return nil
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

func (b *fixture) posts(action string, v url.Values) *httptest.ResponseRecorder {
	b.Helper()
	r := httptest.NewRequest("POST", action, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// submits sends a form of a page and shows what follows.
func (b *fixture) submits(d *doc, action string, change ...string) *doc {
	b.Helper()
	w := b.posts(action, d.filled(action, change...))
	if w.Code != http.StatusSeeOther {
		b.Fatalf("%s: status %d\n%s", action, w.Code, parse(b.T, w.Body.String()).text())
	}
	return b.get(w.Header().Get("Location"), http.StatusOK)
}

// fly adds a fly through its form and gives its id.
func (b *fixture) fly(change ...string) string {
	b.Helper()
	var before []journal.ID
	b.state(func(s *flybox.State) {
		for _, f := range s.Patterns() {
			before = append(before, f.ID)
		}
	})
	b.submits(b.get("/box/fly/new", 200), "/box/fly/new", append([]string{"style", "short-wing-stone", "hook", "8", "count", "6"}, change...)...)
	id := ""
	b.state(func(s *flybox.State) {
		for _, f := range s.Patterns() {
			if !slices.Contains(before, f.ID) {
				id = string(f.ID)
			}
		}
	})
	if len(id) != 36 {
		b.Fatalf("the fly has the id %q", id)
	}
	return id
}

// box adds a box and gives its id.
func (b *fixture) box(name string) (id string) {
	b.Helper()
	b.submits(b.get("/box/new", 200), "/box/new", "name", name)
	b.state(func(s *flybox.State) {
		for _, x := range s.Boxes() {
			if x.Name == name {
				id = string(x.ID)
			}
		}
	})
	return id
}

// longestHatch is the hatch of the region with the longest id.
func longestHatch(t *testing.T) *hatchkeys.Hatch {
	key, err := hatchkeys.ForRegion(hatchkeys.Regions()[0])
	if err != nil {
		t.Fatal(err)
	}
	longest := &key.Pack.Hatches[0]
	for i := range key.Pack.Hatches {
		if h := &key.Pack.Hatches[i]; len(h.ID) > len(longest.ID) {
			longest = h
		}
	}
	return longest
}

func (b *fixture) rigs() (list []flybox.Rig) {
	b.state(func(s *flybox.State) {
		for _, l := range s.Rigs() {
			list = append(list, l.Body)
		}
	})
	return list
}

// Nothing runs: "Fish it" leads to the start of an outing and carries the fly
// and what the fish are on, whole.
func TestFishItCarriesWholeIDs(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		fly := b.fly("name", longName)
		h := longestHatch(t)
		if len(h.ID) <= 24 {
			t.Fatalf("the longest id is %q", h.ID)
		}
		w := b.posts("/day/fly", url.Values{"fly": {fly}, "hatch": {h.ID}, "stage": {h.Forms[0].ID}, "form": {uuid.NewString()}})
		d := b.get(strings.TrimSuffix(w.Header().Get("Location"), "#start"), http.StatusOK)
		d.wants(h.Name("en"))
		b.submits(d, "/day", "water", "Sorrel River")
		got := b.rigs()
		if len(got) != 1 || string(got[0].Pattern) != fly || got[0].Hatch != h.ID || got[0].Form != h.Forms[0].ID {
			t.Errorf("recorded %+v", got)
		}
		// And from the fly's own page.
		b.submits(b.get("/box/fly/"+fly, 200), "/day/fly", "=fly", fly)
		if got := b.rigs(); got[0].Hatch != h.ID || string(got[0].Pattern) != fly {
			t.Errorf("recorded %+v", got[0])
		}
	})
}

func TestAProposedVersionKeepsItsParent(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		b.fly("name", "Golden foam")
		var parent flybox.Fly
		b.state(func(s *flybox.State) { parent = s.Patterns()[0] })
		q := url.Values{"parent": {string(parent.Rev)}, "name": {longName}, "style": {"foam-stone"}, "hook": {"8"}, "why": {"length.long"}}
		b.submits(b.get("/box/fly/new?"+q.Encode(), 200), "/box/fly/new")
		b.state(func(s *flybox.State) {
			for _, f := range s.Patterns() {
				if f.ID != parent.ID && (f.Parent != parent.Rev || f.Name != longName) {
					t.Errorf("saved %q with parent %q, want %q", f.Name, f.Parent, parent.Rev)
				}
			}
			if len(s.Patterns()) != 2 {
				t.Error("the version was not saved")
			}
		})
	})
}

func TestAFlyIsFoundByItsFullName(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		b.fly("name", longName)
		b.fly("name", longName[:len(longName)-3])
		b.submits(b.get("/day", 200), "/day")
		for _, path := range []string{"/box", "/day/fly"} {
			d := b.get(path+"?"+url.Values{"q": {longName}}.Encode(), 200)
			if d.value("q") != longName {
				t.Errorf("%s: the search says %q", path, d.value("q"))
			}
			if n := strings.Count(d.text(), longName); n == 0 {
				t.Errorf("%s: not found", path)
			}
		}
		b.get("/box?"+url.Values{"q": {longName}}.Encode(), 200).wants("1 of 2 flies")
	})
}

// Two boats are out: what is said on the screen of one is noted for that one.
func TestTwoBoatsStayApart(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		fly := b.fly("name", "Golden foam")
		b.submits(b.get("/day", 200), "/day", "water", "Sorrel River")
		w := b.send("/day", "water", "Ember Creek", "form", uuid.NewString())
		if w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
		var first, second string
		b.state(func(s *flybox.State) {
			for _, l := range s.Running() {
				if l.Body.Water == "Sorrel River" {
					first = string(l.Body.ID)
				} else {
					second = string(l.Body.ID)
				}
			}
		})
		for _, at := range []string{first, second} {
			b.submits(b.get("/day/on?at="+at, 200), "/day/fly")
			b.submits(b.get("/day/fly?at="+at, 200), "/day/fly", "=fly", fly)
			if got := b.rigs(); string(got[0].Outing) != at || string(got[0].Pattern) != fly || got[0].Hatch == "" {
				t.Errorf("for %s recorded %+v", at, got[0])
			}
		}
		// The one on the other screen ends; what was shown before then must not
		// change the other boat's rig.
		stale := []*doc{b.get("/day/fly?at="+first, 200), b.get("/day/on?at="+first, 200)}
		b.submits(b.get("/day?at="+first, 200), "/day/"+first+"/end")
		stale = append(stale, b.get("/day/fly?at="+first, 200), b.get("/day/on?at="+first, 200))
		before := b.entries()
		for _, d := range stale {
			b.submits(d, "/day/fly").wants("This outing had ended: nothing was changed")
		}
		if n := b.entries(); n != before {
			t.Errorf("%d entries were recorded", n-before)
		}
		b.state(func(s *flybox.State) {
			if r := s.RigNow(journal.ID(second), 0).Body; string(r.Pattern) != fly {
				t.Errorf("the other boat has %+v", r)
			}
		})
	})
}

// A fish that took on one boat counts for the fly of that boat, even where the
// form names a rig of another.
func TestATapTakesNoRigOfAnotherOuting(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		one, two := b.fly("name", "Golden foam"), b.fly("name", "Olive dun", "style", "upright-dun", "hook", "18")
		b.send("/day", "water", "Sorrel River", "fly", one, "form", uuid.NewString())
		b.send("/day", "water", "Ember Creek", "fly", two, "form", uuid.NewString())
		rigs := map[string]flybox.Rig{}
		for _, r := range b.rigs() {
			rigs[string(r.Pattern)] = r
		}
		w := b.send(string("/day/"+rigs[one].Outing+"/tap"), "result", "take", "rig", string(rigs[two].ID), "form", uuid.NewString())
		if w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
		b.state(func(s *flybox.State) {
			if o := s.Outcomes()[0].Body; string(o.Pattern) != one || o.Outing != rigs[one].Outing {
				t.Errorf("recorded %+v", o)
			}
		})
	})
}

// Whatever is sent twice is recorded once and answered alike, also after a new
// start.
func TestDoubleTapsAreAnsweredAlike(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		fly, box := b.fly("name", "Golden foam"), b.box("Boat box")
		twice := func(name, action string, v url.Values) {
			t.Helper()
			before := b.entries()
			first := b.posts(action, v)
			after := b.entries()
			again := b.posts(action, v)
			b.app = New(b.config)
			third := b.posts(action, v)
			if first.Code != http.StatusSeeOther || after == before {
				t.Errorf("%s: status %d, %d entries\n%s", name, first.Code, after-before, parse(t, first.Body.String()).text())
			}
			for _, w := range []*httptest.ResponseRecorder{again, third} {
				if w.Code != first.Code || w.Header().Get("Location") != first.Header().Get("Location") {
					t.Errorf("%s: first %d %s, then %d %s", name, first.Code, first.Header().Get("Location"), w.Code, w.Header().Get("Location"))
				}
			}
			if n := b.entries(); n != after {
				t.Errorf("%s: %d entries more", name, n-after)
			}
		}
		of := func(path, action string, change ...string) url.Values {
			return b.get(path, 200).filled(action, change...)
		}
		href := "/box/fly/" + fly
		twice("a new box", "/box/new", of("/box/new", "/box/new", "name", "Shirt pocket"))
		twice("a new fly", "/box/fly/new", of("/box/fly/new", "/box/fly/new", "name", longName, "style", "beetle", "hook", "12", "count", "3"))
		twice("a change of a fly", href+"/edit", of(href+"/edit", href+"/edit", "name", "Golden foam, shorter", "box", box, "row", "1", "slot", "2"))
		twice("a count", href+"/count", of(href, href+"/count", "count", "9"))
		twice("one out", href+"/move", of(href, href+"/move", "=do", "take"))
		twice("one back", href+"/move", of(href, href+"/move", "=do", "back"))
		twice("an outing", "/day", of("/day?fly="+fly, "/day"))
		day := b.get("/day", 200)
		var outing string
		b.state(func(s *flybox.State) { outing = string(s.Running()[0].Body.ID) })
		twice("a take", "/day/"+outing+"/tap", day.filled("/day/"+outing+"/tap", "=result", "take"))
		twice("taking it back", "/day/"+outing+"/undo", of("/day", "/day/"+outing+"/undo"))
		twice("a fly gone", "/day/"+outing+"/tap", of("/day", "/day/"+outing+"/tap", "=gone", "yes"))
		twice("the end", "/day/"+outing+"/end", of("/day", "/day/"+outing+"/end"))
		twice("a trip", "/trip/new", of("/trip/new", "/trip/new", "name", "Canyon", "from", "2026-09-20", "to", "2026-09-22", "rods", "2"))
		twice("an order", "/bench/order/new", of("/bench/order/new?fly="+fly, "/bench/order/new", "for", "Ember lodge", "pattern", fly, "count", "12"))
		twice("a material", "/bench/material/new", of("/bench/material/new", "/bench/material/new", "name", "Deer hair", "unit", "piece", "amount", "2"))
		twice("a sighting", "/hatch/claassenia/seen", of("/hatch/claassenia", "/hatch/claassenia/seen", "note", "on the stones"))
		twice("a box that goes", "/box/"+box+"/remove", of("/box/"+box+"/edit", "/box/"+box+"/remove"))
		twice("a fly that goes", href+"/remove", of(href, href+"/remove"))
	})
}

// The same form goes to the server, whose reply is lost, and then to the
// phone: after the exchange it counts once, on both.
func TestAFormSentBothWaysCountsOnce(t *testing.T) {
	server, phone := hostOver(t, &memstore.Store{}, false), hostOver(t, &memstore.Store{}, true)
	handler := &sync.Handler{Into: server.ledger, Journal: "j"}
	exchange := func() {
		t.Helper()
		line := doer(func(r *http.Request) (*http.Response, error) {
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			return w.Result(), nil
		})
		if r, err := sync.Round(t.Context(), line, "http://server.invalid", phone.ledger); err != nil || len(r.Bad)+len(r.Refused) > 0 {
			t.Fatal(r, err)
		}
	}
	fly := server.fly("name", "Golden foam")
	box := server.box("Boat box")
	exchange()
	d := phone.get("/box/fly/"+fly, 200)
	forms := []struct {
		action string
		v      url.Values
	}{
		{"/box/fly/" + fly + "/count", d.filled("/box/fly/"+fly+"/count", "why", "tied", "count", "4")},
		{"/box/fly/new", phone.get("/box/fly/new", 200).filled("/box/fly/new", "name", longName, "style", "ant", "hook", "16", "count", "5", "box", box, "row", "1", "slot", "1")},
		{"/box/new", phone.get("/box/new", 200).filled("/box/new", "name", "Shirt pocket")},
		{"/day", phone.get("/day?fly="+fly, 200).filled("/day")},
	}
	for _, f := range forms {
		for _, b := range []*fixture{server, phone, server, phone} {
			if w := b.posts(f.action, f.v); w.Code != http.StatusSeeOther {
				t.Fatalf("%s: status %d", f.action, w.Code)
			}
		}
	}
	phone.app = New(phone.config)
	for range 2 {
		exchange()
		for _, f := range forms {
			phone.posts(f.action, f.v)
		}
	}
	if a, b := server.entries(), phone.entries(); a != b {
		t.Errorf("%d entries and %d", a, b)
	}
	var digests []string
	for _, b := range []*fixture{server, phone} {
		b.state(func(s *flybox.State) {
			digests = append(digests, s.Digest())
			if s.Count(journal.ID(fly)) != 10 || len(s.Patterns()) != 2 || len(s.Boxes()) != 2 || len(s.Running()) != 1 {
				t.Errorf("%d left, %d flies, %d boxes, %d outings", s.Count(journal.ID(fly)), len(s.Patterns()), len(s.Boxes()), len(s.Running()))
			}
		})
	}
	if digests[0] != digests[1] {
		t.Error("the two show different things")
	}
}

type doer func(*http.Request) (*http.Response, error)

func (f doer) Do(r *http.Request) (*http.Response, error) { return f(r) }

// A slot may hold more than one move takes, from two devices that both filled
// it.
func TestASlotOfThousands(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		box, other := b.box("Boat box"), b.box("Shop drawer")
		fly := b.fly("name", "Golden foam", "box", box, "row", "1", "slot", "1", "count", "900")
		at := flybox.Place{Box: journal.ID(box), Row: 1, Slot: 1}
		for range 2 {
			b.record(flybox.StockMove{Pattern: journal.ID(fly), Place: &at, Delta: 800, Why: flybox.WhyTied})
		}
		edit := "/box/fly/" + fly + "/edit"
		b.submits(b.get(edit, 200), edit, "box", other, "row", "2", "slot", "2")
		b.state(func(s *flybox.State) {
			if n := s.CountAt(journal.ID(fly), flybox.Place{Box: journal.ID(other), Row: 2, Slot: 2}); n != 2500 || s.CountAt(journal.ID(fly), at) != 0 {
				t.Errorf("%d were moved, %d stayed", n, s.CountAt(journal.ID(fly), at))
			}
		})
		b.submits(b.get("/box/"+other+"/edit", 200), "/box/"+other+"/remove")
		b.state(func(s *flybox.State) {
			if n := s.CountAt(journal.ID(fly), flybox.Loose); n != 2500 {
				t.Errorf("%d are loose", n)
			}
		})
	})
}

// The box went away on another screen: a fly that is put back goes to another
// slot of its own, or stays loose, and never into a box that is gone.
func TestNothingGoesBackIntoABoxThatIsGone(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		box := b.box("Boat box")
		fly := b.fly("name", "Golden foam", "box", box, "row", "1", "slot", "1")
		href := "/box/fly/" + fly
		b.submits(b.get(href, 200), href+"/move", "=do", "take")
		stale := b.get(href, 200)
		b.submits(b.get("/box/"+box+"/edit", 200), "/box/"+box+"/remove")
		for _, do := range []string{"back", "tied"} {
			w := b.posts(href+"/move", stale.filled(href+"/move", "=do", do))
			if w.Code != http.StatusSeeOther {
				t.Errorf("%s: status %d", do, w.Code)
			}
		}
		b.state(func(s *flybox.State) {
			for _, pl := range s.Places(journal.ID(fly)) {
				if pl.Place != flybox.Loose {
					t.Errorf("%d lie in %+v", pl.Count, pl.Place)
				}
			}
			if s.Count(journal.ID(fly)) != 7 {
				t.Errorf("%d left, want 7", s.Count(journal.ID(fly)))
			}
		})
	})
}

// An altitude is read in the unit that stood beside it.
func TestAnAltitudeKeepsItsUnit(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		height := func(w *httptest.ResponseRecorder) float64 {
			t.Helper()
			if w.Code != http.StatusSeeOther {
				t.Fatalf("status %d\n%s", w.Code, parse(t, w.Body.String()).text())
			}
			r := httptest.NewRequest("GET", "/", nil)
			r.AddCookie(w.Result().Cookies()[0])
			return screen.ReadPrefs(r).Place.Altitude
		}
		near := func(got, want float64) bool { return got > want-1 && got < want+1 }
		// Feet are asked for from now on, but 900 was typed beside "m".
		d := b.get("/setup", 200)
		w := b.posts("/setup", d.filled("/setup", "len", "in", "alt", "900", "lat", "north"))
		if w.Code != http.StatusUnprocessableEntity {
			t.Fatalf("status %d", w.Code)
		}
		d = parse(t, w.Body.String())
		if d.value("alt") != "900" || d.value("lat") != "north" {
			t.Errorf("typed text is gone: %q, %q", d.value("alt"), d.value("lat"))
		}
		if got := height(b.posts("/setup", d.filled("/setup", "lat", "45"))); !near(got, 900) {
			t.Errorf("900 m are kept as %.0f m", got)
		}
		// The other way round, with a form from before.
		b.prefs = "lang=en&len=in"
		d = b.get("/setup", 200)
		w = b.posts("/setup", d.filled("/setup", "len", "mm", "alt", "3000", "lat", "x"))
		d = parse(t, w.Body.String())
		b.prefs = "lang=en&len=mm" // changed in another tab
		if got := height(b.posts("/setup", d.filled("/setup", "lat", "45"))); !near(got, 914.4) {
			t.Errorf("3,000 ft are kept as %.0f m", got)
		}
	})
}

// Every id on every screen is there once, and whatever points to one finds it.
func TestIDsOnScreensAreUnique(t *testing.T) {
	b := newFixture(t, true)
	// A trip with several flies that are yet to be made.
	b.saved("/trip/new", "name", "Autumn canyon", "from", "2026-09-14", "to", "2026-09-18", "rods", "4", "region", "west-na", "type0", "tailwater", "level", "99")
	var extra []string
	b.state(func(s *flybox.State) {
		for _, l := range s.Trips() {
			extra = append(extra, string("/trip/"+l.Body.ID), string("/trip/"+l.Body.ID+"/pack"), string("/trip/"+l.Body.ID+"/back"))
		}
	})
	for _, path := range append(append(routesOf(t, "GET"), september, "/hatch/claassenia?wings=short&length=22", "/compare?h=hesperoperla&h=calineuria"), extra...) {
		w := b.do(httptest.NewRequest("GET", path, nil))
		if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			continue
		}
		d := parse(t, w.Body.String())
		seen := map[string]bool{}
		for _, n := range d.all(func(n *html.Node) bool { return has(n, "id") }) {
			if id := attr(n, "id"); seen[id] || id == "" || strings.ContainsAny(id, " \t\n") {
				t.Errorf("%s: id %q twice or not fit", path, id)
			} else {
				seen[id] = true
			}
		}
		for _, n := range d.all(func(*html.Node) bool { return true }) {
			for _, key := range []string{"for", "aria-describedby", "aria-labelledby", "aria-controls"} {
				for _, id := range strings.Fields(attr(n, key)) {
					if !seen[id] {
						t.Errorf("%s: %s of <%s> points to %q, which is not there", path, key, n.Data, id)
					}
				}
			}
		}
	}
}

// What a person typed stays in its field, however long it is.
func TestTypedTextStaysWhole(t *testing.T) {
	b := newFixture(t, false)
	long := strings.Repeat("not a number ", 6)
	long = strings.TrimSpace(long)
	w := b.do(httptest.NewRequest("GET", "/?"+url.Values{"length": {long}, "hour": {long}, "water_c": {long}}.Encode(), nil))
	d := parse(t, w.Body.String())
	for _, name := range []string{"length", "hour", "water_c"} {
		if got := d.value(name); w.Code != http.StatusUnprocessableEntity || got != long {
			t.Errorf("%s: status %d, field %q", name, w.Code, got)
		}
	}
	w = b.send("/setup/size", "px", long)
	if got := parse(t, w.Body.String()).value("px"); got != long {
		t.Errorf("px: field %q", got)
	}
}

// Water is called warm from 18 °C on and hot from 20 °C: words.WarmCare names
// where the numbers are from.
func TestWarmWaterBeginsAtEighteen(t *testing.T) {
	b := newFixture(t, true)
	for c, want := range map[string][2]bool{"17.9": {}, "18": {true, false}, "19.9": {true, false}, "20": {false, true}, "25": {false, true}} {
		text := b.get("/?water_c="+c, 200).text()
		warm, hot := strings.Contains(text, "play fish short and keep them wet, or stop"), strings.Contains(text, "fish are in trouble")
		if warm != want[0] || hot != want[1] {
			t.Errorf("%s °C: warm %v, hot %v; want %v", c, warm, hot, want)
		}
	}
}

// What a newer version wrote about a thing survives a change by this one.
func TestAChangeKeepsWhatANewerVersionWrote(t *testing.T) {
	onBothHosts(t, func(t *testing.T, b *fixture) {
		const fly, box, order = "0198c0de-0000-4000-8000-00000000000a", "0198c0de-0000-4000-8000-00000000000b", "0198c0de-0000-4000-8000-00000000000c"
		for i, body := range []string{
			`"kind":"pattern","body":{"id":"` + fly + `","name":"Golden foam","style":"foam-stone","hook":8,"weight":{"bead_mm":2.8},"Barbless":true,"é":"\u00e9 <b>"}`,
			`"kind":"box","body":{"id":"` + box + `","name":"Boat box","rows":2,"columns":2,"photo":"a1"}`,
			`"kind":"order","body":{"id":"` + order + `","for":"Ember lodge","pattern":"` + fly + `","count":12,"price":{"minor":450,"currency":"EUR"}}`,
		} {
			e, err := journal.ParseEntry(fmt.Appendf(nil, `{"id":"0198c0de-0000-4000-9000-%012d","at":"2026-09-01T05:00:00.000Z-0000-newer","v":1,%s}`, i, body))
			if err != nil {
				t.Fatal(err)
			}
			if _, bad, err := b.ledger.Merge(t.Context(), []journal.Entry{e}); err != nil || len(bad) > 0 {
				t.Fatal(bad, err)
			}
		}
		last := func(want ...string) {
			t.Helper()
			all, err := b.ledger.Store().Load(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			raw := string(all[len(all)-1].RawBody())
			for _, w := range want {
				if !strings.Contains(raw, w) {
					t.Errorf("lost %s: %s", w, raw)
				}
			}
			if strings.Count(raw, `"id"`) > 1 || strings.Count(raw, `"name"`) > 1 {
				t.Errorf("a field stands twice: %s", raw)
			}
		}
		for range 2 { // a second change carries them on
			edit := "/box/fly/" + fly + "/edit"
			b.submits(b.get(edit, 200), edit, "name", "Golden foam, cut "+uuid.NewString())
			last(`"weight":{"bead_mm":2.8}`, `"Barbless":true`, `"é":"\u00e9 <b>"`, "cut ")
		}
		edit := "/box/" + box + "/edit"
		b.submits(b.get(edit, 200), edit, "name", "Drift boat")
		last(`"photo":"a1"`, "Drift boat")
		edit = "/bench/order/" + order + "/edit"
		b.submits(b.get(edit, 200), edit, "count", "24")
		last(`"price":{"minor":450,"currency":"EUR"}`, `"count":24`)
	})
}
