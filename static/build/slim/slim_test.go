package slim

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// left finds what is made and should have gone.
var left = regexp.MustCompile(`JoinStringErrs|GeneratedTemplate|_Err\b|NewAttributeExpression|RenderCSSItems|GetBuffer`)

// TestViews rewrites all views: nothing of what templ makes to look for errors
// is left. That they show the same is tested where they are compiled.
func TestViews(t *testing.T) {
	names, err := filepath.Glob("../../../views/*_templ.go")
	if err != nil || len(names) == 0 {
		t.Fatalf("views: %v, %v", names, err)
	}
	looks := 0
	for _, name := range names {
		code, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out, n, err := File(code)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		looks += n
		if found := left.FindAll(out, -1); len(found) > 0 {
			t.Errorf("%s: %d are left, such as %s", name, len(found), found[0])
		}
	}
	if looks < 3000 {
		t.Errorf("%d looks went", looks)
	}
}

const head = `package views
import "github.com/a-h/templ"
import templruntime "github.com/a-h/templ/runtime"
func V(name string) templ.Component {
	return templruntime.GeneratedTemplate(func(templ_7745c5c3_Input templruntime.GeneratedComponentInput) (templ_7745c5c3_Err error) {
		`

const tail = `
		return nil
	})
}
`

// TestRefusesWhatIsNew stops on code that it does not know, as a new version of
// templ may make.
func TestRefusesWhatIsNew(t *testing.T) {
	const look = "\nif templ_7745c5c3_Err != nil {\n return templ_7745c5c3_Err\n}\n"
	for name, body := range map[string]string{
		"another way to write":        `templ_7745c5c3_Err = templruntime.WriteBytes(templ_7745c5c3_Buffer, nil)` + look,
		"markup with no look":         `templ_7745c5c3_Err = templruntime.WriteString(templ_7745c5c3_Buffer, 1, "<p>")`,
		"text from nowhere":           `_, templ_7745c5c3_Err = templ_7745c5c3_Buffer.WriteString(templ.EscapeString(name))` + look,
		"a value and an error":        "var templ_7745c5c3_Var3 string\ntempl_7745c5c3_Var3, templ_7745c5c3_Err = templ.JoinStringErrs(f())" + strings.Replace(look, "templ_7745c5c3_Err != nil", "templ_7745c5c3_Err == nil", 1),
		"an attribute of another way": "var templ_7745c5c3_Var3 string\ntempl_7745c5c3_Var3, templ_7745c5c3_Err = templruntime.NewAttributeExpression(name).ResolveSrcset(ctx)" + look,
		"a return on the way":         `if name == "" { return templ_7745c5c3_Err }`,
	} {
		if out, _, err := File([]byte(head + body + tail)); err == nil {
			t.Errorf("%s was taken:\n%s", name, out)
		}
	}
	if _, _, err := File([]byte(strings.Replace(head+tail, "return nil", "return ctx.Err()", 1))); err == nil {
		t.Error("a template that ends otherwise was taken")
	}
	if _, _, err := File([]byte("package")); err == nil {
		t.Error("no Go was taken")
	}
}

// TestJoins has what is written one after the other written at once.
func TestJoins(t *testing.T) {
	const look = "\nif templ_7745c5c3_Err != nil {\n return templ_7745c5c3_Err\n}\n"
	out, looks, err := File([]byte(head +
		`templ_7745c5c3_Err = templruntime.WriteString(templ_7745c5c3_Buffer, 1, "<p title=\"x\">")` + look +
		`templ_7745c5c3_Err = templruntime.WriteString(templ_7745c5c3_Buffer, 2, "<b>")` + look +
		"var templ_7745c5c3_Var3 string\ntempl_7745c5c3_Var3, templ_7745c5c3_Err = templ.JoinStringErrs(name)" + look +
		`_, templ_7745c5c3_Err = templ_7745c5c3_Buffer.WriteString(templ.EscapeString(templ_7745c5c3_Var3))` + look +
		`templ_7745c5c3_Err = V(name).Render(ctx, templ_7745c5c3_Buffer)` + look + tail))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`templ_Buffer.Text("<p title=\"x\"><b>", string(name))`, `templ_Buffer.Add(ctx, V(name))`} {
		if !strings.Contains(string(out), want) {
			t.Errorf("no %s in\n%s", want, out)
		}
	}
	if looks != 5 {
		t.Errorf("%d looks", looks)
	}
}
