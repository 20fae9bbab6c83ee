package app

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/server/app/screen"
	"dampstone/views/catalog"
)

const june = "month=6&wings=none&shucks=dry-rocks"

// rows are the rows of the n-th comparison table: label, then each cell.
func (d *doc) rows(n int) (rows [][]string) {
	tables := d.all(func(n *html.Node) bool { return n.Data == "table" })
	if n >= len(tables) {
		return nil
	}
	for tr := range tables[n].Descendants() {
		if tr.Data != "tr" || tr.Parent.Data != "tbody" {
			continue
		}
		var row []string
		for c := range tr.ChildNodes() {
			if c.Type == html.ElementNode {
				row = append(row, textOf(c))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func rowOf(rows [][]string, label string) []string {
	i := slices.IndexFunc(rows, func(r []string) bool { return strings.HasPrefix(r[0], label) })
	if i < 0 {
		return nil
	}
	return rows[i]
}

func TestGillTuftsPartTheGoldenStoneflies(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/compare?h=calineuria&h=hesperoperla&"+june, http.StatusOK)
	apart, alike := d.rows(0), d.rows(1)
	if row := rowOf(apart, "Tufts of gills"); row == nil || !strings.Contains(row[0], "≠ differs") || row[1] != "1 Yes" || row[2] != "2 No" {
		t.Errorf("gills: %q", row)
	}
	if row := rowOf(alike, "Tails"); row == nil || row[1] != "1 Two" || row[2] != "2 Two" || strings.Contains(row[0], "differs") {
		t.Errorf("tails: %q", row)
	}
	if rowOf(apart, "Tails") != nil {
		t.Error("tails are said to differ")
	}
	d.wants("Hesperoperla pacifica", "Calineuria californica", "To turn it to California golden stonefly", "No speaks a little for it +4", "Much the same in all")
}

func TestThreeSideBySide(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=es"
	d := b.get("/compare?h=claassenia&h=calineuria&h=hesperoperla&month=7&wings=flat", http.StatusOK)
	for _, row := range append(d.rows(0), d.rows(1)...) {
		if len(row) != 4 {
			t.Errorf("row of %d cells: %q", len(row), row)
		}
		for i, cell := range row[1:] {
			if !strings.HasPrefix(cell, string(rune('1'+i))) || len(cell) < 3 {
				t.Errorf("%s, cell %d: %q", row[0], i+1, cell)
			}
		}
	}
	// August and September part it from the two of June (dates of the pack).
	if row := rowOf(d.rows(0), "Meses"); row == nil || !strings.Contains(row[3], "septiembre") || !strings.Contains(row[0], "≠ difiere") {
		t.Errorf("months: %q", row)
	}
	if n := strings.Count(d.text(), "Para que gane"); n != 2 {
		t.Errorf("%d pairs from the leader, want 2", n)
	}
}

func TestComparingWhatCannotBeCompared(t *testing.T) {
	b := newFixture(t, true)
	rows := []struct {
		name, query string
		status      int
	}{
		{"nothing", "", 404},
		{"one", "h=claassenia", 404},
		{"the same twice", "h=claassenia&h=claassenia", 404},
		{"one that is not here", "h=claassenia&h=kraken", 404},
		{"two, and one that is not here", "h=claassenia&h=kraken&h=baetis", 200},
		{"markup for a name", "h=claassenia&h=%3Cscript%3Ex%3C/script%3E&h=baetis", 200},
		{"bad answers do not count", "h=claassenia&h=baetis&wings=purple&length=big&month=99&hour=x", 200},
		{"all but ruled out", "h=tricorythodes&h=salmonfly&month=1&length=60&unit=mm&wings=upright&tails=3", 200},
		{"more than fit", "h=claassenia&h=baetis&h=salmonfly&h=skwala&h=hesperoperla", 200},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			d := b.get("/compare?"+row.query, row.status)
			if strings.Contains(d.raw, "<script>x") || strings.Contains(d.text(), "NaN") || strings.Contains(d.text(), "Inf") {
				t.Error("markup or no number on the page")
			}
			if n := len(d.all(func(n *html.Node) bool { return attr(n, "class") == "card" && n.Data == "li" })); row.status == 200 && (n < 2 || n > 3) {
				t.Errorf("%d cards", n)
			}
		})
	}
	if w := b.send("/compare"); w.Code != http.StatusMethodNotAllowed {
		t.Errorf("POST: %d", w.Code)
	}
}

// compareLink is where the page leads for a comparison.
func (d *doc) compareLink() string {
	for _, n := range d.all(func(n *html.Node) bool { return n.Data == "a" && strings.HasPrefix(attr(n, "href"), "/compare?") }) {
		return attr(n, "href")
	}
	return ""
}

func TestTheKeyAndAHatchLeadToAComparison(t *testing.T) {
	b := newFixture(t, true)
	d := b.get(september, http.StatusOK)
	link := d.compareLink()
	if strings.Count("&"+link[len("/compare?"):], "&h=") != 3 || !strings.Contains(link, "wings=short") || !strings.Contains(link, "h=claassenia") {
		t.Fatalf("from the key: %s", link)
	}
	b.get(link, http.StatusOK).wants("Short-winged golden stonefly", "A sudden drop can be followed by a sudden rise")
	if link := b.get("/", http.StatusOK).compareLink(); link != "" {
		t.Errorf("before anything was answered: %s", link)
	}
	d = b.get("/hatch/hesperoperla?length=26&unit=mm&tails=2&"+june, http.StatusOK)
	link = d.compareLink()
	if strings.Count("&"+link[len("/compare?"):], "&h=") != 3 || !strings.Contains(link, "h=hesperoperla") || !strings.Contains(link, "h=calineuria") {
		t.Fatalf("from a hatch: %s", link)
	}
	d.wants("Compare with California golden stonefly")
	b.get(link, http.StatusOK)
	// Where something unknown leads, what comes next can still be compared.
	if link := b.get("/?month=1&length=60&unit=mm&wings=upright", http.StatusOK).compareLink(); link != "" {
		b.get(link, http.StatusOK)
	}
	r := httptest.NewRequest("GET", september, nil)
	r.Header.Set(screen.PartHeader, "reading")
	if s := b.do(r).Body.String(); !strings.Contains(s, `href="/compare?`) {
		t.Error("the part that changes with every answer has no link")
	}
}

// Every pair of the likeliest hatches of every month can be compared, and all
// of it is in words.
func TestEveryComparisonIsInWords(t *testing.T) {
	bare := regexp.MustCompile(`\b(?:compare|ask|value|why|own|hatch)\.[a-z]`)
	b := newFixture(t, true)
	for _, lang := range catalog.Languages {
		for _, region := range []string{"west-na", "east-na", "europe", "south"} {
			b.prefs = "lang=" + lang + "&region=" + region
			for _, month := range []string{"1", "4", "7", "10"} {
				link := b.get("/?wings=upright&wings=flat&month="+month, http.StatusOK).compareLink()
				if link == "" {
					t.Fatalf("%s, month %s: nothing to compare", region, month)
				}
				d := b.get(link, http.StatusOK)
				if m := bare.FindString(d.text()); m != "" {
					t.Errorf("%s in %s shows %q", link, lang, m)
				}
			}
		}
	}
}

// Where nothing was seen a hatch is compared with what it is taken for, not
// with whatever is about today.
func TestAHatchIsComparedWithItsLikes(t *testing.T) {
	b := newFixture(t, false)
	for id, want := range map[string]string{
		"claassenia": "golden stonefly", "ephemerella-excrucians": "orning dun", "melanoplus": "", "hydropsyche": "caddis",
	} {
		link := b.get("/hatch/"+id, 200).text()
		_, with, ok := strings.Cut(link, "Compare with ")
		with = with[:min(len(with), 60)]
		if want != "" && (!ok || !strings.Contains(strings.ToLower(with), want)) || strings.HasPrefix(with, "Midge") {
			t.Errorf("%s: compared with %q", id, with)
		}
	}
}
