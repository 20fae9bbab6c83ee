//go:build !js

package idb_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"dampstone/e2e/chromium"
)

// TestInBrowser compiles the tests of this package for the browser and runs
// them there, in a worker as the engine does: no imitation of IndexedDB would
// tell what a browser does.
func TestInBrowser(t *testing.T) {
	readSources(t, "*.go", "testdata/*", "../../../flybox/*.go", "../../../flybox/storetest/*.go")
	dir := t.TempDir()
	wasm := filepath.Join(dir, "test.wasm")
	build := exec.Command("go", "test", "-c", "-o", wasm, ".")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("compile: %v\n%s", err, out)
	}
	out, code := chromium.Run(t, wasm, "-test.v")
	t.Log("\n" + out)
	if code != "0" {
		t.Errorf("tests ended with %s", code)
	}
	for _, test := range []string{"TestStoreAndOutbox", "TestAnOlderDatabaseOpens"} {
		if !strings.Contains(out, "--- PASS: "+test) {
			t.Errorf("%s did not run", test)
		}
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
