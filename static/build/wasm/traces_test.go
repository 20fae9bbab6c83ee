package wasm

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dampstone/e2e/chromium"
)

// compiled is the program of testdata, compiled as the engine is.
func compiled(t *testing.T) []byte {
	t.Helper()
	// Read here, so that an earlier result is not taken for one of this source.
	if _, err := os.ReadFile("testdata/program/main.go"); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "program.wasm")
	cmd := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w -buildid=", "-gcflags=all=-l", "-o", out, "./testdata/program")
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if msg, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, msg)
	}
	module, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return module
}

// TestBlankTracesRunsAlike runs a program with its tables and without. What it
// says is the same up to its crash, whose traceback has program counters alone;
// and they lead back to what the untouched program says.
func TestBlankTracesRunsAlike(t *testing.T) {
	module := compiled(t)
	kept := bytes.Clone(module)
	blank, symbols, err := BlankTraces(module)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(module, kept) {
		t.Error("the module given was written to")
	}
	joined, err := JoinData(blank, 256)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d bytes, %d without tables for tracebacks; %d names", len(module), len(joined), len(symbols))
	if 100*len(joined) > 90*len(module) {
		t.Error("little was left out")
	}
	said := map[string]string{}
	for name, module := range map[string][]byte{"untouched": module, "blank": joined} {
		path := filepath.Join(t.TempDir(), "program.wasm")
		if err := os.WriteFile(path, module, 0o600); err != nil {
			t.Fatal(err)
		}
		var code string
		if said[name], code = chromium.Run(t, path); code != "2" {
			t.Errorf("%s: ended with %s", name, code)
		}
	}
	crash := regexp.MustCompile(`goroutine 1 .*\[running\]:`)
	parts, wantParts := crash.Split(said["blank"], 2), crash.Split(said["untouched"], 2)
	if len(parts) != 2 || len(wantParts) != 2 {
		t.Fatalf("no crash in\n%s\nor in\n%s", said["blank"], said["untouched"])
	}
	before, trace := parts[0], parts[1]
	want, wantTrace := wantParts[0], wantParts[1]
	if before != want || !strings.Contains(before, "deferred before the end") {
		t.Errorf("the program says\n%s\nwithout tables, and with them\n%s", before, want)
	}
	names := map[int]string{}
	for _, s := range symbols {
		names[s.Number] = s.Name
	}
	trace, _, _ = strings.Cut(trace, "\n\n")
	wantTrace, _, _ = strings.Cut(wantTrace, "\n\n")
	var got, wantNames []string
	for _, found := range regexp.MustCompile(`pc=0x([0-9a-f]+)`).FindAllStringSubmatch(trace, -1) {
		pc, err := strconv.ParseInt(found[1], 16, 64)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, names[int(pc>>16)])
	}
	for _, found := range regexp.MustCompile(`(?m)^(\S+)\(.*\)\n\t.*pc=0x`).FindAllStringSubmatch(wantTrace, -1) {
		name := found[1]
		if name == "panic" {
			name = "runtime.gopanic" // as it is shown
		}
		wantNames = append(wantNames, name)
	}
	if !slices.Equal(got, wantNames) || !slices.Contains(got, "main.main") {
		t.Errorf("program counters of\n%v\nwant\n%v\nin\n%s", got, wantNames, trace)
	}
}

// Whatever is not as the linker of this Go writes it stops the build.
func TestBlankTracesStopsOnWhatItDoesNotExpect(t *testing.T) {
	module, err := JoinData(compiled(t), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	magic := []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}
	at := bytes.Index(module, magic)
	if at < 0 {
		t.Fatal("no tables of functions in the module")
	}
	for name, change := range map[string]func(m []byte){
		"another magic":          func(m []byte) { m[at] = 0xf0 },
		"pointers of 4 bytes":    func(m []byte) { m[at+7] = 4 },
		"another count":          func(m []byte) { m[at+8]++ },
		"names elsewhere":        func(m []byte) { m[at+32] ^= 8 },
		"tables elsewhere":       func(m []byte) { m[at+56] ^= 8 },
		"functions elsewhere":    func(m []byte) { m[at+64] ^= 8 },
		"the magic stands alone": func(m []byte) { clear(m[at+8 : at+72]) },
	} {
		changed := bytes.Clone(module)
		change(changed)
		if _, _, err := BlankTraces(changed); !errors.Is(err, errTables) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, _, err := BlankTraces(data(0)); !errors.Is(err, errTables) {
		t.Errorf("no data: %v", err)
	}
	if _, _, err := BlankTraces(assemble(nil)); err == nil {
		t.Error("a module without data was changed")
	}
}

func TestLongRunsOfZerosAreLeftOut(t *testing.T) {
	bytes := make([]byte, 2000)
	bytes[3], bytes[700], bytes[701], bytes[900], bytes[1500] = 1, 2, 3, 4, 5
	got := apart([]segment{{1000, bytes}, {5000, make([]byte, 300)}})
	want := []segment{{1000, bytes[:4]}, {1700, bytes[700:901]}, {2500, bytes[1500:1501]}}
	if len(got) != len(want) {
		t.Fatalf("%v", got)
	}
	for i := range got {
		if got[i].at != want[i].at || string(got[i].bytes) != string(want[i].bytes) {
			t.Errorf("segment %d at %d with %d bytes, want %d with %d", i, got[i].at, len(got[i].bytes), want[i].at, len(want[i].bytes))
		}
	}
}
