package accounts

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/people"
)

// A crew is everybody on this server who shares. What such a person notes as
// seen goes to the feed, once for all, which the others read beside their
// ledgers: from the moment on when both share, until one of them stops.
//
// What goes is made anew from a list of fields: hatch, day, water, place and
// note, and nothing else of the entry, known to this version or not. Its ids
// are made of the giver and the giver's ids, so that whatever somebody writes
// touches nothing of another's but what they gave themselves.
//
// Only what a person wrote is theirs to share: what came to them from others
// goes no further, and no edit or deletion of it goes back.

// crewDevice is the device in the stamps of what goes around.
const crewDevice = "crew"

// sharePage is how many entries are looked at in one go.
const sharePage = 500

// wakeSharing says that somebody has written something ("" for everybody).
func (h *Service) wakeSharing(person string) {
	h.mu.Lock()
	h.wrote[person] = true
	h.mu.Unlock()
	select {
	case h.shared <- struct{}{}:
	default: // it will look anyway
	}
}

func (h *Service) shareLoop(ctx context.Context) {
	defer close(h.done)
	var others <-chan time.Time // what another server could not share, as it was killed
	if !h.people.Alone() {
		tick := time.NewTicker(time.Minute)
		defer tick.Stop()
		others = tick.C
	}
	for {
		select {
		case <-ctx.Done():
			return
		case <-others:
			h.wakeSharing("")
			continue
		case <-h.shared:
		}
		if err := h.share(ctx); err != nil && ctx.Err() == nil {
			h.Log.Error("share sightings", "err", err)
		}
	}
}

// share brings to the feed what the people of the crew have written.
func (h *Service) share(ctx context.Context) error {
	h.sharing.Lock()
	defer h.sharing.Unlock()
	h.mu.Lock()
	wrote := h.wrote
	h.wrote = map[string]bool{}
	h.mu.Unlock()
	var errs []error
	if wrote[""] {
		delete(wrote, "")
		behind, err := h.ledgers.Behind(ctx)
		errs = append(errs, err)
		for _, id := range behind {
			wrote[id] = true
		}
	}
	maps.Copy(wrote, h.held)
	for _, id := range slices.Sorted(maps.Keys(wrote)) {
		p, ok, err := h.people.Person(id)
		if err == nil && (!ok || !p.Shares) {
			delete(h.held, id)
			continue
		}
		// One ledger that cannot be read holds up no other.
		if err == nil {
			err = h.shareFrom(ctx, id)
		}
		switch {
		case errors.Is(err, people.ErrMoved):
			h.wakeSharing(id) // another server has looked, or the person has come and gone
		case err != nil:
			h.held[id] = true
			errs = append(errs, fmt.Errorf("from %q: %w", id, err))
		}
	}
	return errors.Join(errs...)
}

// shareFrom brings to the feed what is new of a person.
func (h *Service) shareFrom(ctx context.Context, from string) error {
	t, err := h.tenant(ctx, from)
	if err != nil {
		return err
	}
	defer h.release(t)
	at, err := h.lookedAt(ctx, t)
	if err != nil {
		return err
	}
	delete(h.held, from)
	for {
		today := h.Now().UTC().Format(time.DateOnly)
		given, err := h.people.GivenOn(from, today)
		if err != nil {
			return err
		}
		if given >= maxGivenADay {
			h.held[from] = true
			h.Log.Warn("a person shares more than goes around in a day; the rest comes tomorrow", "person", from)
			return nil
		}
		entries, last, err := t.store.After(ctx, at.now, sharePage)
		if err != nil || len(entries) == 0 {
			return err
		}
		gift, err := h.own(from, entries, at.now)
		if err != nil {
			return err
		}
		at.now = last
		switch {
		case len(gift.Entries) > 0:
			gift.From, gift.Kept, gift.Looked, gift.Day = from, at.kept, last, today
			err, at.kept = h.people.Give(gift), last
		case !h.people.Alone() || last-at.kept > farBehind:
			err, at.kept = h.people.SetLooked(from, at.kept, last), last
		}
		if err != nil {
			delete(h.looked, from)
			return err
		}
		h.looked[from] = at
	}
}

// maxGivenADay bounds what of one person goes around in a day (UTC), about: far
// more than somebody sees, far less than it takes to fill the phones of a
// crew. What is over comes the day after. Assumed.
const maxGivenADay = 1000

// farBehind is how many entries of which nothing goes around may be looked at
// again after a new start, so that most notes cost no write.
const farBehind = 2000

// looked is how far a ledger was looked at, and what of that is on the disk.
type looked struct{ now, kept uint64 }

