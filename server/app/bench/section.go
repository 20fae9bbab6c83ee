// Package bench holds the tying: what to tie next, orders, recipes, materials,
// and foam bodies.
package bench

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) { (&section{c}).routes(r) }
