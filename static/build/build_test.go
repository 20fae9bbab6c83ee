package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReadsTraces puts names into a crash and into a line of the log.
func TestReadsTraces(t *testing.T) {
	t.Chdir(t.TempDir())
	var out strings.Builder
	if err := readTrace(strings.NewReader("x"), &out); err == nil || !strings.Contains(err.Error(), "go generate") {
		t.Errorf("without names: %v", err)
	}
	if err := os.Mkdir("build", 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.FromSlash(namesFile), []byte("18d2 runtime.gopanic\n2123 main.(*engine).take\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	const crash = "_._()\n\t?:0 +0x1f fp=0x375d08 sp=0x375c60 pc=0x18d2001f\nlevel=ERROR msg=fault at=\"pc=0x21230045 pc=0x99990001 pc=0x1\"\n"
	const want = "_._()\n\t?:0 +0x1f fp=0x375d08 sp=0x375c60 pc=0x18d2001f runtime.gopanic\nlevel=ERROR msg=fault at=\"pc=0x21230045 main.(*engine).take pc=0x99990001 ? pc=0x1\"\n"
	if err := readTrace(strings.NewReader(crash), &out); err != nil || out.String() != want {
		t.Errorf("%v\n%s\nwant\n%s", err, out.String(), want)
	}
}
