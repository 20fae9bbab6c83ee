package app

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
)

// stocked is a bench with one box and one fly, four of them in row 2, slot 3.
func stocked(t *testing.T) (b *fixture, box, fly string) {
	t.Helper()
	b = newFixture(t, false)
	b.saved("/box/new", "name", "Boat box", "rows", "4", "columns", "6")
	box = string(b.ledger.State().Boxes()[0].ID)
	b.saved("/box/fly/new", "name", "Golden stubs", "style", "short-wing-stone", "hook", "8", "length_mm", "22.3", "body", "#a98545",
		"box", box, "row", "2", "slot", "3", "count", "4", "want", "6")
	fly = string(b.ledger.State().Patterns()[0].ID)
	return b, box, fly
}

func (b *fixture) left(fly string) int {
	return b.ledger.State().Count(journal.ID(fly))
}

func (b *fixture) at(fly, box string, row, slot int) (n int) {
	s := b.ledger.State()
	n = s.CountAt(journal.ID(fly), flybox.Place{Box: journal.ID(box), Row: row, Slot: slot})
	return n
}

func TestTakeOneFishItLoseIt(t *testing.T) {
	b, box, fly := stocked(t)
	move := "/box/fly/" + fly + "/move"
	d := b.saved(move, "do", "take", "box", box, "row", "2", "slot", "3")
	d.wants("one is out of the box", "Out of the box 1", "Boat box, row 2, slot 3 3")
	if b.left(fly) != 4 || b.at(fly, box, 2, 3) != 3 {
		t.Errorf("left %d, in the slot %d; want 4 and 3", b.left(fly), b.at(fly, box, 2, 3))
	}
	b.saved(move, "do", "back", "box", box, "row", "2", "slot", "3")
	b.saved(move, "do", "take", "box", box, "row", "2", "slot", "3")
	b.saved(move, "do", "lost", "box", "", "row", "0", "slot", "0").wants("one lost, 3 left")
	if b.left(fly) != 3 || b.at(fly, box, 2, 3) != 3 {
		t.Errorf("left %d, in the slot %d; want 3 and 3", b.left(fly), b.at(fly, box, 2, 3))
	}
}

func TestTakingFromAnEmptySlotStoresNothing(t *testing.T) {
	b, box, fly := stocked(t)
	before := b.entries()
	for _, fields := range [][]string{
		{"do", "take", "box", box, "row", "1", "slot", "1"},
		{"do", "back", "box", box, "row", "2", "slot", "3"},
		{"do", "fly away", "box", box, "row", "2", "slot", "3"},
		{"do", "take", "box", box, "row", "x", "slot", "-1"},
	} {
		if w := b.send("/box/fly/"+fly+"/move", fields...); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v: status %d", fields, w.Code)
		}
	}
	if b.entries() != before {
		t.Error("something was stored")
	}
}

func TestADoubleTapCountsOnce(t *testing.T) {
	b, box, fly := stocked(t)
	for range 3 {
		b.saved("/box/fly/"+fly+"/move", "do", "take", "box", box, "row", "2", "slot", "3", "form", "same-form")
	}
	if got := b.at(fly, box, 2, 3); got != 3 {
		t.Errorf("%d in the slot, want 3", got)
	}
}

func TestAFormThatWasRefusedCanBeSentAgain(t *testing.T) {
	b, _, fly := stocked(t)
	path := "/box/fly/" + fly + "/count"
	if w := b.send(path, "why", "counted", "place", "loose", "count", "many", "form", "f1"); w.Code != http.StatusUnprocessableEntity {
		t.Fatalf("status %d", w.Code)
	}
	b.saved(path, "why", "counted", "place", "loose", "count", "2", "form", "f1")
	if b.left(fly) != 6 {
		t.Errorf("left %d, want 6", b.left(fly))
	}
}

