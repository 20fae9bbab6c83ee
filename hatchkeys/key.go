package hatchkeys

import "errors"

// ErrUnknownRegion says that no pack has the region's id.
var ErrUnknownRegion = errors.New("unknown region")

// Key answers evidence from one pack. It is safe for concurrent use.
type Key struct {
	Pack *Pack
}

// NewKey prepares the tables of a pack.
func NewKey(p *Pack) (*Key, error) { return &Key{Pack: p}, nil }
