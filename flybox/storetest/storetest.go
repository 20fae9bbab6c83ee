// Package storetest is the one suite that every flybox.Store must pass, and
// every flybox.Outbox where a store is one.
package storetest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Fixture is an empty store under test.
type Fixture struct {
	Store journal.Store
	// Reopen closes the store and opens what it kept. A store in memory may
	// return itself.
	Reopen func(t *testing.T) journal.Store
}

// Entry makes a valid entry, a note, whose id is id. n sets its stamp.
func Entry(t testing.TB, id journal.ID, n int) journal.Entry {
	t.Helper()
	at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixMilli() + int64(n), Device: "suite"}
	e, err := flybox.NewEntry(id, at, flybox.Note{Text: "entry " + string(id)})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Strange is an entry of a kind, format and fields that nobody knows, with
// bytes that a careless round trip would change.
func Strange(t testing.TB, id journal.ID) journal.Entry {
	t.Helper()
	raw := `{"id":"` + string(id) + `","from":"far <away> & later","at":"2031-01-01T00:00:00.000Z-00ff-zz9","v":7,"kind":"moon-phase","body":{"x":[1.10,2e400],"é":"\u00e9"}}`
	e, err := journal.ParseEntry([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	if string(e.Raw()) != raw {
		t.Fatalf("record changed on reading\n got %s\nwant %s", e.Raw(), raw)
	}
	return e
}

func entries(t *testing.T, from, to int) []journal.Entry {
	var out []journal.Entry
	for i := from; i < to; i++ {
		out = append(out, Entry(t, journal.ID(fmt.Sprintf("e%04d", i)), i))
	}
	return out
}

func ids(es []journal.Entry) []journal.ID {
	out := make([]journal.ID, len(es))
	for i, e := range es {
		out[i] = e.ID
	}
	return out
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func wantIDs(t *testing.T, what string, got []journal.Entry, want ...journal.ID) {
	t.Helper()
	if !slices.Equal(ids(got), want) && len(got)+len(want) > 0 {
		t.Errorf("%s: got %v, want %v", what, ids(got), want)
	}
}

// Run runs the suite. open gives a new empty store each time.
func Run(t *testing.T, open func(t *testing.T) Fixture) {
	ctx := context.Background()
	store := func(name string, f func(t *testing.T, fx Fixture)) {
		t.Run(name, func(t *testing.T) { f(t, open(t)) })
	}

	store("an empty store has nothing", func(t *testing.T, fx Fixture) {
		wantIDs(t, "load", must[[]journal.Entry](t)(fx.Store.Load(ctx)))
		got, last, err := fx.Store.After(ctx, 0, 10)
		if err != nil || len(got) != 0 || last != 0 {
			t.Errorf("after 0: %v, %d, %v", ids(got), last, err)
		}
		if _, last, err := fx.Store.After(ctx, 99, 10); err != nil || last != 99 {
			t.Errorf("after a number beyond the end: last %d, %v; want 99", last, err)
		}
	})

	store("entries come back in order, byte for byte, also after reopening", func(t *testing.T, fx Fixture) {
		// The stamps run backwards: arrival decides, not the clock.
		in := []journal.Entry{Entry(t, "b", 9), Strange(t, "s"), Entry(t, "a", 1)}
		added := must[[]journal.ID](t)(fx.Store.Append(ctx, in))
		if want := []journal.ID{"b", "s", "a"}; !slices.Equal(added, want) {
			t.Errorf("added %v, want %v", added, want)
		}
		for range 2 {
			got := must[[]journal.Entry](t)(fx.Store.Load(ctx))
			wantIDs(t, "load", got, "b", "s", "a")
			for i := range got {
				if !bytes.Equal(got[i].Raw(), in[i].Raw()) {
					t.Errorf("record changed\n got %s\nwant %s", got[i].Raw(), in[i].Raw())
				}
				if got[i].At != in[i].At || got[i].Kind != in[i].Kind || got[i].V != in[i].V {
					t.Errorf("entry %s read differently: %+v", got[i].ID, got[i])
				}
			}
			fx.Store = fx.Reopen(t)
		}
	})

	store("known ids are skipped, within a call and between calls", func(t *testing.T, fx Fixture) {
		es := entries(t, 0, 3)
		must[[]journal.ID](t)(fx.Store.Append(ctx, es[:2]))
		added := must[[]journal.ID](t)(fx.Store.Append(ctx, []journal.Entry{es[1], es[2], es[2], es[0]}))
		if !slices.Equal(added, []journal.ID{"e0002"}) {
			t.Errorf("added %v, want only e0002", added)
		}
		if added := must[[]journal.ID](t)(fx.Store.Append(ctx, es)); len(added) != 0 {
			t.Errorf("added %v again", added)
		}
		wantIDs(t, "load", must[[]journal.Entry](t)(fx.Store.Load(ctx)), "e0000", "e0001", "e0002")
	})

	store("an entry is found by its id, byte for byte", func(t *testing.T, fx Fixture) {
		strange := Strange(t, "s")
		must[[]journal.ID](t)(fx.Store.Append(ctx, []journal.Entry{Entry(t, "a", 1), strange}))
		for range 2 {
			got, ok, err := fx.Store.Get(ctx, "s")
			if err != nil || !ok || !bytes.Equal(got.Raw(), strange.Raw()) {
				t.Errorf("got %s, %v, %v", got.Raw(), ok, err)
			}
			if _, ok, err := fx.Store.Get(ctx, "nobody"); ok || err != nil {
				t.Errorf("an id that is not there: %v, %v", ok, err)
			}
			fx.Store = fx.Reopen(t)
		}
	})

	store("another record under a known id does not take its place", func(t *testing.T, fx Fixture) {
		first := Entry(t, "a", 1)
		must[[]journal.ID](t)(fx.Store.Append(ctx, []journal.Entry{first}))
		if added := must[[]journal.ID](t)(fx.Store.Append(ctx, []journal.Entry{Entry(t, "a", 2)})); len(added) != 0 {
			t.Errorf("added %v", added)
		}
		if got, _, err := fx.Store.Get(ctx, "a"); err != nil || !bytes.Equal(got.Raw(), first.Raw()) {
			t.Errorf("got %s, %v", got.Raw(), err)
		}
	})

	store("an empty append adds nothing", func(t *testing.T, fx Fixture) {
		if added := must[[]journal.ID](t)(fx.Store.Append(ctx, nil)); len(added) != 0 {
			t.Errorf("added %v", added)
		}
	})

	store("pages run on to the end without gap or overlap", func(t *testing.T, fx Fixture) {
		all := entries(t, 0, 257)
		must[[]journal.ID](t)(fx.Store.Append(ctx, all[:100]))
		must[[]journal.ID](t)(fx.Store.Append(ctx, all[:130])) // repeats use up no number
		must[[]journal.ID](t)(fx.Store.Append(ctx, all[130:]))
		var got []journal.Entry
		var seq uint64
		for {
			page, last, err := fx.Store.After(ctx, seq, 50)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				if last != seq {
					t.Errorf("empty page moved from %d to %d", seq, last)
				}
				break
			}
			if len(page) > 50 || last != seq+uint64(len(page)) {
				t.Fatalf("page of %d after %d ends at %d", len(page), seq, last)
			}
			got, seq = append(got, page...), last
		}
		wantIDs(t, "all pages", got, ids(all)...)
	})

	store("a cancelled append adds nothing", func(t *testing.T, fx Fixture) {
		stopped, stop := context.WithCancel(ctx)
		stop()
		if _, err := fx.Store.Append(stopped, entries(t, 0, 5)); !errors.Is(err, context.Canceled) {
			t.Errorf("append: %v, want context.Canceled", err)
		}
		wantIDs(t, "load", must[[]journal.Entry](t)(fx.Store.Load(ctx)))
	})

	store("concurrent appends keep every entry once", func(t *testing.T, fx Fixture) {
		all := entries(t, 0, 40)
		var wg sync.WaitGroup
		for w := range 4 {
			wg.Go(func() {
				for i := range all { // every writer offers every entry
					if _, err := fx.Store.Append(ctx, all[(i+10*w)%len(all):][:1]); err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		got := ids(must[[]journal.Entry](t)(fx.Store.Load(ctx)))
		slices.Sort(got)
		if !slices.Equal(got, ids(all)) {
			t.Errorf("got %v", got)
		}
	})

	store("the largest entry fits", func(t *testing.T, fx Fixture) {
		pad := bytes.Repeat([]byte{'x'}, journal.MaxEntryBytes)
		head, tail := `{"id":"big","at":"2026-01-01T00:00:00.000Z-0000-d","v":1,"kind":"future","body":{"x":"`, `"}}`
		raw := append(append([]byte(head), pad[:journal.MaxEntryBytes-len(head)-len(tail)]...), tail...)
		e, err := journal.ParseEntry(raw)
		if err != nil {
			t.Fatal(err)
		}
		must[[]journal.ID](t)(fx.Store.Append(ctx, []journal.Entry{e}))
		got := must[[]journal.Entry](t)(fx.Reopen(t).Load(ctx))
		if len(got) != 1 || !bytes.Equal(got[0].Raw(), raw) {
			t.Error("the largest entry did not come back whole")
		}
	})

	if _, ok := open(t).Store.(journal.Outbox); ok {
		runOutbox(t, store)
	}
}

func runOutbox(t *testing.T, store func(string, func(*testing.T, Fixture))) {
	ctx := context.Background()
	unsent := func(t *testing.T, s journal.Store, want ...journal.ID) {
		t.Helper()
		out := s.(journal.Outbox)
		wantIDs(t, "unsent", must[[]journal.Entry](t)(out.Unsent(ctx, 0)), want...)
		if n := must[int](t)(out.CountUnsent(ctx)); n != len(want) {
			t.Errorf("count of unsent: %d, want %d", n, len(want))
		}
	}

	store("what is written here is unsent until confirmed", func(t *testing.T, fx Fixture) {
		es := entries(t, 0, 4)
		must[[]journal.ID](t)(fx.Store.Append(ctx, es))
		unsent(t, fx.Store, ids(es)...)
		wantIDs(t, "first two", must[[]journal.Entry](t)(fx.Store.(journal.Outbox).Unsent(ctx, 2)), "e0000", "e0001")
		if err := fx.Store.(journal.Outbox).Confirm(ctx, []journal.ID{"e0002", "nobody", "e0002", "e0000"}); err != nil {
			t.Fatal(err)
		}
		unsent(t, fx.Store, "e0001", "e0003")
		must[[]journal.ID](t)(fx.Store.Append(ctx, es)) // offered again: still sent
		unsent(t, fx.Store, "e0001", "e0003")
		s := fx.Reopen(t)
		unsent(t, s, "e0001", "e0003")
		wantIDs(t, "load", must[[]journal.Entry](t)(s.Load(ctx)), ids(es)...)
	})

	store("what was fetched is not unsent, and does not send what was waiting", func(t *testing.T, fx Fixture) {
		es := entries(t, 0, 3)
		must[[]journal.ID](t)(fx.Store.Append(ctx, es[:1]))
		added, replaced, err := fx.Store.(journal.Outbox).AppendFetched(ctx, es)
		if err != nil || !slices.Equal(added, []journal.ID{"e0001", "e0002"}) || len(replaced) != 0 {
			t.Errorf("added %v, replaced %v, %v", added, replaced, err)
		}
		unsent(t, fx.Store, "e0000")
		unsent(t, fx.Reopen(t), "e0000")
	})

	store("the server's record takes the place of another under its id", func(t *testing.T, fx Fixture) {
		mine := entries(t, 0, 3)
		must[[]journal.ID](t)(fx.Store.Append(ctx, mine))
		out := fx.Store.(journal.Outbox)
		theirs := Entry(t, "e0001", 77)
		for round, want := range [][]journal.ID{{"e0001"}, nil} { // the second time it is the same
			added, replaced, err := out.AppendFetched(ctx, []journal.Entry{mine[0], theirs})
			if err != nil || len(added) != 0 || !slices.Equal(replaced, want) {
				t.Errorf("round %d: added %v, replaced %v, %v", round, added, replaced, err)
			}
		}
		s := fx.Reopen(t)
		unsent(t, s, "e0000", "e0002")
		all := must[[]journal.Entry](t)(s.Load(ctx))
		wantIDs(t, "load", all, ids(mine)...)
		if !bytes.Equal(all[1].Raw(), theirs.Raw()) || !bytes.Equal(all[0].Raw(), mine[0].Raw()) {
			t.Errorf("records %s, %s", all[0].Raw(), all[1].Raw())
		}
		if n, err := s.(journal.Outbox).Replaced(ctx); err != nil || n != 1 {
			t.Errorf("%d replaced, %v; want 1", n, err)
		}
	})

	store("requeue marks everything unsent, in order", func(t *testing.T, fx Fixture) {
		es := entries(t, 0, 5)
		out := fx.Store.(journal.Outbox)
		if _, _, err := out.AppendFetched(ctx, es[:2]); err != nil {
			t.Fatal(err)
		}
		must[[]journal.ID](t)(fx.Store.Append(ctx, es[2:]))
		if err := out.Confirm(ctx, ids(es[3:])); err != nil {
			t.Fatal(err)
		}
		if err := out.Requeue(ctx); err != nil {
			t.Fatal(err)
		}
		unsent(t, fx.Reopen(t), ids(es)...)
	})

	store("the cursor is kept", func(t *testing.T, fx Fixture) {
		out := fx.Store.(journal.Outbox)
		if c := must[journal.Cursor](t)(out.Cursor(ctx)); c != (journal.Cursor{}) {
			t.Errorf("new store has cursor %+v", c)
		}
		want := journal.Cursor{Journal: "j-1", Kind: journal.DemoJournal, Seq: 1 << 40, ID: "e0000", Crew: journal.Place{Seq: 1 << 41, Mark: "c0000"}}
		if err := out.SetCursor(ctx, want); err != nil {
			t.Fatal(err)
		}
		if c := must[journal.Cursor](t)(fx.Reopen(t).(journal.Outbox).Cursor(ctx)); c != want {
			t.Errorf("cursor %+v, want %+v", c, want)
		}
	})
}
