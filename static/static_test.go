package static

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/andybalholm/brotli"
)

func packed(t *testing.T, body string) []byte {
	t.Helper()
	var buf bytes.Buffer
	w := brotli.NewWriterLevel(&buf, 5)
	if _, err := io.WriteString(w, body); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// engineBody stands for an engine, large enough to be worth packing.
var engineBody = "\x00asm" + strings.Repeat("stone and water ", 4000)

func someFiles(t *testing.T) fstest.MapFS {
	t.Helper()
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	return fstest.MapFS{
		"app.css":             file("main{color:#20282b}"),
		"page.js":             file(`import "./parts.js"; import urls from "./assets.js";`),
		"parts.js":            file(`import urls from "./assets.js";`),
		"engine.js":           file(`importScripts("./wasm_exec.js"); fetch("./engine.wasm"); fetch("./absent.bin");`),
		"sw.js":               file("// not an asset"),
		"static.go":           file("package static"),
		"dist/.gitkeep":       file(""),
		"dist/engine.wasm.br": {Data: packed(t, engineBody)},
		"dist/wasm_exec.js":   file("self.Go = class {};"),
		"dist/icon-192.png":   file("\x89PNG"),
	}
}

func assetsOf(t *testing.T, files fs.FS) *Assets {
	t.Helper()
	a, err := newAssets(files)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func get(h http.Handler, method, path string, header ...string) *http.Response {
	r := httptest.NewRequest(method, path, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Result()
}

func bodyOf(t *testing.T, resp *http.Response) string {
	t.Helper()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestAddressesFollowContent(t *testing.T) {
	files := someFiles(t)
	before := assetsOf(t, files)
	if again := assetsOf(t, files); !slices.Equal(before.URLs(), again.URLs()) {
		t.Fatalf("the same files got other addresses\n%v\n%v", before.URLs(), again.URLs())
	}
	pattern := regexp.MustCompile(`^/static/[a-z0-9_-]+-[0-9a-f]{12}\.(css|js|png|wasm)$`)
	for _, u := range before.URLs() {
		if !pattern.MatchString(u) {
			t.Errorf("address %q carries no hash", u)
		}
	}
	for _, tc := range []struct {
		name, file string
		body       []byte
		change     []string // names that must move; all others must stay
	}{
		{"a style sheet moves, and whoever lists it", "app.css", []byte("main{color:#174f44}"), []string{"app.css", "assets.js", "page.js", "parts.js"}},
		{"an engine moves its worker and the page", "dist/engine.wasm.br", packed(t, engineBody+"!"), []string{"engine.wasm", "engine.js", "assets.js", "page.js", "parts.js"}},
		{"a page script moves alone", "page.js", []byte(`import "./parts.js";`), []string{"page.js"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			files := someFiles(t)
			files[tc.file] = &fstest.MapFile{Data: tc.body}
			after := assetsOf(t, files)
			for name := range before.urls {
				moved := before.URL(name) != after.URL(name)
				if want := slices.Contains(tc.change, name); moved != want {
					t.Errorf("%s: moved %v, want %v (%s, %s)", name, moved, want, before.URL(name), after.URL(name))
				}
			}
		})
	}
}

func TestScriptsNameWhatIsThere(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	body := bodyOf(t, get(a, "GET", a.URL("engine.js")))
	for _, want := range []string{`"` + a.URL("wasm_exec.js") + `"`, `"` + a.URL("engine.wasm") + `"`, `"/static/absent.bin"`} {
		if !strings.Contains(body, want) {
			t.Errorf("engine.js lacks %s:\n%s", want, body)
		}
	}
	table := strings.TrimSuffix(strings.TrimPrefix(bodyOf(t, get(a, "GET", a.URL("assets.js"))), "export default "), ";\n")
	var urls map[string]string
	if err := json.Unmarshal([]byte(table), &urls); err != nil {
		t.Fatalf("assets.js: %v\n%s", err, table)
	}
	for _, name := range []string{"app.css", "engine.js", "engine.wasm", "icon-192.png"} {
		if urls[name] != a.URL(name) {
			t.Errorf("assets.js has %q for %s, want %q", urls[name], name, a.URL(name))
		}
	}
	if got := a.URL("sw.js"); got != "/static/sw.js" || get(a, "GET", got).StatusCode != http.StatusNotFound {
		t.Errorf("the service worker is among the assets, at %s; its scope would be /static/", got)
	}
}

func TestScriptsInACircleAreRefused(t *testing.T) {
	files := someFiles(t)
	files["parts.js"] = &fstest.MapFile{Data: []byte(`import "./page.js";`)}
	if _, err := newAssets(files); err == nil {
		t.Error("page.js and parts.js name each other, which gives neither an address; want an error")
	}
}

func TestWithoutGenerateEverythingButTheEngineIsThere(t *testing.T) {
	files := someFiles(t)
	for name := range files {
		if strings.HasPrefix(name, "dist/") && name != "dist/.gitkeep" {
			delete(files, name)
		}
	}
	a := assetsOf(t, files)
	if a.HasEngine() {
		t.Error("an engine that was not built is said to be there")
	}
	if !assetsOf(t, someFiles(t)).HasEngine() {
		t.Error("an engine that was built is not seen")
	}
	if resp := get(a, "GET", a.URL("engine.wasm")); resp.StatusCode != http.StatusNotFound {
		t.Errorf("engine that was not built: status %d, want 404", resp.StatusCode)
	}
	if resp := get(a, "GET", a.URL("page.js")); resp.StatusCode != http.StatusOK {
		t.Errorf("page.js: status %d", resp.StatusCode)
	}
	for _, u := range a.URLs() {
		if resp := get(a, "GET", u); resp.StatusCode != http.StatusOK {
			t.Errorf("%s is listed but answers %d: an install would fail", u, resp.StatusCode)
		}
	}
}

// TestForms reads the same body in every form; RFC 9110, section 12.5.3, says
// which form a client takes.
func TestForms(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	for _, tc := range []struct {
		name, accept, coding string
	}{
		{"a browser on a good connection", "gzip, deflate, br, zstd", "br"},
		{"a browser on plain HTTP", "gzip, deflate", "gzip"},
		{"nothing said", "", ""},
		{"brotli refused", "br;q=0, gzip", "gzip"},
		{"gzip preferred", "br;q=0.5, gzip;q=0.9", "gzip"},
		{"anything goes", "*", "br"},
		{"anything but brotli", "br;q=0, *;q=0.1", "gzip"},
		{"nothing packed", "identity, *;q=0", ""},
		{"capitals and spaces", " BR ; Q=1 ", "br"},
		{"nonsense", ";;q=x,,", ""},
	} {
		for _, name := range []string{"engine.wasm", "app.css"} {
			t.Run(tc.name+", "+name, func(t *testing.T) {
				resp := get(a, "GET", a.URL(name), "Accept-Encoding", tc.accept)
				if resp.StatusCode != http.StatusOK {
					t.Fatalf("status %d", resp.StatusCode)
				}
				if got := resp.Header.Get("Content-Encoding"); got != tc.coding {
					t.Fatalf("coding %q, want %q", got, tc.coding)
				}
				if resp.Header.Get("Vary") != "Accept-Encoding" {
					t.Error("a cache between would mix the forms up")
				}
				var body io.Reader = resp.Body
				switch tc.coding {
				case "br":
					body = brotli.NewReader(resp.Body)
				case "gzip":
					var err error
					if body, err = gzip.NewReader(resp.Body); err != nil {
						t.Fatal(err)
					}
				}
				got, err := io.ReadAll(body)
				if err != nil {
					t.Fatal(err)
				}
				want := engineBody
				if name == "app.css" {
					want = "main{color:#20282b}"
				}
				if string(got) != want {
					t.Errorf("body differs: %d bytes, want %d", len(got), len(want))
				}
			})
		}
	}
	if resp := get(a, "GET", a.URL("icon-192.png"), "Accept-Encoding", "br"); resp.Header.Get("Content-Encoding") != "" {
		t.Error("a picture was packed twice")
	}
}

func TestHeaders(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	r, err := a.Release([]Page{{"/shell/blank/en", []byte("<!DOCTYPE html>")}})
	if err != nil {
		t.Fatal(err)
	}
	for path, mime := range map[string]string{
		a.URL("engine.wasm"):    "application/wasm", // instantiateStreaming demands it
		a.URL("engine.js"):      "text/javascript; charset=utf-8",
		a.URL("app.css"):        "text/css; charset=utf-8",
		a.URL("icon-192.png"):   "image/png",
		"/sw.js":                "text/javascript; charset=utf-8", // Service Workers demands a JavaScript type
		"/manifest.webmanifest": "application/manifest+json",
		"/shell/blank/en":       "text/html; charset=utf-8",
	} {
		resp := get(r, "GET", path, "Accept-Encoding", "br")
		h := resp.Header
		if resp.StatusCode != http.StatusOK || h.Get("Content-Type") != mime {
			t.Errorf("%s: %d %q, want %q", path, resp.StatusCode, h.Get("Content-Type"), mime)
		}
		cache := "no-cache"
		if strings.HasPrefix(path, "/static/") {
			cache = "public, max-age=31536000, immutable"
		}
		if h.Get("Cache-Control") != cache {
			t.Errorf("%s: Cache-Control %q, want %q", path, h.Get("Cache-Control"), cache)
		}
		if h.Get("Content-Security-Policy") != Policy || h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s lacks its policy", path)
		}
		tag := h.Get("ETag")
		if !regexp.MustCompile(`^"[0-9a-f]{12}(-br)?"$`).MatchString(tag) {
			t.Errorf("%s: ETag %q", path, tag)
		}
		if again := get(r, "GET", path, "Accept-Encoding", "br", "If-None-Match", tag); again.StatusCode != http.StatusNotModified {
			t.Errorf("%s with its own ETag: status %d, want 304", path, again.StatusCode)
		}
		if mime != "image/png" {
			if plain := get(r, "GET", path); plain.Header.Get("ETag") == tag {
				t.Errorf("%s: two forms share the ETag %s", path, tag)
			}
		}
		head := get(r, "HEAD", path)
		if head.StatusCode != http.StatusOK || bodyOf(t, head) != "" {
			t.Errorf("HEAD %s: %d with a body", path, head.StatusCode)
		}
		if post := get(r, "POST", path); post.StatusCode != http.StatusMethodNotAllowed || post.Header.Get("Allow") != "GET, HEAD" {
			t.Errorf("POST %s: %d, Allow %q", path, post.StatusCode, post.Header.Get("Allow"))
		}
	}
	for _, path := range []string{"/static/", "/static/app.css", "/static/../sw.js", "/static/app-000000000000.css", "/shell/blank/xx", "/nothing"} {
		if resp := get(r, "GET", path); resp.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", path, resp.StatusCode)
		}
	}
}

// list reads the first line of a service worker.
func list(t *testing.T, r *Release) contents {
	t.Helper()
	first, _, _ := strings.Cut(bodyOf(t, get(r, "GET", "/sw.js")), "\n")
	text, ok := strings.CutPrefix(first, "self.RELEASE=")
	if !ok {
		t.Fatalf("the worker begins with %.60q", first)
	}
	var c contents
	if err := json.Unmarshal([]byte(strings.TrimSuffix(text, ";")), &c); err != nil {
		t.Fatal(err)
	}
	return c
}

func TestTheWorkersListIsTheRelease(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	pages := []Page{{"/shell/blank/en", []byte("<!DOCTYPE html>blank")}, {"/shell/bank/en-mm", []byte("<!DOCTYPE html>bank")}}
	r, err := a.Release(pages)
	if err != nil {
		t.Fatal(err)
	}
	got := list(t, r)
	if got.Version != r.Version() || len(got.Version) != 16 {
		t.Errorf("version %q, want %q", got.Version, r.Version())
	}
	var urls []string
	for _, f := range got.Files {
		urls = append(urls, f.URL)
		resp := get(r, "GET", f.URL)
		if resp.StatusCode != http.StatusOK {
			t.Errorf("%s is listed but answers %d", f.URL, resp.StatusCode)
		}
		digest := sha256.Sum256([]byte(bodyOf(t, resp)))
		sri := "sha256-" + base64.StdEncoding.EncodeToString(digest[:]) // W3C Subresource Integrity
		if strings.HasPrefix(f.URL, "/static/") {
			sri = "" // the name tells the content
		}
		if f.Integrity != sri {
			t.Errorf("%s: integrity %q, want %q", f.URL, f.Integrity, sri)
		}
	}
	want := append(a.URLs(), "/manifest.webmanifest?lang=en", got.Pages)
	slices.Sort(want)
	slices.Sort(urls)
	if !slices.Equal(urls, want) {
		t.Errorf("listed\n%v\nwant\n%v", urls, want)
	}
	// All screens are in the one file, byte for byte, and each by itself too.
	var together map[string]string
	if err := json.Unmarshal([]byte(bodyOf(t, get(r, "GET", got.Pages))), &together); err != nil {
		t.Fatal(err)
	}
	if len(together) != len(pages) || !slices.Equal(got.Shells, []string{pages[1].Path, pages[0].Path}) {
		t.Errorf("%d screens together, listed %v", len(together), got.Shells)
	}
	for _, p := range pages {
		if together[p.Path] != string(p.Body) || bodyOf(t, get(r, "GET", p.Path)) != string(p.Body) {
			t.Errorf("%s is %q together", p.Path, together[p.Path])
		}
	}
	if r.WireSize() <= 0 {
		t.Error("the release has no size")
	}
}

func TestVersionFollowsEverything(t *testing.T) {
	page := []Page{{"/shell/blank/en", []byte("one")}}
	text := Text{Lang: "en", Name: "Dampstone"}
	version := func(a *Assets, pages []Page, texts ...Text) string {
		t.Helper()
		r, err := a.Release(pages, texts...)
		if err != nil {
			t.Fatal(err)
		}
		return r.Version()
	}
	a := assetsOf(t, someFiles(t))
	base := version(a, page, text)
	if again := version(assetsOf(t, someFiles(t)), page, text); again != base {
		t.Errorf("the same release has two versions, %s and %s", base, again)
	}
	files := someFiles(t)
	files["app.css"] = &fstest.MapFile{Data: []byte("main{}")}
	for what, got := range map[string]string{
		"a style":    version(assetsOf(t, files), page, text),
		"a page":     version(a, []Page{{"/shell/blank/en", []byte("two")}}, text),
		"a path":     version(a, []Page{{"/shell/blank/es", []byte("one")}}, text),
		"a new page": version(a, append(page, Page{"/shell/x", nil}), text),
		"a manifest": version(a, page, Text{Lang: "en", Name: "Damp"}),
	} {
		if got == base {
			t.Errorf("%s changed and the version did not", what)
		}
	}
}

func TestPathsThatCannotBe(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	for name, pages := range map[string][]Page{
		"relative":            {{"shell", nil}},
		"the worker's":        {{"/sw.js", nil}},
		"among the assets":    {{"/static/x", nil}},
		"that of all screens": {{"/shell/pages", nil}},
		"twice":               {{"/shell/a", nil}, {"/shell/a", nil}},
	} {
		if _, err := a.Release(pages); err == nil {
			t.Errorf("%s: page was taken", name)
		}
	}
}

// TestManifest checks what W3C Web Application Manifest asks: start_url and
// id of our origin, start_url inside scope; and what browsers add to let an
// app be installed: name, icons of 192 and 512 px, a display mode (from
// memory).
func TestManifest(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	r, err := a.Release(nil,
		Text{Lang: "en", Name: "Dampstone", Description: "Key and fly box"},
		Text{Lang: "es", Name: "Dampstone", Description: "Clave y caja"})
	if err != nil {
		t.Fatal(err)
	}
	for query, lang := range map[string]string{"": "en", "?lang=es": "es", "?lang=xx": "en"} {
		var m struct {
			ID, Name, Lang, Scope, Display, Description string
			StartURL                                    string `json:"start_url"`
			Icons                                       []struct{ Src, Sizes, Purpose string }
		}
		if err := json.Unmarshal([]byte(bodyOf(t, get(r, "GET", manifestPath+query))), &m); err != nil {
			t.Fatal(err)
		}
		if m.Lang != lang || m.Name == "" || m.Display != "standalone" || m.Description == "" {
			t.Errorf("%q: %+v, want language %s", query, m, lang)
		}
		if !strings.HasPrefix(m.ID, "/") || !strings.HasPrefix(m.Scope, "/") || !strings.HasPrefix(m.StartURL, m.Scope) {
			t.Errorf("%q: id %q, scope %q, start %q", query, m.ID, m.Scope, m.StartURL)
		}
		if len(m.Icons) != 1 || m.Icons[0].Src != a.URL("icon-192.png") {
			t.Errorf("%q: icons %+v, want only those that were built", query, m.Icons)
		}
	}
}

func TestOverLeavesTheRestAlone(t *testing.T) {
	a := assetsOf(t, someFiles(t))
	r, err := a.Release([]Page{{"/shell/blank/en", []byte("blank")}})
	if err != nil {
		t.Fatal(err)
	}
	h := r.Over(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) }))
	for path, want := range map[string]int{
		"/": 418, "/box": 418, "/shell/bank/xx": 418,
		"/sw.js": 200, "/manifest.webmanifest": 200, "/shell/blank/en": 200, "/static/gone.css": 404,
	} {
		if got := get(h, "GET", path).StatusCode; got != want {
			t.Errorf("%s: status %d, want %d", path, got, want)
		}
	}
}

