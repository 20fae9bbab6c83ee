package accounts

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"runtime"
	gosync "sync"
	"sync/atomic"

	"dampstone/flybox"
	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/server/app"
	"dampstone/server/people"
	"dampstone/server/sync"
)

// tenant is one person's part of the data folder, while it is open.
type tenant struct {
	person string
	store  Ledger
	into   *intake.Intake // what exchanges bring: nothing is folded for them
	sync   http.Handler

	fold  gosync.Mutex          // held while the screens are made
	shown atomic.Pointer[shown] // nil until a screen is wanted

	users int    // requests and rounds that use it; guarded by Service.mu
	used  uint64 // the turn in which it was last let go of
	bytes int64  // what it takes in memory, about
	// busy is held by screens that are worked out. A person has half of the
	// machine at most, so that a long season of one slows down nobody else.
	busy chan struct{}
}

// shown is a ledger in memory, for screens.
type shown struct {
	ledger  *flybox.Ledger
	screens *app.App
}

// opening is a ledger on its way into memory: whoever wants it waits for the
// same one, and nobody else waits.
type opening struct {
	done chan struct{}
	err  error
}

// Of a ledger's entries memory holds the ids and marks, and once a screen was
// wanted the fold: reckoned so many bytes an entry, more than memory_test.go
// measures, and some for the screens.
const (
	bytesAnID     = 150
	bytesAnEntry  = 1100
	bytesALedger  = 256 << 10
	DefaultMemory = 512 << 20 // bound for all open ledgers, in bytes
)

// tenant opens a person's ledger when it is first wanted. It must be let go of
// with release: until then it is not closed.
func (h *Service) tenant(ctx context.Context, person string) (*tenant, error) {
	h.mu.Lock()
	for {
		if t := h.tenants[person]; t != nil {
			t.users++
			h.mu.Unlock()
			return t, nil
		}
		o := h.openings[person]
		if o == nil {
			break
		}
		h.mu.Unlock()
		select {
		case <-o.done:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		if o.err != nil {
			return nil, o.err
		}
		h.mu.Lock()
	}
	o := &opening{done: make(chan struct{})}
	h.openings[person] = o
	h.mu.Unlock()

	var t *tenant
	o.err = errNotOpened // for those who wait, if the reading panics
	defer func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.openings, person)
		if o.err == nil {
			t.users = 1
			h.tenants[person] = t
			h.evict()
		}
		close(o.done)
	}()
	// The reading must not end because one request was called off.
	t, o.err = h.open(context.WithoutCancel(ctx), person)
	return t, o.err
}

var errNotOpened = errors.New("the ledger could not be opened")

func (h *Service) open(ctx context.Context, person string) (*tenant, error) {
	p, ok, err := h.people.Person(person)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, people.ErrToken // taken off a moment ago
	}
	store, err := h.ledgers.Open(ctx, p)
	if err != nil {
		return nil, fmt.Errorf("open ledger of %q: %w", person, err)
	}
	watched := &watched{Ledger: store, service: h, person: person, bound: !p.Owner}
	if _, err := store.Fresh(ctx, nil); err != nil { // reads it once through
		return nil, errors.Join(fmt.Errorf("read ledger of %q: %w", person, err), store.Close())
	}
	t := &tenant{person: person, store: store, into: intake.New(withLinks(watched)), busy: make(chan struct{}, max(1, runtime.GOMAXPROCS(0)/2))}
	t.bytes = t.size()
	t.sync = &sync.Handler{Into: t.into, Journal: store.Journal(), Feed: feed{h.people, person}, Used: watched.share, Failed: func(err error) { h.Log.Error("sync", "err", err) }}
	return t, nil
}

// size is what an open ledger takes in memory, about, in bytes.
func (t *tenant) size() int64 {
	size := bytesALedger + int64(t.store.Len())*bytesAnID
	if s := t.shown.Load(); s != nil {
		size += int64(s.ledger.State().Len()) * bytesAnEntry
	}
	return size
}

// shown is a person's ledger in memory, with all that exchanges have brought.
// The first time folds it.
func (h *Service) shown(ctx context.Context, t *tenant) (*shown, error) {
	t.fold.Lock()
	defer t.fold.Unlock()
	if s := t.shown.Load(); s != nil {
		_, err := s.ledger.Refresh(ctx)
		return s, err
	}
	// It must not end because one request was called off.
	s, err := h.screensOver(context.WithoutCancel(ctx), &view{Store: t.into.Store(), feed: feed{h.people, t.person}})
	if err != nil {
		return nil, fmt.Errorf("read ledger of %q: %w", t.person, err)
	}
	t.shown.Store(s)
	return s, nil
}

// screensOver folds a journal, for screens.
func (h *Service) screensOver(ctx context.Context, store journal.Store) (*shown, error) {
	l, err := flybox.Open(ctx, store, flybox.Options{Device: "server", Now: h.Now, NewID: flybox.RandomID})
	if err != nil {
		return nil, err
	}
	return &shown{l, app.New(app.Config{Ledger: l, Now: h.Now, NewID: flybox.RandomID, Asset: h.Asset, Log: h.Log, Version: h.Version, People: true})}, nil
}

// release lets go of a tenant.
func (h *Service) release(t *tenant) {
	size := t.size()
	h.mu.Lock()
	defer h.mu.Unlock()
	t.users--
	h.turns++
	t.used = h.turns
	t.bytes = size
	h.evict()
}

// evict closes ledgers that nobody uses, those longest idle first, until what
// is open is under the bound; h.mu is held.
func (h *Service) evict() {
	for {
		var sum int64
		var idle *tenant
		for _, t := range h.tenants {
			sum += t.bytes
			if t.users == 0 && (idle == nil || t.used < idle.used) {
				idle = t
			}
		}
		if sum <= h.Memory || idle == nil {
			return
		}
		delete(h.tenants, idle.person)
		if err := idle.store.Close(); err != nil {
			h.Log.Error("close ledger", "person", idle.person, "err", err)
		}
		h.Log.Debug("closed idle ledger", "person", idle.person, "bytes", idle.bytes, "open", len(h.tenants))
	}
}
