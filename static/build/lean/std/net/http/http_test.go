package http_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	std "net/http"
	"net/http/httptest"
	"net/url"
	"reflect"
	"strings"
	"testing"

	"dampstone/static/build/lean/std/net/http"
)

// The standard to meet is net/http itself: each function here gets what its
// original gets, and has to give the same.

// both makes the same request twice. A body is given where there is a type.
func both(method, address, kind, body string) (*http.Request, *std.Request) {
	u, err := url.Parse(address)
	if err != nil {
		u = &url.URL{Path: address}
	}
	other := *u
	ours := &http.Request{Method: method, URL: u, Header: http.Header{}, Body: io.NopCloser(strings.NewReader(body))}
	theirs := &std.Request{Method: method, URL: &other, Header: std.Header{}, Body: io.NopCloser(strings.NewReader(body))}
	if kind != "" {
		ours.Header.Set("Content-Type", kind)
		theirs.Header.Set("Content-Type", kind)
	}
	return ours, theirs
}

func same(t *testing.T, what string, ours, theirs any) {
	t.Helper()
	if a, b := fmt.Sprintf("%#v", ours), fmt.Sprintf("%#v", theirs); strings.ReplaceAll(a, "std.", "http.") != b {
		t.Errorf("%s\n is   %s\n want %s", what, a, b)
	}
}

func text(err error) string { return fmt.Sprint(err) }

func FuzzForm(f *testing.F) {
	const coded, parts = "application/x-www-form-urlencoded", "multipart/form-data; boundary=--x"
	for _, seed := range [][4]string{
		{"POST", "/box?a=1&b=2", coded, "name=Sorrel+dun&a=3&n=%C3%A9"},
		{"POST", "/box?%zz", coded, "name=%zz"},
		{"GET", "/box?q=%C3%A9;x", coded, "name=x"},
		{"POST", "/", "", "a=1"},
		{"POST", "/", "text/plain; charset", "a=1"},
		{"POST", "/", "APPLICATION/X-WWW-Form-UrlEncoded; charset=\"utf-8\"", "a=1;b=2"},
		{"POST", "/", parts, "----x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.jsonl\"\r\n\r\n{}\n\r\n----x--\r\n"},
		{"POST", "/", parts, "----x\r\nContent-Disposition: form-data; name=\"te"},
		{"POST", "/", "multipart/form-data", "--x--"},
	} {
		f.Add(seed[0], seed[1], seed[2], seed[3], int64(1000))
		f.Add(seed[0], seed[1], seed[2], seed[3], int64(len(seed[3])))
		f.Add(seed[0], seed[1], seed[2], seed[3], int64(5))
	}
	f.Fuzz(func(t *testing.T, method, address, kind, body string, bound int64) {
		if method == "PUT" || method == "PATCH" {
			return // nothing here sends these
		}
		ours, theirs := both(method, address, kind, body)
		ours.Body = http.MaxBytesReader(nil, ours.Body, bound)
		theirs.Body = std.MaxBytesReader(nil, theirs.Body, bound)
		a, b := ours.ParseForm(), theirs.ParseForm()
		same(t, "error", text(a), text(b))
		var large *http.MaxBytesError
		var theirLarge *std.MaxBytesError
		if errors.As(a, &large) != errors.As(b, &theirLarge) || large != nil && large.Limit != theirLarge.Limit {
			t.Errorf("too large: %v, want %v", a, b)
		}
		same(t, "form", ours.Form, theirs.Form)
		same(t, "form of the body", ours.PostForm, theirs.PostForm)
		same(t, "value", ours.PostFormValue("name"), theirs.PostFormValue("name"))

		ours, theirs = both(method, address, kind, body)
		ours.Body = http.MaxBytesReader(nil, ours.Body, bound)
		theirs.Body = std.MaxBytesReader(nil, theirs.Body, bound)
		p, a := ours.MultipartReader()
		q, b := theirs.MultipartReader()
		same(t, "error of parts", text(a), text(b))
		for a == nil && b == nil {
			x, e := p.NextPart()
			y, g := q.NextPart()
			same(t, "error of a part", text(e), text(g))
			if e != nil || g != nil {
				break
			}
			l, e := io.ReadAll(x)
			m, g := io.ReadAll(y)
			same(t, "part", []string{x.FormName(), x.FileName(), string(l), text(e)}, []string{y.FormName(), y.FileName(), string(m), text(g)})
		}
		_, a = ours.MultipartReader()
		_, b = theirs.MultipartReader()
		same(t, "second reader", text(a), text(b))
	})
}

