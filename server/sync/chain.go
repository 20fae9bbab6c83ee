//go:build !js

package sync

import (
	"context"
	gosync "sync"

	"dampstone/flybox/journal"
)

// Linked is a store that keeps the link of every entry: several servers write
// to it, and it may turn into an older copy of itself while they run.
type Linked interface {
	// Link is the link of the entry numbered seq; ok is false if the journal
	// does not reach that far.
	Link(ctx context.Context, seq uint64) (l journal.Link, ok bool, err error)
}

// chain keeps the link of every number of a journal, 16 bytes each, made as
// the journal is read; not where the store keeps them.
type chain struct {
	mu    gosync.Mutex
	links []journal.Link // of number i+1
}

const chainPage = 4096 // entries read at a time

// at is the link of the entry numbered seq; ok is false if the journal does
// not reach that far.
func (c *chain) at(ctx context.Context, store journal.Store, seq uint64) (l journal.Link, ok bool, err error) {
	if seq == 0 {
		return journal.Link{}, true, nil
	}
	if linked, ok := store.(Linked); ok {
		return linked.Link(ctx, seq)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for uint64(len(c.links)) < seq {
		entries, _, err := store.After(ctx, uint64(len(c.links)), chainPage)
		if err != nil {
			return journal.Link{}, false, err
		}
		if len(entries) == 0 {
			return journal.Link{}, false, nil
		}
		for _, e := range entries {
			last := journal.Link{}
			if n := len(c.links); n > 0 {
				last = c.links[n-1]
			}
			c.links = append(c.links, last.Next(e.Raw()))
		}
	}
	return c.links[seq-1], true, nil
}
