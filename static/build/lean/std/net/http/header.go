package http

import (
	"net/textproto"
	"slices"
)

// Header is the fields before a body, by their canonical names.
type Header map[string][]string

// CanonicalHeaderKey is a name as Header has it.
func CanonicalHeaderKey(name string) string { return textproto.CanonicalMIMEHeaderKey(name) }

// Add adds a value.
func (h Header) Add(name, value string) {
	name = CanonicalHeaderKey(name)
	h[name] = append(h[name], value)
}

// Set replaces all values.
func (h Header) Set(name, value string) { h[CanonicalHeaderKey(name)] = []string{value} }

// Get is the first value, empty where there is none.
func (h Header) Get(name string) string {
	if values := h[CanonicalHeaderKey(name)]; len(values) > 0 {
		return values[0]
	}
	return ""
}

// Values are all values.
func (h Header) Values(name string) []string { return h[CanonicalHeaderKey(name)] }

// Del takes all values away.
func (h Header) Del(name string) { delete(h, CanonicalHeaderKey(name)) }

// Clone is a copy that shares nothing.
func (h Header) Clone() Header {
	if h == nil {
		return nil
	}
	other := make(Header, len(h))
	for name, values := range h {
		other[name] = slices.Clone(values)
	}
	return other
}

// isToken tells a token of RFC 9110, section 5.6.2.
func isToken(s string) bool {
	for i := range len(s) {
		switch c := s[i]; {
		case 'a' <= c && c <= 'z', 'A' <= c && c <= 'Z', '0' <= c && c <= '9':
		case c == '!', c >= '#' && c <= '\'', c == '*', c == '+', c == '-', c == '.', c >= '^' && c <= '`', c == '|', c == '~':
		default:
			return false
		}
	}
	return s != ""
}
