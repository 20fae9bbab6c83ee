package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"

	"dampstone/views/catalog"
)

// The code that templ makes looks for an error after every piece of text and
// every value, and says in which line of which template it was. Here a value
// is always a string that is there, and text goes into a bufio.Writer, which
// keeps its first error and gives it back at the end (package bufio). So for
// the engine the looks are left out, which takes a fiftieth off its size. The
// server's screens, and what is committed, keep them.
var slimmed = []struct {
	what *regexp.Regexp
	by   string
}{
	{regexp.MustCompile(`(templ_\w+_Var\d+), templ_\w+_Err = templ\.JoinStringErrs\((.*)\)\n` + look(`templ\.Error\{[^}]*\}`)), "$1 = string($2)\n"},
	{regexp.MustCompile(`templ_\w+_Err = templruntime\.WriteString\((templ_\w+_Buffer), \d+, (.*)\)\n` + look(`templ_\w+_Err`)), "$1.WriteString($2)\n"},
	{regexp.MustCompile(`_, templ_\w+_Err = (templ_\w+_Buffer\.WriteString\(.*\))\n` + look(`templ_\w+_Err`)), "$1\n"},
}

// look is how the made code looks for an error.
func look(returns string) string {
	return `\s*if templ_\w+_Err != nil \{\n\s*return ` + returns + `\n\s*\}\n`
}

// slim is one file's code without the looks, and how many there were.
func slim(code []byte) (out []byte, looks int) {
	for _, s := range slimmed {
		looks += len(s.what.FindAllIndex(code, -1))
		code = s.what.ReplaceAll(code, []byte(s.by))
	}
	return code, looks
}

// slimViews writes slimmed copies of the views into dir, and says which file
// stands for which.
func slimViews(dir, views string) (instead map[string]string, err error) {
	return copies(dir, filepath.Join(views, "*_templ.go"), func(code []byte) ([]byte, error) {
		code, _ = slim(code)
		return code, nil
	})
}

// lineCatalogs does the same for the catalogues, in the form that is read
// quickly.
func lineCatalogs(dir, views string) (instead map[string]string, err error) {
	return copies(dir, filepath.Join(views, "catalog", "*.json"), catalog.Lines)
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

// writeOverlay gives the file that has the compiler take some files in place
// of others (go help build, -overlay).
func writeOverlay(dir string, instead ...map[string]string) (overlay string, err error) {
	all := map[string]string{}
	for _, some := range instead {
		maps.Copy(all, some)
	}
	list, err := json.Marshal(map[string]any{"Replace": all})
	if err != nil {
		return "", err
	}
	overlay = filepath.Join(dir, "overlay.json")
	return overlay, os.WriteFile(overlay, list, 0o600)
}
