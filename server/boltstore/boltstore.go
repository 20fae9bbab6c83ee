// Package boltstore keeps a journal in one bbolt file.
//
// Buckets: "entries" holds records by number (8 bytes, big-endian), each as
// the length of its id in one byte, the id and the JSON; "meta" holds the
// format of the file and the journal's random id. Every write is one
// transaction and is synced before it returns. Which ids are there is kept in
// memory, as only one process at a time has the file open: to keep it in the
// file as well took as long as the entries themselves.
//
// Format 1 had a bucket "ids" besides, the number of each id. Open takes it
// away.
package boltstore

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"

	"dampstone/flybox/journal"
)

// Errors that Open and Append wrap. Others, such as a full disk, pass through
// wrapped, so that errors.Is finds the system's own error.
var (
	ErrInUse    = errors.New("file is in use by another process")
	ErrNotOurs  = errors.New("file is not a journal of this program")
	ErrNewer    = errors.New("file was written by a newer version")
	ErrDamaged  = errors.New("file is damaged")
	ErrReadOnly = fmt.Errorf("bolt file: %w", journal.ErrReadOnly)
)

// fileFormat is the number of the layout of the file.
const fileFormat = 2

var (
	bucketEntries = []byte("entries")
	bucketIDs     = []byte("ids") // of format 1
	bucketMeta    = []byte("meta")
	keyFormat     = []byte("dampstone-journal-format")
	keyJournal    = []byte("journal-id")
)

// Store is a flybox.Store in a file.
type Store struct {
	db      *bolt.DB
	journal string

	mu  sync.Mutex
	ids map[journal.ID]uint64 // number by id, of all entries; nil: to be read from the file
}

var _ journal.Store = (*Store)(nil)

// Open opens the file at path, making it (readable by its owner alone) if it
// is not there. It waits up to wait for another process to let go of it.
func Open(path string, wait time.Duration) (*Store, error) {
	return open(path, &bolt.Options{Timeout: max(wait, time.Millisecond)})
}

