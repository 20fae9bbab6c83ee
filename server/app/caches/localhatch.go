package caches

import (
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
)

// MaxLocalHatches bounds how many hatches of a region a reader's key takes in;
// those described last come first.
const MaxLocalHatches = 200

// hatchesOf are the hatches that the reader added to a region's key.
func hatchesOf(s *flybox.State, region string) []flybox.Logged[flybox.Hatch] {
	var out []flybox.Logged[flybox.Hatch]
	for _, l := range s.Hatches() {
		if hatchkeys.Within(region, l.Body.Region) && len(out) < MaxLocalHatches {
			out = append(out, l)
		}
	}
	return out
}

func entriesOf(list []flybox.Logged[flybox.Hatch]) []journal.ID {
	var ids []journal.ID
	for _, l := range list {
		ids = append(ids, l.Entry)
	}
	return ids
}

// withLocal is the key of the built-in pack with the reader's hatches. What
// went into the ledger was checked, so that it fits; if it does not, the
// built-in key is better than none.
func (a *Caches) withLocal(base *hatchkeys.Key, list []flybox.Logged[flybox.Hatch]) *hatchkeys.Key {
	var local []*hatchkeys.Hatch
	for _, l := range list {
		if h := LocalHatch(l.Body); h != nil {
			local = append(local, h)
		}
	}
	key, err := base.WithLocal(local)
	if err != nil {
		a.Log.Error("take in local hatches", "err", err)
		return base
	}
	return key
}

// LocalHatch is the hatch in an entry, with its id in the key; nil if it
// cannot be read.
func LocalHatch(b flybox.Hatch) *hatchkeys.Hatch {
	h, bad := hatchkeys.ParseLocal(b.Hatch)
	if len(bad) > 0 {
		return nil
	}
	h.ID = hatchkeys.LocalPrefix + string(b.ID)
	return h
}
