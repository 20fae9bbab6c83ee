// Package caches keeps what is costly to work out again for every screen: the
// key with the reader's own hatches and calendar, the reader's flies against
// all forms of it, and the plans of trips. All of it follows the ledger.
package caches

import (
	"slices"
	"sync"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
)

// ownKeys are the keys of the built-in packs made the reader's own by what is
// in the ledger. They are made again when the ledger has grown.
type ownKeys struct {
	mu       sync.Mutex
	byRegion map[string]ownKey
}

type ownKey struct {
	state   *flybox.State  // of the ledger, when made
	hatches []journal.ID   // entries that say which hatches the reader added
	pack    *hatchkeys.Key // with these
	seen    []hatchkeys.Seen
	key     *hatchkeys.Key
}

// Key is the key of a region with the hatches that the reader has added, and
// with the calendar that their sightings have sharpened.
func (a *Caches) Key(s *flybox.State, region string) (*hatchkeys.Key, error) {
	base, err := hatchkeys.ForRegion(region)
	if err != nil {
		return nil, err
	}
	a.keys.mu.Lock()
	defer a.keys.mu.Unlock()
	own := a.keys.byRegion[region]
	if own.key != nil && own.state == s {
		return own.key, nil
	}
	own.state = s
	seen, hatches := seenDays(s.Sightings()), hatchesOf(s, region)
	said := entriesOf(hatches)
	fresh := own.key == nil // most entries are of flies
	if fresh || !slices.Equal(own.hatches, said) {
		fresh = true
		own.hatches, own.pack = said, a.withLocal(base, hatches)
	}
	if fresh || !slices.Equal(own.seen, seen) {
		own.seen, own.key = seen, own.pack.WithSightings(seen)
	}
	if a.keys.byRegion == nil {
		a.keys.byRegion = map[string]ownKey{}
	}
	a.keys.byRegion[region] = own
	return own.key, nil
}

// seenDays are the days of sightings, by the clock of whoever saw them.
func seenDays(list []flybox.Logged[flybox.Sighting]) []hatchkeys.Seen {
	var out []hatchkeys.Seen
	for _, s := range list {
		at, err := time.Parse(time.RFC3339, s.Body.When)
		if err != nil {
			continue // checked when it was recorded
		}
		out = append(out, hatchkeys.Seen{Hatch: s.Body.Hatch, Month: int(at.Month()), Day: at.Day()})
	}
	return out
}

// Caches are those of one ledger.
type Caches struct {
	*screen.Host
	fits  FitCache
	keys  ownKeys
	plans plans
}

// New makes empty caches.
func New(h *screen.Host) *Caches { return &Caches{Host: h} }

// Flies are the ledger's flies against the forms of a key.
func (a *Caches) Flies(s *flybox.State, key *hatchkeys.Key) *BoxFlies { return a.fits.flies(s, key) }
