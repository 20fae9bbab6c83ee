// Package box holds the boxes and the flies in them.
package box

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) { (&section{c}).routes(r) }
