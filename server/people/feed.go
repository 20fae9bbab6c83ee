package people

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"dampstone/flybox/journal"
)

// The feed is what the people of a crew share: one journal for all of them,
// beside their ledgers, numbered from 1. Each person reads what others gave
// while they were in the crew themselves.

// item is something that a person gave. In the file it is the giver's id, a
// line feed and the entry, whose bytes stay as they are.
type item struct {
	Giver string
	Entry journal.Entry
}

// span is a time in the crew, in numbers of the feed.
type span struct {
	From uint64 `json:"from"`         // the last item before it
	To   uint64 `json:"to,omitempty"` // the last item of it; 0 while it lasts
}

func (s span) holds(seq uint64) bool { return seq > s.From && (s.To == 0 || seq <= s.To) }

// Gift is what a person gives to the crew.
type Gift struct {
	From    string
	Entries []journal.Entry // as others get them
	Things  []journal.ID    // what each of them is about, as others know it
	Given   []journal.ID    // ids in the giver's ledger, not to be mistaken for another's
	Kept    uint64          // number in the giver's ledger up to which had been looked
	Looked  uint64          // the same now
	Day     string          // on which it is given, such as "2026-08-14"
}

// ErrMoved says that somebody else has looked at a ledger meanwhile, or that
// its person has left the crew.
var ErrMoved = errors.New("the crew has changed meanwhile")

// still fails with ErrMoved unless a person shares, and their ledger was looked
// at up to a number.
func still(tx Tx, person string, kept uint64) error {
	var p Person
	if _, err := get(tx.Bucket(bucketPeople), person, &p); err != nil {
		return err
	}
	if !p.Shares || !bytes.Equal(tx.Bucket(bucketLooked).Get([]byte(person)), number(kept)) {
		return ErrMoved
	}
	return nil
}

// Give is durable on return, in one transaction. What the feed has is passed
// over.
func (r *Registry) Give(g Gift) error {
	err := r.db.Update(func(tx Tx) error {
		if err := still(tx, g.From, g.Kept); err != nil {
			return err
		}
		feed, ids := tx.Bucket(bucketFeed), tx.Bucket(bucketFeedIDs)
		n := 0
		for i, e := range g.Entries {
			if known, _ := itemOf(tx, e.ID); known != 0 {
				continue
			}
			seq, err := feed.NextSequence()
			if err != nil {
				return err
			}
			n++
			if err := feed.Put(number(seq), slices.Concat([]byte(g.From), []byte{'\n'}, e.Raw())); err != nil {
				return err
			}
			for _, id := range []journal.ID{e.ID, g.Things[i]} {
				if ids.Get([]byte(id)) != nil {
					continue
				}
				if err := ids.Put([]byte(id), number(seq)); err != nil {
					return err
				}
			}
		}
		if err := mark(tx, bucketGave, g.From, g.Given); err != nil {
			return err
		}
		if n > 0 {
			given, err := givenOn(tx, g.From, g.Day)
			if err != nil {
				return err
			}
			if err := put(tx.Bucket(bucketGivenDay), []byte(g.From), day{g.Day, given + n}); err != nil {
				return err
			}
		}
		return tx.Bucket(bucketLooked).Put([]byte(g.From), number(g.Looked))
	})
	if err != nil {
		return fmt.Errorf("give to the crew: %w", err)
	}
	return nil
}

// itemOf is the number of the item that is an entry; 0 if there is none.
func itemOf(tx Tx, id journal.ID) (seq uint64, it item) {
	key := tx.Bucket(bucketFeedIDs).Get([]byte(id))
	if key == nil {
		return 0, it
	}
	it, err := readItem(tx.Bucket(bucketFeed).Get(key))
	if err != nil || it.Entry.ID != id {
		return 0, it
	}
	return binary.BigEndian.Uint64(key), it
}

func readItem(raw []byte) (it item, err error) {
	giver, entry, ok := bytes.Cut(raw, []byte{'\n'})
	if !ok {
		return it, errNoItem
	}
	it.Giver = string(giver)
	it.Entry, err = journal.ParseEntry(bytes.Clone(entry)) // the file's memory is not ours to keep
	return it, err
}

var errNoItem = errors.New("the feed has no such item")

// day is how much was given on a day.
type day struct {
	Date string `json:"date"`
	N    int    `json:"n"`
}

