package e2e

import (
	"fmt"
	"testing"

	"github.com/go-rod/rod/lib/input"
	"github.com/go-rod/rod/lib/proto"

	"dampstone/data/demo"
)

// focused tells about the element that has the focus: what it is, and whether
// a person sees it and sees that it has it (WCAG 2.2, success criteria 2.4.7
// and 2.4.11).
const focused = `() => {
	const el = document.activeElement;
	if (!el || el === document.body) return null;
	const box = el.closest("label.chip") ?? el; // the control of a chip is its label
	const style = getComputedStyle(box);
	const r = box.getBoundingClientRect();
	const points = [0.1, 0.5, 0.9].flatMap((x) => [0.1, 0.5, 0.9].map((y) => [r.x + r.width * x, r.y + r.height * y]));
	const seen = points.some(([x, y]) => { const top = document.elementFromPoint(x, y); return top && (box === top || box.contains(top)); });
	const name = el.tagName + (el.id ? "#" + el.id : el.name ? "[" + el.name + "=" + el.value + "]" : " " + el.textContent.trim().slice(0, 30));
	return { name, seen, marked: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2, at: [Math.round(r.x), Math.round(r.y)].join() };
}`

// TestKeyboard walks through whole screens with the tab key: every stop is in
// sight, nothing lies over it, and it shows that it has the focus; the walk
// reaches every control and is caught nowhere.
func TestKeyboard(t *testing.T) {
	p, s := phoneWith(t, nil)
	p.do((proto.EmulationSetFocusEmulationEnabled{Enabled: true}).Call(p))
	for _, path := range []string{"/?" + september, string("/box/fly/new?box=" + demo.ID("boat-box")), string("/box/fly/" + demo.ID("golden-short")), string("/box/" + demo.ID("boat-box")), "/setup", string("/trip/" + demo.ID("trip")), "/day", "/day/results"} {
		for _, size := range [][2]int{{390, 844}, {320, 568}} {
			p.sub(t, fmt.Sprintf("%s at %d", path, size[0]), func(t *testing.T) {
				p.size(size[0], size[1])
				p.open(s, path)
				tabThrough(t, p)
			})
		}
	}
}

// TestKeyboardDay walks through the outing that runs, whose buttons stand over
// the foot of the screen.
func TestKeyboardDay(t *testing.T) {
	p, s := phoneWith(t, nil)
	p.do((proto.EmulationSetFocusEmulationEnabled{Enabled: true}).Call(p))
	p.open(s, "/day")
	startFishing(p)
	p.tap(".tap-follow")
	p.untilThere(".last")
	for _, size := range [][2]int{{390, 844}, {320, 568}} {
		p.sub(t, fmt.Sprint(size[0]), func(t *testing.T) {
			p.size(size[0], size[1])
			p.open(s, "/day")
			p.untilThere(".last")
			// The word about what is not backed up is a stop too, while it shows.
			p.until("all is backed up", `() => [...document.querySelectorAll("[data-exchange]")].every((el) => el.dataset.exchange === "none")`)
			tabThrough(t, p)
		})
	}
}

// tabThrough goes from stop to stop through the screen.
func tabThrough(t *testing.T, p *page) {
	t.Helper()
	p.eval(`() => { for (const d of document.querySelectorAll("#key details")) d.open = true; document.querySelector(".skip").focus(); }`) // the first stop
	// Radio buttons of one name are one stop.
	controls := p.number(`() => new Set([...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")].filter((el) => el.checkVisibility()).map((el) => el.type === "radio" ? el.form.action + el.name : el)).size`)
	stops := map[string]bool{}
	for i := range 4 * controls {
		if i > 0 {
			p.do(p.Keyboard.Type(input.Tab))
		}
		at := p.eval(focused).Value
		if at.Nil() {
			break // past the last one
		}
		key := at.Get("name").Str()
		stops[fmt.Sprint(key, p.number(`() => { const all = [...document.querySelectorAll("*")]; return all.indexOf(document.activeElement); }`))] = true
		if !at.Get("seen").Bool() {
			t.Errorf("%s has the focus but is not to be seen, at %s", key, at.Get("at").Str())
		}
		if !at.Get("marked").Bool() {
			t.Errorf("%s does not show that it has the focus", key)
		}
	}
	// The box itself scrolls, so it is a stop too; a date is several.
	if len(stops) < controls {
		t.Errorf("the tab key reaches %d controls of %d", len(stops), controls)
	}
}

// TestKeyboardAnswers answers the key without a pointer: the focus stays where
// it is while the reading changes, so that a person can go on.
func TestKeyboardAnswers(t *testing.T) {
	p, s := phoneWith(t, nil)
	p.open(s, "/?month=9")
	p.eval(`() => document.querySelector("[name=wings][value=short]").focus()`)
	p.do(p.Keyboard.Type(input.Space))
	p.until("the reading answers", answeredReading)
	wantChecked(t, p, "wings", "short")
	if got := p.eval(`() => document.activeElement.name + "=" + document.activeElement.value`).Value.Str(); got != "wings=short" {
		t.Errorf("the focus is at %q after an answer, want it where it was", got)
	}
	// A link of the reading keeps it as well, when the reading is renewed.
	p.eval(`() => document.querySelector(".strip").focus()`)
	p.eval(`() => document.querySelector("[name=shucks][value=damp-stones]").click()`)
	p.until("the reading has two answers", `() => new URLSearchParams(location.search).get("shucks") === "damp-stones" && !document.querySelector("#main[aria-busy]")`)
	if got := p.eval(`() => document.activeElement.className`).Value.Str(); got != "strip" {
		t.Errorf("the focus is at %q after the reading was renewed, want the strip", got)
	}
}
