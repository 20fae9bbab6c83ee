package e2e

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-rod/rod/lib/proto"
)

// Figures of a machine that does other things too: read medians, and ratios to
// the control of the same run.

// runs is how often each opening is measured.
const runs = 7

// BenchmarkInstall gives what a phone loads to install a release, packed with
// brotli as over TLS, without headers.
func BenchmarkInstall(b *testing.B) {
	s := serveFolder(b, emptyFolder(b))
	type file struct {
		url  string
		size int
	}
	var list []file
	total := 0
	for range b.N {
		list, total = nil, 0
		paths := []string{"/sw.js"}
		for _, f := range releaseOf(b, s.url).Files {
			paths = append(paths, f.URL)
		}
		for _, path := range paths {
			a := send(b, http.MethodGet, s.url+path, nil, "Accept-Encoding", "br, gzip")
			list = append(list, file{path, len(a.body)})
			total += len(a.body)
		}
	}
	slices.SortFunc(list, func(a, b file) int { return b.size - a.size })
	var text strings.Builder
	for _, f := range list {
		fmt.Fprintf(&text, "; %s %d", f.url, f.size)
	}
	b.Logf("install over the wire, %d B in %d files, the largest first%s", total, len(list), text.String())
	b.ReportMetric(float64(total)/1e6, "MB-wire")
	b.ReportMetric(0, "ns/op")
}

// marks notes, in ms since the navigation began, when something was painted,
// when the page's script listened and when the engine was awake.
const marks = `
	window.marks = {};
	new PerformanceObserver((list) => { for (const e of list.getEntries()) if (e.name === "first-contentful-paint") marks.paint = e.startTime; }).observe({ type: "paint", buffered: true });
	new MutationObserver(() => {
		const d = document.documentElement.dataset;
		if (d.script === "on") marks.script ??= performance.now();
		if (d.engine === "awake") marks.awake ??= performance.now();
	}).observe(document, { attributes: true, subtree: true, attributeFilter: ["data-script", "data-engine"] });
`

// spin is a fixed piece of work, in ms.
const spin = `() => { const t = performance.now(); let x = 1; for (let i = 0; i < 4e7; i++) x = (x * 16807 + i) % 2147483647; return performance.now() - t + (x < 0 ? 1 : 0); }`

// slowness is one way to make the browser slow.
type slowness struct {
	name string
	do   func(b *browser, p *page) (undo func() (share float64))
}

var slownesses = []slowness{
	{"free", func(*browser, *page) func() float64 { return func() float64 { return 1 } }},
	{"paused", func(b *browser, _ *page) func() float64 { return b.slow().release }},
	{"protocol", func(_ *browser, p *page) func() float64 {
		p.do((proto.EmulationSetCPUThrottlingRate{Rate: 1 / throttleShare}).Call(p))
		return func() float64 {
			p.do((proto.EmulationSetCPUThrottlingRate{Rate: 1}).Call(p))
			return throttleShare
		}
	}},
}

// offline is a profile with the application installed and the invented season
// in it, and the address of a server that is dead.
func offline(t testing.TB) (profile string, s *server) {
	t.Helper()
	folder, entries := demoFolder(t)
	s = serveFolder(t, folder)
	profile = newProfile(t)
	b := ownBrowser(t, profile)
	newPage(t, b.Browser).install(s, len(entries))
	b.quit()
	return profile, s
}