func FuzzCookies(f *testing.F) {
	for _, seed := range []string{
		"prefs=lang=es&len=in", `prefs="lang=es, len=in"; x=1`, "a=1;;b = 2; =3; c", "naïve=1; d=\x01", `q="`, `q=""`, "", "a=b=c", "\ta=1 ; b=2",
		"prefs=x; Path=/; Max-Age=31536000; SameSite=Lax",
	} {
		f.Add(seed, "prefs", 0)
		f.Add("prefs", seed, 31536000)
	}
	log.SetOutput(io.Discard) // the original tells of every byte that it leaves out
	f.Fuzz(func(t *testing.T, line, other string, age int) {
		ours, theirs := both("GET", "/", "", "")
		ours.Header["Cookie"], theirs.Header["Cookie"] = []string{line, other}, []string{line, other}
		names := func(c []*http.Cookie) (out []string) {
			for _, c := range c {
				out = append(out, fmt.Sprint(c.Name, "=", c.Value, c.Quoted))
			}
			return out
		}
		theirNames := func(c []*std.Cookie) (out []string) {
			for _, c := range c {
				out = append(out, fmt.Sprint(c.Name, "=", c.Value, c.Quoted))
			}
			return out
		}
		same(t, "cookies", names(ours.Cookies()), theirNames(theirs.Cookies()))
		a, e := ours.Cookie("prefs")
		b, g := theirs.Cookie("prefs")
		same(t, "error of a cookie", text(e), text(g))
		if e == nil && g == nil {
			same(t, "cookie", a.Value, b.Value)
		}
		set := &http.Response{Header: http.Header{"Set-Cookie": {line, other}}}
		theirSet := &std.Response{Header: std.Header{"Set-Cookie": {line, other}}}
		same(t, "cookies set", names(set.Cookies()), theirNames(theirSet.Cookies()))

		for _, quoted := range []bool{false, true} {
			one := &http.Cookie{Name: line, Value: other, Quoted: quoted, Path: other, MaxAge: age, Secure: quoted, HttpOnly: !quoted, SameSite: http.SameSiteLaxMode}
			two := &std.Cookie{Name: line, Value: other, Quoted: quoted, Path: other, MaxAge: age, Secure: quoted, HttpOnly: !quoted, SameSite: std.SameSiteLaxMode}
			same(t, "text", one.String(), two.String())
			ours.AddCookie(one)
			theirs.AddCookie(two)
			same(t, "added", ours.Header["Cookie"], theirs.Header["Cookie"])
		}
	})
}

// answer is what a handler wrote.
type answer struct {
	header http.Header
	status int
	body   strings.Builder
}

func (a *answer) Header() http.Header         { return a.header }
func (a *answer) WriteHeader(status int)      { a.status = status }
func (a *answer) Write(b []byte) (int, error) { return a.body.Write(b) }

func FuzzRedirectAndError(f *testing.F) {
	for _, seed := range [][2]string{
		{"/box/fly/new", "/box?did=saved#slot"}, {"/box/a/b", "../c/?x=1"}, {"/", ""}, {"/é", "ü/./?q=é"}, {"/a", "//host/b"},
		{"/a", "https://x/<b>"}, {"/a?b", "c'\"&"}, {"/a/", "b//c/"}, {"", "x"}, {"/a", "%zz"}, {"*", "x"}, {"/a", "\x00"},
	} {
		for _, status := range []int{301, 302, 303, 307, 308} {
			f.Add("GET", seed[0], seed[1], status)
			f.Add("POST", seed[0], seed[1], status)
		}
	}
	f.Fuzz(func(t *testing.T, method, at, to string, status int) {
		if http.StatusText(status) == "" {
			return // a status that does not lead anywhere
		}
		ours, theirs := both(method, at, "", "")
		a, b := &answer{header: http.Header{}}, httptest.NewRecorder()
		http.Redirect(a, ours, to, status)
		std.Redirect(b, theirs, to, status)
		same(t, "redirect", []any{a.status, map[string][]string(a.header), a.body.String()}, []any{b.Code, map[string][]string(b.Header()), b.Body.String()})

		a, b = &answer{header: http.Header{"Content-Length": {"3"}}}, httptest.NewRecorder()
		b.Header().Set("Content-Length", "3")
		http.Error(a, to, status)
		std.Error(b, to, status)
		same(t, "error", []any{a.status, map[string][]string(a.header), a.body.String()}, []any{b.Code, map[string][]string(b.Header()), b.Body.String()})
	})
}

