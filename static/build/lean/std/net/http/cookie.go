package http

import (
	"net/textproto"
	"strconv"
	"strings"
)

// SameSite says with which requests a cookie goes.
type SameSite int

// SameSiteLaxMode keeps a cookie from requests that other sites make, but for
// links (RFC 6265bis, section 5.6.7).
const SameSiteLaxMode SameSite = 2

// Cookie is a cookie (RFC 6265).
type Cookie struct {
	Name, Value string
	Quoted      bool
	Path        string
	MaxAge      int // seconds; below 0 for at once, 0 for none said
	Secure      bool
	HttpOnly    bool
	SameSite    SameSite
}

// String is the cookie as a header has it; empty for a name that is none.
func (c *Cookie) String() string {
	if c == nil || !isToken(c.Name) {
		return ""
	}
	out := c.Name + "=" + cookieValue(c.Value, c.Quoted)
	if c.Path != "" {
		out += "; Path=" + keep(c.Path, func(b byte) bool { return 0x20 <= b && b < 0x7f && b != ';' })
	}
	if c.MaxAge > 0 {
		out += "; Max-Age=" + strconv.Itoa(c.MaxAge)
	} else if c.MaxAge < 0 {
		out += "; Max-Age=0"
	}
	if c.HttpOnly {
		out += "; HttpOnly"
	}
	if c.Secure {
		out += "; Secure"
	}
	if c.SameSite == SameSiteLaxMode {
		out += "; SameSite=Lax"
	}
	return out
}

// SetCookie adds a cookie to an answer.
func SetCookie(w ResponseWriter, c *Cookie) {
	if text := c.String(); text != "" {
		w.Header().Add("Set-Cookie", text)
	}
}

// AddCookie adds a cookie, name and value alone, to a request.
func (r *Request) AddCookie(c *Cookie) {
	text := strings.NewReplacer("\n", "-", "\r", "-").Replace(c.Name) + "=" + cookieValue(c.Value, c.Quoted)
	if before := r.Header.Get("Cookie"); before != "" {
		text = before + "; " + text
	}
	r.Header.Set("Cookie", text)
}

// Cookies are the cookies of a request.
func (r *Request) Cookies() []*Cookie {
	out := []*Cookie{}
	for _, line := range r.Header["Cookie"] {
		for part := range strings.SplitSeq(line, ";") {
			name, value, _ := strings.Cut(textproto.TrimString(part), "=")
			name = textproto.TrimString(name)
			value, quoted, ok := readValue(value)
			if ok && isToken(name) {
				out = append(out, &Cookie{Name: name, Value: value, Quoted: quoted})
			}
		}
	}
	if len(out) > maxCookies {
		return []*Cookie{}
	}
	return out
}

// maxCookies is how many cookies the original reads of one request; of more it
// reads none.
const maxCookies = 3000

// Cookie is the first cookie of a name, or ErrNoCookie.
func (r *Request) Cookie(name string) (*Cookie, error) {
	for _, c := range r.Cookies() {
		if c.Name == name {
			return c, nil
		}
	}
	return nil, ErrNoCookie
}

// Cookies are the names and values that an answer sets.
func (r *Response) Cookies() []*Cookie {
	out := []*Cookie{}
	for _, line := range r.Header["Set-Cookie"] {
		first, _, _ := strings.Cut(line, ";")
		name, value, found := strings.Cut(textproto.TrimString(first), "=")
		name = textproto.TrimString(name)
		value, quoted, ok := readValue(value)
		if found && ok && isToken(name) {
			out = append(out, &Cookie{Name: name, Value: value, Quoted: quoted})
		}
	}
	return out
}

// readValue takes the quotes off a value.
func readValue(s string) (value string, quoted, ok bool) {
	if len(s) > 1 && s[0] == '"' && s[len(s)-1] == '"' {
		s, quoted = s[1:len(s)-1], true
	}
	for i := range len(s) {
		if !inValue(s[i]) {
			return "", quoted, false
		}
	}
	return s, quoted, true
}

// cookieValue quotes a value where it has to be and leaves out what no cookie
// may have.
func cookieValue(s string, quoted bool) string {
	s = keep(s, inValue)
	if quoted || strings.ContainsAny(s, " ,") {
		return `"` + s + `"`
	}
	return s
}

func inValue(b byte) bool { return 0x20 <= b && b < 0x7f && b != '"' && b != ';' && b != '\\' }

// keep leaves out the bytes that may not be there.
func keep(s string, may func(byte) bool) string {
	var b []byte
	for i := range len(s) {
		if may(s[i]) {
			b = append(b, s[i])
		}
	}
	return string(b)
}
