package static

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"runtime"
	"testing"

	"github.com/andybalholm/brotli"
)

// sink is a reader that has taken the headers and never reads on: it holds
// what it was given.
type sink struct {
	http.ResponseWriter
	header http.Header
	held   [][]byte
}

func (s *sink) Header() http.Header { return s.header }
func (s *sink) WriteHeader(int)     {}
func (s *sink) Write(p []byte) (int, error) {
	s.held = append(s.held, p) // the bytes themselves, as a stalled connection does
	return len(p), nil
}

// TestReadersWithoutPackingShareTheBytes: many readers that take no packed form
// cost what one does.
func TestReadersWithoutPackingShareTheBytes(t *testing.T) {
	const size, readers = 8 << 20, 60
	plain := bytes.Repeat([]byte("wasm code of an engine. "), size/24)
	var packed bytes.Buffer
	w := brotli.NewWriterLevel(&packed, 4)
	w.Write(plain)
	w.Close()
	b := &blob{mime: "application/wasm", br: packed.Bytes()}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	var sinks []*sink
	for range readers {
		r := httptest.NewRequest(http.MethodGet, "/engine.wasm", nil)
		s := &sink{ResponseWriter: httptest.NewRecorder(), header: http.Header{}}
		b.serve(s, r)
		got := 0
		for _, p := range s.held {
			got += len(p)
		}
		if got != len(plain) || s.header.Get("Content-Encoding") != "" {
			t.Fatalf("%d bytes as %q, want %d", got, s.header.Get("Content-Encoding"), len(plain))
		}
		sinks = append(sinks, s)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	held := int64(after.HeapAlloc) - int64(before.HeapAlloc)
	t.Logf("%d readers hold %d MB, the body is %d MB", readers, held>>20, size>>20)
	if held > 3*size {
		t.Errorf("%d readers hold %d bytes", readers, held)
	}
	runtime.KeepAlive(sinks)
}
