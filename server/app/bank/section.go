// Package bank holds the field key: its form and reading, the pages of
// hatches, their comparison, and what was noted as seen.
package bank

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) { (&section{c}).routes(r) }
