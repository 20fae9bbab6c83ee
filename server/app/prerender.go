//go:build !js

package app

import (
	"bytes"
	"fmt"
	"net/http"

	"dampstone/server/app/screen"
)

// Prerender is the document at a path with the given prefs, marked as a shell
// that a phone keeps and its engine fills. It has nothing of a user in it.
func Prerender(h http.Handler, path, prefs, shell string) ([]byte, error) {
	r, err := http.NewRequest(http.MethodGet, path, nil)
	if err != nil {
		return nil, err
	}
	r.Header.Set(screen.ShellHeader, shell)
	r.AddCookie(&http.Cookie{Name: screen.PrefsCookie, Value: prefs})
	w := &page{header: http.Header{}, status: http.StatusOK}
	h.ServeHTTP(w, r)
	if w.status != http.StatusOK {
		return nil, fmt.Errorf("%s answered %d", path, w.status)
	}
	return w.body.Bytes(), nil
}

// page takes an answer in memory.
type page struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (p *page) Header() http.Header         { return p.header }
func (p *page) WriteHeader(status int)      { p.status = status }
func (p *page) Write(b []byte) (int, error) { return p.body.Write(b) }
