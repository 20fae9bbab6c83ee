package middleware

import (
	"net/http"
	"net/http/httptest"
	"testing"
)

func TestHosts(t *testing.T) {
	h := Hosts(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.Write([]byte("here")) }), func(host string) bool {
		return host == "localhost" || host == "::1" || host == "boat.local"
	})
	for host, want := range map[string]int{
		"localhost": 200, "localhost:8430": 200, "LOCALHOST.:8430": 200, "[::1]:8430": 200, "[::1]": 200, "boat.local": 200,
		"evil.example": 421, "evil.example:8430": 421, "localhost.evil.example": 421, "": 421, "127.0.0.1.evil.example:80": 421, "boat.local.": 200,
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		if h.ServeHTTP(w, r); w.Code != want {
			t.Errorf("host %q: status %d, want %d", host, w.Code, want)
		}
	}
}
