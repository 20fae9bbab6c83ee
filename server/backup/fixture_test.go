package backup

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
)

var update = flag.Bool("update", false, "write the files of the present formats anew")

// held is how many entries each kept file has: the first of a season
// that does not change.
const held = 20

// TestOlderFilesAreRead reads a kept file of each format that was ever
// released and finds every entry in it, byte by byte.
func TestOlderFilesAreRead(t *testing.T) {
	entries := storetest.Season(t)
	want := entries[:held]
	if *update {
		writeFixtures(t, want)
	}
	files, err := filepath.Glob(filepath.Join("testdata", "*.jsonl"))
	if err != nil || len(files) < LedgerFormat+BackupFormat {
		t.Fatalf("files: %v, %v", files, err)
	}
	for _, name := range files {
		t.Run(filepath.Base(name), func(t *testing.T) {
			f, err := os.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			to := ledger(t)
			report, err := Read(t.Context(), f, to, false)
			if err != nil || report.Added != held {
				t.Fatalf("%+v, %v", report, err)
			}
			got, err := to.Store().Load(t.Context())
			if err != nil || len(got) != held {
				t.Fatalf("%d entries, %v", len(got), err)
			}
			for i := range got {
				if string(got[i].Raw()) != string(want[i].Raw()) {
					t.Errorf("entry %d is\n%s\nwant\n%s", i, got[i].Raw(), want[i].Raw())
				}
			}
		})
	}
}

func writeFixtures(t *testing.T, entries []journal.Entry) {
	t.Helper()
	store := ledger(t, entries...).Store()
	var one, all bytes.Buffer
	if err := Write(t.Context(), &one, store, false, made); err != nil {
		t.Fatal(err)
	}
	parts := []Part{
		{ID: "p-1", Name: "Ana", Shares: true, Store: store, Marks: func() (Marks, error) { return Marks{Came: []journal.ID{"c"}, Gave: []journal.ID{"g"}}, nil }},
		{ID: "p-2", Name: "Bo", Store: ledger(t).Store()},
	}
	if err := WriteBackup(t.Context(), &all, parts, made); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{
		fmt.Sprintf("ledger-%d.jsonl", LedgerFormat): one.Bytes(), fmt.Sprintf("backup-%d.jsonl", BackupFormat): all.Bytes(),
	} {
		if err := os.WriteFile(filepath.Join("testdata", name), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
