// Package slim rewrites the code that templ makes from views into less code
// that shows the same, for the engine. What is made looks for an error after
// every piece of text and every value, and says in which line of which template
// it was; here text goes into memory, which does not fail, and what a component
// reports is kept by the buffer to the end. The server's screens, and what is
// committed, are as templ makes them.
//
// The rewritten code needs package lean/mod/templ in place of templ. What this
// package does not know it refuses, so that a new version of templ cannot slip
// something past it.
package slim

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// File is one file of made code, rewritten, and how many looks for an error
// went.
func File(code []byte) (out []byte, looks int, err error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "", code, 0)
	if err != nil {
		return nil, 0, err
	}
	s := &slimmer{set: set}
	file.Decls = slices.DeleteFunc(file.Decls, isUse)
	for _, d := range file.Decls {
		if f, ok := d.(*ast.FuncDecl); ok && f.Body != nil {
			f.Body.List = s.list(f.Body.List)
		}
	}
	if s.err != nil {
		return nil, 0, s.err
	}
	var buf bytes.Buffer
	if err := format.Node(&buf, set, file); err != nil {
		return nil, 0, err
	}
	return buf.Bytes(), s.looks, nil
}

// isUse tells "var _ = templruntime.GeneratedTemplate", which has an import used.
func isUse(d ast.Decl) bool {
	g, ok := d.(*ast.GenDecl)
	if !ok || g.Tok != token.VAR {
		return false
	}
	spec := g.Specs[0].(*ast.ValueSpec)
	return len(spec.Values) == 1 && name(spec.Values[0]) == "templruntime.GeneratedTemplate"
}

// made is how templ begins the names that it makes.
var made = regexp.MustCompile(`^templ_[0-9a-f]+_`)

// name is a name, or a dotted one, with what templ puts before it shortened to
// an underline; empty for what is no name.
func name(n ast.Node) string {
	switch n := n.(type) {
	case *ast.Ident:
		return made.ReplaceAllString(n.Name, "_")
	case *ast.SelectorExpr:
		if left := name(n.X); left != "" {
			return left + "." + n.Sel.Name
		}
	}
	return ""
}

// call is the name of what is called, and with what.
func call(n ast.Node) (function string, args []ast.Expr) {
	if c, ok := n.(*ast.CallExpr); ok {
		return name(c.Fun), c.Args
	}
	return "", nil
}

// assigned parts "a, b = f(…)" into "a b", and f with what it is called with.
func assigned(n ast.Stmt) (to, function string, args []ast.Expr, value ast.Expr) {
	a, ok := n.(*ast.AssignStmt)
	if !ok || len(a.Rhs) != 1 {
		return "", "", nil, nil
	}
	var left []string
	for _, l := range a.Lhs {
		left = append(left, name(l))
	}
	function, args = call(a.Rhs[0])
	return strings.Join(left, " "), function, args, a.Rhs[0]
}

type slimmer struct {
	set   *token.FileSet
	looks int
	err   error // the first
}

func (s *slimmer) refuse(n ast.Node, why string) {
	if s.err == nil {
		var text bytes.Buffer
		format.Node(&text, s.set, n)
		s.err = fmt.Errorf("%s:\n%s", why, text.String())
	}
}

// list rewrites statements.
func (s *slimmer) list(in []ast.Stmt) []ast.Stmt {
	out := &output{}
	value := map[string]ast.Expr{} // of the strings that templ names before it writes them
	for i := 0; i < len(in); i++ {
		st := in[i]
		// Where an error is looked for right after, there is one thing less.
		look := func() {
			if i+1 < len(in) && isLook(in[i+1]) {
				s.looks++
				i++
				return
			}
			s.refuse(st, "no look for an error after")
		}
		if stringDeclared(st) {
			continue
		}
		to, function, args, right := assigned(st)
		held, isHeld := "", false
		if names := strings.Fields(to); len(names) == 2 && names[1] == "_Err" && strings.HasPrefix(names[0], "_Var") {
			held, isHeld = names[0], true
		}
		switch {
		case s.dropped(st):
			if i+1 < len(in) && isLook(in[i+1]) {
				i++
			}
		case to == "_Err" && function == "templruntime.WriteString" && name(args[0]) == "_Buffer":
			text, err := strconv.Unquote(args[2].(*ast.BasicLit).Value)
			if err != nil {
				s.refuse(st, err.Error())
			}
			out.markup(text)
			look()
		case isHeld && function == "templ.JoinStringErrs" && len(args) == 1:
			value[held] = args[0]
			look()
		case isHeld && attribute(right) != nil:
			value[held] = attribute(right)
			look()
		case to == "_ _Err" && function == "_Buffer.WriteString" && len(args) == 1:
			held := args[0]
			if f, of := call(held); f == "templ.EscapeString" {
				held = of[0]
			}
			of, known := value[name(held)]
			if !known {
				s.refuse(st, "text of unknown origin")
			}
			out.text(of)
			look()
		case to == "_Err" && isRender(right):
			c := right.(*ast.CallExpr)
			out.flush()
			out.add(expr("templ_Buffer.Add", c.Args[0], c.Fun.(*ast.SelectorExpr).X))
			look()
		case strings.HasPrefix(to, "_Var") && function == "templruntime.GeneratedTemplate":
			a := st.(*ast.AssignStmt)
			a.Rhs[0] = s.template(args[0])
			out.add(a)
		case isElement(st):
			out.splice(s.list(st.(*ast.BlockStmt).List))
		default:
			out.add(s.statement(st))
		}
	}
	return out.done()
}

