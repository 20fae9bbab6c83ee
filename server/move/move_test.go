package move

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	"dampstone/server/accounts"
	"dampstone/server/boltstore"
	"dampstone/server/people"
	"dampstone/server/pgstore"
	"dampstone/server/pgstore/pgtest"
)

var now = time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)

// season makes a data folder with three people, one of whom has an entry that
// cannot be read, and with a feed.
func season(t *testing.T, folder string) (tokens []string) {
	t.Helper()
	r, err := people.Open(filepath.Join(folder, accounts.PeopleFile), time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for i, name := range []string{"Ana", "Bo", "Cy"} {
		p, err := r.Add("", name, now.Add(time.Duration(i)*time.Minute))
		if err != nil {
			t.Fatal(err)
		}
		code, _, err := r.Invite(p.ID, now)
		if err != nil {
			t.Fatal(err)
		}
		token, _, err := r.Pair(code, "phone", now)
		if err != nil {
			t.Fatal(err)
		}
		tokens = append(tokens, token)
		path := accounts.LedgerFile(folder, p)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		store, err := boltstore.Open(path, time.Second)
		if err != nil {
			t.Fatal(err)
		}
		list := []journal.Entry{storetest.Strange(t, "strange"), journal.StoredEntry("damaged", []byte("\xff{\x00"))}
		for n := range 3000 * i {
			list = append(list, storetest.Entry(t, journal.ID(fmt.Sprint("e", n)), n))
		}
		if _, err := store.Append(t.Context(), list); err != nil {
			t.Fatal(err)
		}
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
		if err := r.SetShares(p.ID, true, 2); err != nil {
			t.Fatal(err)
		}
		var shared []journal.Entry
		var things []journal.ID
		for n := range 700 {
			shared = append(shared, storetest.Entry(t, journal.ID(fmt.Sprint("of-", i, "-", n)), n))
			things = append(things, journal.ID(fmt.Sprint("thing-", i, "-", n)))
		}
		if err := r.Give(people.Gift{From: p.ID, Entries: shared, Things: things, Given: things, Kept: 2, Looked: 2, Day: "2026-08-14"}); err != nil {
			t.Fatal(err)
		}
	}
	return tokens
}

func moved(t *testing.T, from, to string) (Report, error) {
	t.Helper()
	return Move(t.Context(), from, to, func(people.Person, int) {})
}

// wantSame compares two places, records and ledgers.
func wantSame(t *testing.T, from, to string) {
	t.Helper()
	a, err := open(t.Context(), from)
	if err != nil {
		t.Fatal(err)
	}
	defer a.close()
	b, err := open(t.Context(), to)
	if err != nil {
		t.Fatal(err)
	}
	defer b.close()
	if same, err := people.Same(a, b); !same || err != nil {
		t.Errorf("the people differ, %v", err)
	}
	r, err := people.New(keep{b.KV})
	if err != nil {
		t.Fatal(err)
	}
	everybody, err := r.People()
	if err != nil || len(everybody) != 3 {
		t.Fatalf("%d people, %v", len(everybody), err)
	}
	for i, p := range everybody {
		x, err := a.ledger(t.Context(), p, "")
		if err != nil {
			t.Fatal(err)
		}
		defer x.Close()
		y, err := b.ledger(t.Context(), p, "")
		if err != nil {
			t.Fatal(err)
		}
		defer y.Close()
		l1, n1, err1 := end(t.Context(), x)
		l2, n2, err2 := end(t.Context(), y)
		if l1 != l2 || n1 != n2 || n1 != 2+3000*i || x.Journal() != y.Journal() || err1 != nil || err2 != nil {
			t.Errorf("%s: %d entries to %s of %s, and %d to %s of %s", p.Name, n1, l1, x.Journal(), n2, l2, y.Journal())
		}
	}
}

// What is moved into a database and back is what it was, and devices go on.
func TestThereAndBack(t *testing.T) {
	server := pgtest.Start(t)
	folder, database, back := t.TempDir(), server.Database(t), filepath.Join(t.TempDir(), "back")
	tokens := season(t, folder)
	r, err := moved(t, folder, database)
	if err != nil || r != (Report{People: 3, Entries: 9006, Added: 9006}) {
		t.Fatalf("%+v, %v", r, err)
	}
	wantSame(t, folder, database)
	if r, err := moved(t, folder, database); err != nil || r.Added != 0 {
		t.Errorf("a second time: %+v, %v", r, err)
	}
	if r, err := moved(t, database, back); err != nil || r.Added != 9006 {
		t.Fatalf("back: %+v, %v", r, err)
	}
	wantSame(t, folder, back)
	s, err := pgstore.Open(t.Context(), database)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	registry, err := people.New(pgstore.Registry{Store: s})
	if err != nil {
		t.Fatal(err)
	}
	for i, token := range tokens {
		if _, p, err := registry.Check(token); err != nil || p.Name != []string{"Ana", "Bo", "Cy"}[i] {
			t.Errorf("a device of %+v: %v", p, err)
		}
	}
	// While a server is connected nothing is moved.
	if _, err := moved(t, folder, database); !errors.Is(err, ErrInUse) {
		t.Errorf("while the database is in use: %v", err)
	}
}

// A move that breaks off leaves nothing that a server would open, and goes on
// where it was.
func TestAMoveThatBreaksOff(t *testing.T) {
	server := pgtest.Start(t)
	folder, database := t.TempDir(), server.Database(t)
	season(t, folder)
	for n := 1; n <= 3; n++ {
		ctx, cancel := context.WithCancel(t.Context())
		seen := 0
		_, err := Move(ctx, folder, database, func(people.Person, int) {
			if seen++; seen == n {
				cancel()
			}
		})
		if n == 3 {
			break // what is left, the people, does not ask the context
		}
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("cut off after %d: %v", n, err)
		}
		s, err := pgstore.Open(t.Context(), database)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := people.New(pgstore.Registry{Store: s}); !errors.Is(err, people.ErrMoving) {
			t.Errorf("a server opens half of it: %v", err)
		}
		s.Close()
	}
	if _, err := moved(t, folder, database); err != nil {
		t.Fatal(err)
	}
	wantSame(t, folder, database)
}

