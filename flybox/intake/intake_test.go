package intake

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
)

// entry is a note under an id, said at a time.
func entry(t *testing.T, id string, sec int, text string) journal.Entry {
	t.Helper()
	e, err := flybox.NewEntry(journal.ID(id), journal.Stamp{MS: int64(sec) * 1000, Device: "phone"}, flybox.Note{Text: text})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Whatever comes in whatever batches, an intake keeps and refuses what a
// ledger does, and a ledger beside it ends with the same state.
func TestAnIntakeDoesWhatALedgerDoes(t *testing.T) {
	ctx := t.Context()
	for seed := range uint64(200) {
		rng := rand.New(rand.NewPCG(seed, seed))
		a, b := &memstore.Store{}, &memstore.Store{}
		opt := flybox.Options{Device: "server", Now: func() time.Time { return time.Unix(1000, 0) }, NewID: flybox.RandomID}
		ledger, err := flybox.Open(ctx, a, opt)
		if err != nil {
			t.Fatal(err)
		}
		beside, err := flybox.Open(ctx, b, opt)
		if err != nil {
			t.Fatal(err)
		}
		in := New(b)
		for range 1 + rng.IntN(6) {
			var batch []journal.Entry
			for range rng.IntN(8) {
				id := fmt.Sprintf("0198c0de-0000-4000-8000-%012d", rng.IntN(12))
				switch rng.IntN(6) {
				case 0: // the same id, another record
					batch = append(batch, entry(t, id, 1+rng.IntN(50), fmt.Sprint("other ", rng.IntN(3))))
				case 1: // what cannot be right
					raw := bytes.Replace(entry(t, id, 7, "first").Raw(), []byte(`"first"`), []byte("7"), 1)
					bad, err := journal.ParseEntry(raw)
					if err != nil {
						t.Fatal(err)
					}
					batch = append(batch, bad)
				default:
					batch = append(batch, entry(t, id, 7, "first"))
				}
			}
			n1, bad1, err1 := ledger.Merge(ctx, batch)
			n2, bad2, err2 := in.Merge(ctx, batch)
			if n1 != n2 || (err1 == nil) != (err2 == nil) || fmt.Sprint(codes(bad1)) != fmt.Sprint(codes(bad2)) {
				t.Fatalf("seed %d: a ledger %d %v %v, an intake %d %v %v", seed, n1, codes(bad1), err1, n2, codes(bad2), err2)
			}
		}
		if _, err := beside.Refresh(ctx); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(ledger.State().CanonicalJSON(), beside.State().CanonicalJSON()) {
			t.Fatalf("seed %d: the states differ", seed)
		}
	}
}

// codes are the refusals, each once: a delivery that has an id twice may be told
// so of either.
func codes(bad []flybox.Bad) (out []string) {
	for _, b := range bad {
		out = append(out, string(b.ID)+" "+b.Code())
	}
	slices.Sort(out)
	return slices.Compact(out)
}
