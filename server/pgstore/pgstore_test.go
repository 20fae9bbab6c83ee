package pgstore

import (
	"errors"
	"fmt"
	"os"
	"slices"
	gosync "sync"
	"testing"

	"github.com/google/uuid"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	"dampstone/server/people"
	"dampstone/server/people/peopletest"
	"dampstone/server/pgstore/pgtest"
)

// One server serves the tests of the package, each with a database of its own.
var server func(t testing.TB) *pgtest.Server

type noEnd struct {
	testing.TB
	cleanups *[]func()
}

func (n noEnd) Cleanup(f func()) { *n.cleanups = append(*n.cleanups, f) }

func TestMain(m *testing.M) {
	var cleanups []func()
	var s *pgtest.Server
	var once gosync.Mutex
	server = func(t testing.TB) *pgtest.Server {
		once.Lock()
		defer once.Unlock()
		if s == nil {
			s = pgtest.Start(noEnd{t, &cleanups})
		}
		return s
	}
	code := m.Run()
	for _, f := range slices.Backward(cleanups) {
		f()
	}
	os.Exit(code)
}

func open(t testing.TB, address string) *Store {
	t.Helper()
	s, err := Open(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func TestStore(t *testing.T) {
	address := server(t).Database(t)
	s := open(t, address)
	storetest.Run(t, func(t *testing.T) storetest.Fixture {
		person := people.Person{ID: uuid.NewString()}
		ledger := func(t *testing.T, s *Store) journal.Store {
			l, err := Ledgers{s}.Open(t.Context(), person)
			if err != nil {
				t.Fatal(err)
			}
			return l
		}
		return storetest.Fixture{
			Store:  ledger(t, s),
			Reopen: func(t *testing.T) journal.Store { return ledger(t, open(t, address)) },
		}
	})
}

func TestRegistry(t *testing.T) {
	peopletest.Run(t, func(t *testing.T) (*people.Registry, func() *people.Registry) {
		address := server(t).Database(t)
		reopen := func() *people.Registry {
			r, err := people.New(Registry{open(t, address)})
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		return reopen(), reopen
	})
}

// Two servers see what either changes, at once.
func TestTwoServersAgreeOnPeople(t *testing.T) {
	address := server(t).Database(t)
	var rs [2]*people.Registry
	for i := range rs {
		var err error
		if rs[i], err = people.New(Registry{open(t, address)}); err != nil {
			t.Fatal(err)
		}
	}
	if rs[0].ID() != rs[1].ID() {
		t.Error("they have ids of their own")
	}
	peopletest.Two(t, rs[0], rs[1])
}

// Writers at two servers get numbers without gaps, and links that are those of
// the records in that order.
func TestTwoServersAppendToOneLedger(t *testing.T) {
	address := server(t).Database(t)
	person := people.Person{ID: uuid.NewString()}
	var ledgers []journal.Store
	for range 2 {
		l, err := Ledgers{open(t, address)}.Open(t.Context(), person)
		if err != nil {
			t.Fatal(err)
		}
		ledgers = append(ledgers, l)
	}
	const writers, each = 8, 25
	var wait gosync.WaitGroup
	added := make([]int, writers)
	for w := range writers {
		wait.Go(func() {
			for i := range each {
				// Half of what is written another writer writes too.
				n := i
				if i%2 == 0 {
					n = 1000*(w+1) + i
				}
				ids, err := ledgers[w%2].Append(t.Context(), []journal.Entry{storetest.Entry(t, journal.ID(fmt.Sprint("e", n)), n)})
				if err != nil {
					t.Error(err)
				}
				added[w] += len(ids)
			}
		})
	}
	wait.Wait()
	entries, last, err := ledgers[0].After(t.Context(), 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0
	for _, n := range added {
		sum += n
	}
	if want := writers*13 + 12; len(entries) != want || sum != want || last != uint64(want) {
		t.Errorf("%d entries, %d said to be added, last %d, want %d", len(entries), sum, last, want)
	}
	var link journal.Link
	for i, e := range entries {
		link = link.Next(e.Raw())
		got, ok, err := ledgers[1].(*Ledger).Link(t.Context(), uint64(i+1))
		if err != nil || !ok || got != link {
			t.Fatalf("link %d is %s, %v, want %s", i+1, got, err, link)
		}
	}
	if _, ok, err := ledgers[1].(*Ledger).Link(t.Context(), last+1); ok || err != nil {
		t.Errorf("a link beyond the end: %v, %v", ok, err)
	}
}

// A ledger that was taken away takes nothing any more, at no server.
func TestARemovedLedgerTakesNothing(t *testing.T) {
	s := open(t, server(t).Database(t))
	p := people.Person{ID: uuid.NewString()}
	l, err := Ledgers{s}.Open(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.Append(t.Context(), []journal.Entry{storetest.Entry(t, "a", 1)}); err != nil {
		t.Fatal(err)
	}
	if err := (Ledgers{s}).Remove(t.Context(), p); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Append(t.Context(), []journal.Entry{storetest.Entry(t, "b", 2)}); !errors.Is(err, ErrGone) {
		t.Errorf("append: %v", err)
	}
	if n, err := (Ledgers{s}).Bytes(t.Context(), p); n != 0 || err != nil {
		t.Errorf("%d bytes are left, %v", n, err)
	}
}

// A server whose disk may lose what it confirms is refused, and so is a
// database of a later version.
func TestWhatIsRefused(t *testing.T) {
	unsafe := pgtest.Start(t, "fsync = off")
	if _, err := Open(t.Context(), unsafe.Address("postgres")); !errors.Is(err, ErrUnsafe) {
		t.Errorf("without fsync: %v", err)
	}
	// synchronous_commit is asked for by us.
	address := server(t).Database(t)
	s := open(t, address)
	var value string
	if err := s.pool.QueryRow(t.Context(), "show synchronous_commit").Scan(&value); err != nil || value != "on" {
		t.Errorf("synchronous_commit is %q, %v", value, err)
	}
	if standby, err := s.Standby(t.Context()); standby || err != nil {
		t.Errorf("a standby is claimed: %v, %v", standby, err)
	}
	if _, err := s.pool.Exec(t.Context(), "insert into layout values (999)"); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), address); !errors.Is(err, ErrNewer) {
		t.Errorf("a later layout: %v", err)
	}
}
