package middleware

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// timed is a connection that notes the deadlines it was given.
type timed struct {
	http.ResponseWriter
	reads, writes []time.Time
	sizes         []int
}

func (c *timed) SetReadDeadline(t time.Time) error  { c.reads = append(c.reads, t); return nil }
func (c *timed) SetWriteDeadline(t time.Time) error { c.writes = append(c.writes, t); return nil }
func (c *timed) Write(p []byte) (int, error) {
	c.sizes = append(c.sizes, len(p))
	return c.ResponseWriter.Write(p)
}

// A slow reader of an install is not cut off while bytes flow, and a writer
// who sends next to nothing is.
func TestPaceMovesDeadlinesWithTheBytes(t *testing.T) {
	begun := time.Date(2026, 9, 12, 6, 30, 0, 0, time.UTC)
	const install = 3 << 20
	c := &timed{ResponseWriter: httptest.NewRecorder()}
	r := httptest.NewRequest("POST", "/", io.MultiReader(strings.NewReader("a"), strings.NewReader(strings.Repeat("b", 100<<10))))
	Pace(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if body, err := io.ReadAll(r.Body); err != nil || len(body) != 1+100<<10 {
			t.Errorf("read %d, %v", len(body), err)
		}
		if n, err := w.Write(make([]byte, install)); n != install || err != nil {
			t.Errorf("wrote %d, %v", n, err)
		}
	}), func() time.Time { return begun }).ServeHTTP(c, r)
	if first := c.reads[0]; !first.Equal(begun.Add(Grace)) {
		t.Errorf("nothing has come, and there is time until %v", first)
	}
	if second := c.reads[1]; second.After(begun.Add(Grace + time.Second)) {
		t.Errorf("one byte has come, and there is time until %v", second)
	}
	// 37 kB a second is what broke off before: 85 s for the whole.
	last := c.writes[len(c.writes)-1]
	if least := time.Duration(install/(37<<10)) * time.Second; last.Sub(begun) < least {
		t.Errorf("the install has %v, and takes %v at 37 kB a second", last.Sub(begun), least)
	}
	if want := begun.Add(Grace + install/Floor*time.Second); !last.Equal(want) {
		t.Errorf("the install has time until %v, want %v", last, want)
	}
	for i := 1; i < len(c.writes); i++ {
		if c.writes[i].Before(c.writes[i-1]) || c.sizes[i] > piece {
			t.Fatalf("piece %d of %d bytes until %v", i, c.sizes[i], c.writes[i])
		}
	}
}
