// Package kept compares what is worked out with what was kept, for tests: any
// change in a kept number is looked at before it is kept anew with -update.
package kept

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write the kept results anew")

// Same fails the test where got, as JSON, differs from what is kept in
// testdata under name by more than rounding does on another machine.
func Same(t *testing.T, name string, got ...any) {
	t.Helper()
	path := filepath.Join("testdata", name)
	var lines bytes.Buffer
	for _, x := range got {
		raw, err := json.Marshal(x)
		if err != nil {
			t.Fatal(err)
		}
		lines.Write(append(raw, '\n'))
	}
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, lines.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	have, want := json.NewDecoder(&lines), json.NewDecoder(bytes.NewReader(raw))
	for i := range got {
		var g, w any
		if err := have.Decode(&g); err != nil {
			t.Fatal(err)
		}
		if err := want.Decode(&w); err != nil {
			t.Fatalf("%s, line %d: %v", name, i+1, err)
		}
		if d := differs("", g, w); d != "" {
			t.Errorf("%s, line %d: %s", name, i+1, d)
		}
	}
	if want.More() {
		t.Errorf("%s: more is kept", name)
	}
}

// differs is the first place in which two JSON values differ by more than
// rounding does on another machine.
func differs(at string, got, want any) string {
	switch w := want.(type) {
	case float64:
		if g, ok := got.(float64); !ok || math.Abs(g-w) > 1e-7*max(1, math.Abs(w)) {
			return fmt.Sprintf("%s: %v, kept %v", at, got, w)
		}
	case []any:
		g, ok := got.([]any)
		if !ok || len(g) != len(w) {
			return fmt.Sprintf("%s: %d parts, kept %d", at, len(g), len(w))
		}
		for i := range w {
			if d := differs(fmt.Sprintf("%s[%d]", at, i), g[i], w[i]); d != "" {
				return d
			}
		}
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok || len(g) != len(w) {
			return fmt.Sprintf("%s: %v, kept %v", at, got, w)
		}
		for k := range w {
			if d := differs(at+"."+k, g[k], w[k]); d != "" {
				return d
			}
		}
	default:
		if got != want {
			return fmt.Sprintf("%s: %v, kept %v", at, got, want)
		}
	}
	return ""
}
