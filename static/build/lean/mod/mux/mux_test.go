package mux_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"testing"

	original "github.com/gorilla/mux"

	"dampstone/static/build/lean/mod/mux"
)

// routes are like those of the screens, in their order: of two that fit, the
// first counts.
var routes = []struct {
	path    string
	methods []string
}{
	{"/", []string{"GET", "HEAD"}},
	{"/box", []string{"GET", "HEAD"}},
	{"/box/new", []string{"get", "HEAD"}},
	{"/box/new", []string{"POST"}},
	{"/box/fly/{fly}", []string{"GET", "HEAD"}},
	{"/box/fly/{fly}/edit", []string{"GET"}},
	{"/box/fly/{fly}/edit", []string{"POST"}},
	{"/box/{box}", []string{"GET"}},
	{"/box/{box}/{fly}", nil},
	{"/trip/{trip}/card.txt", []string{"GET"}},
	{"/slash/", []string{"GET"}},
	{"/hatch/{id}/seen", []string{"POST"}},
}

// FuzzLikeTheOriginal asks both routers the same.
func FuzzLikeTheOriginal(f *testing.F) {
	for _, path := range []string{
		"/", "", "/box", "/box/", "/box/new", "/box//new", "/box/fly/01J9", "/box/fly/a%2Fb/edit", "/box/fly//edit", "/box/x/y", "/trip/t/card.txt", "/trip/t/cardxtxt",
		"/slash/", "/slash", "/../box/./new", "/hatch/é/seen", "/hatch/\xff/seen", "/nothing", "box", "/hatch/a\nb/seen", "*",
	} {
		for _, method := range []string{"GET", "HEAD", "POST", "PUT"} {
			f.Add(method, path, "a=1")
		}
	}
	echo := func(vars func(*http.Request) map[string]string, route func(*http.Request) string) http.HandlerFunc {
		return func(w http.ResponseWriter, r *http.Request) {
			fmt.Fprintf(w, "%s %v %q", route(r), vars(r), r.URL.RawQuery)
		}
	}
	ours, theirs := mux.NewRouter(), original.NewRouter()
	ourEcho := echo(mux.Vars, func(r *http.Request) string {
		if at := mux.CurrentRoute(r); at != nil {
			text, _ := at.GetPathTemplate()
			return text
		}
		return "none"
	})
	theirEcho := echo(original.Vars, func(r *http.Request) string {
		if at := original.CurrentRoute(r); at != nil {
			text, _ := at.GetPathTemplate()
			return text
		}
		return "none"
	})
	for _, r := range routes {
		a, b := ours.Handle(r.path, ourEcho), theirs.Handle(r.path, theirEcho)
		if r.methods != nil {
			a.Methods(r.methods...)
			b.Methods(r.methods...)
		}
	}
	bareOurs, bareTheirs := *ours, original.NewRouter()
	for _, r := range routes {
		b := bareTheirs.Handle(r.path, theirEcho)
		if r.methods != nil {
			b.Methods(r.methods...)
		}
	}
	ours.NotFoundHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(404); ourEcho(w, r) })
	theirs.NotFoundHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(404); theirEcho(w, r) })
	ours.MethodNotAllowedHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(405); ourEcho(w, r) })
	theirs.MethodNotAllowedHandler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(405); theirEcho(w, r) })
	f.Fuzz(func(t *testing.T, method, path, query string) {
		request := func() *http.Request {
			r := httptest.NewRequest("GET", "/", nil)
			r.Method, r.URL = method, &url.URL{Path: path, RawQuery: query}
			return r
		}
		a, b := httptest.NewRecorder(), httptest.NewRecorder()
		ours.ServeHTTP(a, request())
		theirs.ServeHTTP(b, request())
		if a.Code != b.Code || a.Body.String() != b.Body.String() || a.Header().Get("Location") != b.Header().Get("Location") {
			t.Errorf("%q %q: %d %q %q, want %d %q %q", method, path, a.Code, a.Body, a.Header(), b.Code, b.Body, b.Header())
		}
		var m mux.RouteMatch
		var n original.RouteMatch
		if ours.Match(request(), &m) != theirs.Match(request(), &n) || fmt.Sprint(m.MatchErr) != fmt.Sprint(n.MatchErr) || len(m.Vars) != len(n.Vars) || (m.Route == nil) != (n.Route == nil) {
			t.Errorf("%q %q: match %+v, want %+v", method, path, m, n)
		}
		// Without pages of one's own, the status alone is kept.
		a, b = httptest.NewRecorder(), httptest.NewRecorder()
		bareOurs.ServeHTTP(a, request())
		bareTheirs.ServeHTTP(b, request())
		if a.Code != b.Code {
			t.Errorf("%q %q: status %d, want %d", method, path, a.Code, b.Code)
		}
	})
}

// TestRefusesWhatItCannot has a route of more than plain variables refused when
// it is added, not missed when it is asked for.
func TestRefusesWhatItCannot(t *testing.T) {
	for _, template := range []string{"/a/{id:[0-9]+}", "/a{id}", "/{a}b", "/{}", "/{a}{b}", "/a}"} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", template)
				}
			}()
			mux.NewRouter().Handle(template, http.NotFoundHandler())
		}()
	}
}
