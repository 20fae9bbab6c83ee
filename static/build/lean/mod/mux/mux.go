// Package mux is as much of github.com/gorilla/mux as the engine needs: paths
// of fixed parts and of one variable between slashes, and methods.
package mux

import (
	"context"
	"errors"
	"net/http"
	"path"
	"slices"
	"strings"
)

// Errors of a match.
var (
	ErrMethodMismatch = errors.New("method is not allowed")
	ErrNotFound       = errors.New("no matching route was found")
)

// Router leads a request to its handler: the first route that fits.
type Router struct {
	NotFoundHandler, MethodNotAllowedHandler http.Handler

	routes []*Route
}

// NewRouter is a router without routes.
func NewRouter() *Router { return &Router{} }

// Handle adds a route.
func (r *Router) Handle(template string, h http.Handler) *Route {
	route := &Route{template: template, handler: h}
	for part := range strings.SplitSeq(template, "/") {
		name, variable := strings.CutPrefix(part, "{")
		if variable {
			name = strings.TrimSuffix(name, "}")
		}
		if strings.ContainsAny(name, "{}") || variable && (name == "" || strings.Contains(name, ":")) {
			panic("mux: template " + template + " is more than this router can")
		}
		route.parts = append(route.parts, part)
	}
	r.routes = append(r.routes, route)
	return route
}

// Route is one route.
type Route struct {
	template string
	parts    []string
	methods  []string // all, where there are none
	handler  http.Handler
}

// Methods bounds a route to some methods.
func (r *Route) Methods(methods ...string) *Route {
	for _, m := range methods {
		r.methods = append(r.methods, strings.ToUpper(m))
	}
	return r
}

// GetPathTemplate is what the route was added by.
func (r *Route) GetPathTemplate() (string, error) { return r.template, nil }

// vars are the variables of an address, if the route fits it.
func (r *Route) vars(address string) (vars map[string]string, ok bool) {
	vars = map[string]string{}
	for i, part := range r.parts {
		here, rest, more := strings.Cut(address, "/")
		if more != (i < len(r.parts)-1) {
			return nil, false
		}
		if name, variable := strings.CutPrefix(part, "{"); variable {
			if here == "" {
				return nil, false
			}
			vars[name[:len(name)-1]] = here
		} else if here != part {
			return nil, false
		}
		address = rest
	}
	return vars, true
}

// RouteMatch is where a request leads.
type RouteMatch struct {
	Route    *Route
	Handler  http.Handler
	Vars     map[string]string
	MatchErr error
}

// Match finds where a request leads, and tells whether anywhere.
func (r *Router) Match(req *http.Request, match *RouteMatch) bool {
	for _, route := range r.routes {
		vars, ok := route.vars(req.URL.Path)
		if !ok {
			continue
		}
		if len(route.methods) > 0 && !slices.Contains(route.methods, req.Method) {
			match.MatchErr = ErrMethodMismatch
			continue
		}
		*match = RouteMatch{Route: route, Handler: route.handler, Vars: vars}
		return true
	}
	if match.MatchErr == ErrMethodMismatch {
		match.Handler = r.MethodNotAllowedHandler
	} else {
		match.MatchErr, match.Handler = ErrNotFound, r.NotFoundHandler
	}
	return match.Handler != nil
}

type contextKey int

const matchKey contextKey = 0

// Vars are the variables in the path of a request.
func Vars(r *http.Request) map[string]string {
	if match, ok := r.Context().Value(matchKey).(*RouteMatch); ok {
		return match.Vars
	}
	return nil
}

// CurrentRoute is the route that a request was led along, nil for none.
func CurrentRoute(r *http.Request) *Route {
	if match, ok := r.Context().Value(matchKey).(*RouteMatch); ok {
		return match.Route
	}
	return nil
}

// ServeHTTP implements http.Handler.
func (r *Router) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	if clean := cleanPath(req.URL.Path); clean != req.URL.Path {
		to := *req.URL
		to.Path = clean
		w.Header().Set("Location", to.String())
		w.WriteHeader(http.StatusMovedPermanently)
		return
	}
	var match RouteMatch
	if !r.Match(req, &match) {
		status := http.StatusNotFound
		if match.MatchErr == ErrMethodMismatch {
			status = http.StatusMethodNotAllowed
		}
		w.WriteHeader(status)
		return
	}
	match.Handler.ServeHTTP(w, req.WithContext(context.WithValue(req.Context(), matchKey, &match)))
}

// cleanPath is the path without doubled slashes and dots.
func cleanPath(p string) string {
	if p == "" {
		return "/"
	}
	if p[0] != '/' {
		p = "/" + p
	}
	clean := path.Clean(p)
	if p[len(p)-1] == '/' && clean != "/" {
		clean += "/"
	}
	return clean
}
