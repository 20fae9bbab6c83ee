package middleware

import "net/http"

// Count tells of every request what part of the server it was for and what
// became of it; status 0 is a connection that was let go.
func Count(next http.Handler, tell func(part string, status int)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		seen := &seen{ResponseWriter: w}
		defer func() { tell(part(r.URL.Path), seen.status) }()
		next.ServeHTTP(seen, r)
	})
}
