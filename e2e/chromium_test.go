package e2e

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"testing"
)

var chromiumNames = []string{"chromium", "chromium-browser", "google-chrome"}

// findChromium looks for an installed browser, and installs one where that is
// ours to do.
func findChromium() (string, error) {
	look := func() string {
		for _, name := range chromiumNames {
			if path, err := exec.LookPath(name); err == nil {
				return path
			}
		}
		return ""
	}
	if path := look(); path != "" {
		return path, nil
	}
	if _, err := exec.LookPath("apt-get"); err != nil || os.Geteuid() != 0 {
		return "", fmt.Errorf("none of %v is in PATH; install Chromium (on Debian as root: apt-get install chromium), or run with -short", chromiumNames)
	}
	for _, args := range [][]string{{"update"}, {"install", "-y", "chromium"}} {
		fmt.Println("e2e: no browser found, running apt-get", args)
		cmd := exec.Command("apt-get", args...)
		cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
		if err := cmd.Run(); err != nil {
			return "", fmt.Errorf("apt-get %v: %w", args, err)
		}
	}
	if path := look(); path != "" {
		return path, nil
	}
	return "", errors.New("Chromium was installed but is not in PATH")
}

// needBrowser skips a test of the browser in a short run.
func needBrowser(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser; run without -short")
	}
}
