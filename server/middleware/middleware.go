// Package middleware guards the binary's handlers: headers, cross-origin posts,
// sizes and faults.
package middleware

import (
	"log/slog"
	"net/http"
	"runtime/debug"

	"dampstone/static"
)

// MaxBody bounds a request's body in bytes, where nothing else is said.
const MaxBody = 2 << 20

// Guard wraps next. refused answers cross-origin posts. maxBody bounds the
// body of a request in bytes; 0 means MaxBody.
func Guard(next, refused http.Handler, maxBody func(*http.Request) int64, log *slog.Logger) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(refused)
	guarded := cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", static.Policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()")
		most := maxBody(r)
		if most == 0 {
			most = MaxBody
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		defer func() {
			fault := recover()
			if fault == nil {
				return
			}
			if fault == http.ErrAbortHandler {
				panic(fault)
			}
			log.Error("panic", "method", r.Method, "fault", fault, "stack", string(debug.Stack()))
			http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
		}()
		guarded.ServeHTTP(w, r)
	})
}