func TestWhatIsNotMoved(t *testing.T) {
	server := pgtest.Start(t)
	folder, other, database := t.TempDir(), t.TempDir(), server.Database(t)
	season(t, folder)
	season(t, other)
	if _, err := moved(t, t.TempDir(), database); !errors.Is(err, ErrNothing) {
		t.Errorf("from an empty folder: %v", err)
	}
	// A copy of a ledger that is not what it came from is noticed.
	spoiled := server.Database(t)
	ctx, cancel := context.WithCancel(t.Context())
	if _, err := Move(ctx, folder, spoiled, func(people.Person, int) { cancel() }); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	c, err := pgx.Connect(t.Context(), spoiled)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.Exec(t.Context(), "update entries set raw = convert_to(replace(convert_from(raw, 'UTF8'), 'moon', 'tide'), 'UTF8') where seq = 1"); err != nil {
		t.Fatal(err)
	}
	c.Close(t.Context())
	if _, err := moved(t, folder, spoiled); !errors.Is(err, ErrDiffers) {
		t.Errorf("onto a ledger that differs: %v", err)
	}
	if _, err := moved(t, folder, database); err != nil {
		t.Fatal(err)
	}
	if _, err := moved(t, other, database); !errors.Is(err, people.ErrOthers) {
		t.Errorf("onto other people: %v", err)
	}
	// The one it came from goes on.
	r, err := people.Open(filepath.Join(folder, accounts.PeopleFile), time.Second)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := moved(t, folder, database); !errors.Is(err, people.ErrInUse) {
		t.Errorf("from a folder in use: %v", err)
	}
	if _, err := r.Add("", "Di", now); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := moved(t, folder, database); !errors.Is(err, people.ErrGoneOn) {
		t.Errorf("from what has gone on: %v", err)
	}
}
