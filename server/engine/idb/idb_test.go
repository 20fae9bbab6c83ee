//go:build js && wasm

package idb

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"syscall/js"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
)

// These tests run in a browser, see browser_test.go.

var names int

// fresh opens a new empty database that is deleted at the end.
func fresh(t *testing.T) *Store {
	t.Helper()
	names++
	name := fmt.Sprintf("test-%d", names)
	s, err := Open(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		s.Close()
		settle(t, js.Global().Get("indexedDB").Call("deleteDatabase", name))
	})
	return s
}

// settle waits for a request outside of a transaction of ours.
func settle(t *testing.T, request js.Value) js.Value {
	t.Helper()
	done := make(chan error, 1)
	var hs funcs
	defer hs.release()
	request.Set("onsuccess", hs.of(func() { done <- nil }))
	request.Set("onerror", hs.of(func() { done <- domError(request.Get("error")) }))
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	return request.Get("result")
}

func TestStoreAndOutbox(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Fixture {
		s := fresh(t)
		return storetest.Fixture{Store: s, Reopen: func(t *testing.T) journal.Store {
			s.Close()
			again, err := Open(context.Background(), s.name)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(again.Close)
			return again
		}}
	})
}

func TestEveryWriteAsksForStrictDurability(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	db, err := s.connection(ctx)
	if err != nil {
		t.Fatal(err)
	}
	// Put a listener in front of the browser's own method.
	var asked []string
	own := db.Get("transaction").Call("bind", db)
	spy := js.FuncOf(func(_ js.Value, args []js.Value) any {
		tx := own.Invoke(args[0], args[1], args[2])
		if mode := args[1].String(); mode == "readwrite" {
			asked = append(asked, tx.Get("durability").String())
		}
		return tx
	})
	defer spy.Release()
	db.Set("transaction", spy)
	e := storetest.Entry(t, "a", 1)
	if _, err := s.Append(ctx, []journal.Entry{e}); err != nil {
		t.Fatal(err)
	}
	if err := s.Confirm(ctx, []journal.ID{"a"}); err != nil {
		t.Fatal(err)
	}
	if err := s.Requeue(ctx); err != nil {
		t.Fatal(err)
	}
	if err := s.SetCursor(ctx, journal.Cursor{Journal: "j", Seq: 1}); err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(asked, " "); got != "strict strict strict strict" {
		t.Errorf("durability of the writes: %q", got)
	}
}

func TestAFailedWriteAddsNothing(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	good := storetest.Entry(t, "good", 1)
	err := s.transact(ctx, "readwrite", func(tx *transaction) {
		tx.store(entriesName).Call("add", map[string]any{"seq": 1, "id": string(good.ID), "raw": string(good.Raw())})
		// The same id again breaks the unique index, and with it the whole
		// transaction.
		tx.store(entriesName).Call("add", map[string]any{"seq": 2, "id": string(good.ID), "raw": "{}"})
	})
	if err == nil || !strings.Contains(err.Error(), "ConstraintError") {
		t.Errorf("error %v, want a ConstraintError", err)
	}
	if got, err := s.Load(ctx); err != nil || len(got) != 0 {
		t.Errorf("half of a failed write stayed: %d entries, %v", len(got), err)
	}
	// An exception in a handler gives the transaction up too.
	err = s.transact(ctx, "readwrite", func(tx *transaction) {
		tx.then(tx.store(entriesName).Call("add", map[string]any{"seq": 1, "id": string(good.ID), "raw": string(good.Raw())}), func(js.Value) {
			tx.store("no such store")
		})
	})
	if err == nil || !strings.Contains(err.Error(), "NotFoundError") {
		t.Errorf("error %v, want a NotFoundError", err)
	}
	if got, err := s.Load(ctx); err != nil || len(got) != 0 {
		t.Errorf("an entry of a transaction that was given up stayed: %d entries, %v", len(got), err)
	}
}

func TestAConnectionThatWasLostIsOpenedAnew(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	if _, err := s.Append(ctx, []journal.Entry{storetest.Entry(t, "a", 1)}); err != nil {
		t.Fatal(err)
	}
	s.db.Call("close") // behind the store's back
	if _, err := s.Append(ctx, []journal.Entry{storetest.Entry(t, "b", 2)}); err != nil {
		t.Fatalf("append after the connection was closed: %v", err)
	}
	got, err := s.Load(ctx)
	if err != nil || len(got) != 2 {
		t.Errorf("%d entries, %v; want 2", len(got), err)
	}
}