func givenOn(tx Tx, person, date string) (int, error) {
	var d day
	if _, err := get(tx.Bucket(bucketGivenDay), person, &d); err != nil || d.Date != date {
		return 0, err
	}
	return d.N, nil
}

// GivenOn is how many entries a person gave on a day.
func (r *Registry) GivenOn(person, date string) (n int, err error) {
	err = r.db.View(func(tx Tx) (err error) {
		n, err = givenOn(tx, person, date)
		return err
	})
	return n, err
}

// Looked is the number in a person's ledger up to which was looked for what
// goes to the crew. Where nobody has looked yet, as with a file of format 1 of
// one person alone, that is end, from now on.
func (r *Registry) Looked(person string, end uint64) (seq uint64, err error) {
	known := false
	look := func(tx Tx) error {
		raw := tx.Bucket(bucketLooked).Get([]byte(person))
		if known = len(raw) == 8; known {
			seq = binary.BigEndian.Uint64(raw)
		}
		return nil
	}
	if err = r.db.View(look); err == nil && !known {
		err = r.db.Update(func(tx Tx) error {
			if err := look(tx); err != nil || known {
				return err
			}
			seq = end
			return tx.Bucket(bucketLooked).Put([]byte(person), number(end))
		})
	}
	if err != nil {
		return 0, fmt.Errorf("find place in shared sightings: %w", err)
	}
	return seq, nil
}

// Alone tells whether nothing else writes to the registry.
func (r *Registry) Alone() bool { return r.db.Alone() }

// SetLooked is durable on return. kept is what Looked gave.
func (r *Registry) SetLooked(person string, kept, seq uint64) error {
	err := r.db.Update(func(tx Tx) error {
		if err := still(tx, person, kept); err != nil {
			return err
		}
		return tx.Bucket(bucketLooked).Put([]byte(person), number(seq))
	})
	if err != nil {
		return fmt.Errorf("keep place in shared sightings: %w", err)
	}
	return nil
}

// SetShares says whether a person is in the crew. Whoever comes in gives what
// stands after the number looked in their ledger, and gets what comes to the
// feed from now on.
func (r *Registry) SetShares(person string, shares bool, looked uint64) error {
	return r.change("change crew", func(tx Tx) error {
		p, err := personOf(tx, person)
		if err != nil {
			return err
		}
		if p.Shares == shares {
			return nil
		}
		spans, err := spansOf(tx, person)
		if err != nil {
			return err
		}
		end := tx.Bucket(bucketFeed).Sequence()
		if shares {
			spans = append(spans, span{From: end})
			if err := tx.Bucket(bucketLooked).Put([]byte(person), number(looked)); err != nil {
				return err
			}
		} else if last := len(spans) - 1; last >= 0 {
			if spans[last].To = end; end == spans[last].From {
				spans = spans[:last] // nothing came meanwhile; and 0 would be without end
			}
		}
		p.Shares = shares
		return errors.Join(put(tx.Bucket(bucketSpans), []byte(person), spans), put(tx.Bucket(bucketPeople), []byte(person), p))
	})
}

func spansOf(tx Tx, person string) (spans []span, err error) {
	_, err = get(tx.Bucket(bucketSpans), person, &spans)
	return spans, err
}

// Feed gives a person what stands in the feed after a place, at most limit
// entries and about so many bytes of them, the place that was reached, and
// whether there may be more. A place that is not in the feed is its start.
func (r *Registry) Feed(to string, at journal.Place, limit, size int) (entries []journal.Entry, next journal.Place, more bool, err error) {
	err = r.db.View(func(tx Tx) error {
		feed := tx.Bucket(bucketFeed)
		if raw := feed.Get(number(at.Seq)); raw == nil || markOf(raw) != at.Mark {
			at = journal.Place{}
		}
		next = at
		spans, err := spansOf(tx, to)
		if err != nil || len(spans) == 0 {
			return err
		}
		from := max(at.Seq, spans[0].From)
		left := 100 * limit // items of others' or of other times cost time too
		for k, raw := range feed.From(number(from + 1)) {
			if limit <= 0 || size <= 0 || left <= 0 {
				more = true
				return nil
			}
			seq := binary.BigEndian.Uint64(k)
			left--
			it, err := readItem(raw)
			if err != nil {
				return fmt.Errorf("item %d: %w", seq, err)
			}
			next = journal.Place{Seq: seq, Mark: markOf(raw)}
			if it.Giver == to || !within(spans, seq) {
				continue
			}
			entries = append(entries, it.Entry)
			limit--
			size -= len(it.Entry.Raw())
		}
		return nil
	})
	if err != nil {
		return nil, at, false, fmt.Errorf("read what the crew shares: %w", err)
	}
	return entries, next, more, nil
}

