// Package app is the one application: the screens over a ledger. The binary
// and the phone's engine both serve it.
package app

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/server/sync"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Config is what a host gives the application.
type Config struct {
	Ledger *flybox.Ledger
	Now    func() time.Time // local time of the person
	NewID  func() string
	// Asset gives the address of a static file by its name.
	Asset func(name string) string
	Log   *slog.Logger
	// Phone is set in the engine, where prefs come from the page.
	Phone bool
	// NoStore says that the ledger is in memory only: saving is refused.
	NoStore bool
	// Unread says that there is a ledger which could not be read: what comes
	// from it must not look empty. Only the key works then.
	Unread bool
	// Sync tells how safe the ledger is; nil on the binary.
	Sync func(context.Context) SyncStatus
	// Version of the release.
	Version string
	// Open says that nothing is paired: everybody on this computer may read
	// and write.
	Open bool
	// People says that the host has a screen for people and phones.
	People bool
}

// SyncStatus is what a phone knows about its last exchange with the binary.
type SyncStatus struct {
	Waiting int       // entries that the binary has not confirmed
	Last    time.Time // of the last confirmed exchange; zero if never
	sync.Quarantine
}

// App serves the screens.
type App struct {
	Config
	router *mux.Router
	fits   fitCache
	keys   ownKeys
	forms  doneForms
}

// New makes the application.
func New(c Config) *App {
	a := &App{Config: c, router: mux.NewRouter()}
	a.routes()
	return a
}

func (a *App) routes() {
	r := a.router
	r.Handle("/", a.page(a.bank)).Methods("GET", "HEAD")
	r.Handle("/hatch/{id}", a.page(a.hatch)).Methods("GET", "HEAD")
	r.Handle("/compare", a.page(a.compare)).Methods("GET", "HEAD")
	a.routeHatches(r)
	r.Handle("/hatch/{id}/seen", a.page(a.saveSeen)).Methods("POST")
	r.Handle("/box", a.page(a.boxes)).Methods("GET", "HEAD")
	r.Handle("/box/new", a.page(a.newBox)).Methods("GET", "HEAD")
	r.Handle("/box/new", a.page(a.saveBox)).Methods("POST")
	r.Handle("/box/fly/new", a.page(a.newFly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/new", a.page(a.saveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}", a.page(a.fly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/{fly}/edit", a.page(a.editFly)).Methods("GET", "HEAD")
	r.Handle("/box/fly/{fly}/edit", a.page(a.saveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/count", a.page(a.countFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/move", a.page(a.moveFly)).Methods("POST")
	r.Handle("/box/fly/{fly}/remove", a.page(a.removeFly)).Methods("POST")
	r.Handle("/box/{box}", a.page(a.box)).Methods("GET", "HEAD")
	r.Handle("/box/{box}/edit", a.page(a.editBox)).Methods("GET", "HEAD")
	r.Handle("/box/{box}/edit", a.page(a.saveBox)).Methods("POST")
	r.Handle("/box/{box}/remove", a.page(a.removeBox)).Methods("POST")
	a.dayRoutes(r)
	a.benchRoutes(r)
	a.tripRoutes(r)
	r.Handle("/setup", a.page(a.setup)).Methods("GET", "HEAD")
	r.Handle("/setup", a.page(a.saveSetup)).Methods("POST")
	r.Handle(safePath, a.page(a.safe)).Methods("GET", "HEAD")
	r.Handle(safePath, a.page(a.importFile)).Methods("POST")
	r.Handle(filePath, a.page(a.ledgerFile)).Methods("GET", "HEAD")
	r.Handle(quarantinePath, a.page(a.quarantine)).Methods("GET", "HEAD")
	r.Handle(quarantineFilePath, a.page(a.quarantineFile)).Methods("GET", "HEAD")
	r.Handle("/setup/size", a.page(a.size)).Methods("GET", "HEAD")
	r.Handle("/setup/size", a.page(a.saveSize)).Methods("POST")
	r.Handle("/shell/blank", a.page(a.blank)).Methods("GET", "HEAD")
	r.NotFoundHandler = a.page(func(*http.Request, prefs) (result, error) { return result{}, errNotFound })
	r.MethodNotAllowedHandler = a.wrongMethod()
}

// wrongMethod names the methods that the address does take (RFC 9110, section
// 15.5.6).
func (a *App) wrongMethod() http.Handler {
	page := a.page(func(*http.Request, prefs) (result, error) { return result{}, errMethod })
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

// view is what every screen needs.
func (a *App) view(r *http.Request, p prefs, section, title string) views.Page {
	t := catalog.For(p.lang)
	return views.Page{
		T: t, U: p.units, Title: title, Section: section,
		Asset: a.Asset, PxPerMM: p.px, NoStore: a.NoStore, Demo: a.isDemo(),
		Flash: a.flash(t, r),
		Shell: r.Header.Get(shellHeader),
	}
}

// demoEntry is the id of the first entry of the demo data. Where it is in the
// ledger, on the server or on a phone, the screens say that all is invented.
const demoEntry = "demo-001"

func (a *App) isDemo() (yes bool) {
	a.Ledger.View(func(s *flybox.State) { yes = s.Has(demoEntry) })
	return yes
}

// shellHeader marks a request for a document that is prerendered for the
// phone; its value becomes html[data-shell].
const shellHeader = "Dampstone-Shell"

// partHeader asks for one region of a screen instead of the whole.
const partHeader = "Dampstone-Part"

// blank is the frame with a skeleton, for screens that need the engine.
func (a *App) blank(r *http.Request, p prefs) (result, error) {
	v := a.view(r, p, "", catalog.For(p.lang).S("skeleton.title"))
	v.Shell = "blank"
	return show(views.Skeleton(v)), nil
}
