package people

import (
	"bytes"
	"fmt"

	"dampstone/flybox/journal"
)

// SetCame notes which ids in a person's ledger are not that person's to share:
// somebody else gave them, or they are from before the person shared.
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
	if err := r.db.Update(func(tx Tx) error { return mark(tx, bucket, person, ids) }); err != nil {
		return fmt.Errorf("note what was shared: %w", err)
	}
	return nil
}

func mark(tx Tx, bucket []byte, person string, ids []journal.ID) error {
	b := tx.Bucket(bucket)
	for _, id := range ids {
		if err := b.Put(pair(person, id), []byte{1}); err != nil {
			return err
		}
	}
	return nil
}

// Gave tells whether a person shared something.
func (r *Registry) Gave(person string, id journal.ID) (gave bool, err error) {
	err = r.db.View(func(tx Tx) error {
		gave = tx.Bucket(bucketGave).Get(pair(person, id)) != nil
		return nil
	})
	return gave, err
}

// Came tells which of the ids are not the person's to share: such as were
// noted so, and such as others gave to the feed.
func (r *Registry) Came(person string, ids []journal.ID) (came map[journal.ID]bool, err error) {
	came = map[journal.ID]bool{}
	err = r.db.View(func(tx Tx) error {
		noted, feed, items := tx.Bucket(bucketCame), tx.Bucket(bucketFeed), tx.Bucket(bucketFeedIDs)
		for _, id := range ids {
			if noted.Get(pair(person, id)) != nil {
				came[id] = true
				continue
			}
			if key := items.Get([]byte(id)); key != nil {
				it, err := readItem(feed.Get(key))
				came[id] = err != nil || it.Giver != person
			}
		}
		return nil
	})
	return came, err
}

// Marked lists the ids that are not a person's to share and those that the
// person gave.
func (r *Registry) Marked(person string) (came, gave []journal.ID, err error) {
	err = r.db.View(func(tx Tx) error {
		came, gave = second(tx.Bucket(bucketCame), person), second(tx.Bucket(bucketGave), person)
		return nil
	})
	return came, gave, err
}

// second lists the second ids of all keys that have this first one.
func second(b Bucket, first string) (ids []journal.ID) {
	prefix := pair(first, journal.ID(""))
	for k := range b.From(prefix) {
		if !bytes.HasPrefix(k, prefix) {
			break
		}
		ids = append(ids, journal.ID(k[len(prefix):]))
	}
	return ids
}

// pair is a key of two ids, neither of which holds a zero byte.
func pair[S ~string](a string, b S) []byte { return []byte(a + "\x00" + string(b)) }
