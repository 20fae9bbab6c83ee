//go:build !js

package sync

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	gosync "sync"

	"dampstone/flybox/journal"
)

// link stands for a journal up to an entry: a hash over the records of all
// entries so far, in order. The id of one entry would not do as a mark. A
// journal that was restored from an older copy may grow until the same id
// stands at the same number again, with another entry somewhere before it,
// which a device that trusts the mark would never read. Nor would all ids: a
// form that was sent to several devices has other records under the same ids.
type link [16]byte

func (l link) String() string { return hex.EncodeToString(l[:]) }

func (l link) next(record []byte) link {
	h := sha256.New()
	h.Write(l[:])
	h.Write(record) // the link before it has one length, so nothing can be shifted
	return link(h.Sum(nil)[:len(link{})])
}

// chain keeps the link of every number of a journal, 16 bytes each, made as
// the journal is read.
type chain struct {
	mu    gosync.Mutex
	links []link // of number i+1
}

const chainPage = 4096 // entries read at a time

// at is the link of the entry numbered seq; ok is false if the journal does
// not reach that far.
func (c *chain) at(ctx context.Context, store journal.Store, seq uint64) (l link, ok bool, err error) {
	if seq == 0 {
		return link{}, true, nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for uint64(len(c.links)) < seq {
		entries, _, err := store.After(ctx, uint64(len(c.links)), chainPage)
		if err != nil {
			return link{}, false, err
		}
		if len(entries) == 0 {
			return link{}, false, nil
		}
		for _, e := range entries {
			last := link{}
			if n := len(c.links); n > 0 {
				last = c.links[n-1]
			}
			c.links = append(c.links, last.next(e.Raw()))
		}
	}
	return c.links[seq-1], true, nil
}
