package app

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// link is the address of the link with a text, or that has a part in its
// address.
func (d *doc) link(text, part string) string {
	d.Helper()
	for _, a := range d.all(func(n *html.Node) bool { return n.Data == "a" }) {
		if href := attr(a, "href"); strings.Contains(textOf(a), text) && strings.Contains(href, part) {
			return href
		}
	}
	d.Fatalf("no link %q to %q in\n%s", text, part, d.text())
	return ""
}

// sent wants a post to be answered with a status.
func (b *fixture) sent(action string, status int, v url.Values) *doc {
	b.Helper()
	w := b.posts(action, v)
	if w.Code != status {
		b.Fatalf("POST %s %v: status %d, want %d", action, v, w.Code, status)
	}
	return parse(b.T, w.Body.String())
}

// press sends the form whose button has a text.
func (b *fixture) press(d *doc, button string) *doc {
	b.Helper()
	for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "method") == "post" }) {
		var fields []string
		found := false
		for n := range f.Descendants() {
			switch {
			case n.Data == "input":
				fields = append(fields, attr(n, "name"), attr(n, "value"))
			case n.Data == "button":
				found = strings.Contains(textOf(n), button)
			}
		}
		if found {
			return b.saved(attr(f, "action"), fields...)
		}
	}
	b.Fatalf("no button %q in\n%s", button, d.text())
	return nil
}

// Two rods, the second with three flies: every tap goes to the fly that the
// fish saw and to the rod that was up.
func TestTwoRodsAndThreeFlies(t *testing.T) {
	b := newFixture(t, true)
	id := b.startDay("fly", string(demo.ID("golden-short")), "rod_names", "Bow,  Stern")
	d := b.get("/day", http.StatusOK)
	d.wants("Bow", "Stern", "Golden foam, short wing")
	d = b.get(d.link("Stern", "rod=2"), http.StatusOK)
	d.wants("No fly tied on")
	d = b.get(d.link("Put on a fly", "rod=2"), http.StatusOK)
	choose := func(d *doc, fly string) *doc {
		t.Helper()
		for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == "/day/fly" }) {
			var fields []string
			is := false
			for n := range f.Descendants() {
				if n.Data == "input" {
					fields = append(fields, attr(n, "name"), attr(n, "value"))
					is = is || attr(n, "name") == "fly" && attr(n, "value") == string(demo.ID(fly))
				}
			}
			if is {
				return b.saved("/day/fly", fields...)
			}
		}
		t.Fatalf("%s is not offered", fly)
		return nil
	}
	d = choose(d, "golden-foam")
	d.wants("Golden foam")
	for _, fly := range []string{"olive-dun", "golden-nymph"} {
		d = choose(b.get(d.link("Add a fly", "place="), http.StatusOK), fly)
	}
	d.wants("Point", "Dropper", "Top dropper")
	if strings.Contains(d.text(), "Add a fly") {
		t.Error("a fourth fly is offered")
	}
	rig := func(rod int) (r flybox.Rig) {
		b.state(func(s *flybox.State) { r = s.RigNow(journal.ID(id), rod).Body })
		return r
	}
	if r := rig(2); len(r.Above) != 2 || r.Above[1].Pattern != demo.ID("golden-nymph") {
		t.Fatalf("the second rod has %+v", r)
	}
	if r := rig(1); r.Pattern != demo.ID("golden-short") || len(r.Above) > 0 {
		t.Errorf("the first rod has %+v", r)
	}

	// Two taps: what it did, and which fly it was.
	d = b.get(d.link("Take", "result=take"), http.StatusOK)
	d.wants("Which fly?")
	d = b.press(d, "Olive dun")
	d.wants("Saved: Take", "Olive dun", "Landed", "Missed")
	if len(d.all(func(n *html.Node) bool {
		return attr(n, "aria-current") == "true" && strings.Contains(textOf(n), "Stern")
	})) != 1 {
		t.Error("another rod is up after the tap")
	}
	d = b.press(d, "Landed")
	d.wants("Take, Landed")
	fish := b.get(d.link("Kind, length", "entry="), http.StatusOK)
	fish.wants("with wet hands")
	action := "/day/" + id + "/fish"
	bad := b.sent(action, http.StatusUnprocessableEntity, fish.filled(action, "fish", "Rainbow", "fish_mm", "long"))
	if bad.value("fish_mm") != "long" || bad.value("fish") != "Rainbow" {
		t.Errorf("what was typed is gone: %q, %q", bad.value("fish_mm"), bad.value("fish"))
	}
	d = b.submits(fish, action, "fish", "Rainbow", "fish_mm", "41,5")
	d.wants("Rainbow", "41.5")

	// A refusal and why, in one touch more.
	d = b.get(d.link("Refusal", "result=refusal"), http.StatusOK)
	d = b.press(d, "Golden foam")
	d = b.press(d, "Drag")
	d.wants("Refusal, Drag")
	b.state(func(s *flybox.State) {
		outcomes := s.OutcomesOf(journal.ID(id))
		if len(outcomes) != 2 {
			t.Fatalf("%d outcomes", len(outcomes))
		}
		for _, l := range outcomes {
			o := l.Body
			switch {
			case o.Rod != 2:
				t.Errorf("%+v is not of the second rod", o)
			case o.Result == flybox.Take && (o.Pattern != demo.ID("olive-dun") || o.End != flybox.Landed || o.Fish != "Rainbow" || o.FishMM != 415):
				t.Errorf("the take is %+v", o)
			case o.Result == flybox.Refusal && (o.Pattern != demo.ID("golden-foam") || o.Why != flybox.Drag):
				t.Errorf("the refusal is %+v", o)
			}
		}
	})
	// The second touch takes it back.
	d = b.press(d, "Drag")
	if strings.Contains(d.text(), "Refusal, Drag") {
		t.Error("the reason stays")
	}
	d = b.press(d, "Drag")
	// A fly that is gone, too, is asked for.
	d = b.get(d.link("Bush, stone or wood", "gone=yes"), http.StatusOK)
	before := b.left(string(demo.ID("olive-dun")))
	d = b.press(d, "Olive dun")
	if after := b.left(string(demo.ID("olive-dun"))); after != before-1 {
		t.Errorf("%d left, before %d", after, before)
	}
	b.get("/day/"+id, http.StatusOK).wants("Stern · Olive dun", "Rainbow", "Refusal, Drag", "Tied on: Golden foam")
	b.get("/day/results", http.StatusOK).wants("1 is how the fly was shown, not the fly", "drag 1")

	// The first rod goes on with its own fly, in one tap.
	d = b.get(d.link("Bow", "rod=1"), http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "take", false)...)
	b.state(func(s *flybox.State) {
		if o := s.OutcomesOf(journal.ID(id))[0].Body; o.Pattern != demo.ID("golden-short") || o.Rod > 1 {
			t.Errorf("the first rod's take is %+v", o)
		}
	})
	// Without a rod in the address the one used last is up.
	if d := b.get("/day", http.StatusOK); !strings.Contains(d.text(), "Golden foam, short wing") || len(d.all(func(n *html.Node) bool {
		return attr(n, "aria-current") == "true" && strings.Contains(textOf(n), "Bow")
	})) != 1 {
		t.Error("another rod is up")
	}
}

