package e2e

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/input"
	"github.com/go-rod/rod/lib/proto"
)

// page is a tab, with what went wrong in it.
type page struct {
	*rod.Page
	t testing.TB

	mu     sync.Mutex
	faults []string
}

// newPage opens an empty tab of the size of a phone. A script that fails or
// an act against the Content-Security-Policy fails the test.
func newPage(t testing.TB, b *rod.Browser) *page {
	t.Helper()
	raw, err := b.Page(proto.TargetCreateTarget{})
	if err != nil {
		t.Fatal(err)
	}
	p := &page{Page: raw, t: t}
	p.size(390, 844)
	go p.EachEvent(
		func(e *proto.RuntimeExceptionThrown) {
			d := e.ExceptionDetails
			text := d.Text
			if d.Exception != nil {
				text += " " + d.Exception.Description
			}
			p.fault("script: " + text)
		},
		func(e *proto.LogEntryAdded) {
			if e.Entry.Source == proto.LogLogEntrySourceSecurity {
				p.fault("security: " + e.Entry.Text)
			}
		},
	)()
	t.Cleanup(func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, f := range p.faults {
			t.Error(f)
		}
	})
	return p
}

// sub is a part of a test that uses the tab.
func (p *page) sub(t *testing.T, name string, do func(t *testing.T)) {
	t.Run(name, func(t *testing.T) {
		was := p.t
		p.t = t
		defer func() { p.t = was }()
		do(t)
	})
}

func (p *page) fault(text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.faults = append(p.faults, text)
}

// size sets the size of the screen in CSS px.
func (p *page) size(width, height int) {
	p.t.Helper()
	p.do((proto.EmulationSetDeviceMetricsOverride{Width: width, Height: height, DeviceScaleFactor: 2, Mobile: true}).Call(p))
}

