package app

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/server/app/words"
)

// foamAddress is the address of measures that can be cut, with some said otherwise.
func foamAddress(otherwise ...string) string {
	fields := []string{"unit", "mm", "length", "24", "width", "6", "head", "4", "taper", "40", "thick", "2", "layers", "2", "fold", "no",
		"segments", "6", "legs", "3", "step", "0", "hook", "8", "shank", "1.21", "wire", "standard", "water", "12", "deg", "c"}
	for i := 0; i < len(otherwise); i += 2 {
		fields = with(fields, otherwise[i], otherwise[i+1])
	}
	return words.FoamPath + "?" + query(fields)
}

func svgs(d *doc, class string) []*html.Node {
	return d.all(func(n *html.Node) bool {
		return n.Data == "svg" && slices.Contains(strings.Fields(attr(n, "class")), class)
	})
}

func TestFoamBodyIsDrawnTrueToScale(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=en&px=5"
	d := b.get(foamAddress(), http.StatusOK)
	d.wants("Foam body", "Layer 1, next to the hook: 24 mm by 6 mm", "Layer 2", "Measure this before you cut", "How it floats", "of the foam", "maker’s label", "At true size on this screen")
	paper, screen := svgs(d, "onpaper"), svgs(d, "onscreen")
	if len(paper) != 3 || len(screen) != 3 {
		t.Fatalf("%d drawings on paper, %d on the screen; want two layers and the square", len(paper), len(screen))
	}
	// By hand: an axis with 3 + 3 mm on either side; 24 mm with 3 + 3.
	if w, h := attr(paper[0], "width"), attr(paper[0], "height"); w != "12mm" || h != "30mm" {
		t.Errorf("on paper %s by %s", w, h)
	}
	if w, cm := attr(screen[0], "width"), attr(screen[0], "font-size"); w != "1.2em" || cm != "50" { // 12 mm at 5 px
		t.Errorf("on the screen %s px", w)
	}
	if got := d.value("length"); got != "24" {
		t.Errorf("the form says %q", got)
	}
	d = b.get(foamAddress("fold", "yes"), http.StatusOK)
	d.wants("in one piece, folded at the front", "3.1 mm of foam") // half a circle through the middle of 2 mm
	if n := len(svgs(d, "onpaper")); n != 2 {
		t.Errorf("%d drawings, want one piece and the square", n)
	}
}

func TestFoamBodyOfAFly(t *testing.T) {
	b := newFixture(t, true)
	fly := "/box/fly/" + demo.ID("golden-short")
	b.get(string(fly), http.StatusOK).wants("Foam body to cut")
	d := b.get(string(words.FoamPath+"?fly="+demo.ID("golden-short")), http.StatusOK)
	d.wants("Golden foam, short wing: 22 mm by 5.5 mm")
	// A fly of dubbing has none.
	if strings.Contains(b.get(string("/box/fly/"+demo.ID("orange-hair")), http.StatusOK).text(), "Foam body") {
		t.Error("a fly without foam has a foam body")
	}
	b.get(words.FoamPath+"?fly=nothing", http.StatusOK)
}

func TestFoamBodyWithWrongMeasures(t *testing.T) {
	b := newFixture(t, true)
	for _, c := range []struct{ field, typed, says string }{
		{"length", "a hand", "“a hand” is not a number"},
		{"length", "", "This is needed"},
		{"length", "200", "Must be from 6 mm to 80 mm"},
		{"width", "30", "Must be from 2 mm to 24 mm"},
		{"taper", "95", "Must be from 0 to 90"},
		{"segments", "2.5", "is not a number"},
		{"legs", "4", "Must be from 0 to 3"},
		{"layers", "9", "Must be from 1 to 4"},
		{"head", "13", "Must be from 1 mm to 12 mm"},
		{"step", "2.7", "less than 1 mm of the top piece"},
		{"hook", "99", "Must be from 2 to 28"},
		{"wire", "barbed", "not known"},
		{"density", "7", "Must be from 0.02 to 0.6"},
		{"water", "99", "Must be from 0 °C to 35 °C"},
	} {
		d := b.get(foamAddress(c.field, c.typed), http.StatusUnprocessableEntity)
		if text := strings.ReplaceAll(d.text(), "\u00a0", " "); !strings.Contains(text, c.says) {
			t.Errorf("%s %q: page lacks %q", c.field, c.typed, c.says)
		}
		if got := d.value(c.field); c.field != "hook" && c.field != "wire" && got != c.typed {
			t.Errorf("%s %q: the field holds %q", c.field, c.typed, got)
		}
		if len(svgs(d, "onpaper")) != 0 {
			t.Errorf("%s %q: something is drawn", c.field, c.typed)
		}
	}
	b.get(foamAddress("layers", "1", "fold", "yes"), http.StatusUnprocessableEntity).wants("One layer cannot be folded")
	b.get(foamAddress("segments", "2"), http.StatusUnprocessableEntity).wants("at most 2 pairs here")
}

// A bookmark holds its unit: read on a phone set to inches it is the same
// body, and a change there stays true.
func TestFoamBodyInOtherUnits(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=es&len=in&temp=f"
	d := b.get(foamAddress(), http.StatusOK)
	for name, want := range map[string]string{"length": "0,945", "thick": "0,079", "water": "54"} { // 24 / 25.4, 2 / 25.4, 12 x 1.8 + 32
		if got := d.value(name); got != want {
			t.Errorf("%s %q, want %q", name, got, want)
		}
	}
	d = b.get(foamAddress("unit", "in", "length", "1", "width", "0,25", "head", "0.2", "thick", "0.08", "deg", "f", "water", "50"), http.StatusOK)
	if w := attr(svgs(d, "onpaper")[0], "height"); w != "32mm" { // 25.4 mm, rounded up, and 6
		t.Errorf("height %s", w)
	}
	if got := d.value("width"); got != "0,25" {
		t.Errorf("width %q", got)
	}
	d = b.get(foamAddress("unit", "in", "length", "9"), http.StatusUnprocessableEntity)
	if text := strings.ReplaceAll(d.text(), "\u00a0", " "); !strings.Contains(text, "De 0,236 in a 3,15 in") && !strings.Contains(text, "0,236 in") {
		t.Errorf("bounds in inches are missing: %s", text)
	}
}

// What would help is a link to the body with the change made.
func TestFoamHelpCanBeFollowed(t *testing.T) {
	b := newFixture(t, true)
	d := b.get(foamAddress("layers", "1", "hook", "6", "wire", "heavy"), http.StatusOK)
	links := d.all(func(n *html.Node) bool {
		return n.Data == "a" && strings.HasPrefix(attr(n, "href"), words.FoamPath+"?")
	})
	if len(links) == 0 {
		t.Fatalf("no help: %s", d.byID("float"))
	}
	for _, l := range links {
		w := b.do(httptest.NewRequest("GET", attr(l, "href"), nil))
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", attr(l, "href"), w.Code)
		}
	}
}
