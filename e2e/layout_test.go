package e2e

import (
	_ "embed"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/proto"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/views/catalog"
)

//go:embed audit.js
var audit string

const (
	september  = "month=9&trend=dropping&shucks=damp-stones&length=22&unit=mm&wings=short"
	enough     = 7.0 // contrast of text: WCAG 2.2, success criterion 1.4.6
	bankErrors = "/?length=a+hand&unit=mm&month=13&hour=25:99&water_c=warm&wings=feathered&colour=blue"
)

// screen is one screen in one state.
type screen struct {
	name string
	path string
	has  string        // a selector that must be there, so that the state is the one meant
	then func(p *page) // what a person does first
}

// screens by the ledger that they need.
var screens = []struct {
	name   string
	bodies func() []flybox.Body // nil: the invented season
	list   []screen
}{
	{"empty", func() []flybox.Body { return nil }, []screen{
		{name: "day-empty", path: "/day", has: "#start"},
		{name: "day-results-empty", path: "/day/results", has: "#main .card"},
		{name: "day-fly-empty", path: "/day/fly", has: ".find"},
		{name: "box-list-empty", path: "/box", has: "#main .card"},
		{name: "bench-empty", path: "/bench", has: "#main .card"},
		{name: "orders-empty", path: "/bench/orders", has: "#main .card"},
		{name: "order-new-empty", path: "/bench/order/new", has: "#main .card"},
		{name: "materials-empty", path: "/bench/materials", has: "#main .card"},
		{name: "shopping-empty", path: "/bench/shopping", has: "#main h1"},
		{name: "bank-empty-box", path: "/?" + september, has: "#flies-title"},
	}},
	{"demo", nil, []screen{
		{name: "bank-idle", path: "/"},
		{name: "bank-september", path: "/?" + september, has: "#lead .chance"},
		{name: "bank-unknown", path: "/?month=1&length=58&unit=mm&wings=clear-pair&tails=3&colour=" + "%23df7f2f", has: "#lead:not(:has(.chance))"},
		{name: "bank-errors", path: bankErrors, has: "#main .summary"},
		{name: "bank-notices", path: "/?" + september, then: func(p *page) {
			lang := p.eval(`() => document.documentElement.lang`).Value.Str()
			p.eval(`offline => {
				document.getElementById("update").hidden = false;
				const notice = document.getElementById("notice"), p = document.createElement("p"), again = document.createElement("button");
				p.textContent = notice.dataset.textOffline; again.textContent = notice.dataset.textAgain;
				notice.append(p, again);
				const sync = document.querySelector("#exchange");
				sync.hidden = false; sync.dataset.exchange = "offline"; sync.textContent = offline;
				sync.removeAttribute("id"); // or the engine says how it really stands
			}`, catalog.For(lang).F("sync.offline", catalog.Data{"N": 128}))
		}},
		{name: "hatch", path: "/hatch/claassenia?" + september, has: "#flies .fly"},
		{name: "box-list", path: "/box", has: ".boxes li"},
		{name: "box-find-nothing", path: "/box?q=zzz", has: ".find"},
		{name: "box-grid", path: string("/box/" + demo.ID("boat-box")), has: ".slots td"},
		{name: "box-new", path: "/box/new", has: "#f-columns"},
		{name: "box-edit", path: string("/box/" + demo.ID("boat-box") + "/edit"), has: "#f-columns"},
		{name: "fly", path: string("/box/fly/" + demo.ID("golden-short")), has: ".placeline"},
		{name: "fly-saved", path: string("/box/fly/" + demo.ID("golden-short") + "?did=taken"), has: ".flash"},
		{name: "fly-edit", path: string("/box/fly/" + demo.ID("golden-short") + "/edit"), has: "#f-name"},
		{name: "fly-new-errors", path: string("/box/fly/new?box=" + demo.ID("boat-box")), has: "#f-name", then: func(p *page) {
			for _, field := range []string{"length_mm", "row", "slot", "count", "want"} {
				p.set("#f-"+field, "many")
			}
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "setup", path: "/setup", has: "#sync"},
		{name: "setup-quarantine", path: "/setup/quarantine", has: "#main .raw", then: func(p *page) {
			p.putRecord(string(`{"id":"too-many","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"stock","body":{"pattern":"` + demo.ID("golden-short") + `","delta":5000,"why":"lost"}}`))
			p.putRecord(`{"id":"from-later","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"moon-phase","body":{}}`)
			p.do(p.Reload())
			p.untilThere("#main .raw")
			p.untilSettled()
			p.eval(`() => { document.querySelector("#main details").open = true; }`)
		}},
		{name: "setup-with-quarantine", path: "/setup", has: "#sync a[href='/setup/quarantine']"},
		{name: "size", path: "/setup/size", has: ".bankcard"},
		{name: "compare-two", path: "/compare?h=hesperoperla&h=calineuria&month=6&wings=none", has: ".compare tbody tr"},
		{name: "compare-three", path: "/compare?h=claassenia&h=hesperoperla&h=calineuria&" + september, has: ".compare tbody tr"},
		{name: "hatches", path: "/hatches", has: "ol"},
		{name: "year", path: "/year", has: ".yearline"},
		{name: "year-found", path: "/year?q=sally", has: ".yearline"},
		{name: "year-none", path: "/year?q=zzzz", has: "form"},
		{name: "hatch-new-errors", path: "/hatches/new", has: "#f-name", then: func(p *page) {
			p.set("#f-length_from", "many")
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "day-none", path: "/day", has: "#start", then: endOuting},
		{name: "day-errors", path: "/day", has: "#start .summary", then: func(p *page) {
			p.set("#f-rods", "many")
			p.set("#f-water_c", "99")
			p.send("#start")
			p.untilThere("#main .summary")
		}},
		{name: "day-carry", path: "/day", has: "#start p b", then: func(p *page) {
			endOuting(p)
			p.goTo(p.eval(`() => location.origin`).Value.Str() + "/hatch/claassenia?" + september)
			p.untilSettled()
			p.tap(`#flies form[action="/day/fly"] button`)
			p.untilThere("#start")
		}},
		{name: "day-running", path: "/day", has: ".tapgrid", then: func(p *page) {
			startFishing(p)
			p.tap(".tap-take")
			p.untilText(".last", ":")
		}},
		{name: "day-rods", path: "/day", has: ".cast li", then: func(p *page) {
			twoRods(p)
			p.tapFly("refusal", nameOf(p.t, "olive-dun"))
			p.untilThere(".says")
		}},
		{name: "day-which", path: "/day", has: ".which", then: func(p *page) {
			twoRods(p)
			p.tap(".tap-take")
			p.untilThere(".which")
		}},
		{name: "day-fish", path: "/day", has: "#f-fish_mm", then: func(p *page) {
			startFishing(p)
			p.tap(".tap-take")
			p.untilThere(".says a")
			p.tap(".says a")
			p.untilThere("#f-fish_mm")
		}},
		{name: "river", path: "/river", has: ".station"},
		{name: "river-errors", path: "/river", has: "#main .summary", then: func(p *page) {
			p.eval(`() => { document.querySelector("#new-station").open = true; }`)
			p.send(`form[action="/river"]`)
			p.untilThere("#main .summary")
		}},
		{name: "river-station", path: string("/river/" + demo.ID("staff")), has: "#trends", then: func(p *page) {
			for i := range 6 {
				p.set("#f-level_m", fmt.Sprintf("0.%d", 70+3*i))
				p.send(".reads")
				p.untilThere("#main .flash")
			}
		}},
		{name: "day-fly", path: "/day/fly", has: "#fits .rigs li"},
		{name: "day-fly-nothing", path: "/day/fly?q=zzz", has: ".find"},
		{name: "day-on", path: "/day/on", has: ".rigs li"},
		{name: "day-outing", path: string("/day/" + demo.ID("outing")), has: ".timeline li"},
		{name: "day-edit", path: string("/day/" + demo.ID("outing") + "/edit"), has: "#f-start_clock"},
		{name: "day-edit-errors", path: string("/day/" + demo.ID("outing") + "/edit"), has: "#main .summary", then: func(p *page) {
			p.set("#f-start_clock", "soon")
			p.set("#f-rods", "many")
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "day-results", path: "/day/results", has: ".rates li"},
		{name: "day-results-pairs", path: "/day/results", has: ".hinted", then: func(p *page) {
			p.eval(`() => document.querySelector(".result h3").scrollIntoView()`)
		}},
		{name: "day-results-how", path: "/day/results", has: "#how", then: func(p *page) {
			p.eval(`() => { document.querySelector("#how").open = true; document.querySelector("#how").scrollIntoView(); }`)
		}},
		{name: "fly-edit-filled", path: string("/box/fly/" + demo.ID("golden-foam") + "/edit?length_mm=20&why=length.long"), has: "form.long .card"},
		{name: "bench", path: "/bench", has: "#queue .job"},
		{name: "foam", path: string("/bench/foam?fly=" + demo.ID("golden-short")), has: ".cutsheet"},
		{name: "foam-folded", path: "/bench/foam?length=40&width=9&head=6&taper=50&thick=3&layers=3&fold=yes&segments=7&legs=3&step=0.8&hook=4&shank=1.1&wire=heavy", has: ".cutsheet"},
		{name: "foam-errors", path: "/bench/foam?length=a+hand&width=99&head=0&taper=110&thick=&layers=9&segments=40&legs=7&step=x", has: "#main .summary"},
		{name: "trip-list", path: "/trip", has: "#main h1"},
		{name: "trip", path: string("/trip/" + demo.ID("trip")), has: "#main .card"},
		{name: "trip-past", path: string("/trip/" + demo.ID("trip")), has: "#main .card"},
		{name: "trip-edit", path: string("/trip/" + demo.ID("trip") + "/edit"), has: "#f-rods"},
		{name: "trip-pack", path: string("/trip/" + demo.ID("trip") + "/pack"), has: "#main h1"},
		{name: "trip-back", path: string("/trip/" + demo.ID("trip") + "/back"), has: "#main h1"},
		{name: "trip-card", path: string("/trip/" + demo.ID("trip") + "/card"), has: "#main h1"},
		{name: "trip-new-errors", path: "/trip/new", has: "#f-rods", then: func(p *page) {
			p.set("#f-rods", "many")
			p.set("#f-hours", "99")
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "not-found", path: "/nothing/here", has: "#main [role=alert]"},
	}},
	{"tying", tyingBodies, []screen{
		{name: "bench-tied", path: "/bench", has: "#queue .job", then: func(p *page) {
			p.tap("form.tieform button")
			p.untilThere("#last")
		}},
		{name: "bench-errors", path: "/bench", has: "#queue .job", then: func(p *page) {
			p.set("form.tieform input[inputmode=numeric]", "a few")
			p.send("form.tieform")
			p.untilThere("#main .summary")
		}},
		{name: "orders", path: "/bench/orders", has: ".boxes li"},
		{name: "order", path: "/bench/order/lodge", has: "#hand"},
		{name: "order-edit", path: "/bench/order/lodge/edit", has: "#f-for"},
		{name: "order-new-errors", path: "/bench/order/new", has: "#f-for", then: func(p *page) {
			p.set("#f-count", "a few")
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "fly-recipe", path: "/box/fly/hopper", has: "#recipe ol", then: func(p *page) {
			p.eval(`() => document.querySelector("#recipe").scrollIntoView()`)
		}},
		{name: "recipe", path: "/bench/recipe/hopper", has: "#f-steps"},
		{name: "recipe-new", path: "/bench/recipe/stub", has: "#copy"},
		{name: "recipe-errors", path: "/bench/recipe/stub", has: "#f-steps", then: func(p *page) {
			p.set("#f-amount0", "a few")
			p.set("#f-name1", "")
			p.set("#f-amount1", "2")
			p.send("form.long")
			p.untilThere("#main .summary")
		}},
		{name: "materials", path: "/bench/materials", has: "#materials li"},
		{name: "material", path: "/bench/material/foam", has: "#count"},
		{name: "material-new", path: "/bench/material/new", has: "#f-amount"},
		{name: "shopping", path: "/bench/shopping", has: "#shopping"},
	}},
	{"many", manyFlies, []screen{
		{name: "bench-600", path: "/bench", has: "#main h1"},
		{name: "box-list-600", path: "/box", has: ".flies .fly:nth-child(60)"},
		{name: "box-grid-20x20", path: "/box/big", has: ".slots tr:nth-child(20) td:nth-of-type(20)"},
		{name: "fly-long-name", path: "/box/fly/fly-2", has: ".left"},
		{name: "bank-many-flies", path: "/?" + september, has: "#lead"},
	}},
}

// variants are the ways in which each screen is looked at.
type variant struct {
	width, height int
	scheme        string
	text          int // per cent
}

func (v variant) String() string {
	return fmt.Sprintf("%dx%d-%s-%d", v.width, v.height, v.scheme, v.text)
}

func variants() []variant {
	var out []variant
	for _, size := range [][2]int{{390, 844}, {320, 568}} {
		for _, scheme := range []string{"light", "dark"} {
			for _, text := range []int{100, 200} {
				out = append(out, variant{size[0], size[1], scheme, text})
			}
		}
	}
	return out
}

// TestLayout looks over every screen on a phone, in every language, by day and
// at dusk, also on a small phone with text twice as large.
func TestLayout(t *testing.T) {
	for _, group := range screens {
		t.Run(group.name, func(t *testing.T) {
			p, s := phoneWith(t, group.bodies)
			for _, lang := range []string{"en", "es"} {
				p.setLanguage(s, lang)
				for _, sc := range group.list {
					p.sub(t, sc.name+"/"+lang, func(t *testing.T) {
						p.size(390, 844)
						p.open(s, sc.path)
						if sc.then != nil {
							sc.then(p)
						}
						if sc.has != "" {
							p.untilThere(sc.has)
						}
						lookOver(t, p, sc.name, lang)
					})
				}
			}
		})
	}
	t.Run("without the engine", func(t *testing.T) {
		s := serveDemo(t)
		for _, lang := range []string{"en", "es"} {
			p := newPage(t, freshContext(t))
			p.noScript()
			p.setLanguage(s, lang)
			for name, path := range map[string]string{"skeleton": "/shell/blank/" + lang, "bank-shell": "/shell/bank/" + lang + "-mm", "bank-plain": "/?" + september} {
				p.sub(t, name+"/"+lang, func(t *testing.T) {
					p.goTo(s.url + path)
					lookOver(t, p, name, lang)
				})
			}
		}
	})
}

// phoneWith is a phone that holds these bodies, or the invented season.
func phoneWith(t *testing.T, bodies func() []flybox.Body) (*page, *server) {
	t.Helper()
	var folder string
	n := 0
	if bodies == nil {
		f, entries := demoFolder(t)
		folder, n = f, len(entries)
	} else {
		list := bodies()
		folder, n = seededFolder(t, list...), len(list)
	}
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, n)
	return p, s
}

func (p *page) setLanguage(s *server, lang string) {
	p.t.Helper()
	p.do(p.SetCookies([]*proto.NetworkCookieParam{{Name: "prefs", Value: "lang=" + lang, URL: s.url, Expires: 4e9}}))
	p.goTo(s.url + "/") // the page passes it on to the worker
	p.until("the page is loaded", `() => document.readyState === "complete"`)
}

// finding is what the audit has found, with the variants where.
type finding struct{ Kind, Where, How string }

// lookOver looks at a screen in all variants.
func lookOver(t *testing.T, p *page, name, lang string) {
	t.Helper()
	type where struct {
		finding
		variants []string
	}
	var all []*where
	note := func(f finding, v string) {
		for _, w := range all {
			if w.Kind == f.Kind && w.Where == f.Where {
				w.variants = append(w.variants, v)
				return
			}
		}
		all = append(all, &where{f, []string{v}})
	}
	inline := map[string]bool{}
	for _, v := range variants() {
		p.appear(v)
		keepShot(t, p, name, lang, v)
		var result struct {
			Found   []finding
			Colours []textColour
			Inline  []string
			Lang    string
		}
		res, err := p.Timeout(patience).Evaluate(rod.Eval(audit, v.width).ByPromise())
		if err != nil {
			t.Fatalf("%s: %v", v, err)
		}
		if err := res.Value.Unmarshal(&result); err != nil {
			t.Fatal(err)
		}
		if result.Lang != lang {
			t.Errorf("the language is said to be %q, want %q", result.Lang, lang)
		}
		for _, f := range result.Found {
			note(f, v.String())
		}
		for _, c := range result.Colours {
			ratio, err := c.contrast()
			if err != nil {
				t.Error(err)
			} else if ratio < enough {
				note(finding{"too little contrast", c.Where, fmt.Sprintf("%.2f, %s on %s", ratio, c.Colour, c.Layers)}, v.String())
			}
		}
		for _, link := range result.Inline {
			inline[link] = true
		}
	}
	for _, f := range unnamed(t, p) {
		note(f, "all")
	}
	for _, w := range all {
		t.Errorf("%s: %s (%s) in %s", w.Kind, w.Where, w.How, strings.Join(w.variants, " "))
	}
	for link := range inline {
		t.Logf("a link inside a sentence, exempt from size (WCAG 2.2, success criterion 2.5.5): %s", link)
	}
	p.appear(variant{390, 844, "light", 100})
}

// appear sets how the screen is looked at.
func (p *page) appear(v variant) {
	p.t.Helper()
	p.do((proto.EmulationSetEmulatedMedia{Features: []*proto.EmulationMediaFeature{
		{Name: "prefers-color-scheme", Value: v.scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}}).Call(p))
	// As a person sets it for the whole browser: 16 px is what all start with.
	p.do((proto.PageSetFontSizes{FontSizes: &proto.PageFontSizes{Standard: ptr(16 * v.text / 100), Fixed: ptr(13 * v.text / 100)}}).Call(p))
	p.size(v.width, v.height)
	p.until("the screen has its size, colours and text", `(w, scheme, em) => document.documentElement.clientWidth === w &&
		matchMedia("(prefers-color-scheme: " + scheme + ") and (width: " + w / em + "em)").matches`, v.width, v.scheme, 16*v.text/100)
}

func ptr(n int) *int { return &n }

// textColour is the colour of a text and what lies under it, from the top.
type textColour struct {
	Where, Colour string
	Opacity       float64
	Layers        []string
}

func (c textColour) contrast() (float64, error) {
	ground := rgba{1, 1, 1, 1} // what a browser shows where nothing is painted
	for _, text := range slices.Backward(c.Layers) {
		layer, err := parseColour(text)
		if err != nil {
			return 0, err
		}
		ground = layer.over(ground)
	}
	colour, err := parseColour(c.Colour)
	if err != nil {
		return 0, err
	}
	colour.a *= c.Opacity
	return contrast(colour.over(ground), ground), nil
}

// unnamed finds what a screen reader has no word for, by the browser's own
// reckoning of names.
func unnamed(t *testing.T, p *page) []finding {
	t.Helper()
	tree, err := proto.AccessibilityGetFullAXTree{}.Call(p)
	if err != nil {
		t.Fatal(err)
	}
	need := map[string]bool{
		"button": true, "checkbox": true, "radio": true, "textbox": true, "searchbox": true, "combobox": true, "slider": true,
		"spinbutton": true, "link": true, "ColorWell": true, "DisclosureTriangle": true, "image": true, "region": true, "navigation": true, "listbox": true,
	}
	var out []finding
	controls := 0
	for _, n := range tree.Nodes {
		if n.Ignored || n.Role == nil || !need[n.Role.Value.Str()] {
			continue
		}
		controls++
		if n.Name == nil || strings.TrimSpace(n.Name.Value.Str()) == "" {
			out = append(out, finding{"no name for a screen reader", n.Role.Value.Str(), fmt.Sprint(n.BackendDOMNodeID)})
		}
	}
	if controls == 0 {
		t.Error("the accessibility tree has no controls at all")
	}
	return out
}

// keepShot writes a picture of the screen, if pictures are wanted.
func keepShot(t *testing.T, p *page, name, lang string, v variant) {
	t.Helper()
	if *shots == "" {
		return
	}
	if err := os.MkdirAll(*shots, 0o755); err != nil {
		t.Fatal(err)
	}
	png, err := p.Screenshot(false, &proto.PageCaptureScreenshot{Format: proto.PageCaptureScreenshotFormatPng})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*shots, fmt.Sprintf("%s-%s-%s.png", name, lang, v)), png, 0o644); err != nil {
		t.Fatal(err)
	}
}
