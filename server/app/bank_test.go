package app

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/server/app/screen"
)

const september = "/?month=9&trend=dropping&shucks=damp-stones&length=22&unit=mm&wings=short"

func TestTheKeyLeadsToOwnFlies(t *testing.T) {
	b := newFixture(t, true)
	d := b.get(september, http.StatusOK)
	if lead := d.byID("lead"); !strings.Contains(lead, "Short-winged golden stonefly") || !strings.Contains(lead, "Yes") {
		t.Errorf("lead: %s", lead)
	}
	d.wants("Boat box, row", "left", "Take one out", "A sudden drop can be followed by a sudden rise")
	d = b.get("/hatch/claassenia?month=9&wings=short&length=22&unit=mm", http.StatusOK)
	d.wants("Claassenia sabulosa", "How to fish it", "Boat box, row", "Strickland Entomological Museum")
}

func TestTheKeyInSpanishAndInches(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=es&len=in&temp=f"
	d := b.get("/?month=9&trend=dropping&shucks=damp-stones&length=0.87&unit=in&wings=short&water_c=68", http.StatusOK)
	d.wants("Perla dorada de alas cortas", "0,87", "Agua a 68 °F")
	if lang := attr(d.all(func(n *html.Node) bool { return n.Data == "html" })[0], "lang"); lang != "es" {
		t.Errorf("lang %q", lang)
	}
}

func TestAnEmptyBoxAndABoxWithNothingThatFits(t *testing.T) {
	b := newFixture(t, false)
	b.get(september, http.StatusOK).wants("No flies are entered yet", "Fill the first box")
	b.saved("/box/fly/new", "name", "Small black midge", "style", "midge-pupa", "hook", "22", "body", "#202020", "count", "3")
	d := b.get(september, http.StatusOK)
	d.wants("Nothing in the boxes fits. Tie this:", "Enter it as a new fly")
	link := d.all(func(n *html.Node) bool { return strings.HasPrefix(attr(n, "href"), "/box/fly/new?") })
	if len(link) == 0 {
		t.Fatal("no link to enter what to tie")
	}
	form := b.get(attr(link[0], "href"), http.StatusOK)
	if form.value("length_mm") == "" {
		t.Error("the form is not filled in with the length to tie")
	}
}

func TestSomethingUnknownLeads(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/?month=1&length=60&unit=mm&wings=upright", http.StatusOK)
	if lead := d.byID("lead"); !strings.Contains(lead, "Something this key does not hold") {
		t.Errorf("lead: %s", lead)
	}
}

func TestTheReadingAlone(t *testing.T) {
	b := newFixture(t, true)
	r := httptest.NewRequest("GET", september, nil)
	r.Header.Set(screen.PartHeader, "reading")
	w := b.do(r)
	if s := w.Body.String(); w.Code != http.StatusOK || !strings.HasPrefix(s, `<section id="reading"`) || strings.Contains(s, "<html") {
		t.Errorf("status %d: %.200s", w.Code, s)
	}
}

// A bad answer gets a sentence, stays in its field, and the others count.
func TestBadAnswers(t *testing.T) {
	rows := []struct{ name, query, field, kept, sentence string }{
		{"text in a number", "length=big&unit=mm&wings=short&month=9", "length", "big", "“big” is not a number"},
		{"negative length", "length=-4&unit=mm&month=9", "length", "-4", "Must be from 0.5 mm to 120 mm"},
		{"zero length", "length=0&unit=mm&month=9", "length", "0", "Must be from 0.5 mm to 120 mm"},
		{"length without end", "length=1e309&unit=mm", "length", "1e309", "is not a number"},
		{"hour 25", "hour=25", "hour", "25", "Must be from 0 to 24"},
		{"boiling water", "water_c=101", "water_c", "101", "Must be from -2 °C to 40 °C"},
		{"month 13", "month=13", "", "", "Must be from 1 to 12"},
		{"unknown wing state", "wings=purple&month=9", "", "", "That choice is not known"},
		{"a colour that is none", "colour=red", "", "", "is not a colour"},
		{"script for a length", "length=" + strings.ReplaceAll("<script>x</script>", "<", "%3C"), "length", "<script>x</script>", "is not a number"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			b := newFixture(t, true)
			before := b.entries()
			d := b.get("/?"+row.query, http.StatusUnprocessableEntity)
			d.wants(row.sentence)
			if row.field != "" && d.value(row.field) != row.kept {
				t.Errorf("field %s holds %q, want %q", row.field, d.value(row.field), row.kept)
			}
			if b.entries() != before || strings.Contains(d.raw, "<script>x") {
				t.Error("something was stored, or markup got through")
			}
		})
	}
}

func TestTooLongAnAddressIsRefused(t *testing.T) {
	b := newFixture(t, false)
	b.get("/?length="+strings.Repeat("1", screen.MaxQuery+1), http.StatusRequestEntityTooLarge).wants("too much at once")
}

func TestUnknownPlaces(t *testing.T) {
	b := newFixture(t, true)
	for _, path := range []string{"/nowhere", "/hatch/kraken", "/box/none", "/box/fly/none", "/box/fly/none/edit", "/box/none/edit"} {
		b.get(path, http.StatusNotFound).wants("not here")
	}
	if w := b.send("/"); w.Code != http.StatusMethodNotAllowed {
		t.Errorf("POST /: %d", w.Code)
	}
}

func TestASpoiltPrefsCookieFallsBack(t *testing.T) {
	b := newFixture(t, false)
	for _, prefs := range []string{"", "%zz", "lang=xx&region=atlantis&px=NaN", "px=1e9", "lang=en&px=-3"} {
		b.prefs = prefs
		b.get("/", http.StatusOK)
		b.get("/setup", http.StatusOK)
	}
}