func TestCounting(t *testing.T) {
	rows := []struct {
		name, why, count string
		want             int // left in all
		sentence         string
	}{
		{"counted fewer", "counted", "1", 1, ""},
		{"counted none", "counted", "0", 0, ""},
		{"tied three", "tied", "3", 7, ""},
		{"lost two", "lost", "2", 2, ""},
		{"lost more than there are", "lost", "9", 4, "Must be from 0 to 4"},
		{"tied none", "tied", "0", 4, "Must be from 1 to 999"},
		{"negative count", "counted", "-3", 4, "Must be from 0 to 999"},
		{"text", "counted", "four", 4, "“four” is not a number"},
		{"half a fly", "counted", "2.5", 4, "is not a number"},
		{"nothing typed", "counted", "", 4, "This is needed"},
		{"too many", "bought", "100000", 4, "Must be from 0 to 999"},
		{"unknown reason", "eaten", "1", 4, "not known"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			b, box, fly := stocked(t)
			fields := []string{"why", row.why, "place", "2.3." + box, "count", row.count}
			if row.sentence == "" {
				b.saved("/box/fly/"+fly+"/count", fields...)
			} else {
				before := b.entries()
				w := b.send("/box/fly/"+fly+"/count", fields...)
				d := parse(t, w.Body.String())
				d.wants(row.sentence)
				if w.Code != http.StatusUnprocessableEntity || d.value("count") != row.count || b.entries() != before {
					t.Errorf("status %d, field holds %q, %d entries more", w.Code, d.value("count"), b.entries()-before)
				}
			}
			if got := b.left(fly); got != row.want {
				t.Errorf("left %d, want %d", got, row.want)
			}
		})
	}
}

func TestBadFlies(t *testing.T) {
	good := map[string]string{"name": "Olive", "style": "emerger", "hook": "18", "body": "#6b6a35", "floats": "film"}
	rows := []struct{ name, field, value, sentence string }{
		{"no name", "name", " ", "This is needed"},
		{"a name of 9 kB", "name", strings.Repeat("x", 9<<10), "at most 120 characters"},
		{"a control character", "name", "a\x00b", "cannot be shown"},
		{"hook in words", "hook", "small", "is not a number"},
		{"hook 99", "hook", "99", "Must be from 2 to 28"},
		{"length in words", "length_mm", "long", "“long” is not a number"},
		{"negative length", "length_mm", "-2", "Must be from 1 mm to 200 mm"},
		{"negative count", "count", "-1", "Must be from 0 to 999"},
		{"unknown style", "style", "spaceship", "not known"},
		{"no style", "style", "", "needed"},
		{"a colour that is none", "body", "javascript:1", "is not a colour"},
		{"unknown box", "box", "nowhere", "not known"},
		{"notes of 9 kB", "notes", strings.Repeat("n", 9<<10), "at most 4000 characters"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			b := newFixture(t, false)
			var fields []string
			for k, v := range good {
				if k != row.field {
					fields = append(fields, k, v)
				}
			}
			w := b.send("/box/fly/new", append(fields, row.field, row.value)...)
			d := parse(t, w.Body.String())
			d.wants(row.sentence)
			if w.Code != http.StatusUnprocessableEntity || b.entries() != 0 {
				t.Errorf("status %d, %d entries", w.Code, b.entries())
			}
			if row.field != "name" && d.value("name") != "Olive" {
				t.Errorf("the name typed is gone: %q", d.value("name"))
			}
			switch row.field {
			case "length_mm", "count", "notes":
				if strings.TrimSpace(d.value(row.field)) != row.value {
					t.Errorf("what was typed is gone: %.40q", d.value(row.field))
				}
			}
		})
	}
}

func TestMarkupInANameIsText(t *testing.T) {
	b := newFixture(t, false)
	name := `<script>alert(1)</script>"><img src=x onerror=alert(2)>`
	b.saved("/box/fly/new", "name", name, "style", "emerger", "hook", "18", "body", "#6b6a35", "count", "1")
	id := string(b.ledger.State().Patterns()[0].ID)
	for _, path := range []string{"/box", "/box/fly/" + id, "/box/fly/" + id + "/edit", "/?month=5&length=6&unit=mm", "/hatch/baetis"} {
		d := b.get(path, http.StatusOK)
		bad := d.all(func(n *html.Node) bool {
			return n.Data == "img" || n.Data == "script" && attr(n, "src") == "" || attr(n, "onerror") != ""
		})
		if len(bad) > 0 {
			t.Errorf("%s: markup got through", path)
		}
	}
	b.get("/box/fly/"+id, http.StatusOK).wants("<script>alert(1)</script>")
}

