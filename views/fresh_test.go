package views

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestGeneratedFilesAreFresh compares each committed template file with what
// its source gives.
func TestGeneratedFilesAreFresh(t *testing.T) {
	tool, err := exec.Command("go", "tool", "-n", "templ").Output()
	if err != nil {
		t.Fatalf("find the template compiler: %v", err)
	}
	sources, err := filepath.Glob("*.templ")
	if err != nil || len(sources) == 0 {
		t.Fatalf("no templates: %v", err)
	}
	dir := t.TempDir()
	for _, source := range sources {
		text, err := os.ReadFile(source)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, source), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	compile := exec.Command(strings.TrimSpace(string(tool)), "generate")
	compile.Dir = dir
	if out, err := compile.CombinedOutput(); err != nil {
		t.Fatalf("generate: %v\n%s", err, out)
	}
	for _, source := range sources {
		name := strings.TrimSuffix(source, ".templ") + "_templ.go"
		want, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s was changed after its Go file was made; run: go generate ./views", source)
		}
	}
}
