package journal

import (
	"crypto/sha256"
	"encoding/hex"
)

// Link stands for a journal up to an entry: a hash over the records of all
// entries so far, in order. The id of one entry would not do as a mark. A
// journal that was restored from an older copy may grow until the same id
// stands at the same number again, with another entry somewhere before it,
// which a device that trusts the mark would never read. Nor would all ids: a
// form that was sent to several devices has other records under the same ids.
// The zero Link stands for an empty journal.
type Link [16]byte

func (l Link) String() string { return hex.EncodeToString(l[:]) }

// Next is the link up to one more entry, of which record is Raw.
func (l Link) Next(record []byte) Link {
	h := sha256.New()
	h.Write(l[:])
	h.Write(record) // the link before it has one length, so nothing can be shifted
	return Link(h.Sum(nil)[:len(Link{})])
}