func TestAnUpgradeByAnotherTabIsLetThroughAndThenSeen(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	// The other tab holds a later release. Its open would be blocked for ever
	// if this connection did not close on versionchange.
	other := settle(t, js.Global().Get("indexedDB").Call("open", s.name, version+1))
	other.Call("close")
	if _, err := s.Append(ctx, []journal.Entry{storetest.Entry(t, "a", 1)}); !errors.Is(err, ErrNewer) {
		t.Errorf("append to a newer database: %v, want ErrNewer", err)
	}
	if _, err := Open(ctx, s.name); !errors.Is(err, ErrNewer) {
		t.Errorf("open a newer database: %v, want ErrNewer", err)
	}
}

func TestDeviceIsNamedOnce(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	tab, err := Open(ctx, s.name)
	if err != nil {
		t.Fatal(err)
	}
	defer tab.Close()
	var wg sync.WaitGroup
	got := make([]string, 8)
	for i := range got {
		wg.Go(func() {
			var err error
			if got[i], err = []*Store{s, tab}[i%2].Device(ctx); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for _, name := range got {
		if name != got[0] || len(name) != 8 {
			t.Fatalf("names %q", got)
		}
	}
	if _, err := flybox.Open(ctx, s, flybox.Options{Device: got[0], Now: time.Now, NewID: flybox.RandomID}); err != nil {
		t.Errorf("the ledger does not take the name: %v", err)
	}
}

func TestTimeOfExchangeIsKept(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	if at, err := s.Synced(ctx); err != nil || !at.IsZero() {
		t.Errorf("never exchanged: %v, %v", at, err)
	}
	want := time.Date(2026, 8, 14, 5, 12, 9, 123e6, time.UTC)
	if err := s.SetSynced(ctx, want); err != nil {
		t.Fatal(err)
	}
	if at, err := s.Synced(ctx); err != nil || !at.Equal(want) {
		t.Errorf("got %v, %v; want %v", at, err, want)
	}
}

func TestWhatWasSetQuarantineIsKept(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	for _, want := range []string{"", `{"refused":[{"id":"é","code":"x"}]}`, "{}"} {
		if want != "" {
			if err := s.SetQuarantine(ctx, want); err != nil {
				t.Fatal(err)
			}
		}
		if got, err := s.Quarantine(ctx); err != nil || got != want {
			t.Errorf("got %q, %v; want %q", got, err, want)
		}
	}
}

func TestErrorsHaveTheirNames(t *testing.T) {
	dom := func(name string) js.Value { return js.Global().Get("DOMException").New("no room", name) }
	if err := domError(dom("QuotaExceededError")); !errors.Is(err, journal.ErrFull) {
		t.Errorf("a full device: %v, want flybox.ErrFull", err)
	}
	if err := domError(dom("VersionError")); !errors.Is(err, ErrNewer) {
		t.Errorf("a newer database: %v, want ErrNewer", err)
	}
	if err := domError(dom("UnknownError")); err.Error() != "UnknownError: no room" {
		t.Errorf("got %v", err)
	}
}

func TestAFullDeviceIsToldApart(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	// A transaction's error is set by the browser alone, so the browser is
	// made to give up with the reason of a full device.
	err := s.transact(ctx, "readwrite", func(tx *transaction) {
		full := js.Global().Get("DOMException").New("no room", "QuotaExceededError")
		js.Global().Get("Object").Call("defineProperty", tx.Value, "error", map[string]any{"value": full})
		tx.Call("abort")
	})
	if !errors.Is(err, journal.ErrFull) {
		t.Errorf("got %v, want flybox.ErrFull", err)
	}
}

func TestALargeJournalIsReadWhole(t *testing.T) {
	ctx := context.Background()
	s := fresh(t)
	const n = 2*pageSize + 1
	all := make([]journal.Entry, n)
	for i := range all {
		all[i] = storetest.Entry(t, journal.ID(fmt.Sprintf("e%06d", i)), i)
	}
	begun := time.Now()
	if _, _, err := s.AppendFetched(ctx, all); err != nil {
		t.Fatal(err)
	}
	written := time.Since(begun)
	begun = time.Now()
	got, err := s.Load(ctx)
	if err != nil || len(got) != n {
		t.Fatalf("%d entries, %v; want %d", len(got), err, n)
	}
	t.Logf("%d entries written in %v, read in %v", n, written, time.Since(begun))
	for i := range got {
		if got[i].ID != all[i].ID {
			t.Fatalf("entry %d is %s, want %s", i, got[i].ID, all[i].ID)
		}
	}
}
