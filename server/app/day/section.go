// Package day holds time on the water: the fly that is on, what fish did to
// it, and what that tells.
package day

import (
	"github.com/gorilla/mux"

	"dampstone/server/app/caches"
)

// section serves the screens.
type section struct{ *caches.Caches }

// Routes adds the section's screens to a router.
func Routes(r *mux.Router, c *caches.Caches) { (&section{c}).routes(r) }
