package boltstore

import (
	"context"
	"errors"
	"path/filepath"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"dampstone/flybox/storetest"
)

// FuzzRecord: whatever stands in a record of the file, reading ends with
// entries or says that the file is damaged, and so does adding to it.
func FuzzRecord(f *testing.F) {
	whole := record(storetest.Entry(f, "a", 1))
	key := []byte{0, 0, 0, 0, 0, 0, 0, 1}
	for _, value := range [][]byte{whole, whole[:len(whole)/2], whole[:1], {}, {255}, {0}, {1, 'a'}, {0, '{', '}'}, []byte("\x01b" + string(whole[2:]))} {
		f.Add(key, value)
	}
	f.Add([]byte("short"), whole)
	f.Add([]byte("longer than eight"), whole)
	f.Fuzz(func(t *testing.T, key, value []byte) {
		s, err := Open(filepath.Join(t.TempDir(), "j"), time.Second)
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		s.db.NoSync = true
		if s.db.Update(func(tx *bolt.Tx) error { return tx.Bucket(bucketEntries).Put(key, value) }) != nil {
			return // no key of a bolt file
		}
		entries, err := s.Load(context.Background())
		if err != nil && !errors.Is(err, ErrDamaged) {
			t.Errorf("key %x, value %q: %v", key, value, err)
		}
		if err == nil && len(key) == 8 && string(key) > "\x00\x00\x00\x00\x00\x00\x00\x00" && len(entries) != 1 {
			t.Errorf("key %x, value %q: %d entries", key, value, len(entries))
		}
		if _, err := s.Append(context.Background(), entries); err != nil && !errors.Is(err, ErrDamaged) {
			t.Errorf("key %x, value %q: append: %v", key, value, err)
		}
	})
}