func TestARevisionKeepsItsLineAndWhatTheFormDoesNotShow(t *testing.T) {
	b, box, fly := stocked(t)
	path := "/box/fly/" + fly + "/edit"
	form := b.get(path, http.StatusOK)
	if form.value("length_mm") != "22" {
		t.Fatalf("length shown as %q", form.value("length_mm"))
	}
	fields := []string{"name", "Golden stubs, darker", "style", "short-wing-stone", "hook", "8", "length_mm", "22", "body", "#8a6a34",
		"box", box, "row", "2", "slot", "4", "want", "6", "parent", form.hidden(path, "parent"), "form", form.hidden(path, "form")}
	b.saved(path, fields...).wants("Golden stubs, darker", "Earlier versions", "row 2, slot 4")
	s := b.ledger.State()
	f, _ := s.Pattern(journal.ID(fly))
	line := s.Lineage(journal.ID(fly))
	if f.Length != 22.3 || len(line) != 2 || f.Parent != line[0].Rev {
		t.Errorf("length %v, lineage %d, parent %q", f.Length, len(line), f.Parent)
	}
	if b.at(fly, box, 2, 4) != 4 || b.at(fly, box, 2, 3) != 0 {
		t.Error("the flies did not move along with their slot")
	}
}

func TestARemovedBoxLosesNoFlies(t *testing.T) {
	b, box, fly := stocked(t)
	b.saved("/box/"+box+"/remove", "form", "x").wants("Removed.")
	if b.left(fly) != 4 || b.at(fly, "", 0, 0) != 4 {
		t.Errorf("left %d, loose %d; want 4 and 4", b.left(fly), b.at(fly, "", 0, 0))
	}
	b.get("/box/"+box, http.StatusNotFound)
}

func TestBadBoxes(t *testing.T) {
	for _, row := range []struct{ rows, columns, name, sentence string }{
		{"0", "6", "B", "Must be from 1"}, {"4", "", "B", "needed"}, {"x", "6", "B", "not a number"}, {"4", "1000", "B", "Must be from 1"}, {"4", "6", "", "needed"},
	} {
		b := newFixture(t, false)
		w := b.send("/box/new", "name", row.name, "rows", row.rows, "columns", row.columns)
		parse(t, w.Body.String()).wants(row.sentence)
		if w.Code != http.StatusUnprocessableEntity || b.entries() != 0 {
			t.Errorf("%+v: status %d", row, w.Code)
		}
	}
}

func TestNothingIsSavedWhereNothingCanBeKept(t *testing.T) {
	b := newFixture(t, true)
	b.app.NoStore = true
	before := b.entries()
	w := b.send("/box/new", "name", "B", "rows", "1", "columns", "1")
	parse(t, w.Body.String()).wants("Nothing can be saved here")
	if w.Code != http.StatusServiceUnavailable || b.entries() != before {
		t.Errorf("status %d", w.Code)
	}
	if w := b.send("/setup", "lang", "es", "len", "mm", "temp", "c", "region", "west-na"); w.Code != http.StatusSeeOther {
		t.Errorf("prefs need no ledger: status %d", w.Code)
	}
}

func TestTooLargeAFormIsRefused(t *testing.T) {
	b := newFixture(t, false)
	w := b.send("/box/fly/new", "name", strings.Repeat("x", screen.MaxForm+1))
	if w.Code != http.StatusRequestEntityTooLarge || b.entries() != 0 {
		t.Errorf("status %d", w.Code)
	}
}

