package app

import "github.com/gorilla/mux"

func (a *App) benchRoutes(r *mux.Router) {
	r.Handle(foamPath, a.page(a.foamBody)).Methods("GET", "HEAD")
}
