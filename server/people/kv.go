package people

import (
	"errors"
	"fmt"
	"iter"
	"os"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// KV is where a Registry keeps its records: by key, in buckets. It is safe for
// concurrent use.
type KV interface {
	// View reads, and Update reads and writes, all or nothing, durable on
	// return, as if no other Update ran meanwhile.
	View(func(Tx) error) error
	Update(func(Tx) error) error
	// Alone tells that nothing else writes there, so that what was read may be
	// kept in memory.
	Alone() bool
	Close() error
}

// Tx is one look or change. What fails to be read ends it with an error.
type Tx interface {
	Bucket(name []byte) Bucket
}

// Bucket holds records by key, in the order of the keys' bytes. What it gives
// is good until the end of the Tx.
type Bucket interface {
	Get(key []byte) []byte // nil if there is none
	Put(key, value []byte) error
	Delete(key []byte) error
	// From gives the records from a key on; nothing may be changed meanwhile.
	From(key []byte) iter.Seq2[[]byte, []byte]
	// Sequence is the number that NextSequence gave last, 0 at first.
	Sequence() uint64
	NextSequence() (uint64, error)
	SetSequence(n uint64) error
}

// boltKV is a bbolt file.
type boltKV struct{ db *bolt.DB }

func openBolt(path string, wait time.Duration) (KV, error) {
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: max(wait, time.Millisecond)})
	if errors.Is(err, berrors.ErrTimeout) {
		err = ErrInUse
	}
	if err == nil {
		if err = makeBuckets(db); err != nil {
			err = errors.Join(err, db.Close())
		}
	}
	if err != nil {
		return nil, fmt.Errorf("open people %q: %w", path, err)
	}
	return boltKV{db}, nil
}

// makeBuckets makes those that are not there, which costs no write where all
// are.
func makeBuckets(db *bolt.DB) error {
	var missing [][]byte
	err := db.View(func(tx *bolt.Tx) error {
		for _, name := range buckets {
			if tx.Bucket(name) == nil {
				missing = append(missing, name)
			}
		}
		return nil
	})
	if err != nil || len(missing) == 0 {
		return err
	}
	return db.Update(func(tx *bolt.Tx) error {
		for _, name := range missing {
			if _, err := tx.CreateBucket(name); err != nil {
				return err
			}
		}
		return nil
	})
}

// InUse tells whether another process has the file at path open.
func InUse(path string) bool {
	if _, err := os.Stat(path); err != nil {
		return false
	}
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: time.Millisecond, ReadOnly: true})
	if err == nil {
		db.Close()
	}
	return errors.Is(err, berrors.ErrTimeout)
}

func (kv boltKV) View(f func(Tx) error) error {
	return kv.db.View(func(tx *bolt.Tx) error { return f(boltTx{tx}) })
}

func (kv boltKV) Update(f func(Tx) error) error {
	return kv.db.Update(func(tx *bolt.Tx) error { return f(boltTx{tx}) })
}

func (kv boltKV) Alone() bool  { return true }
func (kv boltKV) Close() error { return kv.db.Close() }

type boltTx struct{ *bolt.Tx }

func (tx boltTx) Bucket(name []byte) Bucket { return boltBucket{tx.Tx.Bucket(name)} }

type boltBucket struct{ *bolt.Bucket }

func (b boltBucket) From(key []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		c := b.Cursor()
		for k, v := c.Seek(key); k != nil && yield(k, v); k, v = c.Next() {
		}
	}
}
