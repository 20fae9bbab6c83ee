// Package boltstore keeps a journal in one bbolt file.
//
// Buckets: "entries" holds records by number (8 bytes, big-endian), each as
// the length of its id in one byte, the id and the JSON; "ids" finds the
// number of an id; "meta" holds the format of the file and the journal's
// random id. Every write is one transaction and is synced before it returns.
package boltstore

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"dampstone/flybox"
)

// Errors that Open and Append wrap. Others, such as a full disk, pass through
// wrapped, so that errors.Is finds the system's own error.
var (
	ErrInUse    = errors.New("file is in use by another process")
	ErrNotOurs  = errors.New("file is not a journal of this program")
	ErrNewer    = errors.New("file was written by a newer version")
	ErrDamaged  = errors.New("file is damaged")
	ErrReadOnly = fmt.Errorf("bolt file: %w", flybox.ErrReadOnly)
)

// fileFormat is the number of the layout of the file.
const fileFormat = 1

var (
	bucketEntries = []byte("entries")
	bucketIDs     = []byte("ids")
	bucketMeta    = []byte("meta")
	keyFormat     = []byte("dampstone-journal-format")
	keyJournal    = []byte("journal-id")
)

// Store is a flybox.Store in a file.
type Store struct {
	db      *bolt.DB
	journal string
}

var _ flybox.Store = (*Store)(nil)

// Open opens the file at path, making it (readable by its owner alone) if it
// is not there. It waits up to wait for another process to let go of it.
func Open(path string, wait time.Duration) (*Store, error) {
	return open(path, &bolt.Options{Timeout: max(wait, time.Millisecond)})
}

func open(path string, opt *bolt.Options) (*Store, error) {
	s, err := openDB(path, opt)
	if err != nil {
		return nil, fmt.Errorf("open journal %q: %w", path, explain(err))
	}
	return s, nil
}

func openDB(path string, opt *bolt.Options) (*Store, error) {
	db, err := bolt.Open(path, 0o600, opt)
	if err != nil {
		return nil, err
	}
	s := &Store{db: db}
	fresh := false
	err = db.View(func(tx *bolt.Tx) (err error) {
		fresh, err = s.inspect(tx)
		return err
	})
	if err == nil && fresh {
		err = db.Update(s.create)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return s, nil
}

// inspect reads the journal's id and says whether the file is new and empty.
func (s *Store) inspect(tx *bolt.Tx) (fresh bool, err error) {
	meta := tx.Bucket(bucketMeta)
	if meta == nil || meta.Get(keyFormat) == nil {
		if first, _ := tx.Cursor().First(); first != nil {
			return false, ErrNotOurs
		}
		return true, nil
	}
	format, err := strconv.Atoi(string(meta.Get(keyFormat)))
	switch {
	case err != nil || format < 1:
		return false, fmt.Errorf("%w: format %q", ErrNotOurs, clip(meta.Get(keyFormat)))
	case format > fileFormat:
		return false, fmt.Errorf("%w: format %d, this version knows %d", ErrNewer, format, fileFormat)
	case tx.Bucket(bucketEntries) == nil || tx.Bucket(bucketIDs) == nil || len(meta.Get(keyJournal)) == 0:
		return false, fmt.Errorf("%w: a part is missing", ErrDamaged)
	}
	s.journal = string(meta.Get(keyJournal))
	return false, nil
}

func clip(b []byte) []byte { return b[:min(len(b), 40)] }

func (s *Store) create(tx *bolt.Tx) error {
	id, err := uuid.NewRandom()
	if err != nil {
		return fmt.Errorf("make journal id: %w", err)
	}
	for _, name := range [][]byte{bucketEntries, bucketIDs, bucketMeta} {
		if _, err := tx.CreateBucket(name); err != nil {
			return err
		}
	}
	meta := tx.Bucket(bucketMeta)
	if err := meta.Put(keyFormat, strconv.AppendInt(nil, fileFormat, 10)); err != nil {
		return err
	}
	s.journal = id.String()
	return meta.Put(keyJournal, []byte(s.journal))
}

// explain adds one of this package's errors where the cause is known.
func explain(err error) error {
	for _, known := range []struct{ cause, is error }{
		{berrors.ErrTimeout, ErrInUse},
		{berrors.ErrInvalid, ErrNotOurs},
		{berrors.ErrVersionMismatch, ErrNewer},
		{berrors.ErrChecksum, ErrDamaged},
		{berrors.ErrDatabaseReadOnly, ErrReadOnly},
		{fs.ErrPermission, ErrReadOnly},
		{syscall.EROFS, ErrReadOnly},
		{syscall.ENOSPC, flybox.ErrFull},
		{syscall.EDQUOT, flybox.ErrFull},
		{syscall.EFBIG, flybox.ErrFull}, // the file may not grow any more
		{berrors.ErrMaxSizeReached, flybox.ErrFull},
	} {
		if errors.Is(err, known.cause) {
			return fmt.Errorf("%w: %w", known.is, err)
		}
	}
	// Where the file cannot grow bbolt keeps the text of the cause alone.
	for _, full := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		if strings.Contains(err.Error(), "file resize error") && strings.HasSuffix(err.Error(), full.Error()) {
			return fmt.Errorf("%w: %w", flybox.ErrFull, err)
		}
	}
	return err
}

