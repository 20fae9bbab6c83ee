package accounts

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/people"
)

// A crew is everybody on this server who shares. What such a person notes as
// seen goes to the ledgers of the others, from the moment on when both share.
// Copies stay where they are when somebody stops.
//
// What goes is made anew from a list of fields: hatch, day, water, place and
// note, and nothing else of the entry, known to this version or not. Its ids
// are made of the giver and the giver's ids, so that whatever somebody writes
// touches nothing in another's ledger but the copies of what they gave.
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
	var errs []error
	for _, from := range crew {
		// One ledger that cannot be read, or is full, holds up no other.
		errs = append(errs, h.shareFrom(ctx, from.ID, crew))
	}
	return errors.Join(errs...)
}

// shareFrom brings everybody in the crew what is new of one of them, whose
// ledger stays open meanwhile.
func (h *Service) shareFrom(ctx context.Context, from string, crew []people.Person) error {
	giver, err := h.tenant(ctx, from)
	if err != nil {
		return fmt.Errorf("from %q: %w", from, err)
	}
	defer h.release(giver)
	var errs []error
	for _, to := range crew {
		if to.ID == from {
			continue
		}
		if err := h.shareBetween(ctx, giver, to.ID); err != nil {
			errs = append(errs, fmt.Errorf("from %q to %q: %w", from, to.ID, err))
		}
	}
	return errors.Join(errs...)
}

func (h *Service) shareBetween(ctx context.Context, giver *tenant, to string) error {
	from := giver.person
	seq, err := h.cursor(from, to)
	if err != nil {
		return err
	}
	var taker *tenant
	for {
		if h.given.add(h.Now(), [2]string{from, to}, 0) >= maxGivenADay {
			return nil
		}
		entries, last, err := giver.store.After(ctx, seq, sharePage)
		if err != nil || len(entries) == 0 {
			return err
		}
		give, err := h.own(from, entries, seq)
		if err != nil {
			return err
		}
		if len(give) > 0 {
			if taker == nil {
				if taker, err = h.tenant(ctx, to); err != nil {
					return err
				}
				defer h.release(taker)
			}
			var ids []journal.ID
			for _, e := range give {
				thing, _ := sharable(e)
				ids = append(ids, e.ID, thing)
			}
			if err := h.people.SetCame(to, ids); err != nil {
				return err
			}
			if _, _, err := taker.into.Merge(withoutQuota(ctx), give); err != nil {
				return err
			}
			if n := h.given.add(h.Now(), [2]string{from, to}, len(give)); n >= maxGivenADay { // once a day
				h.Log.Warn("a person shares more than goes around in a day; the rest comes tomorrow", "person", from)
			}
		}
		if err := h.setCursor(from, to, last, len(give) > 0); err != nil {
			return err
		}
		seq = last
	}
}

// maxGivenADay bounds what of one person comes to another in a day (UTC), about:
// far more than somebody sees, far less than it takes to fill the ledgers of a
// crew. What is over comes the day after. Assumed.
const maxGivenADay = 1000

// farBehind is how many entries of which nothing goes around may be looked at
// again after a new start, so that most notes cost no write for each member.
const farBehind = 2000

// cursor is how far one person's ledger was looked at for another; h.sharing
// is held.
func (h *Service) cursor(from, to string) (uint64, error) {
	if seq, ok := h.seen[[2]string{from, to}]; ok {
		return seq.now, nil
	}
	seq, err := h.people.Cursor(from, to)
	if err == nil {
		h.seen[[2]string{from, to}] = looked{seq, seq}
	}
	return seq, err
}

// looked is how far a ledger was looked at, and what of that is on the disk.
type looked struct{ now, kept uint64 }

func (h *Service) setCursor(from, to string, seq uint64, gave bool) error {
	at := h.seen[[2]string{from, to}]
	if at.now = seq; gave || seq-at.kept > farBehind {
		if err := h.people.SetCursor(from, to, seq); err != nil {
			return err
		}
		at.kept = seq
	}
	h.seen[[2]string{from, to}] = at
	return nil
}

// own are copies of what a person may share of their entries, which stand
// after number seq: sightings, and the deletions of sightings that were given,
// that did not come from others.
func (h *Service) own(person string, entries []journal.Entry, seq uint64) (give []journal.Entry, err error) {
	things := map[journal.ID]journal.ID{} // entry -> thing
	var look []journal.ID
	for _, e := range entries {
		if thing, ok := sharable(e); ok && e.At.Time().Before(h.Now().Add(journal.MaxAhead)) {
			things[e.ID] = thing
			look = append(look, e.ID, thing)
		}
	}
	if len(things) == 0 {
		return nil, nil
	}
	came, err := h.people.Came(person, look)
	if err != nil {
		return nil, err
	}
	var ids []journal.ID
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
				return nil, err
			}
			if !gave && !giving[thing] {
				continue
			}
		}
		c, err := copyFor(person, e, thing, seq+uint64(i)+1)
		if err != nil {
			return nil, err
		}
		giving[thing] = true
		give = append(give, c)
		ids = append(ids, e.ID, thing)
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return give, h.people.SetGave(person, ids)
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
	at := journal.Stamp{MS: day.UnixMilli() + int64(seq%uint64(24*time.Hour/time.Millisecond)), Device: "crew"}
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
			if err := h.setCursor(person, other.ID, mine, true); err != nil {
				return err
			}
			if err := h.setCursor(other.ID, person, theirs, true); err != nil {
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
	defer h.release(t)
	return t.store.Last(ctx)
}
