package middleware

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"testing"
)

func TestHealthIsForThisComputerUnlessForEverybody(t *testing.T) {
	next := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) })
	var fault error
	ask := func(everybody bool, method, path, from string) int {
		r := httptest.NewRequest(method, path, nil)
		r.RemoteAddr = from
		w := httptest.NewRecorder()
		Health(next, func(*http.Request) error { return fault }, everybody).ServeHTTP(w, r)
		return w.Code
	}
	const here, there = "127.0.0.1:5000", "192.0.2.7:5000"
	for _, c := range []struct {
		everybody          bool
		method, path, from string
		fault              error
		want               int
	}{
		{false, "GET", "/healthz", here, nil, 200}, {false, "GET", "/readyz", here, nil, 200}, {false, "HEAD", "/readyz", "[::1]:1", nil, 200},
		{false, "GET", "/healthz", there, nil, http.StatusTeapot}, {false, "GET", "/readyz", there, nil, http.StatusTeapot}, {false, "GET", "/healthz", "", nil, http.StatusTeapot},
		{true, "GET", "/healthz", there, nil, 200}, {true, "GET", "/readyz", there, nil, 200},
		{true, "GET", "/readyz", there, errors.New("stopping"), 503}, {true, "GET", "/healthz", there, errors.New("stopping"), 200},
		{true, "POST", "/healthz", there, nil, 405}, {true, "GET", "/healthz/x", there, nil, http.StatusTeapot}, {true, "GET", "/", there, nil, http.StatusTeapot},
	} {
		fault = c.fault
		if got := ask(c.everybody, c.method, c.path, c.from); got != c.want {
			t.Errorf("%+v: status %d", c, got)
		}
	}
}
