package static

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
)

// Page is a prerendered screen that a phone keeps with the release.
type Page struct {
	Path string // such as "/shell/bank/en-mm"
	Body []byte // HTML
}

// Text is what the manifest says in one language.
type Text struct {
	Lang, Name, Short, Description string
}

// Release is one version of everything a phone keeps: the fingerprinted files
// and the prerendered screens. The service worker's list is made of the same
// table as the addresses in the screens, so the two cannot disagree.
type Release struct {
	assets    *Assets
	version   string
	fixed     map[string]*blob // by path: screens together, and worker
	pages     map[string]*blob // by path: each screen, for who looks
	manifests map[string]*blob // by language
	lang      string           // of the first text
}

// serverOnly are paths, with all below them, that only the server can answer:
// the worker leaves navigations there alone.
var serverOnly = []string{"/pair", "/people", "/sync"}

const (
	workerPath   = "/sw.js"
	pagesPath    = "/shell/pages"
	manifestPath = "/manifest.webmanifest"
)

// entry is one line of the worker's list. Files under /static/ have their
// content in their name; for the others the digest keeps a release whole even
// where the server changes to the next one in the middle of an install.
type entry struct {
	URL       string `json:"url"`
	Integrity string `json:"integrity,omitempty"` // Subresource Integrity
}

// contents is the first line of the worker.
type contents struct {
	Version    string   `json:"version"`
	Files      []entry  `json:"files"`
	Pages      string   `json:"pages"`  // the file that has the screens, by their paths
	Shells     []string `json:"shells"` // those paths
	ServerOnly []string `json:"serverOnly"`
	Withdrawn  bool     `json:"withdrawn,omitempty"`
}

func worker(first, source []byte) *blob {
	return &blob{mime: mimeOf(workerSource), plain: fmt.Appendf(nil, "self.RELEASE=%s;\n%s", first, source)}
}

// Release makes the version that holds these pages. The first text is for
// readers whose language has none.
func (a *Assets) Release(pages []Page, texts ...Text) (*Release, error) {
	if len(texts) == 0 {
		texts = []Text{{Lang: "en", Name: "Dampstone"}}
	}
	r := &Release{assets: a, fixed: map[string]*blob{}, pages: map[string]*blob{}, manifests: map[string]*blob{}, lang: texts[0].Lang}
	for _, t := range texts {
		body, err := a.manifest(t)
		if err != nil {
			return nil, fmt.Errorf("make manifest %q: %w", t.Lang, err)
		}
		r.manifests[t.Lang] = &blob{mime: "application/manifest+json", plain: body}
	}
	var files []entry
	for _, u := range a.URLs() {
		files = append(files, entry{URL: u})
	}
	var shells []string
	bodies := map[string]string{}
	for _, p := range pages {
		if !strings.HasPrefix(p.Path, "/") || p.Path == pagesPath || r.Has(p.Path) {
			return nil, fmt.Errorf("make release: page path %q is relative or taken", p.Path)
		}
		r.pages[p.Path] = &blob{mime: "text/html; charset=utf-8", plain: p.Body}
		bodies[p.Path] = string(p.Body)
		shells = append(shells, p.Path)
	}
	// The screens differ in language and units alone: together they are a
	// quarter of what they are apart.
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(bodies); err != nil {
		return nil, fmt.Errorf("put screens together: %w", err)
	}
	together := buf.Bytes()
	r.fixed[pagesPath] = &blob{mime: "application/json", plain: together}
	files = append(files, entry{pagesPath, integrity(together)})
	slices.Sort(shells)
	slices.SortFunc(files, func(a, b entry) int { return strings.Compare(a.URL, b.URL) })
	for _, t := range texts {
		files = append(files, entry{manifestPath + "?lang=" + t.Lang, integrity(r.manifests[t.Lang].plain)})
	}

	source, err := embedded.ReadFile(workerSource)
	if err != nil {
		return nil, fmt.Errorf("read service worker: %w", err)
	}
	list, err := json.Marshal(files)
	if err != nil {
		return nil, fmt.Errorf("list release: %w", err)
	}
	r.version = sum(list, source)[:16]
	first, err := json.Marshal(contents{r.version, files, pagesPath, shells, serverOnly, false})
	if err != nil {
		return nil, fmt.Errorf("list release: %w", err)
	}
	r.fixed[workerPath] = worker(first, source)
	return r, nil
}

