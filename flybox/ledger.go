package flybox

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"dampstone/flybox/journal"
)

// Options of a Ledger. All are needed.
type Options struct {
	Device string // name of this device in stamps: 1 to 32 of a-z and 0-9
	Now    func() time.Time
	NewID  func() journal.ID // random and unique, such as a UUID
}

// Ledger is a journal in a Store with its State. It is safe for concurrent
// use.
type Ledger struct {
	store journal.Store
	opt   Options

	write sync.Mutex // held while entries are stamped, stored and folded
	clock journal.Clock
	seq   uint64 // last entry of the store that was folded

	replaced uint64 // what the store's Outbox had replaced by then

	read   sync.Mutex // guards state and shared
	state  *State
	shared bool // state was handed out, so that it is not changed any more
}

// Bad is an entry that was refused, and why: *Problem or Problems.
type Bad struct {
	ID  journal.ID
	Err error
}

// Code is the code of the first problem.
func (b Bad) Code() string {
	var p *journal.Problem
	if errors.As(b.Err, &p) {
		return p.Code
	}
	return journal.CodeUnreadable
}

var errIDTaken = errors.New("source of ids gave one that is taken")

// Open reads the whole journal.
func Open(ctx context.Context, store journal.Store, opt Options) (*Ledger, error) {
	if !journal.IsDevice(opt.Device) {
		return nil, fmt.Errorf("open ledger: device %q is not 1 to %d of a-z and 0-9", opt.Device, journal.MaxDevice)
	}
	if opt.Now == nil || opt.NewID == nil {
		return nil, errors.New("open ledger: no clock or no source of ids")
	}
	l := &Ledger{store: store, opt: opt, clock: journal.Clock{Device: opt.Device}, state: NewState()}
	if _, err := l.Refresh(ctx); err != nil {
		return nil, fmt.Errorf("open ledger: %w", err)
	}
	return l, nil
}

// NewID is a new id for a thing that several bodies refer to.
func (l *Ledger) NewID() journal.ID { return l.opt.NewID() }

// Now is the time by the ledger's clock.
func (l *Ledger) Now() time.Time { return l.opt.Now() }

// Store is the store that the ledger was opened on.
func (l *Ledger) Store() journal.Store { return l.store }

// Device is the name of this device in stamps.
func (l *Ledger) Device() string { return l.opt.Device }

// State is the ledger as it is now. What is recorded later does not change it.
func (l *Ledger) State() *State {
	l.read.Lock()
	defer l.read.Unlock()
	l.shared = true
	return l.state
}

// Record stamps bodies and adds them to the journal, all or none. When it
// returns they are durable and in the state. The error is Problems if a body
// is not valid; fields of the second and later bodies are then named like
// "1.name".
func (l *Ledger) Record(ctx context.Context, bodies ...Body) ([]journal.Entry, error) {
	return l.RecordWith(ctx, func(*State) ([]Body, error) { return bodies, nil })
}

// RecordWith is Record of what plan says after looking at the state, with
// nothing else recorded between the look and the record.
func (l *Ledger) RecordWith(ctx context.Context, plan func(*State) ([]Body, error)) ([]journal.Entry, error) {
	l.write.Lock()
	defer l.write.Unlock()
	return l.record(ctx, plan, func(int) journal.ID { return l.opt.NewID() })
}

