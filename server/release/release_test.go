package main

import (
	"debug/elf"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
)

// The binary of a release runs where there is nothing else: no libc, no
// certificates, no time zones, as in the container.
func TestAReleaseRunsOnItsOwn(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the server")
	}
	t.Chdir("../..")
	folder := t.TempDir()
	host := runtime.GOOS + "/" + runtime.GOARCH
	if err := build("1.2-test", folder, []string{host}, true); err != nil {
		t.Fatal(err)
	}
	name := "dampstone-1.2-test-" + strings.ReplaceAll(host, "/", "-")
	file := filepath.Join(folder, name)
	sums, err := os.ReadFile(filepath.Join(folder, "SHA256SUMS"))
	if err != nil || !regexp.MustCompile(`^[0-9a-f]{64}  `+regexp.QuoteMeta(name)+"\n$").Match(sums) {
		t.Errorf("checksums %q, %v", sums, err)
	}
	if runtime.GOOS == "linux" {
		f, err := elf.Open(file)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if libs, _ := f.ImportedLibraries(); len(libs) > 0 || f.Section(".interp") != nil {
			t.Errorf("it needs %v", libs)
		}
	}
	cmd := exec.Command(file, "version")
	if os.Getuid() == 0 && runtime.GOOS == "linux" {
		root := t.TempDir()
		if err := os.Rename(file, filepath.Join(root, "dampstone")); err != nil {
			t.Fatal(err)
		}
		cmd = exec.Command("/dampstone", "version")
		bare(cmd, root)
	}
	out, err := cmd.CombinedOutput()
	if err != nil || !strings.HasPrefix(string(out), "Dampstone 1.2-test\n") || strings.Contains(string(out), "not built in") {
		t.Errorf("%v\n%s", err, out)
	}
}

func TestAReleaseSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ name, folder, target string }{
		{"", t.TempDir(), "linux/amd64"}, {"a b", t.TempDir(), "linux/amd64"}, {"1", "", "linux/amd64"},
	} {
		if err := build(c.name, c.folder, []string{c.target}, true); err == nil {
			t.Errorf("%+v: built", c)
		}
	}
}

// The flags in the unit and in the container's recipe are flags of the server.
func TestUnitAndRecipeNameFlagsThatThereAre(t *testing.T) {
	source, err := os.ReadFile("../serve.go")
	if err != nil {
		t.Fatal(err)
	}
	tls, err := os.ReadFile("../tls.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range []string{"dampstone.service", "Containerfile"} {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, line := range strings.Split(string(raw), "\n") {
			if !strings.HasPrefix(line, "ExecStart=") && !strings.HasPrefix(line, "ENTRYPOINT") {
				continue
			}
			for _, m := range regexp.MustCompile(`[ "]-([a-z-]+)`).FindAllStringSubmatch(line, -1) {
				found++
				if !strings.Contains(string(source)+string(tls), `"`+m[1]+`", `) {
					t.Errorf("%s: there is no flag -%s", file, m[1])
				}
			}
		}
		if found < 3 {
			t.Errorf("%s: %d flags", file, found)
		}
	}
}