// OpenAs is Open for a file that holds, or is made to hold, the journal with an
// id.
func OpenAs(path string, wait time.Duration, id string) (*Store, error) {
	s, err := openAs(path, &bolt.Options{Timeout: max(wait, time.Millisecond)}, id)
	if err == nil && s.journal != id {
		err = errors.Join(fmt.Errorf("open journal %q: %w: it holds another journal", path, ErrNotOurs), s.Close())
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

func open(path string, opt *bolt.Options) (*Store, error) { return openAs(path, opt, uuid.NewString()) }

// openAs makes a journal with an id where the file is new.
func openAs(path string, opt *bolt.Options, id string) (*Store, error) {
	s, err := openDB(path, opt, id)
	if err != nil {
		return nil, fmt.Errorf("open journal %q: %w", path, explain(err))
	}
	return s, nil
}

func openDB(path string, opt *bolt.Options, id string) (*Store, error) {
	if err := whole(path); err != nil {
		return nil, err
	}
	var db *bolt.DB
	err := guarded(func() (err error) {
		db, err = bolt.Open(path, 0o600, opt)
		return err
	})
	if err != nil {
		return nil, err
	}
	s := &Store{db: db}
	format := 0
	err = s.view(func(tx *bolt.Tx) (err error) {
		format, err = s.inspect(tx)
		return err
	})
	switch {
	case err != nil:
	case format == 0:
		err = s.update(func(tx *bolt.Tx) error { return s.create(tx, id) })
	case format < fileFormat && !db.IsReadOnly():
		err = s.update(upgrade)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return s, nil
}

// inspect reads the journal's id and says which format the file has, 0 if it
// is new and empty.
func (s *Store) inspect(tx *bolt.Tx) (format int, err error) {
	meta := tx.Bucket(bucketMeta)
	if meta == nil || meta.Get(keyFormat) == nil {
		if first, _ := tx.Cursor().First(); first != nil {
			return 0, ErrNotOurs
		}
		return 0, nil
	}
	format, err = strconv.Atoi(string(meta.Get(keyFormat)))
	switch {
	case err != nil || format < 1:
		return 0, fmt.Errorf("%w: format %q", ErrNotOurs, clip(meta.Get(keyFormat)))
	case format > fileFormat:
		return 0, fmt.Errorf("%w: format %d, this version knows %d", ErrNewer, format, fileFormat)
	case tx.Bucket(bucketEntries) == nil || len(meta.Get(keyJournal)) == 0:
		return 0, fmt.Errorf("%w: a part is missing", ErrDamaged)
	}
	s.journal = string(meta.Get(keyJournal))
	return format, nil
}

// upgrade brings a file of format 1 to the present one. A version that knows
// format 1 alone then refuses the file, rather than write on with ids that
// have fallen behind.
func upgrade(tx *bolt.Tx) error {
	if tx.Bucket(bucketIDs) != nil {
		if err := tx.DeleteBucket(bucketIDs); err != nil {
			return err
		}
	}
	return putFormat(tx.Bucket(bucketMeta))
}

func putFormat(meta *bolt.Bucket) error {
	return meta.Put(keyFormat, strconv.AppendInt(nil, fileFormat, 10))
}

func clip(b []byte) []byte { return b[:min(len(b), 40)] }

func (s *Store) create(tx *bolt.Tx, id string) error {
	for _, name := range [][]byte{bucketEntries, bucketMeta} {
		if _, err := tx.CreateBucket(name); err != nil {
			return err
		}
	}
	meta := tx.Bucket(bucketMeta)
	if err := putFormat(meta); err != nil {
		return err
	}
	s.journal = id
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
		{syscall.ENOSPC, journal.ErrFull},
		{syscall.EDQUOT, journal.ErrFull},
		{syscall.EFBIG, journal.ErrFull}, // the file may not grow any more
		{berrors.ErrMaxSizeReached, journal.ErrFull},
	} {
		if errors.Is(err, known.cause) {
			return fmt.Errorf("%w: %w", known.is, err)
		}
	}
	// Where the file cannot grow bbolt keeps the text of the cause alone.
	for _, full := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		if strings.Contains(err.Error(), "file resize error") && strings.HasSuffix(err.Error(), full.Error()) {
			return fmt.Errorf("%w: %w", journal.ErrFull, err)
		}
	}
	return err
}

// Close lets go of the file once running calls are done.
func (s *Store) Close() error { return s.db.Close() }

// Journal is the random id of this journal, made with the file.
func (s *Store) Journal() string { return s.journal }

// Load returns every entry in the order of arrival.
func (s *Store) Load(ctx context.Context) ([]journal.Entry, error) {
	entries, _, err := s.After(ctx, 0, 0)
	return entries, err
}

// Append adds entries in one transaction, synced on return, and returns the
// ids that were new.
func (s *Store) Append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	added, err := s.append(ctx, entries)
	if err != nil {
		return nil, fmt.Errorf("append %d entries: %w", len(entries), explain(err))
	}
	return added, nil
}

func (s *Store) append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.mu.Lock() // bbolt lets one write at a time through anyway
	defer s.mu.Unlock()
	if err := s.readIDs(ctx); err != nil {
		return nil, err
	}
	var added []journal.ID
	var fresh []journal.Entry
	here := map[journal.ID]bool{}
	for _, e := range entries {
		if _, known := s.ids[e.ID]; known || here[e.ID] {
			continue
		}
		if e.ID == "" || len(e.ID) > journal.MaxIDBytes || e.Raw() == nil {
			return nil, fmt.Errorf("entry %q has no id or no record", e.ID)
		}
		here[e.ID] = true
		fresh, added = append(fresh, e), append(added, e.ID)
	}
	// Often nothing is new (a phone offers again what it sent before), which
	// needs no write and no sync.
	if len(fresh) == 0 {
		return nil, nil
	}
	numbers := make([]uint64, len(fresh))
	err := s.update(func(tx *bolt.Tx) error {
		records := tx.Bucket(bucketEntries)
		records.FillPercent = 1 // numbers only rise, so nothing comes between
		for i, e := range fresh {
			seq, err := records.NextSequence()
			if err != nil {
				return err
			}
			numbers[i] = seq
			if err := records.Put(binary.BigEndian.AppendUint64(nil, seq), record(e)); err != nil {
				return err
			}
		}
		return ctx.Err() // the last moment at which it can be called off
	})
	if err != nil {
		// Where the very last step failed nobody knows what the file holds.
		s.ids = nil
		return nil, err
	}
	for i, id := range added {
		s.ids[id] = numbers[i]
	}
	return added, nil
}

