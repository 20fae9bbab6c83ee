package wasm

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// image is the memory that a module starts from, and the rest of the module.
func image(t *testing.T, module []byte) (memory []byte, segments int, rest []section) {
	t.Helper()
	list, err := sections(module)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		switch s.id {
		case sectionDataCount:
		case sectionData:
			data, err := readData(s.body)
			if err != nil {
				t.Fatal(err)
			}
			segments = len(data)
			for _, d := range data {
				if need := int(d.at) + len(d.bytes); need > len(memory) {
					memory = append(memory, make([]byte, need-len(memory))...)
				}
				copy(memory[d.at:], d.bytes)
			}
		default:
			rest = append(rest, s)
		}
	}
	return memory, segments, rest
}

// TestJoinDataKeepsTheMemory compiles a program and compares what the module
// starts from before and after. The browser tests run the whole engine.
func TestJoinDataKeepsTheMemory(t *testing.T) {
	dir := t.TempDir()
	source := filepath.Join(dir, "main.go")
	if err := os.WriteFile(source, []byte("package main\n\nimport \"fmt\"\n\nvar a = [4096]byte{7, 4000: 9}\n\nfunc main() { fmt.Println(a[4000], \"Sorrel\") }\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "main.wasm")
	cmd := exec.Command("go", "build", "-o", out, source)
	cmd.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if msg, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, msg)
	}
	module, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	kept := bytes.Clone(module)
	joined, err := JoinData(module, 256)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(module, kept) {
		t.Error("the module given was written to")
	}
	before, many, restBefore := image(t, module)
	after, few, restAfter := image(t, joined)
	if !bytes.Equal(before, after) {
		t.Errorf("memories differ: %d and %d bytes", len(before), len(after))
	}
	if few*10 > many {
		t.Errorf("%d segments became %d", many, few)
	}
	if len(restBefore) != len(restAfter) {
		t.Fatalf("%d other sections became %d", len(restBefore), len(restAfter))
	}
	for i := range restBefore {
		if restBefore[i].id != restAfter[i].id || !bytes.Equal(restBefore[i].body, restAfter[i].body) {
			t.Errorf("section %d differs", restBefore[i].id)
		}
	}
}

// data is a module with a data section alone.
func data(body ...byte) []byte {
	return assemble([]section{{sectionData, body}})
}

func TestJoinDataStopsOnWhatItDoesNotExpect(t *testing.T) {
	for _, row := range []struct {
		name   string
		module []byte
		want   string // part of the error; empty: none
	}{
		{"two with a short gap", data(2, 0, 0x41, 0, 0x0b, 1, 'a', 0, 0x41, 3, 0x0b, 1, 'b'), ""},
		{"the later one first", data(2, 0, 0x41, 3, 0x0b, 1, 'b', 0, 0x41, 0, 0x0b, 1, 'a'), ""},
		{"they overlap", data(2, 0, 0x41, 0, 0x0b, 2, 'a', 'a', 0, 0x41, 1, 0x0b, 1, 'b'), "begins before"},
		{"a negative address", data(1, 0, 0x41, 0x7f, 0x0b, 1, 'a'), "segment at -1"},
		{"a passive segment", data(1, 1, 1, 'a'), "kind 1"},
		{"another memory", data(1, 2, 0, 0x41, 0, 0x0b, 1, 'a'), "kind 2"},
		{"an address from a global", data(1, 0, 0x23, 0, 0x0b, 1, 'a'), "instruction 0x23"},
		{"an address that is a sum", data(1, 0, 0x41, 0, 0x41, 0, 0x6a, 0x0b, 1, 'a'), "goes on"},
		{"bytes are missing", data(1, 0, 0x41, 0, 0x0b, 9, 'a'), "ends early"},
		{"bytes are left", data(1, 0, 0x41, 0, 0x0b, 1, 'a', 0), "too many"},
		{"a number without end", data(0x80, 0x80, 0x80, 0x80, 0x80, 0x80), "too long"},
		{"no data", assemble(nil), "no data section"},
		{"two data sections", assemble([]section{{sectionData, []byte{0}}, {sectionData, []byte{0}}}), "two data sections"},
		{"another version", []byte("\x00asm\x02\x00\x00\x00"), "version 1"},
		{"half a module", []byte("\x00asm\x01\x00\x00\x00\x0b\x09"), "ends early"},
	} {
		t.Run(row.name, func(t *testing.T) {
			got, err := JoinData(row.module, 256)
			if row.want != "" {
				if err == nil || !strings.Contains(err.Error(), row.want) {
					t.Fatalf("error %v, want one with %q", err, row.want)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if memory, n, _ := image(t, got); string(memory) != "a\x00\x00b" || n != 1 {
				t.Errorf("%d segments, memory %q", n, memory)
			}
		})
	}
}

// The numbers are those of the specification's examples of LEB128 in the DWARF
// standard, version 5, section 7.6 (from memory).
func TestNumbersAsTheStandardWritesThem(t *testing.T) {
	for x, want := range map[int32]string{2: "\x02", -2: "\x7e", 127: "\xff\x00", -127: "\x81\x7f", 128: "\x80\x01", -128: "\x80\x7f", 129: "\x81\x01", -129: "\xff\x7e"} {
		if got := string(appendS32(nil, x)); got != want {
			t.Errorf("%d is written %x, want %x", x, got, want)
		}
		r := reader{rest: []byte(want)}
		if got := r.s32(); got != x || r.err != nil {
			t.Errorf("%x is read as %d (%v), want %d", want, got, r.err, x)
		}
	}
	for x, want := range map[uint32]string{2: "\x02", 127: "\x7f", 128: "\x80\x01", 129: "\x81\x01", 12857: "\xb9\x64"} {
		if got := string(appendU32(nil, x)); got != want {
			t.Errorf("%d is written %x, want %x", x, got, want)
		}
		r := reader{rest: []byte(want)}
		if got := r.u32(); got != x || r.err != nil {
			t.Errorf("%x is read as %d (%v), want %d", want, got, r.err, x)
		}
	}
}

func FuzzJoinData(f *testing.F) {
	f.Add(data(2, 0, 0x41, 0, 0x0b, 1, 'a', 0, 0x41, 3, 0x0b, 1, 'b'))
	f.Fuzz(func(t *testing.T, module []byte) {
		got, err := JoinData(module, 64)
		if err != nil {
			return
		}
		// An address may be far off in a short file.
		if list, _ := sections(got); list != nil {
			for _, s := range list {
				if s.id == sectionData {
					if _, err := readData(s.body); err != nil {
						t.Errorf("what was joined cannot be read: %v", err)
					}
				}
			}
		}
	})
}
