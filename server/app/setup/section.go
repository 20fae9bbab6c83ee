// Package setup holds how things are shown, the ledger as a file, and what was
// quarantined.
package setup

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) { (&section{c}).routes(r) }
