package main

import (
	"go/format"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
)

// errorLooks finds what slim should have left out.
var errorLooks = regexp.MustCompile(`JoinStringErrs|templruntime\.WriteString|_, templ_\w+_Err = templ_\w+_Buffer\.WriteString`)

// TestViewsAreSlimmed holds slim to the code that this version of templ makes:
// the result has none of the looks, is Go, and passes the tests of the views,
// among them those of what a screen says.
func TestViewsAreSlimmed(t *testing.T) {
	names, err := filepath.Glob("../../views/*_templ.go")
	if err != nil || len(names) == 0 {
		t.Fatalf("views: %v, %v", names, err)
	}
	looks := 0
	for _, name := range names {
		code, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out, n := slim(code)
		looks += n
		if left := errorLooks.FindAll(out, -1); len(left) > 0 {
			t.Errorf("%s: %d looks are left, such as %s", name, len(left), left[0])
		}
		if _, err := format.Source(out); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if looks < 1000 {
		t.Errorf("%d looks were left out", looks)
	}
	dir := t.TempDir()
	slimmed, err := slimViews(dir, "../../views")
	if err != nil {
		t.Fatal(err)
	}
	overlay, err := writeOverlay(dir, slimmed)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("go", "test", "-overlay", overlay, "-run", "Screen|Day|Box|Trip|Bench|Bank", "./server/app", "./views")
	cmd.Dir = "../.."
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("with slimmed views: %v\n%s", err, out)
	}
}
