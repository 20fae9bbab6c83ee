package middleware

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

func TestALineForARequestHoldsNothingPersonal(t *testing.T) {
	for _, tc := range []struct {
		method, target string
		status         int
		each           bool
		want           string // "" for no line
	}{
		{"GET", "/pair/icfa-bw9t-befq-ky99", 200, true, "level=INFO msg=request method=GET part=/pair status=200 bytes=5 ms=7"},
		{"GET", "/pair/icfa-bw9t-befq-ky99", 200, false, ""},
		{"POST", "/sync?as=ana", 507, false, "level=ERROR msg=request method=POST part=/sync status=507 bytes=5 ms=7"},
		{"POST", "/fly/0c1d", 403, false, "level=WARN msg=request method=POST part=/fly status=403 bytes=5 ms=7"},
		{"GET", "/nothing", 404, false, ""},
		{"ana@river.example", "/Ana%20Maria/x", 400, true, "level=WARN msg=request method=other part=other status=400 bytes=5 ms=7"},
		{"GET", "/" + strings.Repeat("a", 200), 404, true, "level=INFO msg=request method=GET part=other status=404 bytes=5 ms=7"},
		{"GET", "/", 200, true, "level=INFO msg=request method=GET part=/ status=200 bytes=5 ms=7"},
	} {
		var out bytes.Buffer
		log := slog.New(slog.NewTextHandler(&out, &slog.HandlerOptions{ReplaceAttr: func(_ []string, a slog.Attr) slog.Attr {
			if a.Key == slog.TimeKey {
				return slog.Attr{}
			}
			return a
		}}))
		clock := time.Unix(0, 0)
		now := func() time.Time { clock = clock.Add(7 * time.Millisecond); return clock }
		h := Log(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.WriteHeader(tc.status)
			io.WriteString(w, "hello")
		}), tc.each, now, log)
		r := httptest.NewRequest("GET", tc.target, nil)
		r.Method = tc.method
		r.RemoteAddr = "192.0.2.7:1234"
		h.ServeHTTP(httptest.NewRecorder(), r)
		if got := strings.TrimSpace(out.String()); got != tc.want {
			t.Errorf("%s %s %d:\n%s\nwant\n%s", tc.method, tc.target, tc.status, got, tc.want)
		}
	}
}
