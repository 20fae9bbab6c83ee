package middleware

import (
	"io"
	"net/http"
	"time"
)

// How slow a connection may be: what comes or goes has Grace to begin, and
// after that as long as Floor bytes a second take. An install of 3 MB at the
// edge of reach takes its quarter of an hour; one who sends a byte a minute to
// keep a connection is cut off.
const (
	Grace = time.Minute
	Floor = 2 << 10 // bytes a second
)

const piece = 32 << 10 // written at a time, each with a deadline of its own

// Pace moves the deadlines of a connection while bytes flow.
func Pace(next http.Handler, now func() time.Time) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		begun := now()
		control := http.NewResponseController(w)
		if r.Body != nil {
			r.Body = &pacedBody{r.Body, pace{begun, control.SetReadDeadline}, 0}
		}
		next.ServeHTTP(&pacedWriter{w, pace{begun, control.SetWriteDeadline}, 0}, r)
	})
}

// pace sets a deadline for each number of bytes.
type pace struct {
	begun time.Time
	set   func(time.Time) error
}

func (p pace) until(bytes int64) {
	_ = p.set(p.begun.Add(Grace + time.Duration(bytes)*time.Second/Floor)) // not every connection has deadlines
}

type pacedBody struct {
	io.ReadCloser
	pace
	n int64
}

func (b *pacedBody) Read(p []byte) (int, error) {
	b.until(b.n)
	n, err := b.ReadCloser.Read(p)
	b.n += int64(n)
	return n, err
}

type pacedWriter struct {
	http.ResponseWriter
	pace
	n int64
}

// Unwrap lets http.ResponseController find the connection.
func (w *pacedWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *pacedWriter) Write(p []byte) (n int, err error) {
	for {
		part := p[n:min(n+piece, len(p))]
		w.until(w.n + int64(len(part)))
		k, err := w.ResponseWriter.Write(part)
		n, w.n = n+k, w.n+int64(k)
		if err != nil || n == len(p) {
			return n, err
		}
	}
}