func within(spans []span, seq uint64) bool {
	for _, s := range spans {
		if s.holds(seq) {
			return true
		}
	}
	return false
}

// markOf stands for an item: a feed that was restored from an older copy has
// another one at the same number, or none.
func markOf(raw []byte) string {
	return fmt.Sprintf("%x", hash(string(raw))[:8])
}

// FeedEntry is the entry with an id, where it is in the feed for a person.
func (r *Registry) FeedEntry(to string, id journal.ID) (e journal.Entry, ok bool, err error) {
	err = r.db.View(func(tx Tx) error {
		seq, it := itemOf(tx, id)
		if seq == 0 || it.Giver == to {
			return nil
		}
		spans, err := spansOf(tx, to)
		if err != nil || !within(spans, seq) {
			return err
		}
		e, ok = it.Entry, true
		return nil
	})
	if err != nil {
		return journal.Entry{}, false, fmt.Errorf("look up what the crew shares: %w", err)
	}
	return e, ok, nil
}

// forget takes a person out of the feed and of all that is noted for it.
func forget(tx Tx, person string) error {
	feed, ids := tx.Bucket(bucketFeed), tx.Bucket(bucketFeedIDs)
	var gone [][]byte
	err := each(feed, func(k, raw []byte) error {
		if it, err := readItem(raw); err == nil && it.Giver == person {
			gone = append(gone, bytes.Clone(k))
		}
		return nil
	})
	if err != nil {
		return err
	}
	numbers := map[string]bool{}
	for _, k := range gone {
		numbers[string(k)] = true
		if err := feed.Delete(k); err != nil {
			return err
		}
	}
	var dead [][]byte
	if err := each(ids, func(id, k []byte) error {
		if numbers[string(k)] {
			dead = append(dead, bytes.Clone(id))
		}
		return nil
	}); err != nil {
		return err
	}
	for _, id := range dead {
		if err := ids.Delete(id); err != nil {
			return err
		}
	}
	for _, bucket := range [][]byte{bucketSpans, bucketLooked, bucketGivenDay} {
		if err := tx.Bucket(bucket).Delete([]byte(person)); err != nil {
			return err
		}
	}
	for _, bucket := range [][]byte{bucketCame, bucketGave} {
		for _, id := range second(tx.Bucket(bucket), person) {
			if err := tx.Bucket(bucket).Delete(pair(person, id)); err != nil {
				return err
			}
		}
	}
	return nil
}

func number(seq uint64) []byte { return binary.BigEndian.AppendUint64(nil, seq) }

// startFeed brings a file of format 1, in which what was shared went into the
// ledgers of all, to format 2. What is there stays there; the feed goes on
// from where the one stood for whom least of a ledger was looked at, which
// gives to others again what they have, under the same ids.
func startFeed(tx Tx) error {
	var p Person
	var crew []string
	if err := all(tx, bucketPeople, &p, func() {
		if p.Shares {
			crew = append(crew, p.ID)
		}
		p = Person{}
	}); err != nil {
		return err
	}
	for _, from := range crew {
		if err := put(tx.Bucket(bucketSpans), []byte(from), []span{{}}); err != nil {
			return err
		}
		var least uint64
		looked := false
		for _, to := range crew {
			raw := tx.Bucket(bucketCursors).Get(pair(from, to))
			if len(raw) != 8 {
				continue
			}
			if seq := binary.BigEndian.Uint64(raw); !looked || seq < least {
				least, looked = seq, true
			}
		}
		if !looked {
			continue // alone so far
		}
		if err := tx.Bucket(bucketLooked).Put([]byte(from), number(least)); err != nil {
			return err
		}
	}
	var old [][]byte
	for k := range tx.Bucket(bucketCursors).From(nil) {
		old = append(old, bytes.Clone(k))
	}
	for _, k := range old {
		if err := tx.Bucket(bucketCursors).Delete(k); err != nil {
			return err
		}
	}
	return nil
}
