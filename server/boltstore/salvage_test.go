package boltstore

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dampstone/flybox/journal"
)

// kept are the records of a file, by id, and its journal.
func kept(t *testing.T, path string) (map[journal.ID][]byte, string) {
	t.Helper()
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	entries, err := s.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out := map[journal.ID][]byte{}
	for _, e := range entries {
		out[e.ID] = bytes.Clone(e.Raw())
	}
	return out, s.Journal()
}

func TestSalvageOfAWholeFileLosesNothing(t *testing.T) {
	path, _ := filled(t)
	want, id := kept(t, path)
	to := filepath.Join(t.TempDir(), "new.bolt")
	got, err := Salvage(t.Context(), path, to)
	if err != nil || got.Entries != len(want) || got.Missing != 0 || got.Differ != 0 || !got.Named {
		t.Fatalf("%+v, %v; want %d entries", got, err, len(want))
	}
	have, journal := kept(t, to)
	if journal != id || len(have) != len(want) {
		t.Errorf("journal %q of %d entries, want %q of %d", journal, len(have), id, len(want))
	}
	// In the same order, so that phones go on where they were.
	a, b := load(t, path), load(t, to)
	for i := range a {
		if a[i].ID != b[i].ID || !bytes.Equal(a[i].Raw(), b[i].Raw()) {
			t.Fatalf("entry %d is another", i)
		}
	}
}

func load(t *testing.T, path string) []journal.Entry {
	t.Helper()
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	list, err := s.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// Of a file with pages of zeros, one that is cut off, and one whose meta pages
// and branches are gone, all is found that lies in whole pages.
func TestSalvageOfADamagedFile(t *testing.T) {
	path, raw := filled(t)
	want, id := kept(t, path)
	page := os.Getpagesize()
	pages := len(raw) / page
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, seed))
	for _, c := range []struct {
		name  string
		harm  func(b []byte) []byte
		least float64 // share of the entries
		named bool
	}{
		{"no meta pages", func(b []byte) []byte { clear(b[:2*page]); return b }, 1, true},
		{"one page of zeros", func(b []byte) []byte { clear(b[pages/2*page:][:page]); return b }, 0.95, true},
		{"every tenth page of zeros", func(b []byte) []byte {
			for i := 5; i < pages; i += 10 {
				clear(b[i*page:][:page])
			}
			return b
		}, 0.75, false},
		{"cut in the middle of a page", func(b []byte) []byte { return b[:pages*3/4*page+77] }, 0.5, false},
		{"two hundred bits flipped", func(b []byte) []byte {
			for range 200 {
				b[rng.IntN(len(b))] ^= 1 << rng.IntN(8)
			}
			return b
		}, 0.5, false},
	} {
		broken := filepath.Join(t.TempDir(), "broken.bolt")
		if err := os.WriteFile(broken, c.harm(bytes.Clone(raw)), 0o600); err != nil {
			t.Fatal(err)
		}
		to := filepath.Join(t.TempDir(), "new.bolt")
		got, err := Salvage(t.Context(), broken, to)
		if err != nil {
			t.Errorf("%s (seed %d): %v", c.name, seed, err)
			continue
		}
		have, journal := kept(t, to)
		same := 0
		for id, raw := range have {
			if bytes.Equal(raw, want[id]) {
				same++
			}
		}
		t.Logf("%s: %d of %d entries, %d missing, %d differ", c.name, len(have), len(want), got.Missing, got.Differ)
		if float64(same) < c.least*float64(len(want)) || got.Entries != len(have) {
			t.Errorf("%s: %d of %d entries as they were, report %+v", c.name, same, len(want), got)
		}
		if c.named && journal != id {
			t.Errorf("%s: journal %q, want %q", c.name, journal, id)
		}
		if got.Missing > 0 && load(t, to)[0].ID == firstOf(t, raw) {
			t.Errorf("%s: a phone's mark may still hold", c.name)
		}
		if now, err := os.ReadFile(broken); err != nil || !bytes.Equal(now, c.harm(bytes.Clone(raw))) && c.name != "two hundred bits flipped" {
			t.Errorf("%s: the damaged file was changed (%v)", c.name, err)
		}
	}
}

// firstOf is the id of the first entry of a whole file.
func firstOf(t *testing.T, raw []byte) journal.ID {
	t.Helper()
	path := filepath.Join(t.TempDir(), "whole.bolt")
	if err := os.WriteFile(path, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	return load(t, path)[0].ID
}

func TestSalvageRefusesWhatIsNotOurs(t *testing.T) {
	folder := t.TempDir()
	other := filepath.Join(folder, "other")
	if err := os.WriteFile(other, bytes.Repeat([]byte("not a ledger "), 5000), 0o600); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(folder, "new.bolt")
	if _, err := Salvage(t.Context(), other, to); !errors.Is(err, ErrNotOurs) {
		t.Errorf("another file: %v", err)
	}
	if _, err := os.Stat(to); err == nil {
		t.Error("a new file was made for nothing")
	}
	path, _ := filled(t)
	if _, err := Salvage(t.Context(), path, other); err == nil {
		t.Error("a file that is there was written over")
	}
	if _, err := Salvage(t.Context(), filepath.Join(folder, "none"), to); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

// FuzzSalvage: whatever a file holds, reading it ends without a fault.
func FuzzSalvage(f *testing.F) {
	f.Add([]byte("x"), uint16(3), uint32(0))
	f.Fuzz(func(t *testing.T, body []byte, count uint16, overflow uint32) {
		page := make([]byte, 16, 16+len(body))
		page[8] = leafPage
		page[10], page[11] = byte(count), byte(count>>8)
		page[12], page[13], page[14], page[15] = byte(overflow), byte(overflow>>8), byte(overflow>>16), byte(overflow>>24)
		s := salvage{size: 4096, found: map[uint64]map[string]int{}}
		if err := s.pages(t.Context(), bytes.NewReader(append(page, body...))); err != nil {
			t.Fatal(err)
		}
	})
}
