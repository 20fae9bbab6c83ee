// Package static holds what a browser needs beside the screens: style sheet,
// page script, service worker, icons and the built engine. Every file has an
// address that changes with its content, so that it can be kept for ever; a
// Release ties them and the prerendered screens together under one version.
//
// "go generate" builds the engine and draws the icons into dist. Without that
// the package still works: screens have style and script, and links and forms
// go to the server.
package static

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
)

//go:generate go generate ../views
//go:generate go run ./build

//go:embed app.css *.js all:dist
var embedded embed.FS

// Policy is the Content-Security-Policy of every answer, of screens and of
// worker scripts alike: the engine's worker needs 'wasm-unsafe-eval' in its
// own answer.
const Policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

const (
	prefix       = "/static/"
	workerSource = "sw.js"     // served under a fixed name, see Release
	tableName    = "assets.js" // made here, see Assets.table
)

// Packing says how the engine is packed: "best", "quick", or "" where none is
// built in.
func Packing() string {
	raw, err := embedded.ReadFile("dist/packing.txt")
	if err != nil {
		return ""
	}
	return string(raw)
}

// Assets are the fingerprinted files. They never change once made and are
// safe for concurrent use.
type Assets struct {
	files map[string]*blob  // by address
	urls  map[string]string // address by name
}

// NewAssets reads the embedded files. An error means that the build is
// broken: scripts that name each other in a circle.
func NewAssets() (*Assets, error) { return newAssets(embedded) }

func newAssets(fsys fs.FS) (*Assets, error) {
	l := linker{
		sources: map[string]*blob{tableName: nil},
		open:    map[string]bool{},
		out:     &Assets{files: map[string]*blob{}, urls: map[string]string{}},
	}
	for _, dir := range []string{".", "dist"} {
		list, err := fs.ReadDir(fsys, dir)
		if err != nil {
			return nil, fmt.Errorf("read static files: %w", err)
		}
		for _, e := range list {
			name := e.Name()
			if e.IsDir() || name == workerSource || strings.HasPrefix(name, ".") || !known(strings.TrimSuffix(name, ".br")) {
				continue
			}
			body, err := fs.ReadFile(fsys, path.Join(dir, name))
			if err != nil {
				return nil, fmt.Errorf("read static file %q: %w", name, err)
			}
			if plain, packed := strings.CutSuffix(name, ".br"); packed {
				l.sources[plain] = &blob{mime: mimeOf(plain), br: body}
			} else {
				l.sources[name] = &blob{mime: mimeOf(name), plain: body}
			}
		}
	}
	for name := range l.sources {
		if _, err := l.link(name); err != nil {
			return nil, err
		}
	}
	return l.out, nil
}

// URL is the address of a file by its name, such as "app.css". A file that
// was not built has an address too, where nothing is found.
func (a *Assets) URL(name string) string {
	if u, ok := a.urls[name]; ok {
		return u
	}
	return prefix + name
}

// HasEngine tells whether the engine was built into this program. Without it
// screens work only while the server can be reached.
func (a *Assets) HasEngine() bool {
	return a.urls["engine.wasm"] != "" && a.urls["wasm_exec.js"] != ""
}

// URLs are all addresses, sorted.
func (a *Assets) URLs() []string {
	list := make([]string, 0, len(a.files))
	for u := range a.files {
		list = append(list, u)
	}
	slices.Sort(list)
	return list
}

// ServeHTTP serves the files under /static/.
func (a *Assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	b, ok := a.files[r.URL.Path]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	b.serve(w, r)
}

// linker gives every file its address. Files that name others, as "./x.js",
// get their addresses put in first, so that a change travels up.
type linker struct {
	sources map[string]*blob
	open    map[string]bool // being linked
	out     *Assets
}

// reference is how a script names another file.
var reference = regexp.MustCompile(`"\./([a-z0-9_-]+\.[a-z0-9]+)"`)

func (l *linker) link(name string) (string, error) {
	if u, ok := l.out.urls[name]; ok {
		return u, nil
	}
	if l.open[name] {
		return "", fmt.Errorf("link static file %q: it names itself, maybe by way of others", name)
	}
	l.open[name] = true
	b := l.sources[name]
	var err error
	switch {
	case name == tableName:
		b, err = l.table()
	case isScript(name) && b.plain != nil:
		b, err = l.rewrite(b)
	}
	if err != nil {
		return "", fmt.Errorf("link static file %q: %w", name, err)
	}
	ext := path.Ext(name)
	u := prefix + strings.TrimSuffix(name, ext) + "-" + b.fingerprint() + ext
	l.out.urls[name], l.out.files[u] = u, b
	return u, nil
}

func (l *linker) rewrite(b *blob) (*blob, error) {
	var failed error
	body := reference.ReplaceAllFunc(b.plain, func(m []byte) []byte {
		name := string(m[3 : len(m)-1])
		u := prefix + name // not built: nothing will be found there
		if _, ok := l.sources[name]; ok {
			var err error
			if u, err = l.link(name); err != nil && failed == nil {
				failed = err
			}
		}
		return []byte(`"` + u + `"`)
	})
	return &blob{mime: b.mime, plain: body}, failed
}

// table is a script that tells the page where the files are, for the engine,
// which has none of them in itself. The page's own scripts are not in it,
// since they depend on it.
func (l *linker) table() (*blob, error) {
	urls := map[string]string{}
	for name := range l.sources {
		if isScript(name) && name != "engine.js" {
			continue
		}
		u, err := l.link(name)
		if err != nil {
			return nil, err
		}
		urls[name] = u
	}
	list, err := json.Marshal(urls) // sorted by name
	if err != nil {
		return nil, err
	}
	return &blob{mime: mimeOf(tableName), plain: fmt.Appendf(nil, "export default %s;\n", list)}, nil
}

func isScript(name string) bool { return path.Ext(name) == ".js" }

// mimeTypes are fixed here, since what the operating system says differs and
// a service worker or streamed engine needs the right one.
var mimeTypes = map[string]string{
	".css":  "text/css; charset=utf-8",
	".js":   "text/javascript; charset=utf-8",
	".png":  "image/png",
	".svg":  "image/svg+xml",
	".wasm": "application/wasm",
}

func known(name string) bool { return mimeTypes[path.Ext(name)] != "" }

func mimeOf(name string) string { return mimeTypes[path.Ext(name)] }

func sum(parts ...[]byte) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write(p)
	}
	return hex.EncodeToString(h.Sum(nil))
}
