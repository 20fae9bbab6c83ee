package boltstore

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"dampstone/flybox/journal"
)

// Salvaged is what Salvage found.
type Salvaged struct {
	Entries int  // that are in the new file
	Missing int  // numbers below the highest that nothing was found for
	Differ  int  // entries of which copies differ; the one found most often was taken
	Named   bool // the journal's id was found: phones go on with it
}

// Salvage reads whatever entries the damaged file at from still holds, looking
// at every page whatever the tree says, and writes them to a new file at to,
// which must not be there. from is only read. An entry may be among them whose
// saving was broken off: it was never confirmed, and does no harm.
//
// Where something is missing the order of the entries is another than before:
// no phone's mark holds then, and each offers again all that it has, so that
// what is lost here and kept there comes back.
func Salvage(ctx context.Context, from, to string) (out Salvaged, err error) {
	f, err := os.Open(from)
	if err != nil {
		return out, fmt.Errorf("salvage: %w", err)
	}
	defer f.Close()
	if _, err := os.Lstat(to); err == nil {
		return out, fmt.Errorf("salvage: %q is there already", to)
	}
	s := salvage{size: int64(pageSize(f)), found: map[uint64]map[string]int{}}
	if err := s.pages(ctx, f); err != nil {
		return out, fmt.Errorf("salvage %q: %w", from, err)
	}
	if len(s.found) == 0 && s.journal == "" {
		return out, fmt.Errorf("salvage %q: %w", from, ErrNotOurs)
	}
	store, err := Open(to, time.Second)
	if err != nil {
		return out, err
	}
	out, err = s.write(ctx, store)
	if err := errors.Join(err, store.Close()); err != nil {
		return out, errors.Join(fmt.Errorf("salvage to %q: %w", to, explain(err)), os.Remove(to))
	}
	return out, nil
}

// pageSize is what the first meta page that makes sense says, or the system's.
func pageSize(f io.ReaderAt) int {
	for _, at := range []int64{0, 4096, 8192, 16384, 65536} {
		var b [pageHeader + metaSize]byte
		if _, err := f.ReadAt(b[:], at); err != nil {
			continue
		}
		if n := binary.NativeEndian.Uint32(b[pageHeader+8:]); binary.NativeEndian.Uint32(b[pageHeader:]) == metaMagic && n >= 512 && n <= 1<<16 && n&(n-1) == 0 {
			return int(n)
		}
	}
	return os.Getpagesize()
}

type salvage struct {
	size    int64                     // of a page
	found   map[uint64]map[string]int // how often a record was found, by number
	journal string
}

// Layout of a leaf page (bbolt's page.go and inode.go, version 1.5): the page's
// header has its number (8 bytes), flags (2), count of elements (2) and how many
// pages follow it (4); an element has flags, position from itself, and lengths
// of key and value (4 bytes each).
const (
	leafPage     = 0x02
	leafElement  = 16
	inlineBucket = 0x01
	bucketHeader = 16 // root page (0: the page follows) and sequence
	maxOverflow  = 256
)

// pages looks at every page of the file as if it were the first of a leaf.
func (s *salvage) pages(ctx context.Context, f io.ReaderAt) error {
	head := make([]byte, s.size)
	for at := int64(0); ; at += s.size {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := f.ReadAt(head, at)
		if n <= pageHeader {
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				continue // a bad spot of the disk
			}
		}
		if binary.NativeEndian.Uint16(head[8:]) != leafPage {
			if errors.Is(err, io.EOF) {
				return nil
			}
			continue
		}
		page := head[:n]
		if more := int64(binary.NativeEndian.Uint32(head[12:])); more > 0 && more <= maxOverflow {
			long := make([]byte, (more+1)*s.size)
			m, _ := f.ReadAt(long, at)
			page = long[:m]
		}
		s.leaf(page)
		if errors.Is(err, io.EOF) {
			return nil
		}
	}
}

// leaf takes what makes sense of a leaf page.
func (s *salvage) leaf(page []byte) {
	if len(page) < pageHeader {
		return
	}
	for i := range int(binary.NativeEndian.Uint16(page[10:])) {
		at := pageHeader + i*leafElement
		if at+leafElement > len(page) {
			return
		}
		word := func(n int) int { return int(binary.NativeEndian.Uint32(page[at+4*n:])) }
		key := at + word(1)
		value := key + word(2)
		end := value + word(3)
		if key < at || value < key || end < value || end > len(page) {
			continue
		}
		s.element(word(0), page[key:value], page[value:end])
	}
}

func (s *salvage) element(flags int, key, value []byte) {
	switch {
	case flags&inlineBucket != 0:
		if len(value) > bucketHeader && binary.NativeEndian.Uint64(value) == 0 {
			s.leaf(value[bucketHeader:])
		}
	case string(key) == string(keyJournal):
		if _, err := uuid.Parse(string(value)); err == nil {
			s.journal = string(value)
		}
	case len(key) == 8:
		id, raw, err := parts(key, value)
		if err != nil {
			return
		}
		if e, err := journal.ParseEntry(raw); err != nil || string(e.ID) != string(id) {
			return
		}
		number := binary.BigEndian.Uint64(key)
		if s.found[number] == nil {
			s.found[number] = map[string]int{}
		}
		s.found[number][string(value)]++
	}
}

// maxNumber bounds what may be the number of an entry: beyond it is damage.
const maxNumber = 1 << 40

// write fills the new file.
func (s *salvage) write(ctx context.Context, store *Store) (out Salvaged, err error) {
	var entries []journal.Entry
	here := map[string]bool{}
	highest := uint64(0)
	for _, number := range slices.Sorted(maps.Keys(s.found)) {
		copies := s.found[number]
		if len(copies) > 1 {
			out.Differ++
		}
		best := ""
		for _, c := range slices.Sorted(maps.Keys(copies)) {
			if best == "" || copies[c] > copies[best] {
				best = c
			}
		}
		key := binary.BigEndian.AppendUint64(nil, number)
		id, raw, err := parts(key, []byte(best))
		if err != nil || here[string(id)] || number == 0 || number > maxNumber {
			continue
		}
		here[string(id)] = true
		highest = number
		entries = append(entries, journal.StoredEntry(journal.ID(id), raw))
	}
	out.Entries, out.Missing = len(entries), int(highest)-len(entries)
	if out.Missing > 0 && len(entries) > 1 {
		entries = append(entries[1:], entries[0])
	}
	for part := range slices.Chunk(entries, 2000) {
		if _, err := store.Append(ctx, part); err != nil {
			return out, err
		}
	}
	if out.Named = s.journal != ""; out.Named {
		store.journal = s.journal
		err = store.update(func(tx *bolt.Tx) error { return tx.Bucket(bucketMeta).Put(keyJournal, []byte(s.journal)) })
	}
	return out, err
}
