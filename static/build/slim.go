package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
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

// slimViews writes slimmed copies of the views into dir and gives the file
// that has the compiler take them in their place (go help build, -overlay).
func slimViews(dir, views string) (overlay string, err error) {
	names, err := filepath.Glob(filepath.Join(views, "*_templ.go"))
	if err != nil {
		return "", err
	}
	instead := map[string]string{}
	for _, name := range names {
		code, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		code, _ = slim(code)
		from, err := filepath.Abs(name)
		if err != nil {
			return "", err
		}
		to := filepath.Join(dir, filepath.Base(name))
		if err := os.WriteFile(to, code, 0o600); err != nil {
			return "", err
		}
		instead[from] = to
	}
	list, err := json.Marshal(map[string]any{"Replace": instead})
	if err != nil {
		return "", err
	}
	overlay = filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		return "", fmt.Errorf("write list of slimmed views: %w", err)
	}
	return overlay, nil
}