// statement rewrites what is inside a statement of the view's own.
func (s *slimmer) statement(st ast.Stmt) ast.Stmt {
	switch st := st.(type) {
	case *ast.BlockStmt:
		st.List = s.list(st.List)
	case *ast.IfStmt:
		st.Body.List = s.list(st.Body.List)
		if st.Else != nil {
			st.Else = s.statement(st.Else)
		}
	case *ast.ForStmt:
		st.Body.List = s.list(st.Body.List)
	case *ast.RangeStmt:
		st.Body.List = s.list(st.Body.List)
	case *ast.SwitchStmt:
		for _, c := range st.Body.List {
			c := c.(*ast.CaseClause)
			c.Body = s.list(c.Body)
		}
	case *ast.ReturnStmt:
		if len(st.Results) == 1 {
			if f, args := call(st.Results[0]); f == "templruntime.GeneratedTemplate" {
				st.Results[0] = s.template(args[0])
				break
			}
		}
		s.own(st)
	default:
		s.own(st)
	}
	return st
}

// own refuses what still has to do with what templ makes.
func (s *slimmer) own(st ast.Stmt) {
	ast.Inspect(st, func(n ast.Node) bool {
		switch name(n) {
		case "_Err", "_Buffer", "_W", "_Input", "templruntime.GeneratedTemplate":
			s.refuse(st, "code that is not known")
		}
		return true
	})
}

// template rewrites the function behind a view.
func (s *slimmer) template(of ast.Expr) ast.Expr {
	f, ok := of.(*ast.FuncLit)
	if !ok {
		s.refuse(of, "template that is no function")
		return of
	}
	list := f.Body.List
	if r, ok := list[len(list)-1].(*ast.ReturnStmt); !ok || len(r.Results) != 1 || name(r.Results[0]) != "nil" {
		s.refuse(f.Body, "template that does not return nil")
		return of
	}
	return expr("templruntime.Template", &ast.FuncLit{
		Type: &ast.FuncType{Params: &ast.FieldList{List: []*ast.Field{
			{Names: []*ast.Ident{ast.NewIdent("ctx")}, Type: dotted("templruntime.Context")},
			{Names: []*ast.Ident{ast.NewIdent("templ_Buffer")}, Type: &ast.StarExpr{X: dotted("templruntime.Buffer")}},
		}}},
		Body: &ast.BlockStmt{List: s.list(list[:len(list)-1])},
	}).X
}

// dropped tells what the rewritten code has no need of: how a template begins,
// buffers of an element that may have scripts, style sheets of its own.
func (s *slimmer) dropped(st ast.Stmt) bool {
	switch st := st.(type) {
	case *ast.IfStmt:
		if u, ok := st.Cond.(*ast.UnaryExpr); ok && u.Op == token.NOT && name(u.X) == "_IsBuffer" {
			return true
		}
		if b, ok := st.Cond.(*ast.BinaryExpr); ok && name(b.X) == "_CtxErr" {
			return true
		}
	case *ast.ExprStmt:
		f, _ := call(st.X)
		return f == "templ.ReleaseBuffer"
	case *ast.DeclStmt:
		v := st.Decl.(*ast.GenDecl).Specs[0]
		spec, ok := v.(*ast.ValueSpec)
		return ok && name(spec.Names[0]) == "_ElementScripts"
	}
	a, ok := st.(*ast.AssignStmt)
	if ok && len(a.Lhs) == 2 && name(a.Lhs[0]) == "_W" && name(a.Lhs[1]) == "ctx" {
		return true
	}
	switch to, function, _, value := assigned(st); to {
	case "_Buffer _IsBuffer":
		return function == "templruntime.GetBuffer"
	case "ctx":
		return function == "templ.InitializeContext"
	case "_ElementWriter":
		return name(value) == "_Buffer"
	case "_Buffer":
		return function == "templ.GetBuffer"
	case "_Err":
		return function == "templ.RenderCSSItems" || function == "templ.RenderScriptItems"
	case "_ _Err":
		return function == "_Buffer.WriteTo"
	}
	return false
}

