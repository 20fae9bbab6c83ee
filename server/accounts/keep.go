package accounts

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"dampstone/flybox/journal"
	"dampstone/server/backup"
	"dampstone/server/boltstore"
	"dampstone/server/people"
)

// Listing is one person with their devices, for the command line.
type Listing struct {
	Person  people.Person   `json:"person"`
	Devices []people.Device `json:"devices"`
	Bytes   int64           `json:"bytes"`         // of the ledger's file
	Used    float64         `json:"used,omitzero"` // of their share, as far as the file's size tells; 0 where there is no bound
}

// Invitation is a code with what goes with it.
type Invitation struct {
	Person string    `json:"person"` // name
	New    bool      `json:"new"`    // was added for this
	Code   string    `json:"code"`
	Link   string    `json:"link"` // "" where no server is running
	Until  time.Time `json:"until"`
}

// List lists everybody.
func (h *Service) List(ctx context.Context) (list []Listing, err error) {
	everybody, err := h.people.People()
	if err != nil {
		return nil, err
	}
	devices, err := h.people.Devices("")
	if err != nil {
		return nil, err
	}
	for _, p := range everybody {
		l := Listing{Person: p}
		for _, d := range devices {
			if d.Person == p.ID {
				l.Devices = append(l.Devices, d)
			}
		}
		if l.Bytes, err = h.ledgers.Bytes(ctx, p); err != nil {
			return nil, err
		}
		if h.Quota.Bytes > 0 && !p.Owner {
			l.Used = float64(l.Bytes) / float64(h.Quota.Bytes)
		}
		list = append(list, l)
	}
	return list, nil
}

// Pair makes a code for the person with a name or id, who is added if there
// is nobody by that name. An empty name is the owner.
func (h *Service) Pair(_ context.Context, name string) (inv Invitation, err error) {
	p, err := h.Owner()
	if err != nil {
		return inv, err
	}
	if name != "" {
		p, err = h.people.Find(name)
		if errors.Is(err, people.ErrUnknown) {
			inv.New = true
			p, err = h.people.Add("", name, h.Now())
		}
		if err != nil {
			return inv, fmt.Errorf("pair %q: %w", name, err)
		}
	}
	inv.Person = p.Name
	if inv.Code, inv.Until, err = h.people.Invite(p.ID, h.Now()); err != nil {
		return inv, fmt.Errorf("pair %q: %w", name, err)
	}
	if h.baseURL() != "" {
		inv.Link = h.Link(inv.Code)
	}
	return inv, nil
}

// Revoke shuts out the device with a name or id.
func (h *Service) Revoke(_ context.Context, name string) (people.Device, error) {
	d, err := h.people.FindDevice(name)
	if err == nil {
		err = h.people.Revoke(d.ID, h.Now())
	}
	if err != nil {
		return d, fmt.Errorf("revoke %q: %w", name, err)
	}
	return d, nil
}

// ErrPartly: the file is whole, and lacks ledgers that are damaged.
var ErrPartly = errors.New("not all ledgers could be backed up")

// Backup writes the ledgers of all people, as each stands when it is read.
// With ErrPartly everything else was written.
func (h *Service) Backup(ctx context.Context, w io.Writer) error {
	var parts []backup.Part
	var damaged []error
	everybody, err := h.people.People()
	if err != nil {
		return err
	}
	for _, p := range everybody {
		t, err := h.tenant(ctx, p.ID)
		if err == nil {
			// Read before anything is written: a ledger that breaks off halfway
			// would spoil the file for the others.
			if _, err = t.store.Load(ctx); err != nil {
				h.release(t)
			}
		}
		if errors.Is(err, boltstore.ErrDamaged) {
			damaged = append(damaged, fmt.Errorf("the ledger of %q (%s) is damaged and not in the backup: %w", p.Name, h.ledgers.Name(p), err))
			continue
		}
		if err != nil {
			return fmt.Errorf("back up ledger of %q: %w", p.ID, err)
		}
		defer h.release(t)
		parts = append(parts, backup.Part{ID: p.ID, Name: p.Name, Shares: p.Shares, Store: &view{Store: t.store, feed: feed{h.people, p.ID}}, Marks: func() (m backup.Marks, err error) {
			if m.Came, m.Gave, err = h.people.Marked(p.ID); err != nil {
				return m, err
			}
			theirs, err := feed{h.people, p.ID}.things(ctx)
			m.Came = append(m.Came, theirs...)
			return m, err
		}})
	}
	if err := backup.WriteBackup(ctx, w, parts, h.Now()); err != nil {
		return err
	}
	if len(damaged) > 0 {
		return fmt.Errorf("%w: %w", ErrPartly, errors.Join(damaged...))
	}
	return nil
}

