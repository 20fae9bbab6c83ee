package middleware

import (
	"net"
	"net/http"
	"strings"
)

// Hosts answers requests for names that known tells, and refuses others with
// 421 (RFC 9110, section 15.5.20). A page elsewhere can have its own name lead
// to this computer and would then read what a server gives to any name.
func Hosts(next http.Handler, known func(host string) bool) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !known(HostName(r.Host)) {
			http.Error(w, "This server does not answer to that name. Start it with -host NAME if it should.", http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// HostName is a host header's name or address without port, brackets and a
// final dot, in lower case.
func HostName(host string) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	return strings.TrimSuffix(strings.ToLower(strings.Trim(host, "[]")), ".")
}
