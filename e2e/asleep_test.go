package e2e

import (
	"testing"
	"time"

	"github.com/go-rod/rod/lib/proto"
)

// holdEngine keeps the next worker of the tab from starting, as on a phone so
// slow that a person is quicker, until wake is called.
func (p *page) holdEngine() (wake func()) {
	p.t.Helper()
	held := make(chan proto.TargetSessionID, 1)
	go p.EachEvent(func(e *proto.TargetAttachedToTarget) {
		if e.TargetInfo.Type == "worker" {
			held <- e.SessionID
		} else {
			p.run(e.SessionID)
		}
	})()
	p.do((proto.TargetSetAutoAttach{AutoAttach: true, WaitForDebuggerOnStart: true, Flatten: true}).Call(p))
	return func() {
		p.t.Helper()
		select {
		case session := <-held:
			if err := p.run(session); err != nil {
				p.t.Fatal(err)
			}
		case <-time.After(patience):
			p.t.Fatal("the page starts no worker")
		}
	}
}

// run lets a held target start.
func (p *page) run(session proto.TargetSessionID) error {
	_, err := p.Browser().Call(p.GetContext(), string(session), proto.RuntimeRunIfWaitingForDebugger{}.ProtoReq(), proto.RuntimeRunIfWaitingForDebugger{})
	return err
}

// TestAnswersBeforeEngineAwake: the key can be used from the first paint.
// What is answered before the engine is awake is kept, and scored when it is.
func TestAnswersBeforeEngineAwake(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	newPage(t, b).install(s, len(entries))
	s.kill()

	p := newPage(t, b)
	wake := p.holdEngine()
	p.do(p.Timeout(patience).Navigate(s.url + "/"))
	p.until("the page listens", `() => document.documentElement.dataset.script === "on"`)
	walkKey(p)
	stands := `() => [document.querySelector("#f-month").value, document.querySelector("#f-length").value,
		...["trend=dropping", "shucks=damp-stones", "wings=short"].map((a) => document.querySelector("[name=" + a.split("=")[0] + "][value=" + a.split("=")[1] + "]").checked)].join()`
	const want = "9,22,true,true,true"
	if got := p.eval(stands).Value.Str(); got != want {
		t.Errorf("while the engine sleeps the answers stand as %q, want %q", got, want)
	}
	if got := p.eval(`() => document.documentElement.dataset.engine ?? "asleep"`).Value.Str(); got != "asleep" {
		t.Fatalf("the engine is %s although it was held", got)
	}
	wake()
	p.untilText("#lead h2", "Short-winged golden stonefly")
	checkLead(t, p)
	if got := p.eval(stands).Value.Str(); got != want {
		t.Errorf("once the engine is awake the answers stand as %q, want %q", got, want)
	}
	p.until("the address has the answers", `() => { const q = new URLSearchParams(location.search); return q.get("wings") === "short" && q.get("length") === "22"; }`)
}

// TestLinkBeforeEngineAwake: a tap on a link is not lost either.
func TestLinkBeforeEngineAwake(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	newPage(t, b).install(s, len(entries))
	s.kill()

	p := newPage(t, b)
	wake := p.holdEngine()
	p.do(p.Timeout(patience).Navigate(s.url + "/"))
	p.until("the page listens", `() => document.documentElement.dataset.script === "on"`)
	p.tap(`#nav a[href="/box"]`)
	wake()
	p.untilText("#main h1", "Fly boxes")
	p.untilText(".boxes", "Boat box")
}

// tapWhileAsked makes the tab tap a chip the moment after the page has asked
// the engine for a whole screen: as late as a tap can come on the old one.
const tapWhileAsked = `() => {
	const post = Worker.prototype.postMessage;
	Worker.prototype.postMessage = function (message, ...rest) {
		post.call(this, message, ...rest);
		if (message.kind === "ask" && message.method === "GET" && !message.headers["Dampstone-Part"] && window.tapNext) {
			window.tapNext = false;
			queueMicrotask(() => document.querySelector("[name=wings][value=short]").click());
		}
	};
	window.tapNext = true;
}`

// answeredReading is true once the reading rests on answers, and no other is on
// its way.
const answeredReading = `() => !document.querySelector("#lead h2").textContent.includes("Look, then tap") && !document.querySelector("#main[aria-busy]")`

func wantShortWings(t *testing.T, p *page) {
	t.Helper()
	p.until("the tap was made", `() => window.tapNext === false`)
	p.until("the answer is scored", answeredReading)
	wantChecked(t, p, "wings", "short")
}

// TestTapWhileWaking: the tap that comes between the engine's waking and its
// first screen counts.
func TestTapWhileWaking(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	newPage(t, b).install(s, len(entries))
	s.kill()

	p := newPage(t, b)
	remove, err := p.EvalOnNewDocument("(" + tapWhileAsked + ")()")
	p.do(err)
	defer remove()
	p.goTo(s.url + "/")
	wantShortWings(t, p)
}

// TestTapWhileEntriesArrive: entries from another device bring a fresh screen;
// the tap just before it, and the one a moment earlier that the address does
// not have yet, count.
func TestTapWhileEntriesArrive(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	p.untilSettled()
	if a := s.post("/box/fly/new", newFly("Test beetle")); a.status != 303 {
		t.Fatalf("status %d", a.status)
	}
	p.eval(tapWhileAsked)
	// The signal is back, and at the same moment a chip is tapped.
	p.eval(`() => { document.querySelector("[name=shucks][value=damp-stones]").click(); window.dispatchEvent(new Event("online")); }`)
	p.untilKept(len(entries)+1, 0)
	// Whether the screen came anew or was left alone: both taps stand.
	p.until("the reading has answers", answeredReading)
	wantChecked(t, p, "shucks", "damp-stones")
	if !p.eval(`() => window.tapNext`).Value.Bool() {
		wantChecked(t, p, "wings", "short")
	}
}

// holdScreens keeps the engine's answers to questions for whole screens until
// giveScreen lets the oldest of them through.
const holdScreens = `
	window.heldScreens = [];
	const asked = new Set(), Real = Worker;
	window.Worker = class extends Real {
		postMessage(message, ...rest) {
			if (message.kind === "ask" && !message.headers["Dampstone-Part"]) asked.add(message.n);
			super.postMessage(message, ...rest);
		}
		set onmessage(take) {
			super.onmessage = (event) => {
				if (asked.delete(event.data.n)) heldScreens.push(() => take(event));
				else take(event);
			};
		}
	};
`

// giveScreen lets one answer through, and whatever the page does with it.
const giveScreen = `() => { heldScreens.shift()(); return new Promise((resolve) => setTimeout(resolve)); }`

// TestTapBetweenTwoScreens: two fresh screens are on their way, one for the
// engine's waking and one for entries that came; the tap after the first of
// them counts.
func TestTapBetweenTwoScreens(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	b := freshContext(t)
	newPage(t, b).install(s, len(entries))
	if a := s.post("/box/fly/new", newFly("Test beetle")); a.status != 303 {
		t.Fatalf("status %d", a.status)
	}
	p := newPage(t, b)
	remove, err := p.EvalOnNewDocument(holdScreens)
	p.do(err)
	defer remove()
	p.goTo(s.url + "/")
	p.until("two screens are on their way", `() => window.heldScreens.length === 2`)
	p.eval(giveScreen)
	p.chip("wings", "short")
	p.eval(giveScreen)
	p.until("the reading has the answer", answeredReading)
	wantChecked(t, p, "wings", "short")
	p.until("the address has the answer", `() => new URLSearchParams(location.search).get("wings") === "short"`)
}
