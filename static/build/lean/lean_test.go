package lean

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"dampstone/data/demo"
	"dampstone/e2e/chromium"
)

const root = "../../.."

// readSources reads what an inner go command compiles, so that the outer one does
// not take an earlier result for this one.
func readSources(t *testing.T) {
	t.Helper()
	for _, dir := range []string{"server", "views", "flybox", "hatchkeys", "static/build"} {
		err := filepath.WalkDir(filepath.Join(root, dir), func(name string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() && (strings.HasSuffix(name, ".go") || strings.HasSuffix(name, ".json")) {
				_, err = os.ReadFile(name)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// goTool runs the go command over the module.
func goTool(t *testing.T, args ...string) string {
	t.Helper()
	return run(t, exec.Command("go", args...))
}

// asEngine runs it as for the engine.
func asEngine(t *testing.T, args ...string) string {
	t.Helper()
	cmd, err := Command(t.TempDir(), root, args...)
	if err != nil {
		t.Fatal(err)
	}
	return run(t, cmd)
}

func run(t *testing.T, cmd *exec.Cmd) string {
	t.Helper()
	readSources(t)
	cmd.Dir = root
	var problems bytes.Buffer
	cmd.Stderr = &problems
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %v\n%s%s", cmd.Args, err, out, problems.String())
	}
	return string(out)
}

// allowed are the packages that may be in the engine, but for this module's own
// and the inner ones of the standard library. Each is there because a screen or
// the ledger needs it; what stands for another has its path. Before a line is
// added, look at what it adds to the download: static/build says.
var allowed = strings.Fields(`
	bufio bytes cmp context crypto crypto/rand crypto/sha256 database/sql/driver embed encoding encoding/base64 encoding/binary encoding/hex encoding/json errors fmt hash hash/fnv
	image/color io io/fs iter log/slog maps math math/bits math/rand mime mime/multipart mime/quotedprintable net/http net/netip net/textproto net/url os path path/filepath
	reflect runtime runtime/debug slices sort strconv strings sync sync/atomic syscall syscall/js time unicode unicode/utf16 unicode/utf8 unique unsafe weak
	github.com/a-h/templ github.com/a-h/templ/runtime github.com/google/uuid github.com/gorilla/mux github.com/lucasb-eyer/go-colorful
`)

// TestWhatIsInTheEngine lists the packages that the engine is made of.
func TestWhatIsInTheEngine(t *testing.T) {
	unused := slices.Clone(allowed)
	for path := range strings.FieldsSeq(asEngine(t, "list", "-deps", "./server/engine")) {
		if strings.HasPrefix(path, "dampstone/") || strings.HasPrefix(path, "internal/") || strings.Contains(path, "/internal/") {
			continue
		}
		if !slices.Contains(allowed, path) {
			t.Errorf("%s is new in the engine", path)
		}
		unused = slices.DeleteFunc(unused, func(p string) bool { return p == path })
	}
	if len(unused) > 0 {
		t.Errorf("no longer in the engine: %v", unused)
	}
}

// TestViewsWithStandIns runs the tests of the views with those that the engine
// has.
func TestViewsWithStandIns(t *testing.T) {
	if testing.Short() {
		t.Skip("runs many tests")
	}
	flags, err := Views(t.TempDir(), root)
	if err != nil {
		t.Fatal(err)
	}
	goTool(t, append(append([]string{"test"}, flags...), "./views")...)
}

// TestEveryScreenInBothHosts has the demo walked here, as the server compiles
// it, and in a browser, as the engine does: every screen in two languages and
// every form, byte for byte.
func TestEveryScreenInBothHosts(t *testing.T) {
	if testing.Short() {
		t.Skip("needs a browser")
	}
	entries, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	var ledger bytes.Buffer
	for _, e := range entries {
		fmt.Fprintf(&ledger, "%s\n", e.Raw())
	}
	// Neither an argument nor an import: the browser's program takes no long
	// arguments, and the demo needs more than the stand-ins have.
	with := "-ldflags=-X main.ledger=" + base64.StdEncoding.EncodeToString(ledger.Bytes())
	dir := t.TempDir()
	const program = "./static/build/lean/walk"
	native, wasm := filepath.Join(dir, "walk"), filepath.Join(dir, "walk.wasm")
	goTool(t, "build", with, "-o", native, program)
	here, err := exec.Command(native).Output()
	if err != nil {
		t.Fatalf("walk here: %v\n%s", err, here)
	}
	asEngine(t, "build", with, "-o", wasm, program)
	there, code := chromium.Run(t, wasm)
	if code != "0" {
		t.Fatalf("walk in the browser ended with %s\n%s", code, there)
	}
	a, b := strings.Split(strings.TrimSpace(string(here)), "\n"), strings.Split(strings.TrimSpace(there), "\n")
	t.Log(a[len(a)-1])
	var screens, forms int
	if _, err := fmt.Sscanf(a[len(a)-1], "screens %d forms %d", &screens, &forms); err != nil || screens < 300 || forms < 60 {
		t.Errorf("%d screens and %d forms, %v: the walk does not get far", screens, forms, err)
	}
	differ := 0
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			if differ++; differ < 6 {
				t.Errorf("on the server %s\nin the browser %s", a[i], b[i])
			}
		}
	}
	if differ > 0 || len(a) != len(b) {
		t.Errorf("%d of %d answers differ; %d in the browser", differ, len(a), len(b))
	}
}

// TestTheSameBytes compiles twice, in different folders: the address of the
// engine is made of its bytes, and a phone that has them must not load them
// again.
func TestTheSameBytes(t *testing.T) {
	var sums [2][32]byte
	for i := range sums {
		out := filepath.Join(t.TempDir(), "engine.wasm")
		asEngine(t, "build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w -buildid=", "-o", out, "./server/engine")
		body, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		sums[i] = sha256.Sum256(body)
	}
	if sums[0] != sums[1] {
		t.Error("the engine is another each time that it is compiled")
	}
}

// TestStopsOnWhatChanged has the build stop where Go is not as it was.
func TestStopsOnWhatChanged(t *testing.T) {
	for name, code := range map[string]string{
		"no such function": "package p\nimport \"net\"\nvar _ = net.IPv4",
		"no such import":   "package p\nfunc Dial() {}",
		"no Go":            "package",
	} {
		if _, err := without([]byte(code), "Dial", "net"); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	out, err := without([]byte("package p\nimport (\n\t\"net\"\n\t\"io\"\n)\nfunc Dial() { net.Dial() }\nfunc (c *Conn) Dial() {}\nvar _ io.Reader"), "Dial", "net")
	if err != nil || strings.Contains(string(out), "net") || !strings.Contains(string(out), "func (c *Conn) Dial()") {
		t.Errorf("%v\n%s", err, out)
	}
	if _, err := Std(t.TempDir(), t.TempDir(), "."); err == nil {
		t.Error("a Go without packages was taken")
	}
	if _, _, err := Modfile(t.TempDir(), t.TempDir()); err == nil {
		t.Error("a module without go.mod was taken")
	}
}
