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

// Command is a run of the go command that compiles for the browser as the engine
// is compiled: against the stand-ins, with rewritten views, and with catalogues
// in the form that is read quickly. What it needs is written into dir. root is
// the folder of the module, the first of args what go is to do, such as "build".
func Command(dir, root string, args ...string) (*exec.Cmd, error) {
	here := filepath.Join(root, "static", "build", "lean")
	goroot, err := replaceableGo(dir)
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
	if err := addOverlay(dir, std); err != nil {
		return nil, err
	}
	cmd := exec.Command(filepath.Join(goroot, "bin", "go"), append(append([]string{args[0]}, flags...), args[1:]...)...)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "GOROOT="+goroot, "GOTOOLCHAIN=local")
	return cmd, nil
}

// replaceableGo is Go's folder by a path whose files the go command lets others
// stand for: not beneath the cache of modules, where it puts a Go that it
// fetched itself.
func replaceableGo(dir string) (string, error) {
	out, err := exec.Command("go", "env", "GOROOT", "GOMODCACHE").Output()
	if err != nil {
		return "", err
	}
	goroot, cache, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
	if inside, err := filepath.Rel(cache, goroot); err != nil || inside == ".." || strings.HasPrefix(inside, ".."+string(filepath.Separator)) {
		return goroot, nil
	}
	link := filepath.Join(dir, "go")
	return link, os.Symlink(goroot, link)
}

// Views are the flags that rewrite the views alone, by which tests, which need
// the rest whole, can be run with them.
func Views(dir, root string) ([]string, error) { return with(dir, root, "templ") }

// with compiles against the stand-ins for some modules.
func with(dir, root string, names ...string) ([]string, error) {
	modfile, instead, err := Modfile(dir, root, names...)
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
	maps.Copy(instead, slimmed)
	return []string{"-modfile", modfile, "-overlay", filepath.Join(dir, "overlay.json")}, addOverlay(dir, instead)
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
