package people

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"time"
)

// Errors of a copy.
var (
	ErrOthers = errors.New("other people are kept there")
	ErrGoneOn = errors.New("people came there before, and one of the two has gone on since")
)

// OpenKV opens the file at path, of whatever format, to be copied from or to.
func OpenKV(path string, wait time.Duration) (KV, error) { return openBolt(path, wait) }

// copyPage is how many records are copied in one change.
const copyPage = 500

// Begin marks a place as one to which all that from holds is being copied, so
// that nobody opens what is half there. Where it keeps other people it is
// ErrOthers. Nothing is changed where all has come before.
func Begin(from, to KV) error {
	whole, err := begin(from, to)
	if err != nil || !whole {
		return err
	}
	same, err := Same(from, to)
	if err == nil && !same {
		err = ErrGoneOn
	}
	return err
}

func begin(from, to KV) (whole bool, err error) {
	var id []byte
	err = from.View(func(tx Tx) error {
		id = bytes.Clone(tx.Bucket(bucketMeta).Get(keyID))
		return nil
	})
	if err == nil && id == nil {
		err = ErrUnknown
	}
	if err == nil {
		err = to.Update(func(tx Tx) error {
			meta := tx.Bucket(bucketMeta)
			here, moving := meta.Get(keyID), meta.Get(keyMoving)
			if here != nil && !bytes.Equal(here, id) || moving != nil && !bytes.Equal(moving, id) {
				return ErrOthers
			}
			if whole = here != nil && moving == nil; whole {
				return nil // it may have gone on since
			}
			return meta.Put(keyMoving, id)
		})
	}
	if err != nil {
		return false, fmt.Errorf("copy people: %w", err)
	}
	return whole, nil
}

// Copy makes to what from is. It may be broken off and repeated; see Begin.
func Copy(from, to KV) error {
	whole, err := begin(from, to)
	if err != nil || whole {
		return err
	}
	for _, name := range buckets {
		if err := copyBucket(from, to, name); err != nil {
			return fmt.Errorf("copy people: %s: %w", name, err)
		}
	}
	same, err := Same(from, to)
	if err == nil && !same {
		err = errors.New("the copy differs")
	}
	if err == nil {
		err = to.Update(func(tx Tx) error { return tx.Bucket(bucketMeta).Delete(keyMoving) })
	}
	if err != nil {
		return fmt.Errorf("copy people: %w", err)
	}
	return nil
}

func copyBucket(from, to KV, name []byte) error {
	type record struct{ key, value []byte }
	var next []byte
	for more := true; more; {
		var page []record
		var sequence uint64
		err := from.View(func(tx Tx) error {
			b := tx.Bucket(name)
			sequence = b.Sequence()
			for k, v := range b.From(next) {
				if len(page) == copyPage {
					next = bytes.Clone(k)
					return nil
				}
				page = append(page, record{bytes.Clone(k), bytes.Clone(v)})
			}
			more = false
			return nil
		})
		if err != nil {
			return err
		}
		err = to.Update(func(tx Tx) error {
			b := tx.Bucket(name)
			if !more { // it only ever rises
				if err := b.SetSequence(sequence); err != nil {
					return err
				}
			}
			for _, r := range page {
				if err := b.Put(r.key, r.value); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// Same tells whether two places hold the same records, but for the mark that
// one is being copied.
func Same(a, b KV) (bool, error) {
	x, err := sum(a)
	if err != nil {
		return false, err
	}
	y, err := sum(b)
	return bytes.Equal(x, y), err
}

// sum is a hash over all records, each with its length before it.
func sum(kv KV) ([]byte, error) {
	h := sha256.New()
	add := func(b []byte) {
		h.Write(binary.BigEndian.AppendUint64(nil, uint64(len(b))))
		h.Write(b)
	}
	err := kv.View(func(tx Tx) error {
		for _, name := range buckets {
			b := tx.Bucket(name)
			add(name)
			add(number(b.Sequence()))
			for k, v := range b.From(nil) {
				if bytes.Equal(name, bucketMeta) && bytes.Equal(k, keyMoving) {
					continue
				}
				add(k)
				add(v)
			}
		}
		return nil
	})
	return h.Sum(nil), err
}
