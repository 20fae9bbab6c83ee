// Package memstore keeps a journal in memory: for tests, for a demo, and as
// the plainest reading of what a flybox.Store and flybox.Outbox promise,
// except that nothing outlives the process.
package memstore

import (
	"bytes"
	"context"
	"sync"

	"dampstone/flybox/journal"
)

// Store is a flybox.Store and a flybox.Outbox. The zero Store is empty and
// ready.
type Store struct {
	mu      sync.Mutex
	entries []journal.Entry
	known   map[journal.ID]int // place in entries
	unsent  map[journal.ID]struct{}
	cursor  journal.Cursor

	replaced uint64
}

var (
	_ journal.Store  = (*Store)(nil)
	_ journal.Outbox = (*Store)(nil)
)

// Load returns every entry in the order of arrival.
func (s *Store) Load(ctx context.Context) ([]journal.Entry, error) {
	entries, _, err := s.After(ctx, 0, 0)
	return entries, err
}

// Append adds entries, unsent, and returns the ids that were new.
func (s *Store) Append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	added, _, err := s.add(ctx, entries, true)
	return added, err
}

// AppendFetched adds entries that came from the server, whose records stand.
func (s *Store) AppendFetched(ctx context.Context, entries []journal.Entry) (added, replaced []journal.ID, err error) {
	return s.add(ctx, entries, false)
}

func (s *Store) add(ctx context.Context, entries []journal.Entry, unsent bool) (added, replaced []journal.ID, err error) {
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.known == nil {
		s.known, s.unsent = map[journal.ID]int{}, map[journal.ID]struct{}{}
	}
	for _, e := range entries {
		if at, ok := s.known[e.ID]; ok {
			if !unsent && !bytes.Equal(s.entries[at].Raw(), e.Raw()) {
				s.entries[at] = e
				delete(s.unsent, e.ID)
				s.replaced++
				replaced = append(replaced, e.ID)
			}
			continue
		}
		s.known[e.ID] = len(s.entries)
		s.entries = append(s.entries, e)
		if unsent {
			s.unsent[e.ID] = struct{}{}
		}
		added = append(added, e.ID)
	}
	return added, replaced, nil
}

// Replaced is how many entries were replaced by the server's.
func (s *Store) Replaced(ctx context.Context) (uint64, error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.replaced, nil
}

// Get is the entry with an id.
func (s *Store) Get(ctx context.Context, id journal.ID) (journal.Entry, bool, error) {
	if err := ctx.Err(); err != nil {
		return journal.Entry{}, false, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	at, ok := s.known[id]
	if !ok {
		return journal.Entry{}, false, nil
	}
	return s.entries[at], true, nil
}

// After returns entries that arrived after number seq.
func (s *Store) After(ctx context.Context, seq uint64, limit int) ([]journal.Entry, uint64, error) {
	if err := ctx.Err(); err != nil {
		return nil, seq, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if seq >= uint64(len(s.entries)) {
		return nil, seq, nil
	}
	rest := s.entries[seq:]
	if limit > 0 && len(rest) > limit {
		rest = rest[:limit]
	}
	return append([]journal.Entry(nil), rest...), seq + uint64(len(rest)), nil
}

// Unsent returns unsent entries in the order of arrival.
func (s *Store) Unsent(ctx context.Context, limit int) ([]journal.Entry, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []journal.Entry
	for _, e := range s.entries {
		if limit > 0 && len(out) == limit {
			break
		}
		if _, ok := s.unsent[e.ID]; ok {
			out = append(out, e)
		}
	}
	return out, nil
}

// CountUnsent is the number of unsent entries.
func (s *Store) CountUnsent(ctx context.Context) (int, error) {
	if err := ctx.Err(); err != nil {
		return 0, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.unsent), nil
}

// Confirm marks entries as sent.
func (s *Store) Confirm(ctx context.Context, ids []journal.ID) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, id := range ids {
		delete(s.unsent, id)
	}
	return nil
}

// Requeue marks every entry as unsent.
func (s *Store) Requeue(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for id := range s.known {
		s.unsent[id] = struct{}{}
	}
	return nil
}

// Cursor is how far the server's journal was read.
func (s *Store) Cursor(ctx context.Context) (journal.Cursor, error) {
	if err := ctx.Err(); err != nil {
		return journal.Cursor{}, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.cursor, nil
}

// SetCursor notes how far the server's journal was read.
func (s *Store) SetCursor(ctx context.Context, c journal.Cursor) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cursor = c
	return nil
}
