// Package move brings people and ledgers from a data folder into a database
// and back. What a move does may be broken off and repeated.
package move

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"dampstone/flybox/journal"
	"dampstone/server/accounts"
	"dampstone/server/boltstore"
	"dampstone/server/people"
	"dampstone/server/pgstore"
)

// Errors that callers tell apart.
var (
	ErrNothing = errors.New("nothing is kept there")
	ErrInUse   = errors.New("a server is connected")
	ErrDiffers = errors.New("the copy of a ledger differs")
)

// IsDatabase tells whether a text is the address of a database.
func IsDatabase(place string) bool {
	return strings.HasPrefix(place, "postgres://") || strings.HasPrefix(place, "postgresql://")
}

// Report is what a move came to.
type Report struct {
	People, Entries int
	Added           int // entries that were not there before
}

// side is one end of a move.
type side struct {
	people.KV
	// ledger opens a person's journal, made with an id where it is not there;
	// "": as it is.
	ledger func(ctx context.Context, p people.Person, id string) (accounts.Ledger, error)
	close  func() error
}

// Move copies all that is kept at one place, a folder or the address of a
// database, to another that is empty or to which the same was being moved. No
// server may use either. It tells say about each ledger, once its copy was
// compared.
func Move(ctx context.Context, from, to string, say func(p people.Person, entries int)) (r Report, err error) {
	if !IsDatabase(from) {
		if _, err := os.Stat(filepath.Join(from, accounts.PeopleFile)); err != nil {
			return r, fmt.Errorf("move from %s: %w", from, ErrNothing)
		}
	}
	a, err := open(ctx, from)
	if err != nil {
		return r, fmt.Errorf("move from %s: %w", name(from), err)
	}
	defer func() { err = errors.Join(err, a.close()) }()
	b, err := open(ctx, to)
	if err != nil {
		return r, fmt.Errorf("move to %s: %w", name(to), err)
	}
	defer func() { err = errors.Join(err, b.close()) }()
	registry, err := people.New(keep{a.KV}) // brings an old file to the present format
	if err != nil {
		return r, fmt.Errorf("move from %s: %w", name(from), err)
	}
	everybody, err := registry.People()
	if err != nil {
		return r, err
	}
	if len(everybody) == 0 {
		return r, fmt.Errorf("move from %s: %w", name(from), ErrNothing)
	}
	// Ledgers first: once the people are there a server may start.
	if err := people.Begin(a, b); err != nil {
		return r, err
	}
	for _, p := range everybody {
		n, added, err := ledger(ctx, a, b, p)
		if err != nil {
			return r, fmt.Errorf("move ledger of %q: %w", p.Name, err)
		}
		r.People++
		r.Entries += n
		r.Added += added
		say(p, n)
	}
	return r, people.Copy(a, b)
}

// name is a place without a password.
func name(place string) string {
	if IsDatabase(place) {
		return "the database"
	}
	return place
}

// keep is a KV that stays open.
type keep struct{ people.KV }

func (keep) Close() error { return nil }

func open(ctx context.Context, place string) (*side, error) {
	if IsDatabase(place) {
		return openDatabase(ctx, place)
	}
	if err := os.MkdirAll(place, 0o700); err != nil {
		return nil, err
	}
	kv, err := people.OpenKV(filepath.Join(place, accounts.PeopleFile), time.Second)
	if err != nil {
		return nil, err
	}
	return &side{KV: kv, close: kv.Close, ledger: func(_ context.Context, p people.Person, id string) (accounts.Ledger, error) {
		path := accounts.LedgerFile(place, p)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return nil, err
		}
		if id == "" {
			store, err := boltstore.Open(path, time.Second)
			return file{store}, err
		}
		store, err := boltstore.OpenAs(path, time.Second, id)
		return file{store}, err
	}}, nil
}

// file is a ledger in a file, of which nobody asks how large it is.
type file struct{ *boltstore.Store }

func (file) Bytes() int64 { return 0 }

func openDatabase(ctx context.Context, address string) (*side, error) {
	s, err := pgstore.Open(ctx, address)
	if err != nil {
		return nil, err
	}
	others, err := s.Others(ctx)
	if err == nil && others > 0 {
		err = ErrInUse
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return &side{KV: pgstore.Registry{Store: s}, close: s.Close, ledger: func(ctx context.Context, p people.Person, id string) (accounts.Ledger, error) {
		if id == "" {
			return pgstore.Ledgers{Store: s}.Open(ctx, p)
		}
		l, err := pgstore.Ledgers{Store: s}.OpenAs(ctx, p.ID, id)
		if err == nil && l.Journal() != id {
			err = boltstore.ErrNotOurs
		}
		return l, err
	}}, nil
}

// page is how many entries are copied in one go.
const page = 2000

// ledger copies one journal, with the numbers that its entries have, and
// compares the copy with it. An entry that cannot be read goes along as it is.
func ledger(ctx context.Context, from, to *side, p people.Person) (n, added int, err error) {
	a, err := from.ledger(ctx, p, "")
	if err != nil {
		return 0, 0, err
	}
	defer a.Close()
	b, err := to.ledger(ctx, p, a.Journal())
	if err != nil {
		return 0, 0, err
	}
	defer b.Close()
	if _, err := b.Fresh(ctx, nil); err != nil { // reads a file's ids
		return 0, 0, err
	}
	at, err := b.Last(ctx)
	if err != nil {
		return 0, 0, err
	}
	for {
		entries, last, err := a.After(ctx, at, page)
		if err != nil {
			return 0, 0, err
		}
		if len(entries) == 0 {
			break
		}
		ids, err := b.Append(ctx, entries)
		if err != nil {
			return 0, 0, err
		}
		added += len(ids)
		at = last
	}
	x, n, err := end(ctx, a)
	if err != nil {
		return 0, 0, err
	}
	y, m, err := end(ctx, b)
	if err != nil {
		return 0, 0, err
	}
	if x != y || n != m {
		return 0, 0, fmt.Errorf("%w: %d entries to %s became %d to %s", ErrDiffers, n, x, m, y)
	}
	return n, added, nil
}

// end is the link of a whole journal, and how many entries it has.
func end(ctx context.Context, store journal.Store) (link journal.Link, n int, err error) {
	for at := uint64(0); ; {
		entries, last, err := store.After(ctx, at, page)
		if err != nil || len(entries) == 0 {
			return link, n, err
		}
		for _, e := range entries {
			link = link.Next(e.Raw())
		}
		n += len(entries)
		at = last
	}
}
