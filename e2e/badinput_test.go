package e2e

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"github.com/go-rod/rod/lib/proto"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// hostile are texts that would run if a screen let them.
var hostile = []string{
	`<script>window.x=1</script>`,
	`"><img src=x onerror="window.x=1">`,
	`'><svg onload=window.x=1>`,
	`{{.}} ${window.x=1} </textarea></title><script>window.x=1</script>`,
	`javascript:window.x=1`,
}

// TestBadInput: what cannot be used gets a plain sentence, stays in its field
// and leaves no trace in the ledger.
func TestBadInput(t *testing.T) {
	for _, h := range hosts {
		t.Run(h.name, func(t *testing.T) {
			folder, entries := demoFolder(t)
			p, s := h.open(t, folder, len(entries))
			long := strings.Repeat("9", 9<<10)

			p.sub(t, "text as a size", func(t *testing.T) {
				p.open(s, "/?length=a+hand&unit=mm&wings=short")
				p.untilText("#q-length_mm .error", "is not a number")
				wantValue(t, p, "#f-length", "a hand")
				wantChecked(t, p, "wings", "short")
				// The other answers count.
				if got := p.text("#lead .chance"); !strings.Contains(got, "%") {
					t.Errorf("the other answers are not used: %q", p.text("#lead"))
				}
			})
			p.sub(t, "a size beyond any insect", func(t *testing.T) {
				p.open(s, "/?length=-5&unit=mm")
				p.untilText("#q-length_mm .error", "Must be from")
				wantValue(t, p, "#f-length", "-5")
			})
			p.sub(t, "answers that do not exist", func(t *testing.T) {
				p.open(s, "/?wings=feathered&month=13&colour=blue&hour=25:99&water_c=warm")
				p.untilText("#main .summary", "Some answers cannot be used.")
				if n := p.number(`() => document.querySelectorAll("#main .summary li").length`); n != 5 {
					t.Errorf("%d problems are named, want 5: %s", n, p.text("#main .summary"))
				}
			})
			p.sub(t, "9 kB in an address", func(t *testing.T) {
				p.open(s, "/?length="+long)
				p.untilText("#main [role=alert]", "That is too much at once.")
			})

			// The forms of the ledger. Each case is typed into a form that is
			// otherwise in order.
			for _, c := range []struct{ name, field, typed, says string }{
				{"text as a count", "count", "many", "is not a number"},
				{"a negative count", "count", "-3", "Must be from 0 to 999."},
				{"half a fly", "count", "1.5", "is not a number"},
				{"a count of 9 kB", "count", long, "is not a number"},
				{"a name of 9 kB", "name", strings.Repeat("n", 9<<10), "Too long: at most 120 characters."},
				{"no name", "name", "  ", "This is needed."},
				{"text as a length", "length_mm", "thumb", "is not a number"},
				{"a length of a metre", "length_mm", "1000", "Must be from 1 mm to 200 mm."},
				{"a slot that is not there", "slot", "9", "Must be from 1 to 8."},
			} {
				p.sub(t, c.name, func(t *testing.T) {
					p.open(s, string("/box/fly/new?box="+demo.ID("boat-box")+"&row=1&slot=1"))
					p.set("#f-name", "Test fly")
					p.choose("#f-hook", "8")
					p.set("#f-count", "2")
					p.set("#f-"+c.field, c.typed)
					p.send("form.long")
					p.untilText("#main .summary", "Not saved yet.")
					p.untilText("#"+c.field+"-error", c.says)
					wantValue(t, p, "#f-"+c.field, c.typed)
					if c.field != "name" {
						wantValue(t, p, "#f-name", "Test fly")
					}
					if got := p.eval(`s => document.querySelector(s).getAttribute("aria-invalid")`, "#f-"+c.field).Value.Str(); got != "true" {
						t.Errorf("the field is not marked: aria-invalid %q; %s", got, p.text("#main .summary"))
					}
				})
			}
			p.sub(t, "two fields at once", func(t *testing.T) {
				p.open(s, "/box/fly/new")
				p.set("#f-name", " ")
				p.set("#f-count", "two")
				p.send("form.long")
				// Neither a name nor a size: no hook, no length.
				for _, field := range []string{"name", "hook", "count"} {
					if got := p.eval(`s => document.querySelector(s).getAttribute("aria-invalid")`, "#f-"+field).Value.Str(); got != "true" {
						t.Errorf("%s is not marked: %s", field, p.text("#main .summary"))
					}
				}
			})
			for _, c := range []struct{ name, field, typed, says string }{
				{"a box without a name", "name", "  ", "This is needed."},
				{"a box without rows", "rows", "0", "Must be from 1 to 40."},
				{"a box of a mile", "columns", "99999", "Must be from 1 to 40."},
				{"a box of text", "columns", "six", "is not a number"},
			} {
				p.sub(t, c.name, func(t *testing.T) {
					p.open(s, "/box/new")
					p.set("#f-name", "Test box")
					p.set("#f-"+c.field, c.typed)
					p.send("form.long")
					p.untilText("#main .summary", c.says)
					wantValue(t, p, "#f-"+c.field, c.typed)
				})
			}
			p.sub(t, "text as the size of the screen", func(t *testing.T) {
				p.open(s, "/setup/size")
				p.set("#f-px", "wide")
				p.send("form.long")
				p.untilText("#main .summary", "is not a number")
				wantValue(t, p, "#f-px", "wide")
			})
			p.sub(t, "more lost than there are", func(t *testing.T) {
				p.open(s, string("/box/fly/"+demo.ID("golden-short")))
				p.tap("#count summary")
				p.chip("why", "lost")
				p.set("#f-count", "999")
				p.send("#count")
				p.untilText("#count .summary", "Must be from 0 to 3.")
				wantValue(t, p, "#f-count", "999")
			})
			p.sub(t, "texts that would run, in a form that is refused", func(t *testing.T) {
				for _, text := range hostile {
					p.open(s, "/box/fly/new")
					p.set("#f-name", text)
					p.set("#f-notes", text)
					p.set("#f-count", text)
					p.send("form.long")
					p.untilText("#main .summary", "is not a number")
					for _, field := range []string{"name", "notes", "count"} {
						wantValue(t, p, "#f-"+field, text)
					}
					wantNothingRan(t, p)
				}
			})
			p.sub(t, "texts that would run, in an address", func(t *testing.T) {
				for _, text := range hostile {
					p.open(s, "/?length="+escape(text)+"&wings="+escape(text)+"&hour="+escape(text))
					p.untilText("#main .summary", "is not a number")
					wantNothingRan(t, p)
					p.open(s, "/box?q="+escape(text))
					wantNothingRan(t, p)
					p.open(s, "/box/fly/new?name="+escape(text)+"&body="+escape(text))
					wantNothingRan(t, p)
				}
			})
			p.sub(t, "a cookie for a region that is not there", func(t *testing.T) {
				prefs := "lang=xx&len=cubits&temp=k&region=atlantis&px=-1"
				p.do(p.SetCookies([]*proto.NetworkCookieParam{{Name: "prefs", Value: prefs, URL: s.url, Expires: 4e9}}))
				p.open(s, "/?wings=short&length=22&month=9")
				p.untilText("#lead h2", "Short-winged golden stonefly")
				p.do((proto.NetworkDeleteCookies{Name: "prefs", URL: s.url}).Call(p))
			})
			if got := p.ledgerCount(s); got != strconv.Itoa(len(entries)) {
				t.Errorf("the ledger has %s entries, want %d", got, len(entries))
			}
		})
	}
}

