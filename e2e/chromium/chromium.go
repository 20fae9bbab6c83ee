// Package chromium finds the browser that tests run in.
package chromium

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
)

var names = []string{"chromium", "chromium-browser", "google-chrome"}

// Find is the path of an installed browser. Where there is none, it installs
// Debian's if that is ours to do: as root, on Debian.
func Find() (string, error) {
	if path := look(); path != "" {
		return path, nil
	}
	if _, err := exec.LookPath("apt-get"); err != nil || os.Geteuid() != 0 {
		return "", fmt.Errorf("none of %v is in PATH; install Chromium (on Debian as root: apt-get install chromium), or run with -short", names)
	}
	// Tests of several packages run at once, and apt-get does not wait for
	// another.
	lock, err := os.OpenFile(filepath.Join(os.TempDir(), "dampstone-chromium.lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return "", fmt.Errorf("install Chromium: %w", err)
	}
	defer lock.Close() // and with it the lock goes
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		return "", fmt.Errorf("install Chromium: %w", err)
	}
	if path := look(); path != "" {
		return path, nil
	}
	for _, args := range [][]string{{"update"}, {"install", "-y", "chromium"}} {
		fmt.Println("no browser found, running apt-get", args)
		cmd := exec.Command("apt-get", args...)
		cmd.Env = append(os.Environ(), "DEBIAN_FRONTEND=noninteractive")
		cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
		if err := cmd.Run(); err != nil {
			return "", fmt.Errorf("apt-get %v: %w", args, err)
		}
	}
	if path := look(); path != "" {
		return path, nil
	}
	return "", errors.New("the installed Chromium is not in PATH")
}

func look() string {
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}
