package e2e

import (
	"fmt"
	"testing"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/proto"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// BenchmarkEngineMemory gives how much memory the engine has taken in the
// browser (its whole linear memory, which never shrinks) once it is awake, and
// after the key and the boxes were shown, with the demo's entries and with
// those of long seasons.
func BenchmarkEngineMemory(b *testing.B) {
	needBrowser(b)
	for _, size := range []int{0, 50_000} {
		name := "demo"
		if size > 0 {
			name = fmt.Sprint(size)
		}
		b.Run(name, func(b *testing.B) {
			for range b.N {
				folder, entries := demoFolder(b)
				count := len(entries)
				if size > 0 {
					bodies := longSeasons(size)
					folder, count = seededFolder(b, bodies...), len(bodies)
				}
				s := serveFolder(b, folder)
				br := ownBrowser(b, newProfile(b))
				first := newPage(b, br.Browser)
				first.install(s, count)
				first.do(first.Close())
				s.kill()
				p := newPage(b, br.Browser)
				worker := p.engineWorker(s.url + "/")
				awake := engineBytes(b, worker)
				for _, path := range []string{"/box", "/day", "/"} {
					p.tap(fmt.Sprintf("#nav a[href='%s']", path))
					p.untilSettled()
				}
				shown := engineBytes(b, worker)
				b.Logf("%d entries: %.1f MB awake, %.1f MB after a few screens", count, awake/1e6, shown/1e6)
				b.ReportMetric(awake/1e6, "MB-awake")
				b.ReportMetric(shown/1e6, "MB-shown")
				b.ReportMetric(0, "ns/op")
				br.quit()
			}
		})
	}
}

// engineWorker opens an address and gives the engine's worker there.
func (p *page) engineWorker(url string) *rod.Page {
	p.t.Helper()
	var session proto.TargetSessionID
	attached := p.EachEvent(func(e *proto.TargetAttachedToTarget) (stop bool) {
		session = e.SessionID
		return e.TargetInfo.Type == "worker" // not the service worker
	})
	p.do(proto.TargetSetAutoAttach{AutoAttach: true, Flatten: true}.Call(p))
	p.goTo(url)
	attached()
	p.untilAwake()
	return p.Browser().PageFromSession(session)
}

// engineBytes is the size of the engine's memory.
func engineBytes(t testing.TB, worker *rod.Page) float64 {
	t.Helper()
	kind, err := proto.RuntimeEvaluate{Expression: "WebAssembly.Memory.prototype"}.Call(worker)
	if err != nil {
		t.Fatal(err)
	}
	memories, err := proto.RuntimeQueryObjects{PrototypeObjectID: kind.Result.ObjectID}.Call(worker)
	if err != nil {
		t.Fatal(err)
	}
	size, err := proto.RuntimeCallFunctionOn{
		ObjectID:            memories.Objects.ObjectID,
		FunctionDeclaration: "function() { return this.reduce((sum, m) => sum + m.buffer.byteLength, 0); }",
		ReturnByValue:       true,
	}.Call(worker)
	if err != nil {
		t.Fatal(err)
	}
	return size.Result.Value.Num()
}

// longSeasons are n bodies: a box of flies and what fish did to them.
func longSeasons(n int) []flybox.Body {
	bodies := manyFlies()
	for i := 0; len(bodies) < n; i++ {
		result := []flybox.Result{flybox.Take, flybox.Refusal, flybox.Follow, flybox.Lost}[i%4]
		bodies = append(bodies, flybox.Outcome{When: fmt.Sprintf("2026-07-%02dT%02d:%02d:00-07:00", 1+i%28, 5+i%16, i%60), Result: result, Pattern: journal.ID(fmt.Sprintf("fly-%d", i%600))})
	}
	return bodies[:n]
}
