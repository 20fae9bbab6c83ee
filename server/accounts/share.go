package accounts

import (
	"context"

	"dampstone/flybox"
	"dampstone/server/people"
)

// A crew is everybody on this server who shares. What such a person notes as
// seen is copied, entry by entry, into the ledgers of the others, from the
// moment on when both share. Copies stay where they are when somebody stops.
//
// Only what a person wrote is theirs to share: what came to them from others
// goes no further, and no edit or deletion of it goes back. A copy is marked
// as come before it is written, and the place in the ledger moves after that,
// so that a break in between costs a repeat and nothing else.

// sharePage is how many entries are looked at in one go.
const sharePage = 500

func (h *Service) wakeSharing() {
	select {
	case h.shared <- struct{}{}:
	default: // it will look anyway
	}
}

func (h *Service) shareLoop(ctx context.Context) {
	defer close(h.done)
	for {
		select {
		case <-ctx.Done():
			return
		case <-h.shared:
		}
		if err := h.share(ctx); err != nil && ctx.Err() == nil {
			h.Log.Error("share sightings", "err", err)
		}
	}
}

// crew are those who share.
func (h *Service) crew() (list []people.Person) {
	for _, p := range h.people.People() {
		if p.Shares {
			list = append(list, p)
		}
	}
	return list
}

// share brings everybody in the crew what is new.
func (h *Service) share(ctx context.Context) error {
	h.sharing.Lock()
	defer h.sharing.Unlock()
	crew := h.crew()
	for _, from := range crew {
		for _, to := range crew {
			if from.ID == to.ID {
				continue
			}
			if err := h.shareBetween(ctx, from.ID, to.ID); err != nil {
				return err
			}
		}
	}
	return nil
}

func (h *Service) shareBetween(ctx context.Context, from, to string) error {
	giver, err := h.tenant(ctx, from)
	if err != nil {
		return err
	}
	taker, err := h.tenant(ctx, to)
	if err != nil {
		return err
	}
	seq, err := h.people.Cursor(from, to)
	if err != nil {
		return err
	}
	for {
		entries, last, err := giver.store.After(ctx, seq, sharePage)
		if err != nil || len(entries) == 0 {
			return err
		}
		give, ids, err := h.own(from, entries)
		if err != nil {
			return err
		}
		if len(give) > 0 {
			if err := h.people.SetCame(to, ids); err != nil {
				return err
			}
			if _, _, err := taker.ledger.Merge(ctx, give); err != nil {
				return err
			}
		}
		if err := h.people.SetCursor(from, to, last); err != nil {
			return err
		}
		seq = last
	}
}

// own picks what a person may share of their entries: sightings, and the
// deletions of sightings, that did not come from others. ids are those of
// entries and of the things in them.
func (h *Service) own(person string, entries []flybox.Entry) (give []flybox.Entry, ids []string, err error) {
	var candidates []flybox.Entry
	things := map[string]string{} // entry -> thing
	var look []string
	for _, e := range entries {
		thing, ok := sharable(e)
		if !ok {
			continue
		}
		candidates = append(candidates, e)
		things[e.ID] = thing
		look = append(look, e.ID, thing)
	}
	if len(candidates) == 0 {
		return nil, nil, nil
	}
	came, err := h.people.Came(person, look)
	if err != nil {
		return nil, nil, err
	}
	giving := map[string]bool{} // in this call, not marked yet
	for _, e := range candidates {
		thing := things[e.ID]
		if came[e.ID] || came[thing] {
			continue
		}
		if e.Kind == flybox.KindDeleted {
			// What is deleted is known no more, so ask whether it was given.
			gave, err := h.people.Gave(person, thing)
			if err != nil {
				return nil, nil, err
			}
			if !gave && !giving[thing] {
				continue
			}
		}
		giving[thing] = true
		give = append(give, e)
		ids = append(ids, e.ID, thing)
	}
	return give, ids, h.people.SetGave(person, ids)
}

// sharable tells whether an entry is of a kind that goes around in a crew, and
// which thing it is about.
func sharable(e flybox.Entry) (thing string, ok bool) {
	body, err := flybox.Decode(e)
	if err != nil {
		return "", false // of a later version, or damaged
	}
	switch b := body.(type) {
	case flybox.Sighting:
		if b.ID != "" {
			return b.ID, true
		}
		return e.ID, true
	case flybox.Deleted:
		return b.Target, true
	}
	return "", false
}

// setShares lets a person into the crew or out of it. Whoever comes in shares
// from now on, and gets what comes from now on.
func (h *Service) setShares(ctx context.Context, person string, shares bool) error {
	h.sharing.Lock() // whoever stops is not in a round that still runs
	defer h.sharing.Unlock()
	return h.setCrew(ctx, person, shares)
}

// setCrew is setShares where h.sharing is held.
func (h *Service) setCrew(ctx context.Context, person string, shares bool) error {
	p, ok := h.people.Person(person)
	if !ok {
		return people.ErrUnknown
	}
	if p.Shares == shares {
		return nil
	}
	if shares {
		mine, err := h.end(ctx, person)
		if err != nil {
			return err
		}
		for _, other := range h.crew() {
			theirs, err := h.end(ctx, other.ID)
			if err != nil {
				return err
			}
			if err := h.people.SetCursor(person, other.ID, mine); err != nil {
				return err
			}
			if err := h.people.SetCursor(other.ID, person, theirs); err != nil {
				return err
			}
		}
	}
	if err := h.people.SetShares(person, shares); err != nil {
		return err
	}
	h.wakeSharing()
	return nil
}

// end is the number of the last entry of a person's ledger.
func (h *Service) end(ctx context.Context, person string) (uint64, error) {
	t, err := h.tenant(ctx, person)
	if err != nil {
		return 0, err
	}
	return t.store.Last(ctx)
}
