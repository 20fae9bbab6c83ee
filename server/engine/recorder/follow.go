package recorder

import (
	"context"
	"errors"
	"net/http"
	"net/url"
)

const maxRedirects = 5

var errRedirects = errors.New("too many redirects")

// Answer is what a page gets for what it asks.
type Answer struct {
	URL     string // that was answered, after redirects
	Status  int
	Header  http.Header
	Body    []byte
	Way     []http.Header  // of every answer, that of the last too
	Cookies []*http.Cookie // that were set on the way
	// Accepted tells that a post was not rejected, whatever came after it.
	Accepted bool
}

// Follow asks a handler as a browser does: it goes on to where redirects lead
// (RFC 9110, section 15.4: with the same method and body after 307 and 308,
// by GET after others), keeps the fragment of an address (section 10.2.2) and
// sends the cookies that were set on the way.
func Follow(ctx context.Context, h http.Handler, method, target string, header http.Header, body []byte) (a Answer, err error) {
	at, err := url.Parse(target)
	if err != nil {
		return a, err
	}
	for range maxRedirects + 1 {
		r, err := Request(ctx, method, at.String(), header.Clone(), body)
		if err != nil {
			return a, err
		}
		replaceCookies(r, a.Cookies)
		var rec Recorder
		h.ServeHTTP(&rec, r)
		a.Status, a.Header, a.Body = rec.Result()
		a.URL = at.String()
		a.Way = append(a.Way, a.Header)
		a.Accepted = a.Accepted || method == http.MethodPost && a.Status < http.StatusBadRequest
		a.Cookies = append(a.Cookies, (&http.Response{Header: a.Header}).Cookies()...)
		to := a.Header.Get("Location")
		if a.Status < http.StatusMultipleChoices || a.Status >= http.StatusBadRequest || to == "" {
			return a, nil
		}
		next, err := at.Parse(to)
		if err != nil {
			return a, err
		}
		if next.Fragment == "" {
			next.Fragment, next.RawFragment = at.Fragment, at.RawFragment
		}
		at = next
		if a.Status != http.StatusTemporaryRedirect && a.Status != http.StatusPermanentRedirect {
			method, body = http.MethodGet, nil
			header.Del("Content-Type")
		}
	}
	return a, errRedirects
}

// replaceCookies puts cookies that were set on the way in place of those of
// the same name that the page sent.
func replaceCookies(r *http.Request, set []*http.Cookie) {
	if len(set) == 0 {
		return
	}
	last := map[string]string{}
	for _, c := range set {
		last[c.Name] = c.Value
	}
	for _, c := range r.Cookies() {
		if _, ok := last[c.Name]; !ok {
			last[c.Name] = c.Value
		}
	}
	r.Header.Del("Cookie")
	for name, value := range last {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
}
