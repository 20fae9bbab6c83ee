package e2e

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/boltstore"
)

// emptyFolder is a data folder without a ledger.
func emptyFolder(t testing.TB) string {
	t.Helper()
	return t.TempDir()
}

// demoFolder is a data folder with the invented season, and its entries.
func demoFolder(t testing.TB) (string, []journal.Entry) {
	t.Helper()
	entries, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	withStore(t, folder, func(s *boltstore.Store) {
		if _, err := s.Append(t.Context(), entries); err != nil {
			t.Fatal(err)
		}
	})
	return folder, entries
}

func withStore(t testing.TB, folder string, do func(*boltstore.Store)) {
	t.Helper()
	store, err := boltstore.Open(filepath.Join(folder, "journal.bolt"), 5*time.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := store.Close(); err != nil {
			t.Fatal(err)
		}
	}()
	do(store)
}

// seededFolder is a data folder with these bodies.
func seededFolder(t testing.TB, bodies ...flybox.Body) string {
	t.Helper()
	folder := t.TempDir()
	withStore(t, folder, func(s *boltstore.Store) {
		n := 0
		ledger, err := flybox.Open(t.Context(), s, flybox.Options{
			Device: "seed",
			Now:    func() time.Time { return time.Date(2026, 8, 1, 12, 0, 0, 0, time.UTC) },
			NewID:  func() journal.ID { n++; return journal.ID(fmt.Sprintf("seed-%d", n)) },
		})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ledger.Record(t.Context(), bodies...); err != nil {
			t.Fatal(err)
		}
	})
	return folder
}

// manyFlies is a box of 20 x 20 slots, half full, and 600 flies in all, some
// with the longest name that is allowed.
func manyFlies() []flybox.Body {
	bodies := []flybox.Body{flybox.Box{ID: "big", Name: "Drawer under the bench at home", Rows: 20, Columns: 20}}
	for i := range 600 {
		id := fmt.Sprintf("fly-%d", i)
		name := fmt.Sprintf("Test fly %d", i)
		switch i % 50 {
		case 1:
			name = fmt.Sprintf("%d ", i) + longName[:flybox.MaxName-4]
		case 2:
			name = fmt.Sprintf("%d", i) + unbroken[:flybox.MaxName-4]
		}
		bodies = append(bodies, flybox.Pattern{ID: journal.ID(id), Name: name, Style: flybox.Styles[i%len(flybox.Styles)], Hook: 4 + i%16, Body: fmt.Sprintf("#%02x%02x%02x", 40+i%150, 30+i*7%150, 20+i*13%120)})
		if i < 200 {
			place := flybox.Place{Box: "big", Row: 1 + i/10, Slot: 1 + i%10*2}
			bodies = append(bodies,
				flybox.Slot{Place: place, Pattern: journal.ID(id), Want: 1 + i%8},
				flybox.StockMove{Pattern: journal.ID(id), Place: &place, Delta: 1 + i*3%11, Why: flybox.WhyTied})
		}
	}
	return bodies
}

const (
	longName = "Short-winged stone with a body of two colours of foam and six rubber legs, tied low for the slow edge below the islands at dusk"
	unbroken = "-KurzflügelsteinfliegenimitationsversuchsmusterohneBindestrichundohneLeerzeichenfürdielangsamenUferzonenderunterenFlussstrecke"
)

// stateOf folds entries.
func stateOf(t testing.TB, entries []journal.Entry) *flybox.State {
	t.Helper()
	store := &memstore.Store{}
	if _, err := store.Append(t.Context(), entries); err != nil {
		t.Fatal(err)
	}
	ledger, err := flybox.Open(t.Context(), store, flybox.Options{Device: "test", Now: time.Now, NewID: func() journal.ID { return "unused" }})
	if err != nil {
		t.Fatal(err)
	}
	state := ledger.State()
	return state
}