func TestFindingAFlyKnowsNoCaseOrAccent(t *testing.T) {
	b := newFixture(t, false)
	b.saved("/box/fly/new", "name", "Ninfa Dorada Pequeña", "style", "stonefly-nymph", "hook", "8")
	for _, q := range []string{"DORADA", "pequena", "ninfa+peque", "stonefly"} {
		b.get("/box?q="+q, http.StatusOK).wants("1 of 1 flies")
	}
	b.get("/box?q=zebra", http.StatusOK).wants("0 of 1 flies")
}

func TestSetupKeepsPrefsOnTheDevice(t *testing.T) {
	b := newFixture(t, false)
	w := b.send("/setup", "lang", "es", "len", "in", "temp", "f", "region", "europe")
	c := w.Result().Cookies()
	if len(c) != 1 || c[0].Value != "lang=es&len=in&temp=f&region=europe" || b.entries() != 0 {
		t.Fatalf("cookies %v", c)
	}
	r := httptest.NewRequest("GET", "/setup", nil)
	r.AddCookie(c[0])
	if got := screen.ReadPrefs(r); got.String() != c[0].Value {
		t.Errorf("read back as %q", got)
	}
	if w := b.send("/setup", "lang", "es", "len", "in", "temp", "f", "region", "atlantis"); w.Code != http.StatusBadRequest {
		t.Errorf("unknown region: status %d", w.Code)
	}
	for px, status := range map[string]int{"6.05": 303, "6,05": 303, "0": 422, "99": 422, "wide": 422} {
		if w := b.send("/setup/size", "px", px); w.Code != status {
			t.Errorf("px %q: status %d, want %d", px, w.Code, status)
		}
	}
}

// A field for a colour is never empty in a browser, so an underside that nobody
// chose must not take the place of the body's colour: it is what fish see.
func TestAnUndersideCountsOnlyWhereItDiffers(t *testing.T) {
	b := newFixture(t, false)
	fly := func(name string, fields ...string) flybox.Fly {
		b.saved("/box/fly/new", append([]string{"form", uuid.NewString(), "name", name, "style", "ant", "hook", "16", "body", "#2a2724", "wing", "#d8d2c4", "under", "#b08d45"}, fields...)...)
		list := b.ledger.State().Patterns()
		return list[slices.IndexFunc(list, func(f flybox.Fly) bool { return f.Name == name })]
	}
	if f := fly("Black ant"); f.Under != "" || f.Body != "#2a2724" {
		t.Errorf("nobody chose an underside, and it is %q", f.Under)
	}
	f := fly("Two-coloured ant", "differs", "under")
	if f.Under != "#b08d45" {
		t.Errorf("the underside is %q", f.Under)
	}
	checked := func(d *doc) bool {
		for _, n := range d.all(func(n *html.Node) bool { return attr(n, "name") == "differs" }) {
			for _, a := range n.Attr {
				if a.Key == "checked" {
					return true
				}
			}
		}
		return false
	}
	if !checked(b.get(string("/box/fly/"+f.ID+"/edit"), http.StatusOK)) {
		t.Error("an underside of its own is not shown so")
	}
	if checked(b.get("/box/fly/new", http.StatusOK)) {
		t.Error("a new fly has an underside of its own")
	}
}