// BenchmarkOpen gives how long a cold start without a server takes: a freshly
// started browser, from the beginning of the navigation to a key that is
// painted and listens, and to the engine's being awake. The control is a
// static page of the same bytes with the same style sheet, from a server that
// lives.
func BenchmarkOpen(b *testing.B) {
	needBrowser(b)
	profile, s := offline(b)
	control := controlPage(b, s)
	s.kill()
	for _, slow := range slownesses {
		b.Run(slow.name, func(b *testing.B) {
			var usable, awake, static, own, work, share []float64
			for range b.N {
				for run := range runs {
					br := ownBrowser(b, profile)
					if strays := br.strays(b); len(strays) > 0 {
						b.Logf("processes that are not paused: %v", strays)
					}
					open := func(url string, until string) map[string]float64 {
						p := newPage(b, br.Browser)
						_, err := p.EvalOnNewDocument(marks)
						p.do(err)
						undo := slow.do(br, p)
						p.do(p.Timeout(patience).Navigate(url))
						p.until("the page is open", until)
						share = append(share, undo())
						got := map[string]float64{}
						if err := p.eval(`() => ({ ...marks, own: performance.getEntriesByName("engine awake")[0]?.detail.ms ?? 0 })`).Value.Unmarshal(&got); err != nil {
							b.Fatal(err)
						}
						p.do(p.Close())
						return got
					}
					tryControl := func() {
						got := open(control, `() => marks.paint !== undefined`)
						static = append(static, got["paint"])
					}
					// Whatever is opened first pays for the browser's own start.
					if run%2 == 0 {
						tryControl()
					}
					got := open(s.url+"/", `() => marks.paint !== undefined && marks.awake !== undefined`)
					usable = append(usable, max(got["paint"], got["script"]))
					awake = append(awake, got["awake"])
					own = append(own, got["own"])
					if run%2 == 1 {
						tryControl()
					}
					work = append(work, spinOnce(b, br, slow))
					br.quit()
				}
			}
			b.Logf("%s, %d runs each: usable %s ms; engine awake %s ms, of which %s in itself; control %s ms; fixed work %s ms; share of the time %.2f",
				slow.name, len(usable), spread(usable), spread(awake), spread(own), spread(static), spread(work), median(share))
			b.ReportMetric(median(usable), "ms-usable")
			b.ReportMetric(median(awake), "ms-awake")
			b.ReportMetric(median(static), "ms-control")
			b.ReportMetric(median(usable)/median(static), "x-control")
			b.ReportMetric(median(work), "ms-work")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func spinOnce(b *testing.B, br *browser, slow slowness) float64 {
	b.Helper()
	p := newPage(b, br.Browser)
	undo := slow.do(br, p)
	ms := p.eval(spin).Value.Num()
	undo()
	p.do(p.Close())
	return ms
}

var scripts = regexp.MustCompile(`(?s)<script.*?</script>|<link rel="(?:manifest|icon|apple-touch-icon)"[^>]*>`)

// controlPage serves the key's own document without scripts, as many bytes,
// and gives its address.
func controlPage(t testing.TB, s *server) string {
	t.Helper()
	document := send(t, http.MethodGet, s.url+"/shell/bank/en-mm", nil).body
	href := regexp.MustCompile(`href="(/static/app-[^"]+\.css)"`).FindStringSubmatch(document)
	if href == nil {
		t.Fatal("the key's document has no style sheet")
	}
	css := send(t, http.MethodGet, s.url+href[1], nil).body
	plain := scripts.ReplaceAllString(document, "")
	plain += "<!--" + strings.Repeat("-", max(0, len(document)-len(plain)-7)) + "-->"
	control := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == href[1] {
			w.Header().Set("Content-Type", "text/css; charset=utf-8")
			io.WriteString(w, css)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		io.WriteString(w, plain)
	}))
	t.Cleanup(control.Close)
	return control.URL + "/"
}

// tap60 taps chips, at any time between two frames, and gives for each tap the
// ms until the engine was asked, until the ranking was new and until it was
// painted.
const tap60 = `async () => {
	const taps = [];
	for (const [name, values] of Object.entries({ wings: ["short", "flat", "upright", "roof"], shucks: ["damp-stones", "dry-rocks", "film"], trend: ["dropping", "steady", "rising"] })) for (const v of values) taps.push([name, v]);
	const out = [];
	let asked = 0;
	const post = Worker.prototype.postMessage;
	Worker.prototype.postMessage = function (...message) { asked ||= performance.now(); post.apply(this, message); };
	for (let i = 0; i < 60; i++) {
		const [name, value] = taps[(i * 7) % taps.length];
		const box = document.querySelector("[name=" + name + "][value=" + value + "]");
		const changed = new Promise((resolve) => {
			new MutationObserver((list, self) => {
				if (list.some((m) => [...m.addedNodes].some((n) => n.id === "reading"))) { self.disconnect(); resolve(performance.now()); }
			}).observe(document.getElementById("main"), { childList: true, subtree: true });
		});
		await new Promise((resolve) => setTimeout(resolve, (i * 5) % 17));
		asked = 0;
		const begun = performance.now();
		box.click();
		const fresh = await changed;
		const painted = await new Promise((resolve) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => resolve(performance.now()); c.port2.postMessage(0); }));
		out.push([asked - begun, fresh - begun, painted - begun]);
	}
	Worker.prototype.postMessage = post;
	return out;
}`

// BenchmarkTap gives how long a tap on the key takes until the ranking is new,
// with the engine awake.
func BenchmarkTap(b *testing.B) {
	needBrowser(b)
	profile, s := offline(b)
	s.kill()
	br := ownBrowser(b, profile)
	for _, slow := range slownesses {
		b.Run(slow.name, func(b *testing.B) {
			var asked, fresh, painted []float64
			for range b.N {
				p := newPage(b, br.Browser)
				p.goTo(s.url + "/")
				p.untilSettled()
				p.eval(tap60) // the first taps find everything cold
				p.goTo(s.url + "/")
				p.untilSettled()
				undo := slow.do(br, p)
				res := p.eval(tap60).Value.Arr()
				undo()
				for _, tap := range res {
					asked = append(asked, tap.Arr()[0].Num())
					fresh = append(fresh, tap.Arr()[1].Num())
					painted = append(painted, tap.Arr()[2].Num())
				}
				p.do(p.Close())
			}
			b.Logf("%s, %d taps: engine asked after p50 %.1f ms, p95 %.1f ms; new ranking p50 %.1f ms, p95 %.1f ms; painted p50 %.1f ms, p95 %.1f ms", slow.name, len(fresh), quantile(asked, .5), quantile(asked, .95), quantile(fresh, .5), quantile(fresh, .95), quantile(painted, .5), quantile(painted, .95))
			b.ReportMetric(quantile(fresh, .5), "ms-p50")
			b.ReportMetric(quantile(fresh, .95), "ms-p95")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func median(x []float64) float64 { return quantile(x, .5) }

// quantile interpolates between order statistics.
func quantile(x []float64, q float64) float64 {
	s := slices.Sorted(slices.Values(x))
	at := q * float64(len(s)-1)
	i := int(at)
	if i+1 >= len(s) {
		return s[len(s)-1]
	}
	return s[i] + (at-float64(i))*(s[i+1]-s[i])
}

// spread writes the median with the range.
func spread(x []float64) string {
	return fmt.Sprintf("%.0f (%.0f to %.0f)", median(x), slices.Min(x), slices.Max(x))
}
