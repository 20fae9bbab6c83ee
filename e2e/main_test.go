package e2e

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"dampstone/e2e/chromium"
	"dampstone/static"
)

// patience bounds how long a test waits for what has to happen. Nothing is
// measured against it.
const patience = 45 * time.Second

var (
	binary      string // the built program
	browserPath string
	shots       = flag.String("shots", os.Getenv("DAMPSTONE_SHOTS"), "folder for pictures of the screens; also DAMPSTONE_SHOTS")
)

func TestMain(m *testing.M) {
	flag.Parse()
	code, err := run(m)
	if err != nil {
		fmt.Fprintln(os.Stderr, "e2e:", err)
		code = 1
	}
	os.Exit(code)
}

func run(m *testing.M) (int, error) {
	tmp, err := os.MkdirTemp("", "dampstone-e2e-")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(tmp)
	binary = filepath.Join(tmp, "dampstone")
	if err := build(binary); err != nil {
		return 0, err
	}
	if !testing.Short() {
		assets, err := static.NewAssets()
		if err != nil {
			return 0, err
		}
		if !assets.HasEngine() {
			return 0, fmt.Errorf("the phone's engine is not built in; run: go generate ./...")
		}
		if browserPath, err = chromium.Find(); err != nil {
			return 0, err
		}
		defer closeShared()
	}
	return m.Run(), nil
}

// build compiles the program as it is delivered.
func build(out string, flags ...string) error {
	args := append([]string{"build", "-o", out}, flags...)
	cmd := exec.Command("go", append(args, "../server")...)
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("build the program: %w\n%s", err, text)
	}
	return nil
}
