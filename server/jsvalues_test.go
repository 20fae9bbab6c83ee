package main

import (
	"go/ast"
	"go/types"
	"os"
	"testing"

	"golang.org/x/tools/go/packages"
)

// syscall/js takes plain strings and numbers, and panics at run time for types
// that are made of them, such as an id: the compiler does not see it. So this
// test looks at all that the engine hands over.
func TestNoNamedTypeIsHandedToJavaScript(t *testing.T) {
	if testing.Short() {
		t.Skip("type-checks the engine")
	}
	list, err := packages.Load(&packages.Config{
		Mode:  packages.NeedName | packages.NeedFiles | packages.NeedSyntax | packages.NeedTypes | packages.NeedTypesInfo | packages.NeedImports | packages.NeedDeps,
		Env:   append(os.Environ(), "GOOS=js", "GOARCH=wasm"),
		Tests: true,
	}, "./engine/...")
	if err != nil {
		t.Fatal(err)
	}
	calls := 0
	for _, p := range list {
		for _, e := range p.Errors {
			t.Fatal(e)
		}
		for _, f := range p.Syntax {
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.CallExpr:
					if !ofJS(p.TypesInfo, n) {
						return true
					}
					calls++
					for _, arg := range n.Args {
						check(t, p, arg)
					}
				case *ast.CompositeLit:
					// Maps and lists of anything are there to be handed over.
					if tv := p.TypesInfo.TypeOf(n); tv != nil && (tv.String() == "map[string]any" || tv.String() == "[]any") {
						for _, el := range n.Elts {
							if kv, ok := el.(*ast.KeyValueExpr); ok {
								el = kv.Value
							}
							check(t, p, el)
						}
					}
				case *ast.AssignStmt:
					for i, left := range n.Lhs {
						index, ok := left.(*ast.IndexExpr)
						if ok && i < len(n.Rhs) && p.TypesInfo.TypeOf(index.X).String() == "map[string]any" {
							check(t, p, n.Rhs[i])
						}
					}
				}
				return true
			})
		}
	}
	if calls < 50 {
		t.Errorf("only %d calls of JavaScript were looked at", calls)
	}
}

// ofJS tells whether a call goes to JavaScript: a method of js.Value that takes
// anything, or js.ValueOf.
func ofJS(info *types.Info, call *ast.CallExpr) bool {
	selector, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	f, ok := info.Uses[selector.Sel].(*types.Func)
	if !ok || f.Pkg() == nil || f.Pkg().Path() != "syscall/js" {
		return false
	}
	switch f.Name() {
	case "Call", "Invoke", "New", "Set", "SetIndex", "ValueOf":
		return true
	}
	return false
}

// check wants a value that syscall/js takes.
func check(t *testing.T, p *packages.Package, e ast.Expr) {
	t.Helper()
	named, ok := types.Unalias(p.TypesInfo.TypeOf(e)).(*types.Named)
	if !ok {
		return
	}
	if _, basic := named.Underlying().(*types.Basic); basic {
		t.Errorf("%s: %s is handed to JavaScript, which panics; convert it", p.Fset.Position(e.Pos()), named)
	}
}
