//go:build !js

package idb_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/launcher"

	"dampstone/e2e/chromium"
)

// TestInBrowser compiles the tests of this package for the browser and runs
// them there, in a worker as the engine does: no imitation of IndexedDB would
// tell what a browser does.
func TestInBrowser(t *testing.T) {
	if testing.Short() {
		t.Skip("needs a browser")
	}
	path, err := chromium.Find()
	if err != nil {
		t.Fatal(err)
	}
	readSources(t, "*.go", "testdata/*", "../../../flybox/*.go", "../../../flybox/storetest/*.go")
	dir := t.TempDir()
	wasm := filepath.Join(dir, "test.wasm")
	build := exec.Command("go", "test", "-c", "-o", wasm, ".")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("compile: %v\n%s", err, out)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}

	type end struct{ code, out string }
	ended := make(chan end, 1)
	mux := http.NewServeMux()
	for path, text := range map[string][2]string{
		"/{$}":       {"text/html", `<!DOCTYPE html><title>tests</title><script src="/page.js"></script>`},
		"/page.js":   {"text/javascript", `new Worker("/worker.js");`},
		"/worker.js": {"text/javascript", workerScript},
	} {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", text[0])
			io.WriteString(w, text[1])
		})
	}
	mux.HandleFunc("GET /wasm_exec.js", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFile(w, r, filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	})
	mux.HandleFunc("GET /test.wasm", func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, wasm) })
	mux.HandleFunc("POST /end/{code}", func(w http.ResponseWriter, r *http.Request) {
		out, _ := io.ReadAll(r.Body)
		ended <- end{r.PathValue("code"), string(out)}
	})
	server := httptest.NewServer(mux)
	defer server.Close()

	l := launcher.New().Bin(path).NoSandbox(true).Headless(true).UserDataDir(filepath.Join(dir, "profile")).
		Set("disable-gpu").Set("disable-background-networking").Set("disable-component-update").Set("disable-sync")
	control, err := l.Launch()
	if err != nil {
		t.Fatal(err)
	}
	defer l.Cleanup() // waits until the browser has let go of its folder
	defer l.Kill()
	browser := rod.New().ControlURL(control)
	if err := browser.Connect(); err != nil {
		t.Fatal(err)
	}
	defer browser.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	page := browser.Context(ctx).MustPage()
	if err := page.Navigate(server.URL + "/"); err != nil {
		t.Fatal(err)
	}
	select {
	case e := <-ended:
		t.Log("\n" + e.out)
		if e.code != "0" {
			t.Errorf("tests ended with %s", e.code)
		}
		for _, test := range []string{"TestStoreAndOutbox", "TestAnOlderDatabaseOpens"} {
			if !strings.Contains(e.out, "--- PASS: "+test) {
				t.Errorf("%s did not run", test)
			}
		}
	case <-ctx.Done():
		t.Fatal(fmt.Errorf("tests in the browser: %w", ctx.Err()))
	}
}

// readSources reads what is compiled by the inner go command, so that the
// outer one does not take an earlier result for this one.
func readSources(t *testing.T, patterns ...string) {
	t.Helper()
	for _, pattern := range patterns {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatalf("sources %s: %v", pattern, err)
		}
		for _, f := range files {
			if _, err := os.ReadFile(f); err != nil {
				t.Fatal(err)
			}
		}
	}
}

const workerScript = `
importScripts("/wasm_exec.js");
let out = "";
const decoder = new TextDecoder();
globalThis.fs.writeSync = (fd, bytes) => { out += decoder.decode(bytes, { stream: true }); return bytes.length; };
const go = new Go();
go.argv = ["test", "-test.v"];
let code = 2;
go.exit = (c) => { code = c; };
WebAssembly.instantiateStreaming(fetch("/test.wasm"), go.importObject)
  .then(({ instance }) => go.run(instance))
  .catch((err) => { out += "\n" + err; })
  .then(() => fetch("/end/" + code, { method: "POST", body: out }));
`
