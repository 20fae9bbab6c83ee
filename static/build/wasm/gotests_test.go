package wasm

import (
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"dampstone/e2e/chromium"
)

// goTests are packages of Go whose own tests use much of the runtime. Not
// reflect: its tests compare the texts of panics, which name a function of the
// traceback.
var goTests = []string{"strings", "sort", "math", "time", "fmt", "encoding/json", "errors", "sync", "strconv"}

// named are tests that look for names of functions in a traceback, which are
// what is left out.
const named = "TestOnceFuncPanicTraceback"

var verdict = regexp.MustCompile(`(?m)^\s*--- (PASS|FAIL|SKIP): (\S+)`)

// TestGosOwnTestsEndAlike runs Go's own tests in a browser, as Go compiles
// them and with what the engine leaves out: each must end as it does untouched
// (some fail there, as they want files). It takes minutes and is run by hand:
//
//	DAMPSTONE_GO_TESTS=1 go test ./static/build/wasm -run Gos -v
func TestGosOwnTestsEndAlike(t *testing.T) {
	if os.Getenv("DAMPSTONE_GO_TESTS") == "" {
		t.Skip("set DAMPSTONE_GO_TESTS to run Go's own tests")
	}
	for _, pkg := range goTests {
		t.Run(pkg, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "tests.wasm")
			build := exec.Command("go", "test", "-c", "-tags", "timetzdata", "-o", path, pkg)
			build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
			if out, err := build.CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			want := verdicts(t, path)
			module, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if module, _, err = BlankTraces(module); err != nil {
				t.Fatal(err)
			}
			if module, err = JoinData(module, 256); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, module, 0o600); err != nil {
				t.Fatal(err)
			}
			got := verdicts(t, path)
			count := map[string]int{}
			for _, name := range slices.Sorted(maps.Keys(want)) {
				count[want[name]]++
				if got[name] != want[name] {
					t.Errorf("%s: %q, untouched %q", name, got[name], want[name])
				}
			}
			t.Logf("%d tests: %v", len(want), count)
			if count["PASS"] == 0 || len(got) != len(want) {
				t.Errorf("%d tests ended, untouched %d", len(got), len(want))
			}
		})
	}
}

// verdicts is how each test of a compiled package ends.
func verdicts(t *testing.T, path string) map[string]string {
	t.Helper()
	out, code := chromium.Run(t, path, "-test.v", "-test.short", "-test.skip", named)
	list := map[string]string{}
	for _, m := range verdict.FindAllStringSubmatch(out, -1) {
		list[m[2]] = m[1]
	}
	if len(list) == 0 {
		t.Fatalf("ended with %s\n%.2000s", code, strings.TrimSpace(out))
	}
	return list
}
