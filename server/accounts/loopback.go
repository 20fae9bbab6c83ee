package accounts

import (
	"net"
	"strings"
)

// Loopback tells whether a host name or address is this computer itself
// (RFC 6761, section 6.3; RFC 5735, section 3; RFC 4291, section 2.5.3).
func Loopback(host string) bool {
	host = strings.TrimSuffix(strings.ToLower(host), ".")
	if host == "localhost" || strings.HasSuffix(host, ".localhost") {
		return true
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	return ip != nil && ip.IsLoopback()
}
