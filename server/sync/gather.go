//go:build !js

package sync

import (
	"context"
	"errors"
	gosync "sync"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// gather adds what many devices bring at once in few writes: while one write
// is on its way to the disk, what else arrives waits and goes together in the
// next. Each write is synced, and nobody is answered before theirs was.
type gather struct {
	into      flybox.Merger
	elsewhere bool // another machine writes, so that ours has nothing to do meanwhile

	mu      gosync.Mutex
	waiting []*delivery
	writing bool
}

// delivery is what one request brings.
type delivery struct {
	entries []journal.Entry
	done    chan struct{}
	bad     []flybox.Bad
	err     error
}

// errFault says that a write broke off by a fault of the program.
var errFault = errors.New("write broke off")

// gatherMax bounds the entries of one write.
const gatherMax = 10_000

// add makes entries durable and says which were refused. Once it has begun it
// is not called off, as others may be in the same write.
func (g *gather) add(ctx context.Context, entries []journal.Entry) ([]flybox.Bad, error) {
	if len(entries) == 0 {
		return nil, nil
	}
	d := &delivery{entries: entries, done: make(chan struct{})}
	g.mu.Lock()
	g.waiting = append(g.waiting, d)
	lead := !g.writing
	g.writing = true
	g.mu.Unlock()
	if lead {
		g.write(context.WithoutCancel(ctx))
	}
	<-d.done
	return d.bad, d.err
}

// write goes on until nothing waits.
func (g *gather) write(ctx context.Context) {
	defer func() {
		if fault := recover(); fault != nil {
			// Those who wait must not wait for ever.
			g.mu.Lock()
			waiting := g.waiting
			g.waiting, g.writing = nil, false
			g.mu.Unlock()
			for _, d := range waiting {
				d.err = errFault
				close(d.done)
			}
			panic(fault)
		}
	}()
	for {
		g.mu.Lock()
		n, size := 0, 0
		for n < len(g.waiting) && (n == 0 || size+len(g.waiting[n].entries) <= gatherMax) {
			size += len(g.waiting[n].entries)
			n++
		}
		batch := g.waiting[:n:n]
		g.waiting = g.waiting[n:]
		if n == 0 {
			g.waiting, g.writing = nil, false
			g.mu.Unlock()
			return
		}
		g.mu.Unlock()
		g.together(ctx, batch)
	}
}

func (g *gather) together(ctx context.Context, batch []*delivery) {
	for _, d := range batch {
		d.err = errFault // until it is known better
	}
	if !g.elsewhere {
		turn, _ := writing.take(ctx) // ctx is never called off
		defer turn()
	}
	defer func() {
		for _, d := range batch {
			close(d.done)
		}
	}()
	var whole []journal.Entry
	for _, d := range batch {
		whole = append(whole, d.entries...)
	}
	_, bad, err := g.into.Merge(ctx, whole)
	if err != nil {
		// What one device brought must not stand in the way of the others:
		// where the disk is all but full, small deliveries may still fit.
		for _, d := range batch {
			_, d.bad, d.err = g.into.Merge(ctx, d.entries)
		}
		return
	}
	for _, d := range batch {
		d.err = nil
	}
	if len(bad) == 0 {
		return
	}
	refused := map[journal.ID]flybox.Bad{}
	for _, b := range bad {
		refused[b.ID] = b
	}
	for _, d := range batch {
		for _, e := range d.entries {
			if b, ok := refused[e.ID]; ok {
				d.bad = append(d.bad, b)
			}
		}
	}
}
