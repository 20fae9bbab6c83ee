package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
)

// Apart leaves out entries under whose id another record is known, in the
// store (where has says that it may be) or earlier in the list, unless it may
// give way. taken are their ids; what is known as it is is left out unsaid.
func Apart(ctx context.Context, store Store, entries []Entry, has, may func(ID) bool) (good []Entry, taken []ID, err error) {
	here := make(map[ID][]byte, len(entries))
	for _, e := range entries {
		if may(e.ID) {
			good = append(good, e)
			continue
		}
		first, ok := here[e.ID]
		if !ok && has(e.ID) {
			known, found, err := store.Get(ctx, e.ID)
			if err != nil {
				return nil, taken, fmt.Errorf("compare entry: %w", err)
			}
			if first, ok = known.Raw(), found; found {
				here[e.ID] = first
			}
		}
		switch {
		case !ok:
			here[e.ID] = e.Raw()
			good = append(good, e)
		case !bytes.Equal(first, e.Raw()):
			taken = append(taken, e.ID)
		}
	}
	return good, taken, nil
}

// Stored are the records that a store has of entries that were given to it, of
// which it added some: what another process wrote under their ids in the
// meantime stands. has tells which are known to be there as they are.
func Stored(ctx context.Context, store Store, entries []Entry, added []ID, has func(ID) bool) (have []Entry, taken []ID, err error) {
	if len(added) == len(entries) {
		return entries, nil, nil
	}
	fresh := make(map[ID]bool, len(added))
	for _, id := range added {
		fresh[id] = true
	}
	var look []ID
	for _, e := range entries {
		if !fresh[e.ID] && !has(e.ID) {
			look = append(look, e.ID)
		}
	}
	there, err := GetAll(ctx, store, look)
	if err != nil {
		return nil, nil, fmt.Errorf("compare entries: %w", err)
	}
	for _, e := range entries {
		if fresh[e.ID] || has(e.ID) {
			have = append(have, e)
			continue
		}
		known, ok := there[e.ID]
		if !ok {
			return have, taken, fmt.Errorf("compare entry %q: %w", e.ID, errNotThere)
		}
		if !bytes.Equal(known.Raw(), e.Raw()) {
			taken = append(taken, e.ID)
		}
		have = append(have, known)
	}
	return have, taken, nil
}

var errNotThere = errors.New("the store neither added nor has it")

// Getter is a store that finds many entries in one go.
type Getter interface {
	GetAll(ctx context.Context, ids []ID) (map[ID]Entry, error)
}

// GetAll finds those of the entries that a store has.
func GetAll(ctx context.Context, store Store, ids []ID) (map[ID]Entry, error) {
	if g, ok := store.(Getter); ok {
		return g.GetAll(ctx, ids)
	}
	all := make(map[ID]Entry, len(ids))
	for _, id := range ids {
		e, ok, err := store.Get(ctx, id)
		if err != nil {
			return nil, err
		}
		if ok {
			all[id] = e
		}
	}
	return all, nil
}
