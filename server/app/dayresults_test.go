package app

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
)

func hrefs(d *doc, prefix string) (out []string) {
	for _, n := range d.all(func(n *html.Node) bool { return n.Data == "a" && strings.HasPrefix(attr(n, "href"), prefix) }) {
		out = append(out, attr(n, "href"))
	}
	return out
}

// The invented morning at Cinder Bend: long flies refused, the shorter one
// taken.
func TestWhatTheFishSay(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/day/results", http.StatusOK)
	d.wants("7 fish", "Short-winged golden stonefly", "2 takes, 1 fish lost", "2 refusals", "too few to say anything",
		"An earlier version, until it was changed", "Which is better?", "On few fish, Golden foam, short wing (22 mm) looks better than",
		"Too long: the longer flies were refused.", "Those: 0 of 4 fish took. The others: 3 of 3. Weight of evidence +10.5 dB")
	change := hrefs(d, string("/box/fly/"+demo.ID("golden-foam")+"/edit"))
	if len(change) != 1 || !strings.Contains(change[0], "length_mm=") {
		t.Fatalf("the change leads to %q", change)
	}
	d = b.get(change[0], http.StatusOK)
	d.wants("Filled in because of the refusals", "Too long")
	if got := d.value("length_mm"); got == "28" || got == "" {
		t.Errorf("the form has a length of %q, want the insect's", got)
	}
	before := b.entries()
	fields := []string{}
	for _, name := range []string{"name", "length_mm", "body", "wing", "under"} {
		fields = append(fields, name, d.value(name))
	}
	b.saved(string("/box/fly/"+demo.ID("golden-foam")+"/edit"), append(fields, "parent", d.hidden(string("/box/fly/"+demo.ID("golden-foam")+"/edit"), "parent"), "style", "foam-stone", "hook", "8", "shank", "1.2100", "form", "tie")...)
	b.state(func(s *flybox.State) {
		f, _ := s.Pattern(demo.ID("golden-foam"))
		if f.Parent != demo.ID("007") || f.Length >= 28 || b.entries() <= before {
			t.Errorf("the new revision is %+v", f.Pattern)
		}
	})
	// Now the flies have it.
	b.get("/day/results", http.StatusOK).wants("already")
}

// Forms that the address fills in have lengths in the reader's unit.
func TestFilledInFormsKeepTheUnit(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=en&len=in"
	for _, path := range []string{"/box/fly/new?style=beetle&length_mm=0.83", string("/box/fly/" + demo.ID("golden-foam") + "/edit?length_mm=0.83&why=length.long")} {
		if got := b.get(path, http.StatusOK).value("length_mm"); got != "0.83" {
			t.Errorf("%s: the form has %q inches, want 0.83", path, got)
		}
	}
	change := hrefs(b.get("/day/results", http.StatusOK), string("/box/fly/"+demo.ID("golden-foam")+"/edit"))
	if len(change) != 1 || !strings.Contains(change[0], "length_mm=0.8") {
		t.Errorf("the change leads to %q, want a length in inches", change)
	}
	// What is not a value of its field is left as it is.
	d := b.get(string("/box/fly/"+demo.ID("golden-foam")+"/edit?length_mm=x&body=red&floats=away&why=no.such&under=%23zz"), http.StatusOK)
	if d.value("length_mm") != "1.1" || d.value("body") != "#b07f34" || strings.Contains(d.text(), "Filled in") {
		t.Errorf("length %q, body %q", d.value("length_mm"), d.value("body"))
	}
}

func TestResultsNarrowedDown(t *testing.T) {
	b := newFixture(t, true)
	for _, c := range []struct{ query, want string }{
		{"on=claassenia.adult-male", "7 fish"},
		{"on=claassenia.", "7 fish"}, // any form of it
		{"on=own-a.b.dun", "0 fish"}, // an id with a point
		{"on=baetis.dun", "0 fish"},
		{"water=Sorrel+River", "7 fish"},
		{"water=Ember+Creek", "0 fish"},
		{"from=2026-08-14&to=2026-08-14", "7 fish"},
		{"from=2026-08-15", "0 fish"},
		{"to=2026-08-13", "0 fish"},
		{"from=yesterday", "7 fish"},
		{"at=99999", "7 fish"},
	} {
		d := b.get("/day/results?"+c.query, http.StatusOK)
		d.wants(c.want)
		if strings.HasPrefix(c.query, "from=yesterday") && d.byID("from-error") == "" {
			t.Errorf("%s: nothing is said of it", c.query)
		}
	}
	chosen := b.get("/day/results?on=claassenia.", http.StatusOK).all(func(n *html.Node) bool {
		return n.Data == "option" && attr(n, "value") == "claassenia." && strings.Contains(textOf(n), "Short-winged golden stonefly")
	})
	if len(chosen) != 1 {
		t.Errorf("%d options for any form of the hatch that was asked for, want 1", len(chosen))
	}
	newFixture(t, false).get("/day/results", http.StatusOK).wants("No fish noted yet", "Tap takes and refusals in Day")
}

func TestHatchLeadsToItsResults(t *testing.T) {
	b := newFixture(t, true)
	if got := hrefs(b.get("/hatch/claassenia", http.StatusOK), "/day/results"); len(got) != 1 || got[0] != "/day/results?on=claassenia." {
		t.Errorf("the page of the hatch leads to %q", got)
	}
	if got := hrefs(b.get("/hatch/baetis", http.StatusOK), "/day/results"); len(got) != 0 {
		t.Errorf("a hatch without results leads to %q", got)
	}
}