// Restore merges a backup, or the file of one ledger, into the ledgers here.
// People who are not here are added, and are in the crew if they were. Devices
// are not in a backup: they have to be paired anew with a server that does not
// know them.
func (h *Service) Restore(ctx context.Context, r io.Reader) (backup.Report, error) {
	ctx = withoutQuota(ctx) // the owner does it
	// Nothing goes around before it is known what came from whom.
	h.sharing.Lock()
	defer h.sharing.Unlock()
	var joining []string
	var opened []*tenant
	defer func() {
		for _, t := range opened {
			h.release(t)
		}
	}()
	first := true
	report, err := backup.ReadBackup(ctx, r, func(s backup.Section) (backup.Target, error) {
		id := s.Ledger
		if id == "" {
			owner, err := h.Owner()
			if err != nil {
				return backup.Target{}, err
			}
			id = owner.ID
		} else if added, err := h.welcome(ctx, s, first); err != nil {
			return backup.Target{}, err
		} else if devices, err := h.people.Devices(id); err != nil {
			return backup.Target{}, err
		} else if (added || len(devices) == 0) && s.Shares {
			// Also where a restore broke off before: who has no device yet can
			// not have left the crew since.
			joining = append(joining, id)
		}
		first = false
		t, err := h.tenant(ctx, id)
		if err != nil {
			return backup.Target{}, err
		}
		opened = append(opened, t)
		return backup.Target{
			Into: t.into,
			Mark: func(m backup.Marks) error {
				return errors.Join(h.people.SetCame(id, m.Came), h.people.SetGave(id, m.Gave))
			},
			Before: func(entries []journal.Entry) error { return h.keepBack(ctx, t, entries) },
		}, nil
	})
	for _, id := range joining {
		err = errors.Join(err, h.setCrew(ctx, id, true))
	}
	return report, err
}

// keepBack sees to it that what a file brings to somebody in the crew does not
// go around as if they had noted it now: it may be from before they shared. It
// stays theirs alone, unless they had given it before.
func (h *Service) keepBack(ctx context.Context, t *tenant, entries []journal.Entry) error {
	if p, _, err := h.people.Person(t.person); err != nil || !p.Shares {
		return err
	}
	var ids []journal.ID
	fresh, err := t.store.Fresh(ctx, entries)
	if err != nil {
		return err
	}
	for _, e := range fresh {
		thing, ok := sharable(e)
		if !ok {
			continue
		}
		gave, err := h.people.Gave(t.person, thing)
		if err != nil {
			return err
		}
		if !gave {
			ids = append(ids, e.ID, thing)
		}
	}
	return h.people.SetCame(t.person, ids)
}

// welcome makes sure that the person of a section is here, and says whether
// they were not. The first is the owner: a folder in which nothing is written
// yet takes on who that was, with the devices that were paired meanwhile.
func (h *Service) welcome(ctx context.Context, s backup.Section, first bool) (added bool, err error) {
	if _, known, err := h.people.Person(s.Ledger); known || err != nil {
		return false, err
	}
	if !validID(s.Ledger) {
		return false, fmt.Errorf("restore: %q cannot be the id of a person", s.Ledger)
	}
	everybody, err := h.people.People()
	if err != nil {
		return false, err
	}
	if first && len(everybody) == 1 {
		owner := everybody[0]
		end, err := h.end(ctx, owner.ID)
		if err != nil {
			return false, err
		}
		if end == 0 {
			if err := h.people.Adopt(owner.ID, s.Ledger, s.Name); err != nil {
				return false, err
			}
			// The ledger is the same, and who it belongs to is not: it is opened
			// anew for them. Requests that run end with an error.
			to := owner
			to.ID = s.Ledger
			if err := errors.Join(h.closeOf(owner.ID), h.ledgers.Adopt(ctx, owner, to)); err != nil {
				return false, err
			}
			return true, nil
		}
	}
	_, err = h.people.Add(s.Ledger, s.Name, h.Now())
	return true, err
}

// validID tells whether an id from a file may name a file of ours.
func validID(id string) bool {
	return id != "" && len(id) <= 64 && !slices.ContainsFunc([]byte(id), func(c byte) bool {
		return !('a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '-')
	})
}

// Purge takes a person off the server: their devices are shut out, and their
// ledger is deleted for good, as is what they shared with the crew; phones keep
// what they have. The owner cannot be taken off.
func (h *Service) Purge(ctx context.Context, name string) (p people.Person, err error) {
	h.sharing.Lock()
	defer h.sharing.Unlock()
	if p, err = h.people.Find(name); err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	if p.Owner {
		return p, fmt.Errorf("purge %q: %w", name, ErrOwner)
	}
	if err := h.people.Remove(p.ID, h.Now()); err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	// Requests that run end with an error; nobody opens it again.
	if err := errors.Join(h.closeOf(p.ID), h.ledgers.Remove(ctx, p)); err != nil {
		return p, fmt.Errorf("purge %q: %w", name, err)
	}
	return p, nil
}

// closeOf closes a person's ledger, whoever uses it.
func (h *Service) closeOf(person string) error {
	h.mu.Lock()
	for o := h.openings[person]; o != nil; o = h.openings[person] {
		h.mu.Unlock()
		<-o.done
		h.mu.Lock()
	}
	t := h.tenants[person]
	delete(h.tenants, person)
	h.mu.Unlock()
	if t == nil {
		return nil
	}
	return t.store.Close()
}

// ErrOwner says that something cannot be done to the owner of the server.
var ErrOwner = errors.New("that is the owner of the server")