func (p *page) do(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

func (p *page) goTo(url string) {
	p.t.Helper()
	p.do(p.Timeout(patience).Navigate(url)) // comes back once the new document is there
	p.until("the document is loaded", `() => document.readyState === "complete"`)
}

// try evaluates a function of JavaScript.
func (p *page) try(js string, args ...any) (result *proto.RuntimeRemoteObject, err error) {
	return p.Timeout(patience).Evaluate(rod.Eval(js, args...).ByPromise())
}

// eval is try for what must work.
func (p *page) eval(js string, args ...any) *proto.RuntimeRemoteObject {
	p.t.Helper()
	res, err := p.try(js, args...)
	if err != nil {
		p.t.Fatalf("eval %s: %v", js, err)
	}
	return res
}

func (p *page) text(selector string) string {
	p.t.Helper()
	return p.eval(`s => (document.querySelector(s)?.textContent ?? "").replace(/\s+/g, " ").trim()`, selector).Value.Str()
}

func (p *page) number(js string, args ...any) int {
	p.t.Helper()
	return p.eval(js, args...).Value.Int()
}

// until waits for a function of JavaScript to give true. A document that goes
// away meanwhile is no failure; the next one is asked.
func (p *page) until(what, js string, args ...any) {
	p.t.Helper()
	end := time.Now().Add(patience)
	var last error
	for time.Now().Before(end) {
		res, err := p.try(js, args...)
		if err == nil && res.Value.Bool() {
			return
		}
		last = err
		time.Sleep(15 * time.Millisecond) // between two looks
	}
	p.t.Fatalf("waited in vain until %s (last error: %v)\n%s", what, last, p.describe())
}

// workerState tells about the service worker and its caches.
const workerState = `async () => {
	const r = await navigator.serviceWorker?.getRegistration();
	const names = self.caches ? await caches.keys() : [];
	const sizes = await Promise.all(names.map(async (n) => n + ":" + (await (await caches.open(n)).keys()).length));
	return "worker: " + ["installing", "waiting", "active"].map((s) => s + " " + (r?.[s]?.state ?? "none")).join(", ") + (navigator.serviceWorker?.controller ? ", in charge" : "") + " caches: " + sizes.join(" ");
}`

// describe says what stands on the screen, for a failure.
func (p *page) describe() string {
	res, err := p.Timeout(5 * time.Second).Eval(`async () => location.href + " " + await (` + workerState + `)() + " data: " + JSON.stringify({ ...document.documentElement.dataset, ...document.querySelector("#exchange")?.dataset }) +
		" notice: " + (document.getElementById("notice")?.textContent ?? "") + "\n" + (document.getElementById("main") ?? document.body).innerText.replace(/\s*\n\s*/g, " | ").slice(0, 900)`)
	if err != nil {
		return fmt.Sprint("no description: ", err)
	}
	return res.Value.Str()
}

func (p *page) untilText(selector, part string) {
	p.t.Helper()
	p.until(fmt.Sprintf("%s holds %q", selector, part), `(s, part) => (document.querySelector(s)?.textContent ?? "").replace(/\s+/g, " ").includes(part)`, selector, part)
}

func (p *page) untilThere(selector string) {
	p.t.Helper()
	p.until(selector+" is there", `s => document.querySelector(s) !== null`, selector)
}

// element waits for an element.
func (p *page) element(selector string) *rod.Element {
	p.t.Helper()
	p.untilThere(selector)
	el, err := p.Timeout(patience).Element(selector)
	if err != nil {
		p.t.Fatalf("%s: %v\n%s", selector, err, p.describe())
	}
	return el.CancelTimeout()
}

// tap brings an element to the middle of the screen and taps it there, as a
// thumb does: whatever lies over it gets the tap.
func (p *page) tap(selector string) {
	p.t.Helper()
	p.untilThere(selector)
	at := p.eval(`s => {
		const el = document.querySelector(s);
		el.scrollIntoView({ block: "center", behavior: "instant" });
		const r = el.getBoundingClientRect();
		const x = r.x + r.width / 2, y = r.y + r.height / 2;
		const top = document.elementFromPoint(x, y);
		return [x, y, Boolean(top && (el.contains(top) || top.contains(el) || el.labels && [...el.labels].some((l) => l.contains(top)))), top?.outerHTML.slice(0, 200) ?? ""];
	}`, selector).Value.Arr()
	if !at[2].Bool() {
		p.t.Fatalf("%s cannot be tapped, %s lies over it", selector, at[3].Str())
	}
	touch := []*proto.InputTouchPoint{{X: at[0].Num(), Y: at[1].Num()}}
	p.do((proto.InputDispatchMouseEvent{Type: proto.InputDispatchMouseEventTypeMousePressed, X: touch[0].X, Y: touch[0].Y, Button: proto.InputMouseButtonLeft, ClickCount: 1}).Call(p))
	p.do((proto.InputDispatchMouseEvent{Type: proto.InputDispatchMouseEventTypeMouseReleased, X: touch[0].X, Y: touch[0].Y, Button: proto.InputMouseButtonLeft, ClickCount: 1}).Call(p))
}

// chip taps the chip of a question.
func (p *page) chip(name, value string) {
	p.t.Helper()
	sel := fmt.Sprintf(`label.chip:has(input[name=%q][value=%q])`, name, value)
	p.eval(`s => { for (let d = document.querySelector(s)?.closest("details"); d; d = d.parentElement.closest("details")) d.open = true; }`, sel)
	p.tap(sel)
}

// fill replaces what stands in a field, key by key.
func (p *page) fill(selector, text string) {
	p.t.Helper()
	el := p.element(selector)
	p.do(el.SelectAllText())
	if text == "" {
		p.do(p.Keyboard.Type(input.Backspace))
		return
	}
	p.do(el.Input(text))
}

// set puts a text in a field at once, also a long one, and says so to the
// page.
func (p *page) set(selector, text string) {
	p.t.Helper()
	p.untilThere(selector)
	p.eval(`(s, text) => { const el = document.querySelector(s); el.value = text; el.dispatchEvent(new Event("input", { bubbles: true })); el.dispatchEvent(new Event("change", { bubbles: true })); }`, selector, text)
}

// choose picks an option of a select by its value.
func (p *page) choose(selector, value string) {
	p.t.Helper()
	p.set(selector, value)
	if got := p.eval(`s => document.querySelector(s).value`, selector).Value.Str(); got != value {
		p.t.Fatalf("%s has no option %q", selector, value)
	}
}