// Version is a hash over everything in the release.
func (r *Release) Version() string { return r.version }

// WireSize is what a phone loads to install the release, in bytes of packed
// bodies, without headers.
func (r *Release) WireSize() int {
	n := 0
	for _, b := range r.manifests {
		n += b.wireSize()
	}
	for _, b := range r.assets.files {
		n += b.wireSize()
	}
	for _, b := range r.fixed {
		n += b.wireSize()
	}
	return n
}

// Has tells whether ServeHTTP answers for the path.
func (r *Release) Has(path string) bool {
	return path == workerPath || path == manifestPath || strings.HasPrefix(path, prefix) || r.fixed[path] != nil || r.pages[path] != nil
}

// ServeHTTP serves the files, the prerendered screens, the service worker and
// the manifest.
func (r *Release) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	path := req.URL.Path
	if strings.HasPrefix(path, prefix) {
		r.assets.ServeHTTP(w, req)
		return
	}
	b := cmp.Or(r.fixed[path], r.pages[path])
	if path == manifestPath {
		if b = r.manifests[req.URL.Query().Get("lang")]; b == nil {
			b = r.manifests[r.lang]
		}
	}
	if b == nil {
		http.NotFound(w, req)
		return
	}
	w.Header().Set("Cache-Control", "no-cache")
	b.serve(w, req)
}

// Over serves the release, and everything else by next.
func (r *Release) Over(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		if r.Has(req.URL.Path) {
			r.ServeHTTP(w, req)
			return
		}
		next.ServeHTTP(w, req)
	})
}

// Withdraw puts, in place of the release's service worker, one that takes
// itself and its caches away from every phone that asks. What people wrote is
// not touched. It is for a release so broken that no update gets through.
func (r *Release) Withdraw() error {
	source, err := embedded.ReadFile(workerSource)
	if err != nil {
		return fmt.Errorf("read service worker: %w", err)
	}
	first, err := json.Marshal(contents{Files: []entry{}, Withdrawn: true})
	if err != nil {
		return fmt.Errorf("list withdrawn release: %w", err)
	}
	r.fixed[workerPath] = worker(first, source)
	return nil
}

func integrity(body []byte) string {
	digest := sha256.Sum256(body)
	return "sha256-" + base64.StdEncoding.EncodeToString(digest[:])
}

// Colours of the app's frame: slate and cobble.
const (
	slate  = "#20282b"
	cobble = "#f3efe6"
)

// manifest follows W3C Web Application Manifest: start_url lies inside scope,
// id is of the same origin.
func (a *Assets) manifest(t Text) ([]byte, error) {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose"`
	}
	var icons []icon
	for _, i := range []icon{
		{"icon-192.png", "192x192", "image/png", "any"},
		{"icon-512.png", "512x512", "image/png", "any"},
		{"icon-maskable-512.png", "512x512", "image/png", "maskable"},
	} {
		if u, ok := a.urls[i.Src]; ok {
			i.Src = u
			icons = append(icons, i)
		}
	}
	short := t.Short
	if short == "" {
		short = t.Name
	}
	return json.Marshal(struct {
		ID          string `json:"id"`
		Name        string `json:"name"`
		ShortName   string `json:"short_name"`
		Description string `json:"description,omitempty"`
		Lang        string `json:"lang"`
		Dir         string `json:"dir"`
		StartURL    string `json:"start_url"`
		Scope       string `json:"scope"`
		Display     string `json:"display"`
		Background  string `json:"background_color"`
		Theme       string `json:"theme_color"`
		Icons       []icon `json:"icons"`
	}{"/", t.Name, short, t.Description, t.Lang, "ltr", "/", "/", "standalone", cobble, slate, icons})
}
