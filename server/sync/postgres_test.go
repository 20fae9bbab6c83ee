package sync_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	gosync "sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"dampstone/flybox"
	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/people"
	"dampstone/server/pgstore"
	"dampstone/server/pgstore/pgtest"
	"dampstone/server/sync"
)

func ledger(t testing.TB, s *pgstore.Store) *pgstore.Ledger {
	t.Helper()
	l, err := pgstore.Ledgers{Store: s}.Open(t.Context(), people.Person{ID: uuid.NewString()})
	if err != nil {
		t.Fatal(err)
	}
	return l.(*pgstore.Ledger)
}

func database(t testing.TB, server *pgtest.Server) (*pgstore.Store, string) {
	t.Helper()
	address := server.Database(t)
	s, err := pgstore.Open(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s, address
}

// TestHistoriesOverPostgreSQL runs the random histories against a server that
// keeps its journal in a database.
func TestHistoriesOverPostgreSQL(t *testing.T) {
	s, _ := database(t, pgtest.Start(t))
	before := sync.ServerStore
	sync.ServerStore = func(t *testing.T) journal.Store { return ledger(t, s) }
	defer func() { sync.ServerStore = before }()
	sync.RunHistories(t, 40)
}

// A database that turns into an older copy of itself while the server runs, as
// when a standby that was behind takes over, gets back what phones hold.
func TestADatabaseThatForgetsIsGivenAllAgain(t *testing.T) {
	s, address := database(t, pgtest.Start(t))
	store := ledger(t, s)
	server := httptest.NewServer(&sync.Handler{Into: intake.New(store), Journal: store.Journal()})
	defer server.Close()
	phone, err := flybox.Open(t.Context(), &memstore.Store{}, flybox.Options{Device: "phone", Now: time.Now, NewID: flybox.RandomID})
	if err != nil {
		t.Fatal(err)
	}
	note := func(text string) {
		t.Helper()
		if _, err := phone.Record(t.Context(), flybox.Note{Text: text}); err != nil {
			t.Fatal(err)
		}
		if _, err := sync.Round(t.Context(), http.DefaultClient, server.URL, phone); err != nil {
			t.Fatal(err)
		}
	}
	for i := range 5 {
		note(fmt.Sprint("note ", i))
	}
	c, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(t.Context())
	if _, err := c.Exec(t.Context(), `
		with gone as (delete from entries where seq > 3)
		update journals set last = 3, link = (select link from entries where seq = 3)`); err != nil {
		t.Fatal(err)
	}
	for i := range 3 { // the numbers are those that were there before
		note(fmt.Sprint("later ", i))
	}
	entries, err := store.Load(t.Context())
	if err != nil || len(entries) != 8 {
		t.Errorf("the server has %d of 8 entries, %v", len(entries), err)
	}
}

// BenchmarkPostgreSQL measures, in one run, how many entries a second an
// exchange makes durable in a database, with 50 phones of ten people at once,
// and how many COPY of the same bytes does from as many connections, each
// delivery a transaction.
func BenchmarkPostgreSQL(b *testing.B) {
	const phones, persons, deliveries, each = 50, 10, 4, 500
	server := pgtest.Start(b)
	s, address := database(b, server)
	pool, err := pgxpool.New(b.Context(), address+fmt.Sprint("&pool_max_conns=", phones))
	if err != nil {
		b.Fatal(err)
	}
	defer pool.Close()
	if _, err := pool.Exec(b.Context(), "create table raw (person text, seq bigint, id bytea, raw bytea, primary key (person, seq))"); err != nil {
		b.Fatal(err)
	}
	var ours, raw time.Duration
	for b.Loop() {
		b.StopTimer()
		var handlers []*sync.Handler
		for range persons {
			l := ledger(b, s)
			handlers = append(handlers, &sync.Handler{Into: intake.New(l), Journal: l.Journal()})
		}
		brought := make([][][]journal.Entry, phones)
		bodies := make([][][]byte, phones)
		for p := range phones {
			for d := range deliveries {
				req := sync.Request{Limit: 1}
				var entries []journal.Entry
				for i := range each {
					e, err := flybox.NewEntry(journal.ID(uuid.NewString()), journal.Stamp{MS: int64(d*each + i), Device: fmt.Sprint("phone", p)},
						flybox.Note{Text: fmt.Sprintf("Seam below the third bend, phone %d, note %d: fresh shucks on the damp stones at first light.", p, i)})
					if err != nil {
						b.Fatal(err)
					}
					entries = append(entries, e)
					req.Entries = append(req.Entries, e.Raw())
				}
				body, err := json.Marshal(req)
				if err != nil {
					b.Fatal(err)
				}
				brought[p], bodies[p] = append(brought[p], entries), append(bodies[p], body)
			}
		}
		b.StartTimer()
		began := time.Now()
		all(phones, func(p int) {
			for _, body := range bodies[p] {
				r := httptest.NewRequest(http.MethodPost, sync.Path, bytes.NewReader(body))
				r.Header.Set("Content-Type", "application/json")
				w := httptest.NewRecorder()
				handlers[p%persons].ServeHTTP(w, r)
				if w.Code != http.StatusOK {
					b.Errorf("status %d: %s", w.Code, w.Body)
				}
			}
		})
		ours += time.Since(began)
		began = time.Now()
		all(phones, func(p int) {
			name := uuid.NewString()
			for d, entries := range brought[p] {
				rows := make([][]any, len(entries))
				for i, e := range entries {
					rows[i] = []any{name, d*each + i, []byte(e.ID), e.Raw()}
				}
				if _, err := pool.CopyFrom(context.Background(), pgx.Identifier{"raw"}, []string{"person", "seq", "id", "raw"}, pgx.CopyFromRows(rows)); err != nil {
					b.Error(err)
				}
			}
		})
		raw += time.Since(began)
	}
	n := float64(phones * deliveries * each * b.N)
	b.ReportMetric(n/ours.Seconds(), "entries/s")
	b.ReportMetric(n/raw.Seconds(), "COPY/s")
	b.ReportMetric(raw.Seconds()/ours.Seconds(), "COPY/sync")
}

func all(n int, f func(int)) {
	var wg gosync.WaitGroup
	for i := range n {
		wg.Go(func() { f(i) })
	}
	wg.Wait()
}