// Close lets go of the file once running calls are done.
func (s *Store) Close() error { return s.db.Close() }

// Journal is the random id of this journal, made with the file.
func (s *Store) Journal() string { return s.journal }

// Backup writes a copy of the whole file as it is now, while the store stays
// in use. The copy has the same journal id.
func (s *Store) Backup(w io.Writer) error {
	err := s.db.View(func(tx *bolt.Tx) error {
		_, err := tx.WriteTo(w)
		return err
	})
	if err != nil {
		return fmt.Errorf("back up journal: %w", err)
	}
	return nil
}

// Load returns every entry in the order of arrival.
func (s *Store) Load(ctx context.Context) ([]flybox.Entry, error) {
	entries, _, err := s.After(ctx, 0, 0)
	return entries, err
}

// Append adds entries in one transaction, synced on return, and returns the
// ids that were new.
func (s *Store) Append(ctx context.Context, entries []flybox.Entry) ([]string, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(entries), err)
	}
	// Often nothing is new (a phone offers again what it sent before), and
	// finding that out needs no write and no sync.
	fresh := entries[:0:0] // from the first that is new
	err := s.db.View(func(tx *bolt.Tx) error {
		ids := tx.Bucket(bucketIDs)
		for i, e := range entries {
			if ids.Get([]byte(e.ID)) == nil {
				fresh = entries[i:]
				return nil
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(entries), explain(err))
	}
	if len(fresh) == 0 {
		return nil, nil
	}
	var added []string
	err = s.db.Update(func(tx *bolt.Tx) error {
		added = added[:0]
		ids, byNumber := tx.Bucket(bucketIDs), tx.Bucket(bucketEntries)
		keys := make(map[string][]byte, len(fresh))
		for _, e := range fresh {
			if keys[e.ID] != nil || ids.Get([]byte(e.ID)) != nil {
				continue
			}
			if e.ID == "" || len(e.ID) > flybox.MaxIDBytes || e.Raw() == nil {
				return fmt.Errorf("entry %q has no id or no record", e.ID)
			}
			seq, err := byNumber.NextSequence()
			if err != nil {
				return err
			}
			key := binary.BigEndian.AppendUint64(nil, seq)
			if err := byNumber.Put(key, record(e)); err != nil {
				return err
			}
			keys[e.ID] = key
			added = append(added, e.ID)
		}
		// In order, since each key that is put between others moves all that
		// come after it.
		for _, id := range slices.Sorted(maps.Keys(keys)) {
			if err := ids.Put([]byte(id), keys[id]); err != nil {
				return err
			}
		}
		return ctx.Err() // the last moment at which it can be called off
	})
	if err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(entries), explain(err))
	}
	return added, nil
}

func record(e flybox.Entry) []byte {
	b := make([]byte, 0, 1+len(e.ID)+len(e.Raw()))
	b = append(b, byte(len(e.ID)))
	b = append(b, e.ID...)
	return append(b, e.Raw()...)
}

// After returns entries that arrived after number seq.
func (s *Store) After(ctx context.Context, seq uint64, limit int) (entries []flybox.Entry, last uint64, err error) {
	last = seq
	err = s.db.View(func(tx *bolt.Tx) error {
		if seq == 1<<64-1 {
			return nil
		}
		c := tx.Bucket(bucketEntries).Cursor()
		for k, v := c.Seek(binary.BigEndian.AppendUint64(nil, seq+1)); k != nil; k, v = c.Next() {
			if limit > 0 && len(entries) == limit {
				return nil
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			number := binary.BigEndian.Uint64(k)
			if len(v) == 0 || len(v) < 1+int(v[0]) {
				return fmt.Errorf("%w: record %d", ErrDamaged, number)
			}
			n := 1 + int(v[0])
			entries = append(entries, flybox.StoredEntry(string(v[1:n]), v[n:]))
			last = number
		}
		return nil
	})
	if err != nil {
		return nil, seq, fmt.Errorf("read entries after %d: %w", seq, explain(err))
	}
	return entries, last, nil
}

// Last is the number of the newest entry, 0 if there is none.
func (s *Store) Last(ctx context.Context) (seq uint64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	err = s.db.View(func(tx *bolt.Tx) error {
		if k, _ := tx.Bucket(bucketEntries).Cursor().Last(); k != nil {
			seq = binary.BigEndian.Uint64(k)
		}
		return nil
	})
	if err != nil {
		return 0, fmt.Errorf("find last entry: %w", explain(err))
	}
	return seq, nil
}
