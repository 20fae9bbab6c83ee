package accounts

import (
	"context"
	"fmt"
	"time"

	"dampstone/flybox/journal"
	"dampstone/server/sync"
)

// Quota is what a person may keep on a server. Zero is no bound.
type Quota struct {
	Entries int   // in all
	Bytes   int64 // of the file, in all
	Day     int   // entries that may be added in a day, UTC; where ledgers are files a new start of the server forgets the day
}

// watched is the store of a person's ledger, within their share of the server.
type watched struct {
	Ledger
	service *Service
	person  string
	bound   bool // by the quota; the owner is not, whose disk it is
}

// linked is watched over a store that keeps links.
type linked struct {
	*watched
	sync.Linked
}

// withLinks is the store of a ledger with what it offers to an exchange.
func withLinks(w *watched) journal.Store {
	if l, ok := w.Ledger.(sync.Linked); ok {
		return linked{w, l}
	}
	return w
}

// daily counts by the day (UTC); the day before is forgotten.
type daily struct {
	date string
	n    map[string]int
}

// add counts n more for a key on a day, and says what that comes to.
func (d *daily) add(date, key string, n int) int {
	if d.date != date {
		d.date, d.n = date, map[string]int{}
	}
	d.n[key] += n
	return d.n[key]
}

func (w *watched) Append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	entries, err := w.theirs(entries)
	if err != nil || len(entries) == 0 {
		return nil, err
	}
	counted := ctx.Value(noQuota{}) == nil
	if w.bound && counted {
		fresh, err := w.Fresh(ctx, entries)
		if err != nil {
			return nil, err
		}
		if err := w.room(ctx, len(fresh)); err != nil {
			w.service.refusedEntries.Add(int64(len(fresh)))
			return nil, fmt.Errorf("add %d entries: %w", len(fresh), err)
		}
	}
	added, err := w.Ledger.Append(ctx, entries)
	if len(added) > 0 {
		w.service.addedEntries.Add(int64(len(added)))
		if counted && w.bound {
			if _, err := w.today(ctx, len(added)); err != nil {
				w.service.Log.Error("count what was added", "err", err) // it is stored all the same
			}
		}
		w.service.wakeSharing(w.person)
	}
	return added, err
}

// theirs leaves out what stands in the feed for the person, which a phone may
// bring back: it is kept there. What a feed has lost goes into the ledger, and
// is noted as not the person's to share.
func (w *watched) theirs(entries []journal.Entry) (out []journal.Entry, err error) {
	var lost []journal.ID
	for _, e := range entries {
		if e.Readable() && e.At.Device == crewDevice {
			_, there, err := w.service.people.FeedEntry(w.person, e.ID)
			if err != nil {
				return nil, err
			}
			if there {
				continue
			}
			lost = append(lost, e.ID)
			if thing, ok := sharable(e); ok {
				lost = append(lost, thing)
			}
		}
		out = append(out, e)
	}
	return out, w.service.people.SetCame(w.person, lost)
}

// GetAll implements journal.Getter, as Get does.
func (w *watched) GetAll(ctx context.Context, ids []journal.ID) (map[journal.ID]journal.Entry, error) {
	all, err := journal.GetAll(ctx, w.Ledger, ids)
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		if _, ok := all[id]; ok {
			continue
		}
		e, ok, err := w.service.people.FeedEntry(w.person, id)
		if err != nil {
			return nil, err
		}
		if ok {
			all[id] = e
		}
	}
	return all, nil
}

// Get finds an entry in the person's journal, or among what others share.
func (w *watched) Get(ctx context.Context, id journal.ID) (journal.Entry, bool, error) {
	e, ok, err := w.Ledger.Get(ctx, id)
	if ok || err != nil {
		return e, ok, err
	}
	return w.service.people.FeedEntry(w.person, id)
}

// room tells whether so many more entries fit the share. What is known here
// already always does, so that a phone learns that it is safe.
func (w *watched) room(ctx context.Context, fresh int) error {
	q := w.service.Quota
	switch {
	case fresh == 0:
		return nil
	case q.Entries > 0 && w.Len()+fresh > q.Entries, q.Bytes > 0 && w.Bytes() >= q.Bytes:
		return journal.ErrShare
	case q.Day > 0:
		today, err := w.today(ctx, 0)
		if err == nil && today+fresh > q.Day {
			err = journal.ErrToday
		}
		return err
	}
	return nil
}

// share is how much of the share is used.
func (w *watched) share(ctx context.Context) (used float64, err error) {
	q := w.service.Quota
	if !w.bound {
		return 0, nil
	}
	if q.Entries > 0 {
		used = float64(w.Len()) / float64(q.Entries)
	}
	if q.Bytes > 0 {
		used = max(used, float64(w.Bytes())/float64(q.Bytes))
	}
	if q.Day > 0 {
		var today int
		today, err = w.today(ctx, 0)
		used = max(used, float64(today)/float64(q.Day))
	}
	return used, err
}

// today adds to what the person has added today, and says what it comes to.
func (w *watched) today(ctx context.Context, n int) (int, error) {
	if w.service.Quota.Day <= 0 {
		return 0, nil
	}
	return w.service.ledgers.Today(ctx, w.person, w.service.Now().UTC().Format(time.DateOnly), n)
}

type noQuota struct{}

// withoutQuota is for what the server itself or its owner brings.
func withoutQuota(ctx context.Context) context.Context {
	return context.WithValue(ctx, noQuota{}, true)
}
