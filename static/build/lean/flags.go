package lean

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"dampstone/static/build/slim"
	"dampstone/views/catalog"
)

// Flags are the flags of the go command by which a program is compiled as the
// engine is: against the stand-ins, with rewritten views, and with catalogues in
// the form that is read quickly. What they name is written into dir. root is the
// folder of the module.
func Flags(dir, root string) ([]string, error) {
	here := filepath.Join(root, "static", "build", "lean")
	goroot, err := GoRoot()
	if err != nil {
		return nil, err
	}
	flags, err := with(dir, root, "mux", "templ", "uuid")
	if err != nil {
		return nil, err
	}
	std, err := Std(dir, goroot, here)
	if err != nil {
		return nil, fmt.Errorf("stand-ins: %w", err)
	}
	lines, err := copies(dir, filepath.Join(root, "views", "catalog", "*.json"), catalog.Lines)
	if err != nil {
		return nil, fmt.Errorf("catalogues as lines: %w", err)
	}
	maps.Copy(std, lines)
	return flags, addOverlay(dir, std)
}

// Views is Flags for the views alone, by which tests of screens, which need the
// rest whole, can be run with them.
func Views(dir, root string) ([]string, error) { return with(dir, root, "templ") }

// with compiles against the stand-ins for some modules.
func with(dir, root string, names ...string) ([]string, error) {
	modfile, err := Modfile(dir, root, filepath.Join(root, "static", "build", "lean"), names...)
	if err != nil {
		return nil, fmt.Errorf("stand-ins for modules: %w", err)
	}
	slimmed, err := copies(dir, filepath.Join(root, "views", "*_templ.go"), func(code []byte) ([]byte, error) {
		code, _, err := slim.File(code)
		return code, err
	})
	if err != nil {
		return nil, fmt.Errorf("slim views: %w", err)
	}
	return []string{"-modfile", modfile, "-overlay", filepath.Join(dir, "overlay.json")}, addOverlay(dir, slimmed)
}

// GoRoot is the folder of the Go that compiles.
func GoRoot() (string, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	return strings.TrimSpace(string(root)), err
}

// copies writes changed copies of files into dir, and says which stands for
// which.
func copies(dir, files string, change func([]byte) ([]byte, error)) (instead map[string]string, err error) {
	names, err := filepath.Glob(files)
	if err != nil {
		return nil, err
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("no files %s", files)
	}
	instead = map[string]string{}
	for _, name := range names {
		body, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		if body, err = change(body); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		from, err := filepath.Abs(name)
		if err != nil {
			return nil, err
		}
		to := filepath.Join(dir, filepath.Base(name))
		if err := os.WriteFile(to, body, 0o600); err != nil {
			return nil, err
		}
		instead[from] = to
	}
	return instead, nil
}

// addOverlay adds to the file that has the compiler take some files in place of
// others (go help build, -overlay).
func addOverlay(dir string, more map[string]string) error {
	var list struct{ Replace map[string]string }
	name := filepath.Join(dir, "overlay.json")
	before, err := os.ReadFile(name)
	if err == nil {
		err = json.Unmarshal(before, &list)
	} else if errors.Is(err, os.ErrNotExist) {
		list.Replace, err = map[string]string{}, nil
	}
	if err != nil {
		return err
	}
	maps.Copy(list.Replace, more)
	body, err := json.Marshal(list)
	if err != nil {
		return err
	}
	return os.WriteFile(name, body, 0o600)
}
