// Package intake takes entries into a journal of which nobody has the state at
// hand: an exchange costs no fold of a long season.
package intake

import (
	"context"
	"fmt"
	"sync"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Intake merges into one journal. A Ledger over the same journal sees what it
// added after its next Refresh. It is safe for concurrent use.
type Intake struct {
	store journal.Store
	write sync.Mutex
}

// New is the intake of a journal.
func New(store journal.Store) *Intake { return &Intake{store: store} }

// Store is the journal's store.
func (in *Intake) Store() journal.Store { return in.store }

// Merge does what flybox.Ledger.Merge does.
func (in *Intake) Merge(ctx context.Context, entries []journal.Entry) (added int, bad []flybox.Bad, err error) {
	good, bad := flybox.Sift(entries)
	in.write.Lock()
	defer in.write.Unlock()
	// What is there already the store passes over, and it is compared then.
	never := func(journal.ID) bool { return false }
	good, taken, err := journal.Apart(ctx, in.store, good, never, never)
	bad = append(bad, flybox.Taken(taken)...)
	if err != nil || len(good) == 0 {
		return 0, bad, err
	}
	ids, err := in.store.Append(ctx, good)
	if err != nil {
		return 0, bad, fmt.Errorf("merge %d entries: %w", len(good), err)
	}
	_, taken, err = journal.Stored(ctx, in.store, good, ids, never)
	return len(ids), append(bad, flybox.Taken(taken)...), err
}