func FuzzRequest(f *testing.F) {
	for _, seed := range [][2]string{{"GET", "https://boat.local:8443/box?q=1#a"}, {"", "/"}, {"G T", "/"}, {"POST", "http://["}, {"POST", "http://x:/"}, {"POST", "http://[::1]:/"}, {"POST", "http://[::1]/"}, {"POST", "http://a:b:/"}} {
		f.Add(seed[0], seed[1], "body")
		f.Add(seed[0], seed[1], "")
	}
	f.Fuzz(func(t *testing.T, method, address, body string) {
		type key int
		ctx := context.WithValue(context.Background(), key(0), 1)
		a, e := http.NewRequestWithContext(ctx, method, address, strings.NewReader(body))
		b, g := std.NewRequestWithContext(ctx, method, address, strings.NewReader(body))
		same(t, "error", text(e), text(g))
		if e != nil || g != nil {
			return
		}
		got, _ := io.ReadAll(a.Body)
		same(t, "request", []any{a.Method, a.URL.String(), a.Host, a.ContentLength, string(got), a.Context().Value(key(0))},
			[]any{b.Method, b.URL.String(), b.Host, b.ContentLength, body, b.Context().Value(key(0))})
		a.Header.Add(method, address)
		b.Header.Add(method, address)
		a.Header.Add(method, body)
		b.Header.Add(method, body)
		same(t, "header", []any{map[string][]string(a.Header), a.Header.Get(method), a.Header.Values(method)}, []any{map[string][]string(b.Header), b.Header.Get(method), b.Header.Values(method)})
		c := a.Clone(ctx)
		c.Header.Set(method, "other")
		c.URL.Path = "/other"
		if a.Header.Get(method) != address || a.URL.Path == "/other" && b.URL.Path != "/other" {
			t.Error("a clone shares with what it is of")
		}
		a.Header.Del(method)
		if len(a.Header) != 0 {
			t.Error("a field stayed")
		}
	})
}

// TestStatuses holds the numbers and names to those of the original.
func TestStatuses(t *testing.T) {
	for ours, theirs := range map[int]int{
		http.StatusOK: std.StatusOK, http.StatusMultipleChoices: std.StatusMultipleChoices, http.StatusMovedPermanently: std.StatusMovedPermanently,
		http.StatusFound: std.StatusFound, http.StatusSeeOther: std.StatusSeeOther, http.StatusTemporaryRedirect: std.StatusTemporaryRedirect,
		http.StatusPermanentRedirect: std.StatusPermanentRedirect, http.StatusBadRequest: std.StatusBadRequest, http.StatusUnauthorized: std.StatusUnauthorized,
		http.StatusForbidden: std.StatusForbidden, http.StatusNotFound: std.StatusNotFound, http.StatusMethodNotAllowed: std.StatusMethodNotAllowed,
		http.StatusConflict: std.StatusConflict, http.StatusRequestEntityTooLarge: std.StatusRequestEntityTooLarge,
		http.StatusUnprocessableEntity: std.StatusUnprocessableEntity, http.StatusInternalServerError: std.StatusInternalServerError,
		http.StatusServiceUnavailable: std.StatusServiceUnavailable, http.StatusInsufficientStorage: std.StatusInsufficientStorage,
		int(http.SameSiteLaxMode): int(std.SameSiteLaxMode),
	} {
		if ours != theirs {
			t.Errorf("%d, want %d", ours, theirs)
		}
	}
	for _, status := range []int{301, 302, 303, 307, 308} {
		same(t, "status", http.StatusText(status), std.StatusText(status))
	}
	if http.ErrNoCookie.Error() != std.ErrNoCookie.Error() || http.ErrAbortHandler.Error() != std.ErrAbortHandler.Error() {
		t.Error("errors read differently")
	}
	if r := (&http.Request{}); r.Context() == nil || !reflect.DeepEqual(r.Clone(context.Background()).Header, http.Header(nil)) {
		t.Error("an empty request cannot be cloned")
	}
}