// lookedAt is how far a person's ledger was looked at; h.sharing is held.
func (h *Service) lookedAt(ctx context.Context, t *tenant) (looked, error) {
	if at, ok := h.looked[t.person]; ok && h.people.Alone() {
		return at, nil
	}
	end, err := t.store.Last(ctx) // what is there is from before
	if err != nil {
		return looked{}, err
	}
	seq, err := h.people.Looked(t.person, end)
	return looked{seq, seq}, err
}

// own is what a person may share of their entries, which stand after number
// seq: sightings, and the deletions of sightings that were given, that did not
// come from others.
func (h *Service) own(person string, entries []journal.Entry, seq uint64) (gift people.Gift, err error) {
	things := map[journal.ID]journal.ID{} // entry -> thing
	var look []journal.ID
	for _, e := range entries {
		if thing, ok := sharable(e); ok && e.At.Device != crewDevice && e.At.Time().Before(h.Now().Add(journal.MaxAhead)) {
			things[e.ID] = thing
			look = append(look, e.ID, thing)
		}
	}
	if len(things) == 0 {
		return gift, nil
	}
	came, err := h.people.Came(person, look)
	if err != nil {
		return gift, err
	}
	giving := map[journal.ID]bool{} // in this call, not marked yet
	for i, e := range entries {
		thing, ok := things[e.ID]
		if !ok || came[e.ID] || came[thing] {
			continue
		}
		if e.Kind == flybox.KindDeleted {
			// What is deleted is known no more, so ask whether it was given.
			gave, err := h.people.Gave(person, thing)
			if err != nil {
				return gift, err
			}
			if !gave && !giving[thing] {
				continue
			}
		}
		c, err := copyFor(person, e, thing, seq+uint64(i)+1)
		if err != nil {
			return gift, err
		}
		giving[thing] = true
		gift.Entries = append(gift.Entries, c)
		gift.Things = append(gift.Things, crewID(person, thing))
		gift.Given = append(gift.Given, e.ID, thing)
	}
	return gift, nil
}

// crewSpace is the name space of the ids of copies (RFC 9562, section 6.6).
var crewSpace = uuid.MustParse("f2b7c6a0-5d0e-4c57-9f54-0a1f0c7f6d21")

// crewID is the id that something of a person has in the ledgers of others.
func crewID(person string, id journal.ID) journal.ID {
	return journal.ID(uuid.NewSHA1(crewSpace, []byte(person+"\x00"+string(id))).String())
}

// copyFor is what others get of an entry. Its stamp says the day and the order
// in the giver's ledger, not the second.
func copyFor(person string, e journal.Entry, thing journal.ID, seq uint64) (journal.Entry, error) {
	body, err := flybox.Decode(e)
	if err != nil {
		return journal.Entry{}, err // cannot be: sharable has read it
	}
	day := e.At.Time().Truncate(24 * time.Hour)
	at := journal.Stamp{MS: day.UnixMilli() + int64(seq%uint64(24*time.Hour/time.Millisecond)), Device: crewDevice}
	if b, ok := body.(flybox.Sighting); ok {
		seen := flybox.Sighting{ID: crewID(person, thing), When: b.When, Hatch: b.Hatch, Water: b.Water, Place: b.Place, Note: b.Note}
		if when, err := time.Parse(time.RFC3339, b.When); err == nil {
			seen.When = time.Date(when.Year(), when.Month(), when.Day(), 12, 0, 0, 0, when.Location()).Format(time.RFC3339)
		}
		body = seen
	} else {
		body = flybox.Deleted{Target: crewID(person, thing)}
	}
	return flybox.NewEntry(crewID(person, e.ID), at, body)
}

// sharable tells whether an entry is of a kind that goes around in a crew, and
// which thing it is about.
func sharable(e journal.Entry) (thing journal.ID, ok bool) {
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
	var end uint64
	if shares {
		var err error
		if end, err = h.end(ctx, person); err != nil {
			return err
		}
	}
	delete(h.looked, person)
	return h.people.SetShares(person, shares, end)
}

// end is the number of the last entry of a person's ledger.
func (h *Service) end(ctx context.Context, person string) (uint64, error) {
	t, err := h.tenant(ctx, person)
	if err != nil {
		return 0, err
	}
	defer h.release(t)
	return t.store.Last(ctx)
}

// feed is what others share with a person.
type feed struct {
	people *people.Registry
	person string
}

// After implements sync.Feed.
func (f feed) After(_ context.Context, at journal.Place, limit, size int) ([]journal.Entry, journal.Place, bool, error) {
	return f.people.Feed(f.person, at, limit, size)
}
