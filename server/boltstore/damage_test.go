package boltstore

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"dampstone/flybox/storetest"
)

// filled is a file with some hundred pages, and its bytes.
func filled(t *testing.T) (path string, raw []byte) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "journal.bolt")
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	for range 6 {
		if _, err := s.Append(t.Context(), storetest.Season(t)); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if raw, err = os.ReadFile(path); err != nil {
		t.Fatal(err)
	}
	return path, raw
}

// TestADamagedFileTakesNothingElseAlong cuts, zeroes and flips parts of a file:
// whatever is left of it is read, or refused as damaged; the process lives.
func TestADamagedFileTakesNothingElseAlong(t *testing.T) {
	path, raw := filled(t)
	page := os.Getpagesize()
	use := func(name string, bytes []byte, must bool) {
		t.Helper()
		if err := os.WriteFile(path, bytes, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(path, time.Second)
		if err == nil {
			_, err = s.Load(t.Context())
			if err == nil {
				_, err = s.Append(t.Context(), storetest.Season(t)[:1])
			}
			_ = s.Close()
		}
		switch {
		case err == nil && must:
			t.Errorf("%s: nothing was noticed", name)
		case err != nil && !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotOurs) && !errors.Is(err, ErrNewer):
			t.Errorf("%s: %v", name, err)
		}
		// A new inode: a file whose opening broke off may stay locked.
		_ = os.Remove(path)
	}
	for _, n := range []int{1, 100, page, page + 1, 2 * page, 3 * page, len(raw) / 2, len(raw) - page, len(raw) - 1} {
		use("cut short", raw[:n], n <= len(raw)/2) // the end may be room that nothing uses
	}
	for at := 0; at+page <= len(raw); at += page {
		broken := append([]byte(nil), raw...)
		clear(broken[at : at+page])
		use("a page of zeros", broken, false) // it may have been free
	}
	all := append([]byte(nil), raw...)
	clear(all[2*page:])
	use("all but the first two pages zeros", all, true)
	const seed = 5
	t.Log("seed", seed)
	rng := rand.New(rand.NewPCG(seed, seed))
	for range 200 {
		broken := append([]byte(nil), raw...)
		for range 1 + rng.IntN(20) {
			broken[rng.IntN(len(broken))] ^= 1 << rng.IntN(8)
		}
		use("flipped bits", broken, false)
	}
}

// TestAFileThatShrinksWhileItIsOpen is what a failing disk looks like.
func TestAFileThatShrinksWhileItIsOpen(t *testing.T) {
	path, _ := filled(t)
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, int64(2*os.Getpagesize())); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Load(t.Context()); !errors.Is(err, ErrDamaged) {
		t.Errorf("error %v", err)
	}
	if _, err := s.Last(t.Context()); !errors.Is(err, ErrDamaged) {
		t.Errorf("error %v", err)
	}
}
