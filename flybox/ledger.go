package flybox

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// Options of a Ledger. All are needed.
type Options struct {
	Device string // name of this device in stamps: 1 to 32 of a-z and 0-9
	Now    func() time.Time
	NewID  func() string // random and unique, such as a UUID
}

// Ledger is a journal in a Store with its State. It is safe for concurrent
// use.
type Ledger struct {
	store Store
	opt   Options

	write sync.Mutex // held while entries are stamped, stored and folded
	clock Clock
	seq   uint64 // last entry of the store that was folded

	read  sync.RWMutex // guards state
	state *State
}

// Bad is an entry that was refused, and why: *Problem or Problems.
type Bad struct {
	ID  string
	Err error
}

// Code is the code of the first problem.
func (b Bad) Code() string {
	var p *Problem
	if errors.As(b.Err, &p) {
		return p.Code
	}
	return CodeUnreadable
}

var errIDTaken = errors.New("source of ids gave one that is taken")

// Open reads the whole journal.
func Open(ctx context.Context, store Store, opt Options) (*Ledger, error) {
	if !isDevice(opt.Device) {
		return nil, fmt.Errorf("open ledger: device %q is not 1 to %d of a-z and 0-9", opt.Device, maxDevice)
	}
	if opt.Now == nil || opt.NewID == nil {
		return nil, errors.New("open ledger: no clock or no source of ids")
	}
	l := &Ledger{store: store, opt: opt, clock: Clock{Device: opt.Device}, state: NewState()}
	if _, err := l.Refresh(ctx); err != nil {
		return nil, fmt.Errorf("open ledger: %w", err)
	}
	return l, nil
}

// NewID is a new id for a thing that several bodies refer to.
func (l *Ledger) NewID() string { return l.opt.NewID() }

// Now is the time by the ledger's clock.
func (l *Ledger) Now() time.Time { return l.opt.Now() }

// Store is the store that the ledger was opened on.
func (l *Ledger) Store() Store { return l.store }

// View calls f with the state, which f must not keep.
func (l *Ledger) View(f func(*State)) {
	l.read.RLock()
	defer l.read.RUnlock()
	f(l.state)
}

// Record stamps bodies and adds them to the journal, all or none. When it
// returns they are durable and in the state. The error is Problems if a body
// is not valid; fields of the second and later bodies are then named like
// "1.name".
func (l *Ledger) Record(ctx context.Context, bodies ...Body) ([]Entry, error) {
	return l.RecordWith(ctx, func(*State) ([]Body, error) { return bodies, nil })
}

// RecordWith is Record of what plan says after looking at the state, with
// nothing else recorded between the look and the record.
func (l *Ledger) RecordWith(ctx context.Context, plan func(*State) ([]Body, error)) ([]Entry, error) {
	l.write.Lock()
	defer l.write.Unlock()
	// Only holders of l.write change the state, so it can be read here.
	bodies, err := plan(l.state)
	if err != nil || len(bodies) == 0 {
		return nil, err
	}
	entries, err := l.stamp(bodies)
	if err != nil {
		return nil, err
	}
	added, err := l.store.Append(ctx, entries)
	if err != nil {
		return nil, fmt.Errorf("record %d entries: %w", len(entries), err)
	}
	if len(added) != len(entries) {
		// Another tab has used one of the ids since the last Refresh.
		return nil, fmt.Errorf("record %d entries: only %d stored: %w", len(entries), len(added), errIDTaken)
	}
	l.fold(entries)
	return entries, nil
}

func (l *Ledger) stamp(bodies []Body) ([]Entry, error) {
	var problems Problems
	cleaned := make([]Body, len(bodies))
	for i, b := range bodies {
		cleaned[i] = b.clean()
		for _, p := range cleaned[i].Check() {
			if i > 0 {
				p.Field = fmt.Sprintf("%d.%s", i, p.Field)
			}
			problems = append(problems, p)
		}
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	entries := make([]Entry, len(bodies))
	here := map[regName]Stamp{} // stamped in this call, not in the state yet
	ids := map[string]bool{}
	for i, b := range cleaned {
		at := l.clock.Tick(l.opt.Now())
		name := b.register()
		if seen, ok := l.state.latest(name); ok && seen.Compare(at) >= 0 {
			at = After(seen, l.opt.Device)
		}
		if seen, ok := here[name]; ok && seen.Compare(at) >= 0 {
			at = After(seen, l.opt.Device)
		}
		here[name] = at
		id := l.opt.NewID()
		if ids[id] || l.state.Has(id) {
			return nil, fmt.Errorf("record %s: %w: %q", b.Kind(), errIDTaken, clip(id))
		}
		ids[id] = true
		var err error
		if entries[i], err = NewEntry(id, at, b); err != nil {
			return nil, fmt.Errorf("record %s: %w", b.Kind(), err)
		}
	}
	return entries, nil
}

// Merge adds entries that were written elsewhere and came by file or from
// another device. Those that cannot be right are refused and reported; the
// rest are added, durably, on return. Kinds and formats that this version
// does not know are kept.
func (l *Ledger) Merge(ctx context.Context, entries []Entry) (added int, bad []Bad, err error) {
	return l.merge(ctx, entries, l.store.Append)
}

// MergeFetched is Merge for entries that came from the server, where the
// store keeps an Outbox: they need not be sent there again.
func (l *Ledger) MergeFetched(ctx context.Context, entries []Entry) (added int, bad []Bad, err error) {
	out, ok := l.store.(Outbox)
	if !ok {
		return 0, nil, errors.New("merge fetched entries: store keeps no outbox")
	}
	return l.merge(ctx, entries, out.AppendFetched)
}

func (l *Ledger) merge(ctx context.Context, entries []Entry, store func(context.Context, []Entry) ([]string, error)) (int, []Bad, error) {
	good, bad := Sift(entries)
	if len(good) == 0 {
		return 0, bad, nil
	}
	l.write.Lock()
	defer l.write.Unlock()
	added, err := store(ctx, good)
	if err != nil {
		return 0, bad, fmt.Errorf("merge %d entries: %w", len(good), err)
	}
	l.fold(good)
	return len(added), bad, nil
}

// Sift parts entries that may be stored from those that cannot be right.
func Sift(entries []Entry) (good []Entry, bad []Bad) {
	for _, e := range entries {
		if _, err := Decode(e); err != nil && !isNewer(err) {
			bad = append(bad, Bad{e.ID, err})
			continue
		}
		good = append(good, e)
	}
	return good, bad
}

// Refresh takes in entries that something else, such as another tab, has put
// in the store, and says how many were new.
func (l *Ledger) Refresh(ctx context.Context) (int, error) {
	l.write.Lock()
	defer l.write.Unlock()
	entries, last, err := l.store.After(ctx, l.seq, 0)
	if err != nil {
		return 0, fmt.Errorf("read journal after %d: %w", l.seq, err)
	}
	before := l.state.Len()
	l.fold(entries)
	l.seq = last
	return l.state.Len() - before, nil
}

// fold adds entries to the state; l.write is held.
func (l *Ledger) fold(entries []Entry) {
	now := l.opt.Now()
	for _, e := range entries {
		if e.Readable() {
			l.clock.Observe(e.At, now)
		}
	}
	l.read.Lock()
	defer l.read.Unlock()
	l.state.Apply(entries...)
}
