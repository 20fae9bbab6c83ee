// Package river holds what was read of the level of the water, and what that
// says of its rise and fall.
package river

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) {
	a := &section{c}
	r.Handle("/river", a.Page(a.river)).Methods("GET", "HEAD")
	r.Handle("/river", a.Page(a.addStation)).Methods("POST")
	r.Handle("/river/{station}", a.Page(a.station)).Methods("GET", "HEAD")
	r.Handle("/river/{station}/read", a.Page(a.addReading)).Methods("POST")
	r.Handle("/river/{station}/undo", a.Page(a.removeReading)).Methods("POST")
	r.Handle("/river/{station}/remove", a.Page(a.removeStation)).Methods("POST")
}
