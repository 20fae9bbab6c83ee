package app

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/app/screen"
)

// fixture is an application over a ledger in memory, with a still clock.
type fixture struct {
	*testing.T
	app    *App
	config screen.Config
	ledger *flybox.Ledger
	prefs  string
}

// now is a September morning.
var now = time.Date(2026, 9, 12, 6, 30, 0, 0, time.UTC)

func newFixture(t *testing.T, withDemo bool) *fixture {
	t.Helper()
	return newFixtureOf(t, "test", withDemo)
}

// newFixtureOf is newFixture for a device with a name, which makes ids of its
// own: UUIDs, as everywhere, the same in each run.
func newFixtureOf(t *testing.T, device string, withDemo bool) *fixture {
	t.Helper()
	n := 0
	newID := func() journal.ID {
		n++
		return journal.ID(uuid.NewSHA1(uuid.NameSpaceOID, fmt.Append(nil, device, n)).String())
	}
	clock := func() time.Time { return now }
	store := &memstore.Store{}
	if withDemo {
		entries, err := demo.Entries()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := store.Append(context.Background(), entries); err != nil {
			t.Fatal(err)
		}
	}
	l, err := flybox.Open(context.Background(), store, flybox.Options{Device: device, Now: clock, NewID: newID})
	if err != nil {
		t.Fatal(err)
	}
	b := &fixture{T: t, ledger: l, prefs: "lang=en"}
	b.config = screen.Config{Ledger: l, Now: clock, NewID: newID, Asset: func(s string) string { return "/static/" + s }, Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	b.app = New(b.config)
	return b
}

// entries is how many entries the ledger has.
func (b *fixture) entries() int {
	return b.ledger.State().Len()
}

func (b *fixture) do(r *http.Request) *httptest.ResponseRecorder {
	b.Helper()
	r.AddCookie(&http.Cookie{Name: screen.PrefsCookie, Value: b.prefs})
	w := httptest.NewRecorder()
	b.app.ServeHTTP(w, r)
	return w
}

// get wants a page with the status and returns it.
func (b *fixture) get(path string, status int) *doc {
	b.Helper()
	w := b.do(httptest.NewRequest("GET", path, nil))
	if w.Code != status {
		b.Fatalf("GET %s: status %d, want %d\n%s", path, w.Code, status, w.Body)
	}
	return parse(b.T, w.Body.String())
}

func (b *fixture) send(path string, fields ...string) *httptest.ResponseRecorder {
	b.Helper()
	f := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		f.Add(fields[i], fields[i+1])
	}
	r := httptest.NewRequest("POST", path, strings.NewReader(f.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

// saved wants a post to be saved, and follows it.
func (b *fixture) saved(path string, fields ...string) *doc {
	b.Helper()
	w := b.send(path, fields...)
	if w.Code != http.StatusSeeOther {
		b.Fatalf("POST %s %v: status %d, want 303\n%s", path, fields, w.Code, parse(b.T, w.Body.String()).text())
	}
	return b.get(w.Header().Get("Location"), http.StatusOK)
}

// doc is a page to ask questions of.
type doc struct {
	*testing.T
	raw  string
	root *html.Node
}

func parse(t *testing.T, raw string) *doc {
	t.Helper()
	n, err := html.Parse(strings.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return &doc{t, raw, n}
}

func (d *doc) all(match func(*html.Node) bool) (found []*html.Node) {
	for n := range d.root.Descendants() {
		if n.Type == html.ElementNode && match(n) {
			found = append(found, n)
		}
	}
	return found
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// byID is the text of the element with an id, "" if there is none.
func (d *doc) byID(id string) string {
	for _, n := range d.all(func(n *html.Node) bool { return attr(n, "id") == id }) {
		return textOf(n)
	}
	return ""
}

// value of the first field with a name.
func (d *doc) value(name string) string {
	found := d.all(func(n *html.Node) bool { return attr(n, "name") == name && attr(n, "type") != "hidden" })
	switch {
	case len(found) == 0:
		return ""
	case found[0].Data == "textarea":
		return textOf(found[0])
	}
	return attr(found[0], "value")
}

// hidden is the value of the hidden field of a form with an action.
func (d *doc) hidden(action, name string) string {
	for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == action }) {
		for n := range f.Descendants() {
			if attr(n, "name") == name && attr(n, "type") == "hidden" {
				return attr(n, "value")
			}
		}
	}
	return ""
}

func (d *doc) text() string { return textOf(d.root) }

func (d *doc) wants(texts ...string) {
	d.Helper()
	all := d.text()
	for _, s := range texts {
		if !strings.Contains(all, s) {
			d.Errorf("page lacks %q:\n%s", s, all)
		}
	}
}

func textOf(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode && c.Parent.Data != "script" {
			b.WriteString(c.Data)
			b.WriteString(" ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// query writes names and values as the query of an address.
func query(fields []string) string {
	q := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		q.Add(fields[i], fields[i+1])
	}
	return q.Encode()
}
