package app

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// A hatch is found by what anglers call it, in either language.
func TestTheYearFindsHatchesByAnyName(t *testing.T) {
	b := newFixture(t, true)
	all := b.get("/year", http.StatusOK)
	if n := len(all.all(func(n *html.Node) bool { return slices.Contains(strings.Fields(attr(n, "class")), "yearline") })); n < 50 {
		t.Errorf("%d hatches over the year", n)
	}
	for query, want := range map[string]string{"PMD": "/hatch/ephemerella-excrucians", "mothers day sedge": "/hatch/brachycentrus-occidentalis", "Skwala": "/hatch/skwala", "perla+salm": "/hatch/salmonfly"} {
		d := b.get("/year?q="+strings.ReplaceAll(query, " ", "+"), http.StatusOK)
		if len(d.all(func(n *html.Node) bool { return attr(n, "href") == want })) == 0 {
			t.Errorf("%q does not find %s", query, want)
		}
	}
	b.get("/year?q=zzzz", http.StatusOK).wants("No hatch here goes by that name")
	b.get("/year?q="+strings.Repeat("x", 500), http.StatusOK)
	if d := b.get("/year?q=%3Cscript%3E", http.StatusOK); strings.Contains(d.raw, "<script>") {
		t.Error("the query is not escaped")
	}
}

// The manifest, which names the app on a phone's screen, is in the reader's
// language.
func TestAScreenNamesTheManifestOfItsLanguage(t *testing.T) {
	b := newFixture(t, false)
	for _, lang := range []string{"en", "es"} {
		b.prefs = "lang=" + lang
		links := b.get("/", http.StatusOK).all(func(n *html.Node) bool { return attr(n, "rel") == "manifest" })
		if len(links) != 1 || attr(links[0], "href") != "/manifest.webmanifest?lang="+lang {
			t.Errorf("%s: %v", lang, links)
		}
	}
}
