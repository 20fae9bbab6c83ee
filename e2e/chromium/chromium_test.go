package chromium

import (
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// machine is a PATH that holds nothing but an apt-get: one that notes what it
// is asked and installs a browser.
func machine(t *testing.T, installs bool) (dir string) {
	t.Helper()
	dir = t.TempDir()
	script := "#!/bin/sh\necho \"$1\" >> " + dir + "/asked\n"
	if installs {
		script += "[ \"$1\" = install ] && : > " + dir + "/chromium && /bin/chmod 755 " + dir + "/chromium\nexit 0\n"
	}
	if err := os.WriteFile(filepath.Join(dir, "apt-get"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir)
	return dir
}

func asked(t *testing.T, dir string) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(dir, "asked"))
	if err != nil {
		return ""
	}
	return strings.Join(strings.Fields(string(raw)), " ")
}

func TestABrowserIsInstalledOnceWhereThereIsNone(t *testing.T) {
	if os.Geteuid() != 0 {
		t.Skip("only root installs")
	}
	dir := machine(t, true)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			if path, err := Find(); err != nil || path != filepath.Join(dir, "chromium") {
				t.Errorf("found %q, %v", path, err)
			}
		})
	}
	wg.Wait()
	if got := asked(t, dir); got != "update install" {
		t.Errorf("apt-get was asked to %s", got)
	}
}

func TestWhatToDoIsSaid(t *testing.T) {
	if os.Geteuid() == 0 {
		machine(t, false)
		if _, err := Find(); err == nil || !strings.Contains(err.Error(), "not in PATH") {
			t.Errorf("installed in vain: %v", err)
		}
	}
	t.Setenv("PATH", t.TempDir())
	if _, err := Find(); err == nil || !strings.Contains(err.Error(), "install Chromium") {
		t.Errorf("no apt-get: %v", err)
	}
}
