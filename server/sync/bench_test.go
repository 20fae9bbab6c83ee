package sync

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	gosync "sync"
	"testing"
	"time"

	"github.com/google/uuid"
	bolt "go.etcd.io/bbolt"

	"dampstone/flybox"
	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/server/boltstore"
)

// season is what 50 phones bring home, 200 entries each: takes and refusals,
// moves of stock, sightings and notes, with ids as the phones make them.
func season(tb testing.TB, phones, each int) [][]journal.Entry {
	tb.Helper()
	out := make([][]journal.Entry, phones)
	for p := range out {
		at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixMilli(), Device: fmt.Sprint("phone", p)}
		for i := range each {
			at.MS += 61_000
			var body flybox.Body
			switch i % 4 {
			case 0:
				body = flybox.StockMove{Pattern: journal.ID(fmt.Sprint("fly", i%30)), Delta: -1, Why: flybox.WhyLost}
			case 1:
				body = flybox.Sighting{When: "2026-08-14T05:00:00Z", Hatch: "claassenia", Form: "male", Evidence: json.RawMessage(`{"region":"west-na","month":8,"wings":"short","length_mm":22}`), Water: "Sorrel River"}
			case 2:
				body = flybox.Note{Text: fmt.Sprintf("Seam below the third bend, phone %d, note %d: fresh shucks on the damp stones at first light.", p, i)}
			case 3:
				body = flybox.Deleted{Target: journal.ID(uuid.NewString())}
			}
			e, err := flybox.NewEntry(journal.ID(uuid.NewString()), at, body)
			if err != nil {
				tb.Fatal(err)
			}
			out[p] = append(out[p], e)
		}
	}
	return out
}

// BenchmarkFiftyPhones measures, in one run, how long the server takes to make
// 10,000 entries durable that 50 phones send at once, and how long bbolt alone
// takes for the same bytes by its own batching from as many goroutines. The
// answers are kept to what a phone must hear: reading back is not writing.
func BenchmarkFiftyPhones(b *testing.B) {
	const phones, each = 50, 200
	var ours, raw time.Duration
	for b.Loop() {
		b.StopTimer()
		brought := season(b, phones, each)
		bodies := make([][]byte, phones)
		for p, entries := range brought {
			req := Request{Limit: 1}
			for _, e := range entries {
				req.Entries = append(req.Entries, e.Raw())
			}
			var err error
			if bodies[p], err = encode(req); err != nil {
				b.Fatal(err)
			}
		}
		dir := b.TempDir()
		store, err := boltstore.Open(filepath.Join(dir, "ours"), time.Second)
		if err != nil {
			b.Fatal(err)
		}
		ledger, err := flybox.Open(ctx, store, flybox.Options{Device: "server", Now: time.Now, NewID: flybox.RandomID})
		if err != nil {
			b.Fatal(err)
		}
		h := &Handler{Into: intake.New(store), Journal: store.Journal()}
		db, err := bolt.Open(filepath.Join(dir, "raw"), 0o600, nil)
		if err != nil {
			b.Fatal(err)
		}
		if err := db.Update(func(tx *bolt.Tx) error { _, err := tx.CreateBucket([]byte("raw")); return err }); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()

		began := time.Now()
		all(phones, func(p int) {
			r := httptest.NewRequest(http.MethodPost, Path, bytes.NewReader(bodies[p]))
			r.Header.Set("Content-Type", "application/json")
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			if w.Code != http.StatusOK {
				b.Errorf("status %d: %s", w.Code, w.Body)
			}
		})
		ours += time.Since(began)

		began = time.Now()
		all(phones, func(p int) {
			err := db.Batch(func(tx *bolt.Tx) error {
				bucket := tx.Bucket([]byte("raw"))
				for _, e := range brought[p] { // keys that rise, which bbolt likes best
					seq, err := bucket.NextSequence()
					if err != nil {
						return err
					}
					if err := bucket.Put(binary.BigEndian.AppendUint64(nil, seq), e.Raw()); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				b.Error(err)
			}
		})
		raw += time.Since(began)

		b.StopTimer()
		if _, err := ledger.Refresh(ctx); err != nil { // the intake went past it
			b.Fatal(err)
		}
		if n := sizeOf(ledger); n != phones*each {
			b.Fatalf("%d entries, want %d", n, phones*each)
		}
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
		if err := db.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
	b.ReportMetric(float64(ours.Milliseconds())/float64(b.N), "ms/sync")
	b.ReportMetric(float64(raw.Milliseconds())/float64(b.N), "ms/raw")
	b.ReportMetric(float64(raw)/float64(ours), "raw/sync")
}

func sizeOf(l *flybox.Ledger) int {
	return l.State().Len()
}

// all runs f for 0 to n-1 at once and waits.
func all(n int, f func(int)) {
	var wg gosync.WaitGroup
	for i := range n {
		wg.Go(func() { f(i) })
	}
	wg.Wait()
}
