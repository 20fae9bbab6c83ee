package accounts

import (
	"context"
	"fmt"
	"math"

	"dampstone/flybox/journal"
)

// view is the journal that a person's screens and backups are made from: their
// own, and beside it what others share. It numbers what it gives in the order
// in which it is read.
type view struct {
	journal.Store // the person's own
	feed          feed

	given uint64 // entries that were given
	own   uint64 // number in the person's journal
	crew  journal.Place
}

// Load implements journal.Store.
func (v *view) Load(ctx context.Context) ([]journal.Entry, error) {
	entries, _, err := v.After(ctx, 0, 0)
	return entries, err
}

// After implements journal.Store, for one reader who goes on from where they
// were, or starts anew.
func (v *view) After(ctx context.Context, seq uint64, limit int) ([]journal.Entry, uint64, error) {
	own, crew := v.own, v.crew
	if seq == 0 {
		own, crew = 0, journal.Place{}
	} else if seq != v.given {
		return nil, 0, fmt.Errorf("read after %d what was read up to %d", seq, v.given)
	}
	entries, own, err := v.Store.After(ctx, own, limit)
	if err != nil {
		return nil, 0, err
	}
	for more := true; more && (limit <= 0 || len(entries) < limit); {
		page := sharePage
		if limit > 0 {
			page = min(page, limit-len(entries))
		}
		var theirs []journal.Entry
		if theirs, crew, more, err = v.feed.After(ctx, crew, page, math.MaxInt); err != nil {
			return nil, 0, err
		}
		entries = append(entries, theirs...)
	}
	v.given, v.own, v.crew = seq+uint64(len(entries)), own, crew
	return entries, v.given, nil
}

// things are the ids of what others share with the person, and of what that is
// about.
func (f feed) things(ctx context.Context) (ids []journal.ID, err error) {
	var at journal.Place
	for more := true; more; {
		var entries []journal.Entry
		if entries, at, more, err = f.After(ctx, at, sharePage, math.MaxInt); err != nil {
			return nil, err
		}
		for _, e := range entries {
			ids = append(ids, e.ID)
			if thing, ok := sharable(e); ok && thing != e.ID {
				ids = append(ids, thing)
			}
		}
	}
	return ids, nil
}