func TestWithdraw(t *testing.T) {
	a, err := NewAssets()
	if err != nil {
		t.Fatal(err)
	}
	r, err := a.Release(nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Withdraw(); err != nil {
		t.Fatal(err)
	}
	resp := get(r, "GET", "/sw.js")
	body := bodyOf(t, resp)
	if resp.Header.Get("Cache-Control") != "no-cache" || !strings.HasPrefix(body, `self.RELEASE={"version":"","files":[],`) || !strings.Contains(body, `"withdrawn":true`) {
		t.Errorf("%v\n%.120s", resp.Header, body)
	}
	for _, forbidden := range []string{"indexedDB", "localStorage"} {
		if strings.Contains(body, forbidden) {
			t.Errorf("the worker touches %s, where a person's data is", forbidden)
		}
	}
}

// TestSourcesKeepThePolicy reads the real sources: nothing may need more than
// the content policy grants, come from elsewhere, or speak one language.
func TestSourcesKeepThePolicy(t *testing.T) {
	scripts, err := fs.Glob(embedded, "*.js")
	if err != nil || len(scripts) < 5 {
		t.Fatalf("scripts %v, %v", scripts, err)
	}
	forbidden := regexp.MustCompile(`https?://|\beval\(|new Function|innerHTML|insertAdjacentHTML|document\.write|\.style\b|setAttribute\("style"`)
	for _, name := range append(scripts, "app.css") {
		body, err := fs.ReadFile(embedded, name)
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(body), "\n") {
			if m := forbidden.FindString(line); m != "" {
				t.Errorf("%s:%d has %q: %s", name, i+1, m, line)
			}
		}
	}
	a, err := NewAssets()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range scripts {
		if name == workerSource {
			continue
		}
		body := bodyOf(t, get(a, "GET", a.URL(name)))
		if strings.Contains(body, `"./`) {
			t.Errorf("%s still names a file without its hash", name)
		}
		for _, u := range regexp.MustCompile(`"(/static/[^"]+)"`).FindAllStringSubmatch(body, -1) {
			built := !strings.HasSuffix(u[1], "/engine.wasm") && !strings.HasSuffix(u[1], "/wasm_exec.js")
			if built && get(a, "GET", u[1]).StatusCode != http.StatusOK {
				t.Errorf("%s names %s, which is not there", name, u[1])
			}
		}
	}
}
