package app

import (
	"net/http"
	"time"

	"dampstone/views"
	"dampstone/views/catalog"
)

// PageFor is what a screen of the host's own needs, in the reader's language.
func PageFor(r *http.Request, asset func(string) string) views.Page {
	p := readPrefs(r)
	return views.Page{T: catalog.For(p.lang), U: p.units, Asset: asset}
}

// DayTime writes a moment for the reader of a page.
func DayTime(page views.Page, at time.Time) string { return dayTime(page, at) }
