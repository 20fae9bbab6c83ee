package boltstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
)

func openAt(t *testing.T, path string) *Store {
	t.Helper()
	s, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// checked closes the store after checking the file's inner consistency.
func checked(t *testing.T, s *Store) {
	t.Helper()
	err := s.db.View(func(tx *bolt.Tx) error {
		for err := range tx.Check() {
			t.Errorf("file inconsistent: %v", err)
		}
		seen := map[string]bool{}
		err := tx.Bucket(bucketEntries).ForEach(func(k, v []byte) error {
			id, _, err := parts(k, v)
			if seen[string(id)] {
				t.Errorf("entry %q is there twice", id)
			}
			seen[string(id)] = true
			return err
		})
		if err != nil {
			t.Error(err)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
}

func TestFileKeepsThePromises(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Fixture {
		path := filepath.Join(t.TempDir(), "j.db")
		s := openAt(t, path)
		return storetest.Fixture{Store: s, Reopen: func(t *testing.T) journal.Store {
			checked(t, s)
			s = openAt(t, path)
			return s
		}}
	})
}

func TestJournalIDIsKeptAndUnique(t *testing.T) {
	dir := t.TempDir()
	a, b := openAt(t, filepath.Join(dir, "a")), openAt(t, filepath.Join(dir, "b"))
	if a.Journal() == "" || a.Journal() == b.Journal() {
		t.Errorf("ids %q and %q", a.Journal(), b.Journal())
	}
	want := a.Journal()
	checked(t, a)
	if got := openAt(t, filepath.Join(dir, "a")).Journal(); got != want {
		t.Errorf("after reopening %q, want %q", got, want)
	}
}

// writeBolt makes a bbolt file with one bucket and one value in it.
func writeBolt(t *testing.T, path, bucket, key, value string) {
	t.Helper()
	db, err := bolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bolt.Tx) error {
		b, err := tx.CreateBucketIfNotExists([]byte(bucket))
		if err != nil {
			return err
		}
		return b.Put([]byte(key), []byte(value))
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}

func TestFilesThatCannotBeOpenedSayWhy(t *testing.T) {
	tests := []struct {
		name string
		make func(t *testing.T, path string)
		want error
	}{
		{"text", func(t *testing.T, path string) {
			if err := os.WriteFile(path, []byte(strings.Repeat("my flies\n", 2000)), 0o600); err != nil {
				t.Fatal(err)
			}
		}, ErrNotOurs},
		{"another program's database", func(t *testing.T, path string) {
			writeBolt(t, path, "invoices", "1", "x")
		}, ErrNotOurs},
		{"a bucket named as ours in another program's database", func(t *testing.T, path string) {
			writeBolt(t, path, "meta", "version", "1")
		}, ErrNotOurs},
		{"a format that is no number", func(t *testing.T, path string) {
			writeBolt(t, path, "meta", string(keyFormat), "new")
		}, ErrNotOurs},
		{"a newer format", func(t *testing.T, path string) {
			checked(t, openAt(t, path))
			writeBolt(t, path, "meta", string(keyFormat), strconv.Itoa(fileFormat+1))
		}, ErrNewer},
		{"no entries", func(t *testing.T, path string) {
			writeBolt(t, path, "meta", string(keyFormat), "1")
		}, ErrDamaged},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "j.db")
			tc.make(t, path)
			before, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if s, err := Open(path, time.Second); !errors.Is(err, tc.want) {
				t.Errorf("open: %v, want %v", err, tc.want)
				if s != nil {
					s.Close()
				}
			}
			if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
				t.Errorf("the file was changed (%v)", err)
			}
		})
	}
}

func TestFileInUse(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	openAt(t, path)
	if _, err := Open(path, time.Millisecond); !errors.Is(err, ErrInUse) {
		t.Errorf("second open: %v, want ErrInUse", err)
	}
}

func TestReadOnly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	s := openAt(t, path)
	if _, err := s.Append(context.Background(), []journal.Entry{storetest.Entry(t, "a", 1)}); err != nil {
		t.Fatal(err)
	}
	checked(t, s)
	s, err := open(path, &bolt.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Append(context.Background(), []journal.Entry{storetest.Entry(t, "b", 2)}); !errors.Is(err, ErrReadOnly) {
		t.Errorf("append: %v, want ErrReadOnly", err)
	}
	if got, err := s.Load(context.Background()); err != nil || len(got) != 1 {
		t.Errorf("load: %d entries, %v", len(got), err)
	}
}

