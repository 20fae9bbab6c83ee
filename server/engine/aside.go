//go:build js && wasm

package main

import (
	"context"
	"encoding/json"
	"slices"

	"dampstone/flybox"
	"dampstone/server/sync"
)

// loadAside reads what exchanges have set aside, which is kept beside the
// journal so that it can be looked at without signal. What cannot be read is
// made anew by the next exchange.
func (e *engine) loadAside(ctx context.Context) {
	if e.kept == nil {
		return
	}
	text, err := e.kept.Aside(ctx)
	if err == nil && text != "" {
		err = json.Unmarshal([]byte(text), &e.aside)
	}
	if err != nil {
		e.log.Error("read what was set aside", "err", err)
	}
}

// setAside notes what a round came to, and says how many entries the server
// refused that it had not refused before.
func (e *engine) setAside(ctx context.Context, report sync.Report, whole bool) (fresh int) {
	e.asideLock.Lock()
	defer e.asideLock.Unlock()
	var next sync.Aside
	e.ledger.View(func(s *flybox.State) { next = e.aside.After(report, whole, s.Has) })
	if next.Equal(e.aside) {
		return 0
	}
	for _, r := range next.Refused {
		if !slices.ContainsFunc(e.aside.Refused, func(known sync.Refused) bool { return known.ID == r.ID }) {
			fresh++
		}
	}
	e.aside = next
	raw, err := json.Marshal(next)
	if err == nil && e.kept != nil {
		err = e.kept.SetAside(ctx, string(raw))
	}
	if err != nil {
		e.log.Error("keep what was set aside", "err", err)
	}
	return fresh
}