func TestFlyPageSaysWhatFishDid(t *testing.T) {
	b := newFixture(t, true)
	d := b.get(string("/box/fly/"+demo.ID("golden-short")), http.StatusOK)
	if got := d.byID("fished"); !strings.Contains(got, "2 takes, 1 fish lost") || !strings.Contains(got, "Earlier versions 1 refusal, 1 follow") {
		t.Errorf("the page says %q", got)
	}
	if d := b.get(string("/box/fly/"+demo.ID("black-ant")), http.StatusOK); d.byID("fished") != "" {
		t.Errorf("a fly that was never fished has %q", d.byID("fished"))
	}
}

// Two flies that fit alike: own results decide which stands first, and one
// that does not fit stays behind whatever its results.
func TestOwnResultsMoveTheRanking(t *testing.T) {
	b := newFixture(t, false)
	key, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	h := key.Hatch("claassenia")
	form := h.Form("adult-male")
	length := match.Middle(form.Length)
	fly := func(id string, mm float64, style flybox.Style) []flybox.Body {
		return []flybox.Body{
			flybox.Pattern{ID: journal.ID(id), Name: id, Style: style, Hook: 8, Length: mm, Body: form.Colour.Body[0]},
			flybox.StockMove{Pattern: journal.ID(id), Delta: 3, Why: flybox.WhyTied},
		}
	}
	var bodies []flybox.Body
	bodies = append(bodies, fly("first", length, flybox.ShortWingStone)...)
	bodies = append(bodies, fly("second", length*1.05, flybox.ShortWingStone)...)
	bodies = append(bodies, fly("midge", 4, flybox.MidgeAdult)...)
	if _, err := b.ledger.Record(context.Background(), bodies...); err != nil {
		t.Fatal(err)
	}
	order := func() string {
		var names []string
		d := b.get("/hatch/claassenia?form=adult-male", http.StatusOK)
		for _, href := range hrefs(d, "/box/fly/") {
			if name := strings.TrimPrefix(href, "/box/fly/"); name != "new" && !strings.Contains(name, "#") {
				names = append(names, name)
			}
		}
		return strings.Join(names, " ")
	}
	if got := order(); got != "first second" {
		t.Fatalf("without results: %q", got)
	}
	note := func(fly string, r flybox.Result, n int) {
		t.Helper()
		var list []flybox.Body
		for i := range n {
			list = append(list, flybox.Outcome{ID: journal.ID(fmt.Sprint(fly, r, i)), When: now.Add(time.Duration(i) * time.Minute).Format(time.RFC3339), Result: r, Pattern: journal.ID(fly), Hatch: "claassenia", Form: "adult-male"})
		}
		if _, err := b.ledger.Record(context.Background(), list...); err != nil {
			t.Fatal(err)
		}
	}
	place := func() int { // among the hatches that the first one suits
		list := hrefs(b.get("/box/fly/first", http.StatusOK), "/hatch/")
		if i := slices.IndexFunc(list, func(s string) bool { return strings.HasPrefix(s, "/hatch/claassenia?") }); i >= 0 {
			return i
		}
		return len(list) // not among the first ones
	}
	before := place()
	note("second", flybox.Take, 8)
	note("first", flybox.Refusal, 8)
	note("midge", flybox.Take, 40)
	if got := order(); !strings.HasPrefix(got, "second first") {
		t.Errorf("with results: %q", got)
	}
	b.get("/hatch/claassenia?form=adult-male", http.StatusOK).wants("Own fish: 8 takes", "Own fish: 8 refusals")
	// On the page of a fly the hatch on which it was refused stands lower.
	if after := place(); before != 0 || after <= before {
		t.Errorf("the hatch on which the fly was refused stands %d, then %d", before, after)
	}
	// On another form they say nothing.
	d := b.get("/hatch/claassenia?form=egg-layer-female", http.StatusOK)
	if strings.Contains(d.text(), "Own fish") {
		t.Error("results before males count for egg-layers")
	}
}

// Many fish are drawn by day, on a line from the first day to the last.
func TestManyFishAreDrawnByDay(t *testing.T) {
	b := newFixture(t, true)
	b.manyOutcomes(20)
	d := b.get("/day/results", http.StatusOK)
	strips := d.all(func(n *html.Node) bool { return n.Data == "figure" && attr(n, "class") == "seasonstrip" })
	if len(strips) != 3 {
		t.Fatalf("%d strips for three flies with many fish", len(strips))
	}
	took, off := 0, 0
	for n := range strips[0].Descendants() {
		x, y, height := 0.0, 0.0, 0.0
		for name, v := range map[string]*float64{"x": &x, "y": &y, "height": &height} {
			*v, _ = strconv.ParseFloat(attr(n, name), 64)
		}
		switch attr(n, "class") {
		case "took":
			took++
			if y+height > 20.1 || y < 0 {
				t.Errorf("a take from %v to %v is not above the line", y, y+height)
			}
		case "off":
			off++
			if y < 20 || y+height > 40 {
				t.Errorf("a refusal from %v to %v is not below the line", y, y+height)
			}
		default:
			continue
		}
		if x < 0 || x > 197 {
			t.Errorf("a day at %v", x)
		}
	}
	// Every day of the twenty has takes and refusals of each fly; the demo has a
	// day of its own.
	if took < 20 || took > 21 || off < 20 || off > 21 {
		t.Errorf("%d days with takes, %d with refusals", took, off)
	}
	if !strings.Contains(textOf(strips[0]), "14 August 2026") || !strings.Contains(textOf(strips[0]), "11 September 2026") {
		t.Errorf("the strip goes from and to %q", textOf(strips[0]))
	}
}