// TestHostileNames: a name that would run as HTML is a name like another. It
// is kept letter for letter and shown on every screen where flies are.
func TestHostileNames(t *testing.T) {
	var bodies []flybox.Body
	bodies = append(bodies, flybox.Box{ID: "box", Name: hostile[1], Rows: 2, Columns: 3})
	for i, name := range hostile {
		id, place := fmt.Sprintf("fly-%d", i), flybox.Place{Box: "box", Row: 1 + i/3, Slot: 1 + i%3}
		bodies = append(bodies,
			flybox.Pattern{ID: journal.ID(id), Name: name, Style: flybox.ShortWingStone, Hook: 8, Length: 22, Body: "#a98545", Notes: name},
			flybox.Slot{Place: place, Pattern: journal.ID(id), Want: 3},
			flybox.StockMove{Pattern: journal.ID(id), Place: &place, Delta: 2, Why: flybox.WhyTied})
	}
	for _, h := range hosts {
		t.Run(h.name, func(t *testing.T) {
			folder := seededFolder(t, bodies...)
			p, s := h.open(t, folder, len(bodies))
			for _, path := range []string{"/box", "/box/box", "/box/box/edit", "/?wings=short&length=22&month=9&trend=dropping", "/hatch/claassenia?month=9", "/box/fly/new?box=box"} {
				p.open(s, path)
				wantNothingRan(t, p)
			}
			for i, name := range hostile {
				p.open(s, fmt.Sprintf("/box/fly/fly-%d", i))
				if got := p.eval(`() => document.querySelector("#main h1").textContent`).Value.Str(); got != name {
					t.Errorf("the name is shown as %q, want %q", got, name)
				}
				wantNothingRan(t, p)
				p.open(s, fmt.Sprintf("/box/fly/fly-%d/edit", i))
				wantValue(t, p, "#f-name", name)
				wantNothingRan(t, p)
			}
		})
	}
}

func escape(s string) string { return url.QueryEscape(s) }

func wantValue(t *testing.T, p *page, selector, want string) {
	t.Helper()
	if got := p.eval(`s => document.querySelector(s)?.value ?? "no such field"`, selector).Value.Str(); got != want {
		t.Errorf("%s holds %.80q (%d bytes), want %.80q (%d bytes)", selector, got, len(got), want, len(want))
	}
}

func wantChecked(t *testing.T, p *page, name, value string) {
	t.Helper()
	if !p.eval(`(n, v) => document.querySelector("input[name=" + n + "][value=" + v + "]").checked`, name, value).Value.Bool() {
		t.Errorf("%s=%s is not checked any more", name, value)
	}
}

// wantNothingRan: neither a script nor an element that a text would have made.
func wantNothingRan(t *testing.T, p *page) {
	t.Helper()
	if got := p.eval(`() => [typeof window.x, document.querySelectorAll("#main script, #main img, #main [onload], #main [onerror], #main a[href^='javascript:']").length].join()`).Value.Str(); got != "undefined,0" {
		t.Errorf("%s: a text has run or made elements: %s", p.eval(`() => location.href`).Value.Str(), got)
	}
}
