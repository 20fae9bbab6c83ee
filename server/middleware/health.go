package middleware

import (
	"net"
	"net/http"
)

// Addresses that tell a supervisor or a balancer how the server is. They say
// nothing about anybody.
const (
	alivePath = "/healthz"
	readyPath = "/readyz"
)

// Health answers whether the server runs, and whether it can take requests:
// 200, or 503 while ready gives an error. Where it is not for everybody, only
// visitors from this computer are answered, and others get what next says.
func Health(next http.Handler, ready func(*http.Request) error, everybody bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != alivePath && r.URL.Path != readyPath || !everybody && !fromHere(r) {
			next.ServeHTTP(w, r)
			return
		}
		h := w.Header()
		h.Set("Content-Type", "text/plain; charset=utf-8")
		h.Set("Cache-Control", "no-store")
		h.Set("X-Content-Type-Options", "nosniff")
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			h.Set("Allow", "GET, HEAD")
			w.WriteHeader(http.StatusMethodNotAllowed)
			return
		}
		if r.URL.Path == readyPath && ready(r) != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			w.Write([]byte("not ready\n"))
			return
		}
		w.Write([]byte("ok\n"))
	})
}

// fromHere tells whether a request came from this computer.
func fromHere(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	ip := net.ParseIP(host)
	return err == nil && ip != nil && ip.IsLoopback()
}
