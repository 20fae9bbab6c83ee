package main

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"

	"dampstone/static"
	"dampstone/static/build/wasm"
)

func TestTheLogNamesNoVisitor(t *testing.T) {
	var out bytes.Buffer
	n := nameless{slog.New(slog.NewTextHandler(&out, nil))}
	for _, line := range []string{
		"http: TLS handshake error from 192.0.2.44:51034: remote error: tls: unknown certificate\n",
		"http: TLS handshake error from [2001:db8::7]:51034: EOF\n",
		"http: TLS handshake error from [fe80::1%eth0]:51034: EOF\n",
	} {
		out.Reset()
		if _, err := n.Write([]byte(line)); err != nil {
			t.Fatal(err)
		}
		if got := out.String(); strings.ContainsAny(got, "[]") || strings.Contains(got, "192.") || strings.Contains(got, "2001:") || !strings.Contains(got, "TLS handshake error from visitor: ") {
			t.Errorf("%s became %s", line, got)
		}
	}
}

// TestInstallFitsItsBudget: a phone loads no more than 1.56 MB to need no
// server any more, with the engine packed as for a release: 5 % more than it is.
func TestInstallFitsItsBudget(t *testing.T) {
	const most = 1_558_000 // bytes of packed bodies
	assets, release, err := makeRelease(t.Context(), slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	if !assets.HasEngine() {
		t.Skip("the engine is not built in; run: go generate ./...")
	}
	n := release.WireSize()
	if static.Packing() != "best" {
		here, err := os.ReadFile("../static/dist/engine.wasm.br")
		if err != nil {
			t.Fatal(err)
		}
		raw, err := io.ReadAll(brotli.NewReader(bytes.NewReader(here)))
		if err != nil {
			t.Fatal(err)
		}
		best, err := wasm.Pack(raw, wasm.Best)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d bytes as built here", n)
		n += len(best) - len(here)
	}
	if n > most {
		t.Errorf("the install is %d bytes, more than %d", n, most)
	}
	t.Logf("%d bytes", n)
}

// imports finds what a script imports.
var imports = regexp.MustCompile(`(?m)^import [^"]*"\./([a-z_]+\.js)"`)

// TestEveryModuleIsFetchedAtOnce: the screens name all that the page script
// imports, by way of others too, and nothing else.
func TestEveryModuleIsFetchedAtOnce(t *testing.T) {
	assets, release, err := makeRelease(t.Context(), slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	var follow func(name string)
	follow = func(name string) {
		source, err := os.ReadFile(filepath.Join("..", "static", name))
		if errors.Is(err, fs.ErrNotExist) {
			return // made by the package itself
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range imports.FindAllStringSubmatch(string(source), -1) {
			if url := assets.URL(m[1]); !want[url] {
				want[url] = true
				follow(m[1])
			}
		}
	}
	follow("page.js")
	w := httptest.NewRecorder()
	release.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/shell/blank/en", nil))
	got := map[string]bool{}
	for _, m := range regexp.MustCompile(`<link rel="modulepreload" href="([^"]+)"`).FindAllStringSubmatch(w.Body.String(), -1) {
		got[m[1]] = true
	}
	if len(want) < 8 || !maps.Equal(got, want) {
		t.Errorf("named %v, imported %v", slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want)))
	}
}