// Len is how many entries there are, as far as they are known.
func (s *Store) Len() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.ids)
}

// Fresh are those of the entries that the journal does not hold yet.
func (s *Store) Fresh(ctx context.Context, entries []journal.Entry) (fresh []journal.Entry, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.readIDs(ctx); err != nil {
		return nil, fmt.Errorf("look for entries: %w", explain(err))
	}
	for _, e := range entries {
		if _, known := s.ids[e.ID]; !known {
			fresh = append(fresh, e)
		}
	}
	return fresh, nil
}

// readIDs reads which entries the file holds, where that is not known; s.mu is
// held.
func (s *Store) readIDs(ctx context.Context) error {
	if s.ids != nil {
		return nil
	}
	ids := map[journal.ID]uint64{}
	err := s.view(func(tx *bolt.Tx) error {
		return tx.Bucket(bucketEntries).ForEach(func(k, v []byte) error {
			id, _, err := parts(k, v)
			if err != nil {
				return err
			}
			ids[journal.ID(id)] = binary.BigEndian.Uint64(k)
			if len(ids)%breath == 0 {
				runtime.Gosched()
			}
			return ctx.Err()
		})
	})
	if err != nil {
		return err
	}
	s.ids = ids
	return nil
}

// Get is the entry with an id.
func (s *Store) Get(ctx context.Context, id journal.ID) (e journal.Entry, ok bool, err error) {
	s.mu.Lock()
	err = s.readIDs(ctx)
	seq, ok := s.ids[id]
	s.mu.Unlock()
	if err == nil && ok {
		err = s.view(func(tx *bolt.Tx) error {
			key := binary.BigEndian.AppendUint64(nil, seq)
			id, raw, err := parts(key, tx.Bucket(bucketEntries).Get(key))
			if err == nil {
				e = journal.StoredEntry(journal.ID(id), raw)
			}
			return err
		})
	}
	if err != nil {
		return journal.Entry{}, false, fmt.Errorf("read entry %q: %w", id, explain(err))
	}
	return e, ok, nil
}

// parts takes a record apart.
func parts(key, value []byte) (id, raw []byte, err error) {
	if len(key) != 8 || len(value) == 0 || len(value) < 1+int(value[0]) {
		return nil, nil, fmt.Errorf("%w: record %x", ErrDamaged, key)
	}
	n := 1 + int(value[0])
	return value[1:n], value[n:], nil
}

func record(e journal.Entry) []byte {
	b := make([]byte, 0, 1+len(e.ID)+len(e.Raw()))
	b = append(b, byte(len(e.ID)))
	b = append(b, e.ID...)
	return append(b, e.Raw()...)
}

// breath is after how many entries of a long season others are let through,
// whose screens would wait for as long as the runtime lets one go on.
const breath = 200

// After returns entries that arrived after number seq.
func (s *Store) After(ctx context.Context, seq uint64, limit int) (entries []journal.Entry, last uint64, err error) {
	last = seq
	err = s.view(func(tx *bolt.Tx) error {
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
			id, raw, err := parts(k, v)
			if err != nil {
				return err
			}
			entries = append(entries, journal.StoredEntry(journal.ID(id), raw))
			last = binary.BigEndian.Uint64(k)
			if len(entries)%breath == 0 {
				runtime.Gosched()
			}
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
	err = s.view(func(tx *bolt.Tx) error {
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
