//go:build js && wasm

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"dampstone/flybox/journal"
	"dampstone/server/engine/idb"
	"dampstone/server/sync"
)

// database is the name of a browser's first ledger; those of others are named
// after their journals.
const database = "dampstone"

// ledgers are the databases of a browser, each with one ledger: what is in one
// never goes into another unasked. It is kept in the first.
type ledgers struct {
	Current   string            `json:"current"`   // name of the one that is shown
	ByJournal map[string]string `json:"byJournal"` // name by the journal of a server
}

func (e *engine) loadLedgers(ctx context.Context) error {
	e.ledgers = ledgers{Current: database, ByJournal: map[string]string{}}
	text, err := e.first.Ledgers(ctx)
	if err != nil || text == "" {
		return err
	}
	if err := json.Unmarshal([]byte(text), &e.ledgers); err != nil || e.ledgers.ByJournal == nil || e.ledgers.Current == "" {
		return fmt.Errorf("read list of ledgers: %w", errors.Join(err, errLedgers))
	}
	return nil
}

var errLedgers = errors.New("list of ledgers is damaged")

func (e *engine) keepLedgers(ctx context.Context) error {
	raw, err := json.Marshal(e.ledgers)
	if err != nil {
		return err
	}
	return e.first.SetLedgers(ctx, string(raw))
}

// openKept opens the database of the ledger that is shown.
func (e *engine) openKept(ctx context.Context) (kept *idb.Store, device string, err error) {
	if e.first, err = idb.Open(ctx, database); err != nil {
		return nil, "", err
	}
	if err := e.loadLedgers(ctx); err != nil {
		return nil, "", err
	}
	kept = e.first
	if e.name = e.ledgers.Current; e.name != database {
		if kept, err = idb.Open(ctx, e.name); err != nil {
			return nil, "", err
		}
	}
	device, err = kept.Device(ctx)
	return kept, device, err
}

// met notes which journal this database exchanges with, and what it is.
func (e *engine) met(ctx context.Context) error {
	c, err := e.outbox.Cursor(ctx)
	e.demo.Store(c.Kind == journal.DemoJournal)
	if err != nil || e.kept == nil || c.Journal == "" || e.ledgers.ByJournal[c.Journal] == e.name {
		return err
	}
	e.ledgers.ByJournal[c.Journal] = e.name
	return e.keepLedgers(ctx)
}

// found deals with a server that keeps another ledger. One that this browser
// has a database for is shown again; about any other a person is asked.
func (e *engine) found(ctx context.Context, other sync.OtherLedger) (restart bool) {
	if e.kept == nil {
		return false
	}
	name, known := e.ledgers.ByJournal[other.Journal]
	if known && name != e.name {
		if err := e.show(ctx, name); err != nil {
			e.log.Error("show known ledger", "err", err)
			return false
		}
		return true
	}
	e.otherLock.Lock()
	defer e.otherLock.Unlock()
	e.other = &other
	return false
}

// show has another database shown from the next start on.
func (e *engine) show(ctx context.Context, name string) error {
	e.ledgers.Current = name
	return e.keepLedgers(ctx)
}

// Found implements screen.OtherLedger.
func (e *engine) Found() (demo, ok bool) {
	e.otherLock.Lock()
	defer e.otherLock.Unlock()
	if e.other == nil {
		return false, false
	}
	return e.other.Kind == journal.DemoJournal, true
}

// Apart implements screen.OtherLedger.
func (e *engine) Apart(ctx context.Context) error {
	e.otherLock.Lock()
	defer e.otherLock.Unlock()
	if e.other == nil || e.kept == nil {
		return errNoOther
	}
	name := database + "-" + e.other.Journal
	e.ledgers.ByJournal[e.other.Journal] = name
	return e.show(ctx, name)
}

// Join implements screen.OtherLedger.
func (e *engine) Join(ctx context.Context) error {
	e.otherLock.Lock()
	defer e.otherLock.Unlock()
	if e.other == nil || e.kept == nil {
		return errNoOther
	}
	if err := sync.Join(ctx, e.outbox, *e.other); err != nil {
		return err
	}
	e.other = nil
	return e.met(ctx)
}

var errNoOther = errors.New("no other ledger was found")