func TestForbiddenFileIsReadOnly(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may write everything")
	}
	path := filepath.Join(t.TempDir(), "j.db")
	checked(t, openAt(t, path))
	if err := os.Chmod(path, 0o400); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path, time.Second); !errors.Is(err, ErrReadOnly) {
		t.Errorf("open: %v, want ErrReadOnly", err)
	}
}

// A file that may not grow stands in for a full disk: the write fails midway
// through the transaction and the cause must reach the caller.
func TestNoRoomAddsNothingAndIsReported(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	s, err := open(path, &bolt.Options{MaxSize: 256 << 10})
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	if _, err := s.Append(ctx, []journal.Entry{storetest.Entry(t, "first", 0)}); err != nil {
		t.Fatal(err)
	}
	var many []journal.Entry
	for i := range 3000 {
		many = append(many, storetest.Entry(t, journal.ID(fmt.Sprint("n", i)), i))
	}
	if _, err := s.Append(ctx, many); !errors.Is(err, berrors.ErrMaxSizeReached) || !errors.Is(err, journal.ErrFull) {
		t.Fatalf("append: %v, want ErrFull for ErrMaxSizeReached", err)
	}
	if got, err := s.Load(ctx); err != nil || len(got) != 1 {
		t.Errorf("load: %d entries, %v; want the first alone", len(got), err)
	}
	if added, err := s.Append(ctx, many[:1]); err != nil || len(added) != 1 {
		t.Errorf("small append afterwards: %v, %v", added, err)
	}
	checked(t, s)
}

// fading is cancelled after a number of looks at it.
type fading struct {
	context.Context
	looks int
}

func (f *fading) Err() error {
	if f.looks--; f.looks < 0 {
		return context.Canceled
	}
	return nil
}

func TestAnAppendCalledOffMidwayAddsNothing(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "j.db"))
	if _, err := s.Append(&fading{context.Background(), 1}, []journal.Entry{storetest.Entry(t, "a", 1)}); !errors.Is(err, context.Canceled) {
		t.Errorf("append: %v, want context.Canceled", err)
	}
	if got, err := s.Load(context.Background()); err != nil || len(got) != 0 {
		t.Errorf("load: %d entries, %v", len(got), err)
	}
	checked(t, s)
}

func TestADamagedRecordDoesNotHideTheRest(t *testing.T) {
	path := filepath.Join(t.TempDir(), "j.db")
	s := openAt(t, path)
	ctx := context.Background()
	if _, err := s.Append(ctx, []journal.Entry{storetest.Entry(t, "a", 1), storetest.Entry(t, "b", 2), storetest.Entry(t, "c", 3)}); err != nil {
		t.Fatal(err)
	}
	err := s.db.Update(func(tx *bolt.Tx) error {
		b := tx.Bucket(bucketEntries)
		key := []byte{0, 0, 0, 0, 0, 0, 0, 2}
		v := bytes.Clone(b.Get(key))
		v[len(v)-1] = '#'
		return b.Put(key, v)
	})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Load(ctx)
	if err != nil || len(got) != 3 {
		t.Fatalf("load: %d entries, %v", len(got), err)
	}
	if got[1].ID != "b" || got[1].Readable() {
		t.Errorf("damaged record read as %+v", got[1])
	}
	state := storetest.Fold(got)
	if len(state.Notes()) != 2 || state.Broken() != 1 {
		t.Errorf("%d notes, %d broken; want 2 and 1", len(state.Notes()), state.Broken())
	}
}

func BenchmarkAppend(b *testing.B) {
	for _, size := range []int{1, 500} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			s, err := Open(filepath.Join(b.TempDir(), "j.db"), time.Second)
			if err != nil {
				b.Fatal(err)
			}
			defer s.Close()
			n := 0
			for b.Loop() {
				b.StopTimer()
				var es []journal.Entry
				for range size {
					n++
					es = append(es, storetest.Entry(b, journal.ID(fmt.Sprint("e", n)), n))
				}
				b.StartTimer()
				if _, err := s.Append(context.Background(), es); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