// isLook tells "if _Err != nil { return … }".
func isLook(st ast.Stmt) bool {
	i, ok := st.(*ast.IfStmt)
	if !ok || i.Init != nil || i.Else != nil || len(i.Body.List) != 1 {
		return false
	}
	b, ok := i.Cond.(*ast.BinaryExpr)
	_, returns := i.Body.List[0].(*ast.ReturnStmt)
	return ok && returns && b.Op == token.NEQ && name(b.X) == "_Err" && name(b.Y) == "nil"
}

// isElement tells the block of an element that may have scripts.
func isElement(st ast.Stmt) bool {
	b, ok := st.(*ast.BlockStmt)
	if !ok || len(b.List) == 0 {
		return false
	}
	to, _, _, _ := assigned(b.List[0])
	return to == "_ElementWriter"
}

// isRender tells that a component is shown.
func isRender(e ast.Expr) bool {
	c, ok := e.(*ast.CallExpr)
	if !ok || len(c.Args) != 2 || name(c.Args[1]) != "_Buffer" {
		return false
	}
	sel, ok := c.Fun.(*ast.SelectorExpr)
	return ok && sel.Sel.Name == "Render"
}

// stringDeclared tells "var _Var3 string", which is written to once and read
// once.
func stringDeclared(st ast.Stmt) bool {
	d, ok := st.(*ast.DeclStmt)
	if !ok {
		return false
	}
	spec, ok := d.Decl.(*ast.GenDecl).Specs[0].(*ast.ValueSpec)
	return ok && len(spec.Values) == 0 && strings.HasPrefix(name(spec.Names[0]), "_Var") && name(spec.Type) == "string"
}

// attribute is the value of an attribute, nil for what is none.
func attribute(e ast.Expr) ast.Expr {
	c, ok := e.(*ast.CallExpr)
	if !ok {
		return nil
	}
	how, ok := c.Fun.(*ast.SelectorExpr)
	if !ok {
		return nil
	}
	f, of := call(how.X)
	if f != "templruntime.NewAttributeExpression" || len(of) != 1 {
		return nil
	}
	switch how.Sel.Name {
	case "Resolve":
		return of[0]
	case "ResolveURL":
		return expr("templruntime.Address", of[0]).X
	}
	return nil
}

// output takes statements, and joins what is written one after the other.
type output struct {
	list    []ast.Stmt
	pending string
}

func (o *output) markup(text string) { o.pending += text }

func (o *output) text(of ast.Expr) {
	markup := o.pending
	o.pending = ""
	o.list = append(o.list, expr("templ_Buffer.Text", literal(markup), expr("string", of).X))
}

func (o *output) flush() {
	if o.pending != "" {
		o.list = append(o.list, expr("templ_Buffer.Markup", literal(o.pending)))
		o.pending = ""
	}
}

func (o *output) add(st ast.Stmt) {
	o.flush()
	o.list = append(o.list, st)
}

func (o *output) splice(list []ast.Stmt) {
	o.flush()
	o.list = append(o.list, list...)
}

func (o *output) done() []ast.Stmt {
	o.flush()
	return o.list
}

func literal(text string) ast.Expr {
	return &ast.BasicLit{Kind: token.STRING, Value: strconv.Quote(text)}
}

// expr is a call as a statement.
func expr(function string, args ...ast.Expr) *ast.ExprStmt {
	return &ast.ExprStmt{X: &ast.CallExpr{Fun: dotted(function), Args: args}}
}

func dotted(path string) ast.Expr {
	left, right, found := strings.Cut(path, ".")
	if !found {
		return ast.NewIdent(path)
	}
	return &ast.SelectorExpr{X: ast.NewIdent(left), Sel: ast.NewIdent(right)}
}