// Bead, wire and jig hook of a fly are kept, shown, and asked of a foam body;
// a form from before there were any keeps them.
func TestAFlyCarriesItsWeight(t *testing.T) {
	b := newFixture(t, true)
	fields := []string{"name", "Slim nymph with a bead", "style", "nymph", "hook", "14", "shank", "1", "body", "#5f4630", "wing", "#d8d2c4", "under", "#5f4630", "count", "3"}
	b.saved("/box/fly/new", append(fields, "bead", "tungsten", "bead_mm", "2.8", "wire", "yes", "jig", "yes")...)
	var f flybox.Fly
	for _, x := range b.ledger.State().Patterns() {
		if x.Name == "Slim nymph with a bead" {
			f = x
		}
	}
	if f.Bead != "tungsten" || f.BeadMM != 2.8 || !f.Wire || !f.Jig {
		t.Fatalf("kept %+v", f.Pattern)
	}
	href := "/box/fly/" + string(f.ID)
	b.get(href, 200).wants("Tungsten bead, 2.8 mm", "weighted with wire", "jig hook, rides point up")
	d := b.get(href+"/edit", 200)
	if d.value("bead_mm") != "2.8" || !strings.Contains(d.raw, `value="tungsten" selected`) {
		t.Error("the form does not show the bead")
	}
	b.get(words.FoamPath, 200).wants("Slim nymph with a bead")
	old := with(fields, "name", "Slim nymph, renamed")
	b.saved(href+"/edit", old...)
	if f, _ := b.ledger.State().Pattern(f.ID); f.Bead != "tungsten" || !f.Jig || f.Name != "Slim nymph, renamed" {
		t.Errorf("an old form left %+v", f.Pattern)
	}
	b.saved(href+"/edit", append(old, "bead", "", "bead_mm", "")...)
	if f, _ := b.ledger.State().Pattern(f.ID); f.Bead != "" || f.BeadMM != 0 || f.Wire || f.Jig {
		t.Errorf("taken off, but %+v", f.Pattern)
	}
	if w := b.send("/box/fly/new", append(with(fields, "name", "Wrong"), "bead", "brass", "bead_mm", "99")...); w.Code != 422 {
		t.Errorf("a bead of 99 mm: status %d", w.Code)
	}
	if w := b.send("/box/fly/new", append(with(fields, "name", "Wrong"), "bead", "lead")...); w.Code != 422 {
		t.Errorf("a bead of lead: status %d", w.Code)
	}
	if w := b.send("/box/fly/new", append(with(fields, "name", "Wrong"), "bead", "brass", "bead_mm", "two")...); w.Code != 422 || parse(t, w.Body.String()).value("bead_mm") != "two" {
		t.Errorf("a bead of no size: status %d", w.Code)
	}
}

// Somebody in a hurry names the box alone: the fly goes into the first slot
// that is free, and the box is shown.
func TestABoxAloneIsEnoughToPutAFlyAway(t *testing.T) {
	b, box, _ := stocked(t)
	fly := func(name string) []string {
		return []string{"name", name, "style", "ant", "hook", "16", "body", "#2a2724", "wing", "#d8d2c4", "under", "#2a2724", "box", box, "row", "", "slot", "", "count", "2", "want", "3"}
	}
	w := b.send("/box/fly/new", fly("First ant")...)
	if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/box/"+box) {
		t.Fatalf("status %d to %q", w.Code, w.Header().Get("Location"))
	}
	b.saved("/box/fly/new", fly("Second ant")...)
	at := map[string]flybox.Place{}
	s := b.ledger.State()
	for _, f := range s.Patterns() {
		for _, pl := range s.Places(f.ID) {
			at[f.Name] = pl.Place
		}
	}
	if want := (flybox.Place{Box: journal.ID(box), Row: 1, Slot: 1}); at["First ant"] != want {
		t.Errorf("the first lies at %v", at["First ant"])
	}
	if want := (flybox.Place{Box: journal.ID(box), Row: 1, Slot: 2}); at["Second ant"] != want {
		t.Errorf("the second lies at %v", at["Second ant"])
	}
	// One field alone is a mistake, and a full box says so.
	if w := b.send("/box/fly/new", with(fly("Third ant"), "row", "2")...); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a row alone: %d", w.Code)
	}
	b.saved("/box/new", "name", "Tiny", "rows", "1", "columns", "1")
	tiny := ""
	for _, x := range b.ledger.State().Boxes() {
		if x.Name == "Tiny" {
			tiny = string(x.ID)
		}
	}
	b.saved("/box/fly/new", with(fly("Fourth ant"), "box", tiny)...)
	if w := b.send("/box/fly/new", with(fly("Fifth ant"), "box", tiny)...); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "No slot of this box is free") {
		t.Errorf("a full box: %d", w.Code)
	}
}
