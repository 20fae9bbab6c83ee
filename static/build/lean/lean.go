// Package lean has the engine compiled against small stand-ins for packages
// that do far more than a phone needs: a quarter of what would be downloaded
// is a client and server of HTTP and the cryptography that they bring, in a
// browser that has both. The sources of the application know nothing of it: they
// import net/http, mux and the rest, and without the stand-ins they compile to
// the same program, only larger.
//
// Folder std has stand-ins for packages of the standard library, under their
// own paths, folder mod those for modules. Each is held to its original by tests
// beside it, and all screens are compared between a server and a browser. What
// a stand-in does not have does not compile, so that nothing is missing unseen.
package lean

import (
	"bytes"
	"errors"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// modules are those that folder mod has stand-ins for.
var modules = map[string]string{
	"mux":   "github.com/gorilla/mux",
	"templ": "github.com/a-h/templ",
	"uuid":  "github.com/google/uuid",
}

// Std says which file stands for which, as the compiler's -overlay takes it
// (go help build), where an empty name is of a file that is not there. goroot
// is Go's own folder, from the folder of this package; changed copies go into
// dir.
func Std(dir, goroot, from string) (instead map[string]string, err error) {
	instead = map[string]string{}
	std := filepath.Join(from, "std")
	err = filepath.WalkDir(std, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !isSource(name) {
			return err
		}
		rel, err := filepath.Rel(std, name)
		if err != nil {
			return err
		}
		original := filepath.Join(goroot, "src", rel)
		others, err := filepath.Glob(filepath.Join(filepath.Dir(original), "*.go"))
		if err != nil {
			return err
		}
		if len(others) == 0 {
			return fmt.Errorf("no package that %s stands in for", name)
		}
		for _, other := range others {
			if _, known := instead[other]; !known { // or it is another of ours
				instead[other] = ""
			}
		}
		instead[original], err = filepath.Abs(name)
		return err
	})
	if err != nil {
		return nil, err
	}
	// A test that the certified mode makes of itself at every start.
	cast := filepath.Join(goroot, "src", "crypto", "internal", "fips140", "sha256", "cast.go")
	if _, err := os.Stat(cast); err != nil {
		return nil, err
	}
	instead[cast] = ""
	for _, e := range edits {
		file := filepath.Join(goroot, "src", filepath.FromSlash(e.file))
		body, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		if body, err = e.change(body); err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		instead[file] = filepath.Join(dir, path.Base(e.file))
		if err := os.WriteFile(instead[file], body, 0o600); err != nil {
			return nil, err
		}
	}
	return instead, nil
}

// edits are the files of the standard library of which a little is left out.
var edits = []struct {
	file   string
	change func(code []byte) ([]byte, error)
}{
	// Headers are read in the engine, connections are not made.
	{"net/textproto/textproto.go", func(code []byte) ([]byte, error) { return without(code, "Dial", "net") }},
	// Nobody follows the scheduler of a phone's engine.
	{"runtime/traceruntime.go", func(code []byte) ([]byte, error) {
		return never(code, "traceEnabled", "traceAllocFreeEnabled", "traceShuttingDown", "ok")
	}},
}

func isSource(name string) bool {
	return strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go")
}

// without is code without one of its functions and the import that it alone
// needs.
func without(code []byte, function, imported string) ([]byte, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "", code, 0)
	if err != nil {
		return nil, err
	}
	found, dropped := false, false
	var decls []ast.Decl
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil && d.Name.Name == function {
				found = true
				continue
			}
		case *ast.GenDecl:
			var specs []ast.Spec
			for _, s := range d.Specs {
				if i, ok := s.(*ast.ImportSpec); ok && i.Path.Value == strconv.Quote(imported) {
					dropped = true
					continue
				}
				specs = append(specs, s)
			}
			d.Specs = specs
		}
		decls = append(decls, d)
	}
	if !found || !dropped {
		return nil, fmt.Errorf("function %s or import %s is not there", function, imported)
	}
	file.Decls = decls
	var out bytes.Buffer
	err = format.Node(&out, set, file)
	return out.Bytes(), err
}

// never is code in which some functions and methods, which tell whether
// something is on, give false.
func never(code []byte, functions ...string) ([]byte, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "", code, parser.ParseComments)
	if err != nil {
		return nil, err
	}
	found := 0
	for _, d := range file.Decls {
		f, ok := d.(*ast.FuncDecl)
		if !ok || !slices.Contains(functions, f.Name.Name) {
			continue
		}
		if r := f.Type.Results; f.Type.Params.NumFields() > 0 || r.NumFields() != 1 || fmt.Sprint(r.List[0].Type) != "bool" {
			return nil, fmt.Errorf("function %s tells something else", f.Name.Name)
		}
		found++
		f.Body = &ast.BlockStmt{List: []ast.Stmt{&ast.ReturnStmt{Results: []ast.Expr{ast.NewIdent("false")}}}}
	}
	if found != len(functions) {
		return nil, fmt.Errorf("%d of the functions %v are there", found, functions)
	}
	var out bytes.Buffer
	err = format.Node(&out, set, file)
	return out.Bytes(), err
}

// Modfile writes a copy of the module's go.mod, and of go.sum, into dir, in
// which stand-ins replace modules, by their folders in mod (go help build,
// -modfile). root is the folder of the module. Their own go.mod, which would
// make them modules to everybody, is only written into dir: instead says where
// it has to stand. The paths are the same on every machine, since the linker
// writes them down.
func Modfile(dir, root string, names ...string) (modfile string, instead map[string]string, err error) {
	mod, err := os.ReadFile(filepath.Join(root, "go.mod"))
	if err != nil {
		return "", nil, err
	}
	sum, err := os.ReadFile(filepath.Join(root, "go.sum"))
	if err != nil {
		return "", nil, err
	}
	instead = map[string]string{}
	for _, name := range names {
		module := modules[name]
		if !bytes.Contains(mod, []byte(module+" v")) {
			return "", nil, fmt.Errorf("module %s is not required", module)
		}
		folder := "static/build/lean/mod/" + name
		mod = fmt.Appendf(mod, "\nreplace %s => ./%s\n", module, folder)
		place, err := filepath.Abs(filepath.Join(root, filepath.FromSlash(folder), "go.mod"))
		if err != nil {
			return "", nil, err
		}
		instead[place] = filepath.Join(dir, name+".mod")
		if err := os.WriteFile(instead[place], []byte("module "+module+"\n\ngo 1.26\n"), 0o600); err != nil {
			return "", nil, err
		}
	}
	modfile = filepath.Join(dir, "engine.mod")
	return modfile, instead, errors.Join(
		os.WriteFile(modfile, mod, 0o600),
		os.WriteFile(filepath.Join(dir, "engine.sum"), sum, 0o600),
	)
}
