package people

import (
	"bytes"
	"dampstone/flybox/journal"
	"encoding/binary"
	"fmt"

	bolt "go.etcd.io/bbolt"
)

// Cursor is how far the ledger of one person was read for the crew by
// another.
func (r *Registry) Cursor(from, to string) (seq uint64, err error) {
	err = r.db.View(func(tx *bolt.Tx) error {
		if raw := tx.Bucket(bucketCursors).Get(pair(from, to)); len(raw) == 8 {
			seq = binary.BigEndian.Uint64(raw)
		}
		return nil
	})
	return seq, err
}

// SetCursor is durable on return.
func (r *Registry) SetCursor(from, to string, seq uint64) error {
	err := r.db.Update(func(tx *bolt.Tx) error {
		return tx.Bucket(bucketCursors).Put(pair(from, to), binary.BigEndian.AppendUint64(nil, seq))
	})
	if err != nil {
		return fmt.Errorf("keep place in shared sightings: %w", err)
	}
	return nil
}

// SetCame notes which ids are in a person's ledger because somebody else
// shared them: they are not that person's to share.
func (r *Registry) SetCame(person string, ids []journal.ID) error {
	return r.mark(bucketCame, person, ids)
}

// SetGave notes which ids a person shared.
func (r *Registry) SetGave(person string, ids []journal.ID) error {
	return r.mark(bucketGave, person, ids)
}

func (r *Registry) mark(bucket []byte, person string, ids []journal.ID) error {
	if len(ids) == 0 {
		return nil
	}
	err := r.db.Update(func(tx *bolt.Tx) error {
		b := tx.Bucket(bucket)
		for _, id := range ids {
			if err := b.Put(pair(person, id), []byte{1}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("note what was shared: %w", err)
	}
	return nil
}

// Gave tells whether a person shared something.
func (r *Registry) Gave(person string, id journal.ID) (gave bool, err error) {
	err = r.db.View(func(tx *bolt.Tx) error {
		gave = tx.Bucket(bucketGave).Get(pair(person, id)) != nil
		return nil
	})
	return gave, err
}

// Came tells which of the ids somebody else shared with the person.
func (r *Registry) Came(person string, ids []journal.ID) (came map[journal.ID]bool, err error) {
	came = map[journal.ID]bool{}
	err = r.db.View(func(tx *bolt.Tx) error {
		b := tx.Bucket(bucketCame)
		for _, id := range ids {
			if b.Get(pair(person, id)) != nil {
				came[id] = true
			}
		}
		return nil
	})
	return came, err
}

// Marked lists the ids that came to a person from others and those that the
// person gave.
func (r *Registry) Marked(person string) (came, gave []journal.ID, err error) {
	err = r.db.View(func(tx *bolt.Tx) error {
		came, gave = second(tx.Bucket(bucketCame), person), second(tx.Bucket(bucketGave), person)
		return nil
	})
	return came, gave, err
}

// second lists the second ids of all keys that have this first one.
func second(b *bolt.Bucket, first string) (ids []journal.ID) {
	prefix := pair(first, journal.ID(""))
	c := b.Cursor()
	for k, _ := c.Seek(prefix); bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		ids = append(ids, journal.ID(k[len(prefix):]))
	}
	return ids
}

// pair is a key of two ids, neither of which holds a zero byte.
func pair[S ~string](a string, b S) []byte { return []byte(a + "\x00" + string(b)) }
