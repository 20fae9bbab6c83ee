package accounts

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"dampstone/flybox/journal"
	"dampstone/server/boltstore"
	"dampstone/server/figures"
	"dampstone/server/people"
)

// Quota is what a person may keep on a server. Zero is no bound.
type Quota struct {
	Entries int   // in all
	Bytes   int64 // of the file, in all
	Day     int   // entries that may be added in a day, UTC; a new start of the server forgets the day
}

// watched is the store of a person's ledger, within their share of the server.
type watched struct {
	*boltstore.Store
	service *Service
	path    string
	free    string // the person whose share counts, "" for the owner
}

// free is who is bound by the quota: everybody but the owner, whose disk it is.
func (h *Service) free(person string) string {
	if p, ok := h.people.Person(person); ok && p.Owner {
		return ""
	}
	return person
}

// day counts what was added today.
type day struct {
	date  string
	added map[string]int // by person
}

func (w *watched) Append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	theirs := ctx.Value(noQuota{}) == nil
	if w.free != "" && theirs {
		fresh, err := w.Fresh(ctx, entries)
		if err != nil {
			return nil, err
		}
		if err := w.room(len(fresh)); err != nil {
			w.service.refusedEntries.Add(int64(len(fresh)))
			return nil, fmt.Errorf("add %d entries: %w", len(fresh), err)
		}
	}
	added, err := w.Store.Append(ctx, entries)
	if len(added) > 0 {
		w.service.addedEntries.Add(int64(len(added)))
		if theirs {
			w.service.count(w.free, len(added))
		}
		w.service.wakeSharing()
	}
	return added, err
}

// room tells whether so many more entries fit the share. What is known here
// already always does, so that a phone learns that it is safe.
func (w *watched) room(fresh int) error {
	q := w.service.Quota
	switch {
	case fresh == 0:
		return nil
	case q.Entries > 0 && w.Len()+fresh > q.Entries, q.Bytes > 0 && fileSize(w.path) >= q.Bytes:
		return journal.ErrShare
	case q.Day > 0 && w.service.count(w.free, 0)+fresh > q.Day:
		return journal.ErrToday
	}
	return nil
}

// share is how much of the share is used.
func (w *watched) share() float64 {
	q := w.service.Quota
	if w.free == "" {
		return 0
	}
	used := 0.0
	if q.Entries > 0 {
		used = float64(w.Len()) / float64(q.Entries)
	}
	if q.Bytes > 0 {
		used = max(used, float64(fileSize(w.path))/float64(q.Bytes))
	}
	if q.Day > 0 {
		used = max(used, float64(w.service.count(w.free, 0))/float64(q.Day))
	}
	return used
}

// count adds to what a person has added today, and says what it comes to.
func (h *Service) count(person string, n int) int {
	h.mu.Lock()
	defer h.mu.Unlock()
	if date := h.Now().UTC().Format(time.DateOnly); h.today.date != date {
		h.today = day{date, map[string]int{}}
	}
	if person != "" && n > 0 {
		h.today.added[person] += n
	}
	return h.today.added[person]
}

type noQuota struct{}

// withoutQuota is for what the server itself or its owner brings.
func withoutQuota(ctx context.Context) context.Context {
	return context.WithValue(ctx, noQuota{}, true)
}

// fileSize is 0 where there is no file.
func fileSize(path string) int64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return info.Size()
}

// sawDevice keeps on which day a device was here last.
func (h *Service) sawDevice(d people.Device) {
	now := h.Now().UTC()
	if d.Seen.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return
	}
	if err := h.people.Saw(d.ID, now); err != nil && !errors.Is(err, people.ErrUnknown) {
		h.Log.Warn("note when a device was here", "err", err)
	}
}

// Stats are figures of the folder.
func (h *Service) Stats() figures.Stats {
	s := figures.Stats{
		People: len(h.people.People()), Devices: len(h.people.Devices("")), Bound: h.Memory,
		Added: h.addedEntries.Load(), Refused: h.refusedEntries.Load(),
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	s.Open = len(h.tenants)
	for _, t := range h.tenants {
		s.Bytes += t.bytes
	}
	return s
}

// Ready tells whether requests can be answered.
func (h *Service) Ready() error {
	if len(h.people.People()) == 0 {
		return errors.New("nobody is known")
	}
	return nil
}

// Purge takes a person off the server: their devices are shut out, and their
// ledger is deleted for good. What they shared with the crew stays with those
// who have it. The owner cannot be taken off.
func (h *Service) Purge(ctx context.Context, name string) (p people.Person, err error) {
	h.sharing.Lock()
	defer h.sharing.Unlock()
	if p, err = h.people.Find(name); err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	if p.Owner {
		return p, fmt.Errorf("purge %q: %w", name, ErrOwner)
	}
	path := h.path(p.ID)
	if err := h.people.Remove(p.ID, h.Now()); err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	// Requests that run end with an error; nobody opens it again.
	h.mu.Lock()
	for o := h.openings[p.ID]; o != nil; o = h.openings[p.ID] {
		h.mu.Unlock()
		<-o.done
		h.mu.Lock()
	}
	t := h.tenants[p.ID]
	delete(h.tenants, p.ID)
	h.mu.Unlock()
	if t != nil {
		err = t.store.Close()
	}
	if gone := os.Remove(path); gone != nil && !errors.Is(gone, os.ErrNotExist) {
		err = errors.Join(err, gone)
	}
	if err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	return p, nil
}

// ErrOwner says that something cannot be done to the owner of the server.
var ErrOwner = errors.New("that is the owner of the server")
