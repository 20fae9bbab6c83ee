package app

import (
	"net/http"
	"time"

	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// PageFor is what a screen of the host's own needs, in the reader's language.
func PageFor(r *http.Request, asset func(string) string) views.Page {
	p := screen.ReadPrefs(r)
	return views.Page{T: catalog.For(p.Lang), U: p.Units, Asset: asset}
}

// DayTime writes a moment for the reader of a page.
func DayTime(page views.Page, at time.Time) string { return screen.DayTime(page, at) }

// CrossOrigin answers a post that another site sent.
func (a *App) CrossOrigin(w http.ResponseWriter, r *http.Request) {
	a.Page(func(*http.Request, screen.Asked) (screen.Result, error) { return screen.Result{}, screen.ErrCross }).ServeHTTP(w, r)
}
