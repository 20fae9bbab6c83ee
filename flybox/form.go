package flybox

import (
	"context"
	"crypto/sha256"
	"dampstone/flybox/journal"
	"fmt"

	"github.com/google/uuid"
)

// Form is one form that was filled in. The entries that it makes derive their
// ids from it, so that sending it again, to this device or another, after a
// lost reply or a new start, adds nothing: an id that is known is passed over.
type Form struct {
	// ID was made when the form was shown; empty for a request that carries
	// none, whose entries get random ids.
	ID string
	// Content is all that was typed and where it goes. A form that is changed
	// and sent once more, such as after going back in a browser, is new, but
	// the things that it makes are the same: a fly is revised, not doubled.
	Content string
}

// space is the name space of derived ids (RFC 9562, section 6.6): arbitrary.
var space = uuid.MustParse("6b0dd4a2-0b6c-4f0e-9f0a-3d1f2c5a7e81")

// derivedVersion is the version of UUIDs that an application derives as it
// likes (RFC 9562, section 5.8); random ones are of version 4.
const derivedVersion = 8

func derived(of string) journal.ID {
	return journal.ID(uuid.NewHash(sha256.New(), space, []byte(of), derivedVersion).String())
}

// Entry is the id of the form's i-th entry.
func (f Form) Entry(i int) journal.ID {
	return derived(fmt.Sprintf("entry %d %q %q", i, f.ID, f.Content))
}

// Thing is the id of the i-th thing that the form names.
func (f Form) Thing(i int) journal.ID { return derived(fmt.Sprintf("thing %d %q", i, f.ID)) }

// RandomID is a new id of a thing or an entry, for Options.
func RandomID() journal.ID { return journal.ID(uuid.NewString()) }

// IsDerived tells whether an id was derived from a form. Two devices that were
// sent the same form write different records under it, which is no fault.
func IsDerived(id journal.ID) bool {
	u, err := uuid.Parse(string(id))
	return err == nil && len(id) == 36 && u.Version() == derivedVersion
}

// RecordForm records what plan says after a look at the state, once for a
// form: where its entries are here already plan is not asked, and fresh is
// false. What is shown afterwards has to come from the state, so that it is
// the same however often the form was sent. Things that the bodies name should
// have ids by Form.Thing.
func (l *Ledger) RecordForm(ctx context.Context, f Form, plan func(*State) ([]Body, error)) (fresh bool, err error) {
	l.write.Lock()
	defer l.write.Unlock()
	id := func(int) journal.ID { return l.opt.NewID() }
	if f.ID != "" {
		// Another tab may have recorded it since the last Refresh.
		known := l.state.Has(f.Entry(0))
		if !known {
			if _, known, err = l.store.Get(ctx, f.Entry(0)); err != nil {
				return false, fmt.Errorf("look for form: %w", err)
			}
			if known {
				_, err = l.refresh(ctx)
			}
		}
		if known {
			return false, err
		}
		id = f.Entry
	}
	entries, err := l.record(ctx, plan, id)
	return len(entries) > 0, err
}
