//go:build js && wasm

package main

import (
	"context"
	"encoding/json"
	"slices"

	"dampstone/server/sync"
)

// loadQuarantine reads what exchanges have set aside, which is kept beside the
// journal so that it can be looked at without signal. What cannot be read is
// made anew by the next exchange.
func (e *engine) loadQuarantine(ctx context.Context) {
	if e.kept == nil {
		return
	}
	text, err := e.kept.Quarantine(ctx)
	if err == nil && text != "" {
		err = json.Unmarshal([]byte(text), &e.quarantine)
	}
	if err != nil {
		e.log.Error("read what was set aside", "err", err)
	}
}

// setQuarantine notes what a round came to, and says how many entries the server
// refused that it had not refused before.
func (e *engine) setQuarantine(ctx context.Context, report sync.Report, whole bool) (fresh int) {
	e.quarantineLock.Lock()
	defer e.quarantineLock.Unlock()
	next := e.quarantine.After(report, whole, e.ledger.State().Has)
	if next.Equal(e.quarantine) {
		return 0
	}
	for _, r := range next.Refused {
		if !slices.ContainsFunc(e.quarantine.Refused, func(known sync.Refused) bool { return known.ID == r.ID }) {
			fresh++
		}
	}
	e.quarantine = next
	raw, err := json.Marshal(next)
	if err == nil && e.kept != nil {
		err = e.kept.SetQuarantine(ctx, string(raw))
	}
	if err != nil {
		e.log.Error("keep what was set aside", "err", err)
	}
	return fresh
}