// A form that an older release has left open does not take the names away.
func TestNamesOutliveAFormWithoutThem(t *testing.T) {
	b := newFixture(t, true)
	id := b.startDay("rod_names", "Bow, Stern")
	form := b.get("/day/"+id+"/edit", http.StatusOK).filled("/day/" + id + "/edit")
	form.Del("rod_names")
	if w := b.posts("/day/"+id+"/edit", form); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	b.get("/day", http.StatusOK).wants("Bow", "Stern")
	form.Set("rod_names", " ")
	b.posts("/day/"+id+"/edit", form)
	b.get("/day", http.StatusOK).wants("Rod 1", "Rod 2")
}

// One touch hangs a sinking fly below the dry one, and each may come off.
func TestDryAndDropper(t *testing.T) {
	b := newFixture(t, true)
	id := b.startDay("fly", string(demo.ID("golden-foam")), "rods", "1", "hatch", "claassenia", "stage", "nymph-ashore")
	d := b.get("/day", http.StatusOK)
	d.wants("Hang below: ")
	d = b.press(d, "Hang below: ")
	d.wants("Dropper below it", "Dry fly")
	b.state(func(s *flybox.State) {
		if r := s.RigNow(journal.ID(id), 0).Body; len(r.Above) != 1 || r.Above[0].Pattern != demo.ID("golden-foam") || r.Rod > 1 {
			t.Errorf("the rig is %+v", r)
		}
	})
	d = b.press(d, "Take off") // the uppermost stands first
	b.state(func(s *flybox.State) {
		if r := s.RigNow(journal.ID(id), 0).Body; len(r.Above) != 0 || r.Pattern == demo.ID("golden-foam") {
			t.Errorf("the rig is %+v", r)
		}
	})
	if strings.Contains(d.text(), "Hang below") {
		t.Error("something is hung below a fly that sinks")
	}
}

func TestWhatIsAskedOfAFishMayBeWrong(t *testing.T) {
	b := newFixture(t, true)
	id := b.startDay("fly", string(demo.ID("golden-short")))
	d := b.get("/day", http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "take", false)...)
	var fish, rig journal.ID
	b.state(func(s *flybox.State) {
		fish, rig = s.OutcomesOf(journal.ID(id))[0].Body.ID, s.RigNow(journal.ID(id), 0).Body.ID
	})
	for _, name := range []string{"why", "end", "result"} {
		b.sent("/day/"+id+"/say", http.StatusBadRequest, url.Values{name: {"moon"}, "entry": {string(fish)}, "form": {"x"}})
	}
	b.sent("/day/"+id+"/say", http.StatusNotFound, url.Values{"why": {"drag"}, "entry": {"ghost"}, "form": {"y"}})
	for path, status := range map[string]int{
		"/fish?entry=ghost": http.StatusNotFound, "/fish?entry=" + string(fish): http.StatusOK,
		"/which?rig=ghost&result=take": http.StatusNotFound, "/which?rig=" + string(rig) + "&result=moon": http.StatusNotFound,
		"/which?rig=" + string(rig): http.StatusNotFound, "/which?gone=yes&rig=" + string(rig): http.StatusOK,
	} {
		b.get("/day/"+id+path, status)
	}
	b.get("/day?rod=99&at="+url.QueryEscape(id), http.StatusOK).wants("Golden foam, short wing")
	names := strings.Repeat("a,", 7)
	d = b.sent("/day/"+id+"/edit", http.StatusUnprocessableEntity, b.get("/day/"+id+"/edit", http.StatusOK).filled("/day/"+id+"/edit", "rod_names", names))
	if d.value("rod_names") != names {
		t.Errorf("what was typed is gone: %q", d.value("rod_names"))
	}
}
