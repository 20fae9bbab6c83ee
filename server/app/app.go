// Package app is the one application: the screens over a ledger. The binary
// and the phone's engine both serve it. Each section of it is a package of its
// own, over three that they share: screen (results, pages, forms, prefs),
// caches (the key and the flies against it) and words (the domain in words).
package app

import (
	"net/http"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/server/app/bank"
	"dampstone/server/app/bench"
	"dampstone/server/app/box"
	"dampstone/server/app/caches"
	"dampstone/server/app/day"
	"dampstone/server/app/river"
	"dampstone/server/app/screen"
	"dampstone/server/app/setup"
	"dampstone/server/app/trip"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Config is what a host gives the application.
type Config = screen.Config

// SyncStatus is what a phone knows about its last exchange with the binary.
type SyncStatus = screen.SyncStatus

// App serves the screens.
type App struct {
	*caches.Caches
	router *mux.Router
}

// New makes the application.
func New(c Config) *App {
	a := &App{Caches: caches.New(screen.New(c)), router: mux.NewRouter()}
	for _, routes := range []func(*mux.Router, *caches.Caches){
		bank.Routes, box.Routes, day.Routes, river.Routes, bench.Routes, trip.Routes, setup.Routes,
	} {
		routes(a.router, a.Caches)
	}
	a.router.Handle("/shell/blank", a.Page(a.blank)).Methods("GET", "HEAD")
	a.router.NotFoundHandler = a.Page(func(*http.Request, screen.Asked) (screen.Result, error) { return screen.Result{}, screen.ErrNotFound })
	a.router.MethodNotAllowedHandler = a.wrongMethod()
	return a
}

// wrongMethod names the methods that the address does take (RFC 9110, section
// 15.5.6).
func (a *App) wrongMethod() http.Handler {
	page := a.Page(func(*http.Request, screen.Asked) (screen.Result, error) { return screen.Result{}, screen.ErrMethod })
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var allow []string
		for _, m := range []string{http.MethodGet, http.MethodHead, http.MethodPost} {
			asked := r.Clone(r.Context())
			asked.Method = m
			if match := (mux.RouteMatch{}); a.router.Match(asked, &match) && match.MatchErr == nil {
				allow = append(allow, m)
			}
		}
		w.Header().Set("Allow", strings.Join(allow, ", "))
		page.ServeHTTP(w, r)
	})
}

// ServeHTTP implements http.Handler.
func (a *App) ServeHTTP(w http.ResponseWriter, r *http.Request) { a.router.ServeHTTP(w, r) }

// blank is the frame with a skeleton, for screens that need the engine.
func (a *App) blank(r *http.Request, p screen.Asked) (screen.Result, error) {
	v := a.View(r, p, "", catalog.For(p.Lang).S("skeleton.title"))
	v.Shell = "blank"
	return screen.Show(views.Skeleton(v)), nil
}
