package boltstore

import (
	"compress/gzip"
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
)

var update = flag.Bool("update", false, "write the file of the present format anew")

// TestOlderFilesOpen opens a kept file of each format that was ever released
// and finds every entry in it, byte by byte.
func TestOlderFilesOpen(t *testing.T) {
	want := storetest.Season(t)
	// Each file holds the first entries of the demo, whose lines do not change.
	const held = 20
	if *update {
		writeFixture(t, fixtureName(fileFormat), want[:held])
	}
	for format := 1; format <= fileFormat; format++ {
		t.Run(fmt.Sprintf("format %d", format), func(t *testing.T) {
			s, err := Open(unpack(t, fixtureName(format)), time.Second)
			if err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			got, err := s.Load(context.Background())
			if err != nil || len(got) != held {
				t.Fatalf("%d entries, %v; want %d", len(got), err, held)
			}
			for i := range got {
				if string(got[i].Raw()) != string(want[i].Raw()) {
					t.Errorf("entry %d is\n%s\nwant\n%s", i, got[i].Raw(), want[i].Raw())
				}
			}
			if added, err := s.Append(context.Background(), want[:held+1]); err != nil || len(added) != 1 {
				t.Errorf("it cannot be written on: %v, %v", added, err)
			}
		})
	}
}

func fixtureName(format int) string {
	return filepath.Join("testdata", fmt.Sprintf("format-%d.bolt.gz", format))
}

func writeFixture(t *testing.T, name string, entries []journal.Entry) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "journal.bolt")
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(context.Background(), entries); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w, err := gzip.NewWriterLevel(f, gzip.BestCompression)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(raw); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

func unpack(t *testing.T, name string) string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "journal.bolt")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