// record is RecordWith with the source of the entries' ids; l.write is held.
func (l *Ledger) record(ctx context.Context, plan func(*State) ([]Body, error), id func(i int) journal.ID) ([]journal.Entry, error) {
	// Only holders of l.write change the state, so it can be read here.
	bodies, err := plan(l.state)
	if err != nil || len(bodies) == 0 {
		return nil, err
	}
	entries, err := l.stamp(ctx, bodies, id)
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

func (l *Ledger) stamp(ctx context.Context, bodies []Body, newID func(i int) journal.ID) ([]journal.Entry, error) {
	var problems journal.Problems
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
	entries := make([]journal.Entry, len(bodies))
	here := map[regName]journal.Stamp{} // stamped in this call, not in the state yet
	ids := map[journal.ID]bool{}
	for i, b := range cleaned {
		at := l.clock.Tick(l.opt.Now())
		name := b.register()
		last, said := l.state.latest(name)
		if said && last.at.Compare(at) >= 0 {
			at = journal.After(last.at, l.opt.Device)
		}
		var extra []byte
		if said {
			var err error
			if extra, err = l.unknownFields(ctx, last.id, b); err != nil {
				return nil, fmt.Errorf("record %s: %w", b.Kind(), err)
			}
		}
		if seen, ok := here[name]; ok && seen.Compare(at) >= 0 {
			at = journal.After(seen, l.opt.Device)
		}
		here[name] = at
		id := newID(i)
		if ids[id] || l.state.Has(id) {
			return nil, fmt.Errorf("record %s: %w: %q", b.Kind(), errIDTaken, journal.Clip(id))
		}
		ids[id] = true
		var err error
		if entries[i], err = journal.New(id, at, b.Kind(), b, extra); err != nil {
			return nil, fmt.Errorf("record %s: %w", b.Kind(), err)
		}
	}
	return entries, nil
}

// Merge adds entries that were written elsewhere and came by file or from
// another device. Those that cannot be right are refused and reported; the
// rest are added, durably, on return. Kinds and formats that this version
// does not know are kept. Another record under an id that is known is refused
// with CodeIDTaken: the first stands.
func (l *Ledger) Merge(ctx context.Context, entries []journal.Entry) (added int, bad []Bad, err error) {
	return l.merge(ctx, entries, nil)
}

// MergeFetched is Merge for entries that came from the server, where the
// store keeps an Outbox: they need not be sent there again. What a form made
// here and on the server, under the same ids, is as the server has it.
func (l *Ledger) MergeFetched(ctx context.Context, entries []journal.Entry) (added int, bad []Bad, err error) {
	out, ok := l.store.(journal.Outbox)
	if !ok {
		return 0, nil, errors.New("merge fetched entries: store keeps no outbox")
	}
	return l.merge(ctx, entries, out)
}

// merge is Merge, or with an Outbox MergeFetched.
func (l *Ledger) merge(ctx context.Context, entries []journal.Entry, out journal.Outbox) (added int, bad []Bad, err error) {
	good, bad := Sift(entries)
	l.write.Lock()
	defer l.write.Unlock()
	may := func(id journal.ID) bool { return out != nil && IsDerived(id) }
	good, taken, err := journal.Apart(ctx, l.store, good, l.state.Has, may)
	bad = append(bad, Taken(taken)...)
	if err != nil || len(good) == 0 {
		return 0, bad, err
	}
	var ids, replaced []journal.ID
	if out == nil {
		ids, err = l.store.Append(ctx, good)
	} else {
		ids, replaced, err = out.AppendFetched(ctx, good)
	}
	if err != nil {
		return 0, bad, fmt.Errorf("merge %d entries: %w", len(good), err)
	}
	if len(replaced) > 0 {
		// What the old records said cannot be taken out of the state.
		_, err := l.refresh(ctx)
		return len(ids), bad, err
	}
	good, taken, err = journal.Stored(ctx, l.store, good, ids, l.state.Has)
	l.fold(good)
	return len(ids), append(bad, Taken(taken)...), err
}

// Merger is what entries go into that were written elsewhere: a Ledger, or an
// intake.Intake, which has no state to keep.
type Merger interface {
	Merge(ctx context.Context, entries []journal.Entry) (added int, bad []Bad, err error)
}

// Taken are the refusals of entries whose ids stand for other records.
func Taken(ids []journal.ID) (bad []Bad) {
	for _, id := range ids {
		bad = append(bad, Bad{id, &journal.Problem{Field: "id", Code: journal.CodeIDTaken}})
	}
	return bad
}

// Sift parts entries that may be stored from those that cannot be right.
func Sift(entries []journal.Entry) (good []journal.Entry, bad []Bad) {
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
	return l.refresh(ctx)
}

// refresh is Refresh where l.write is held. Where entries were replaced by the
// server's it folds the whole journal anew.
func (l *Ledger) refresh(ctx context.Context) (int, error) {
	before := l.state.Len()
	if out, ok := l.store.(journal.Outbox); ok {
		replaced, err := out.Replaced(ctx)
		if err != nil {
			return 0, err
		}
		if replaced != l.replaced {
			entries, last, err := l.store.After(ctx, 0, 0)
			if err != nil {
				return 0, fmt.Errorf("read journal: %w", err)
			}
			fresh := NewState()
			l.observe(entries)
			fresh.Apply(entries...)
			l.read.Lock()
			l.state, l.shared = fresh, false
			l.read.Unlock()
			l.seq, l.replaced = last, replaced
			return fresh.Len() - before, nil
		}
	}
	entries, last, err := l.store.After(ctx, l.seq, 0)
	if err != nil {
		return 0, fmt.Errorf("read journal after %d: %w", l.seq, err)
	}
	l.fold(entries)
	l.seq = last
	return l.state.Len() - before, nil
}

// fold adds entries to the state; l.write is held.
func (l *Ledger) fold(entries []journal.Entry) {
	l.observe(entries)
	l.read.Lock()
	defer l.read.Unlock()
	fresh := func(e journal.Entry) bool { return !l.state.Has(e.ID) }
	if l.shared && slices.ContainsFunc(entries, fresh) { // somebody reads it
		l.state, l.shared = l.state.clone(), false
	}
	l.state.Apply(entries...)
}

func (l *Ledger) observe(entries []journal.Entry) {
	now := l.opt.Now()
	for _, e := range entries {
		if e.Readable() {
			l.clock.Observe(e.At, now)
		}
	}
}
