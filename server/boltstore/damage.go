package boltstore

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"io/fs"
	"os"
	"runtime"
	"runtime/debug"

	bolt "go.etcd.io/bbolt"
)

// A file may be cut short or have pages of zeros, by a bad disk or a copy that
// broke off. bbolt maps the file into memory: what is not there kills the
// process, and pages that make no sense make it panic. Neither may take
// everybody else's ledgers along.

func (s *Store) view(f func(*bolt.Tx) error) error {
	return guarded(func() error { return s.db.View(f) })
}

func (s *Store) update(f func(*bolt.Tx) error) error {
	return guarded(func() error { return s.db.Update(f) })
}

// guarded turns the faults of a damaged file into ErrDamaged: a panic of
// bbolt, and the signal for a page that is mapped and not there, which is a
// panic too while faults are.
func guarded(f func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		switch fault := recover().(type) {
		case nil:
		case runtime.Error:
			err = fmt.Errorf("%w: %v", ErrDamaged, fault)
		case string: // bbolt's own words
			err = fmt.Errorf("%w: %s", ErrDamaged, fault)
		case error:
			err = fmt.Errorf("%w: %w", ErrDamaged, fault)
		default:
			panic(fault)
		}
	}()
	return f()
}

// Layout of bbolt's two meta pages (bbolt's page.go and meta.go, version 1.5):
// a page header of 16 bytes, then the fields of the meta, little-endian on the
// machines that this runs on.
const (
	pageHeader = 16
	metaMagic  = 0xED0CDAED
	metaSize   = 64
)

// whole tells from the meta pages whether a file is as long as it says. A file
// that is not there, empty, or not bbolt's is for bbolt to judge.
func whole(path string) error {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil || info.Size() == 0 {
		return err
	}
	var newest, txid uint64
	found := false
	size := int64(os.Getpagesize())
	for page := range int64(2) {
		var b [pageHeader + metaSize]byte
		if _, err := f.ReadAt(b[:], page*size); err != nil {
			if errors.Is(err, io.EOF) && !found {
				return fmt.Errorf("%w: it has %d bytes", ErrDamaged, info.Size())
			}
			break
		}
		meta := b[pageHeader:]
		word := func(at int) uint64 { return binary.NativeEndian.Uint64(meta[at:]) }
		sum := fnv.New64a()
		sum.Write(meta[:metaSize-8])
		if binary.NativeEndian.Uint32(meta) != metaMagic || word(metaSize-8) != sum.Sum64() {
			continue
		}
		if page == 0 {
			size = int64(binary.NativeEndian.Uint32(meta[8:]))
		}
		if id := word(48); !found || id > txid {
			found, txid, newest = true, id, word(40)*uint64(size)
		}
	}
	if found && uint64(info.Size()) < newest {
		return fmt.Errorf("%w: it has %d bytes of %d", ErrDamaged, info.Size(), newest)
	}
	return nil
}
