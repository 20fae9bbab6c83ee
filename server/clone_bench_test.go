package main

import (
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// BenchmarkCloneToServing is the way of somebody new, from a clone to the
// first screen, with nothing compiled yet. The modules are here already: how
// fast they come is not ours.
func BenchmarkCloneToServing(b *testing.B) {
	here, err := filepath.Abs("..")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		dir := b.TempDir()
		run := func(in, name string, args ...string) {
			b.Helper()
			cmd := exec.Command(name, args...)
			cmd.Dir = in
			// The packed engine is remembered beside compiled packages, see
			// static/build.
			cmd.Env = append(os.Environ(), "GOCACHE="+filepath.Join(dir, "cache"), "XDG_CACHE_HOME="+filepath.Join(dir, "cache"))
			if out, err := cmd.CombinedOutput(); err != nil {
				b.Fatalf("%s %v: %v\n%s", name, args, err, out)
			}
		}
		clone := filepath.Join(dir, "clone")
		run(dir, "git", "clone", "-q", here, clone)
		run(clone, "go", "generate", "./...")
		run(clone, "go", "build", "-o", "served", "./server")
		p := start(b, filepath.Join(clone, "served"), "-addr", "127.0.0.1:0", "-demo")
		res, err := http.Get(p.url + "/")
		if err != nil {
			b.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode != http.StatusOK {
			b.Fatalf("the first screen: status %d", res.StatusCode)
		}
		p.kill()
	}
}
