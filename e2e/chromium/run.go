package chromium

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/launcher"
)

// Run runs a program that was compiled for js/wasm, in a worker of a browser as
// the engine does, and gives what it wrote and the code with which it ended.
func Run(t *testing.T, program string, args ...string) (out string, code string) {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser")
	}
	path, err := Find()
	if err != nil {
		t.Fatal(err)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	argv, err := json.Marshal(append([]string{"program"}, args...))
	if err != nil {
		t.Fatal(err)
	}
	type end struct{ code, out string }
	ended := make(chan end, 1)
	mux := http.NewServeMux()
	for path, text := range map[string][2]string{
		"/{$}":       {"text/html", `<!DOCTYPE html><title>tests</title><script src="/page.js"></script>`},
		"/page.js":   {"text/javascript", `new Worker("/worker.js");`},
		"/worker.js": {"text/javascript", fmt.Sprintf(workerScript, argv)},
	} {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", text[0])
			io.WriteString(w, text[1])
		})
	}
	mux.HandleFunc("GET /wasm_exec.js", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFile(w, r, filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	})
	mux.HandleFunc("GET /program.wasm", func(w http.ResponseWriter, r *http.Request) { http.ServeFile(w, r, program) })
	mux.HandleFunc("POST /end/{code}", func(w http.ResponseWriter, r *http.Request) {
		out, _ := io.ReadAll(r.Body)
		ended <- end{r.PathValue("code"), string(out)}
	})
	server := httptest.NewServer(mux)
	defer server.Close()

	l := launcher.New().Bin(path).NoSandbox(true).Headless(true).UserDataDir(filepath.Join(t.TempDir(), "profile")).
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
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Minute)
	defer cancel()
	page := browser.Context(ctx).MustPage()
	if err := page.Navigate(server.URL + "/"); err != nil {
		t.Fatal(err)
	}
	select {
	case e := <-ended:
		return e.out, e.code
	case <-ctx.Done():
		t.Fatal(fmt.Errorf("program in the browser: %w", ctx.Err()))
	}
	return "", ""
}

const workerScript = `
importScripts("/wasm_exec.js");
let out = "";
const decoder = new TextDecoder();
globalThis.fs.writeSync = (fd, bytes) => { out += decoder.decode(bytes, { stream: true }); return bytes.length; };
const go = new Go();
go.argv = %s;
let code = 2;
go.exit = (c) => { code = c; };
WebAssembly.instantiateStreaming(fetch("/program.wasm"), go.importObject)
  .then(({ instance }) => go.run(instance))
  .catch((err) => { out += "\n" + err; })
  .then(() => fetch("/end/" + code, { method: "POST", body: out }));
`
