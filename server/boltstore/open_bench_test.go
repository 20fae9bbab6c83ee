package boltstore

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// BenchmarkOpenLedger opens a ledger of long seasons from its file and folds
// it.
func BenchmarkOpenLedger(b *testing.B) {
	for _, size := range []int{50_000, 500_000} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "journal.bolt")
			s, err := Open(path, time.Second)
			if err != nil {
				b.Fatal(err)
			}
			for chunk := range slices.Chunk(longSeasons(b, size), 10_000) {
				if _, err := s.Append(b.Context(), chunk); err != nil {
					b.Fatal(err)
				}
			}
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				s, err := Open(path, time.Second)
				if err != nil {
					b.Fatal(err)
				}
				ledger, err := flybox.Open(b.Context(), s, flybox.Options{Device: "bench", Now: time.Now, NewID: flybox.RandomID})
				if err != nil {
					b.Fatal(err)
				}
				if n := ledger.State().Len(); n != size {
					b.Fatalf("%d entries", n)
				}
				if err := s.Close(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// longSeasons are flies, and then moves of stock and outcomes in turn, with
// ids of full length. The seed is fixed.
func longSeasons(b *testing.B, n int) (out []journal.Entry) {
	rng := rand.NewChaCha8([32]byte{1})
	id := func() journal.ID {
		u, err := uuid.NewRandomFromReader(rng)
		if err != nil {
			b.Fatal(err)
		}
		return journal.ID(u.String())
	}
	at := time.Date(2026, 6, 1, 5, 0, 0, 0, time.UTC)
	box := id()
	flies := make([]journal.ID, 200)
	for i := range flies {
		flies[i] = id()
	}
	for i := range n {
		var body flybox.Body
		switch fly := flies[i%len(flies)]; {
		case i == 0:
			body = flybox.Box{ID: box, Name: "Stoneflies, left boat", Rows: 20, Columns: 20}
		case i <= len(flies):
			body = flybox.Pattern{ID: fly, Name: fmt.Sprintf("Hair wing caddis %d", i), Style: flybox.Styles[i%len(flybox.Styles)], Hook: 4 + i%16, Body: "#a98545"}
		case i%2 == 0:
			body = flybox.StockMove{Pattern: fly, Place: &flybox.Place{Box: box, Row: 1 + i%20, Slot: 1 + i/20%20}, Delta: 1 + i%6, Why: flybox.WhyTied}
		default:
			body = flybox.Outcome{When: at.Add(time.Duration(i) * time.Minute).Format(time.RFC3339), Result: flybox.Take, Pattern: fly, Hatch: "claassenia", Form: "adult-male"}
		}
		clock := journal.Clock{Device: "phone"}
		e, err := journal.New(id(), clock.Tick(at.Add(time.Duration(i)*time.Minute)), body.Kind(), body, nil)
		if err != nil {
			b.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}
