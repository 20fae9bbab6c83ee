//go:build js && wasm

// Package idb keeps a journal in the browser's IndexedDB: the phone's
// flybox.Store and flybox.Outbox.
//
// A write asks for durability "strict" and counts as done only at the
// transaction's complete event (Indexed Database API 3.0, section 4.9); the
// success of a single request promises nothing yet. The browser may still
// clear the whole database when storage runs short, unless it was granted
// lasting storage, which only a page can ask for.
package idb

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"syscall/js"
	"time"

	"dampstone/flybox/journal"
)

// Errors that callers tell apart, beside flybox.ErrFull.
var (
	ErrNone    = errors.New("browser gives no database")
	ErrNewer   = errors.New("database was written by a newer release")
	ErrTimeout = errors.New("database does not open")
)

const (
	version     = 1
	openTimeout = 10 * time.Second

	entriesName   = "entries" // {seq, id, raw, unsent: 1 or absent}, by seq
	metaName      = "meta"    // by name, see below
	byID          = "id"      // index: id, unique
	byUnsent      = "unsent"  // index: holds only entries that have the mark
	cursorKey     = "cursor"
	deviceKey     = "device"
	syncedKey     = "synced"
	quarantineKey = "aside"
	replacedKey   = "replaced"
	ledgersKey    = "ledgers"

	pageSize = 4096 // entries read at a time
)

// Store is a journal in a database of its own. It is safe for concurrent use,
// also from several tabs.
type Store struct {
	name string

	mu sync.Mutex
	db js.Value // undefined when closed
}

var (
	_ journal.Store  = (*Store)(nil)
	_ journal.Outbox = (*Store)(nil)
)

// Open opens the database, and makes it if there is none.
func Open(ctx context.Context, name string) (*Store, error) {
	s := &Store{name: name}
	if _, err := s.connection(ctx); err != nil {
		return nil, fmt.Errorf("open database %q: %w", name, err)
	}
	return s, nil
}

// Close closes the connection. The store opens another when it is used again.
func (s *Store) Close() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.db.Truthy() {
		s.db.Call("close")
	}
	s.db = js.Undefined()
}

// connection is the open connection, a new one if need be.
func (s *Store) connection(ctx context.Context) (js.Value, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.db.Truthy() {
		return s.db, nil
	}
	factory := js.Global().Get("indexedDB")
	if !factory.Truthy() {
		return js.Undefined(), ErrNone
	}
	db, err := open(ctx, factory, s.name)
	if err != nil {
		return js.Undefined(), err
	}
	s.db = db
	// Another tab wants to change the layout or to delete the database, or
	// the browser itself has shut the connection. The two handlers live as
	// long as the connection.
	lost := js.FuncOf(func(js.Value, []js.Value) any {
		db.Call("close")
		go func() {
			s.mu.Lock()
			defer s.mu.Unlock()
			if s.db.Equal(db) {
				s.db = js.Undefined()
			}
		}()
		return nil
	})
	db.Set("onversionchange", lost)
	db.Set("onclose", lost)
	return db, nil
}

func open(ctx context.Context, factory js.Value, name string) (js.Value, error) {
	done := make(chan error, 1)
	var request js.Value
	var handlers funcs
	if err := try(func() { request = factory.Call("open", name, version) }); err != nil {
		return js.Undefined(), err // storage is closed to this page
	}
	request.Set("onupgradeneeded", handlers.of(func() {
		db := request.Get("result")
		entries := db.Call("createObjectStore", entriesName, map[string]any{"keyPath": "seq"})
		entries.Call("createIndex", byID, "id", map[string]any{"unique": true})
		entries.Call("createIndex", byUnsent, "unsent")
		db.Call("createObjectStore", metaName)
	}))
	request.Set("onsuccess", handlers.of(func() { done <- nil }))
	request.Set("onerror", handlers.of(func() { done <- domError(request.Get("error")) }))
	timer := time.NewTimer(openTimeout)
	defer timer.Stop()
	var err error
	select {
	case err = <-done:
		handlers.release()
		if err == nil {
			return request.Get("result"), nil
		}
		return js.Undefined(), err
	case <-ctx.Done():
		err = ctx.Err()
	case <-timer.C:
		err = ErrTimeout
	}
	go func() { // it may open later all the same
		if <-done == nil {
			request.Get("result").Call("close")
		}
		handlers.release()
	}()
	return js.Undefined(), err
}

// transaction is what the body of transact works on.
type transaction struct {
	js.Value
	handlers funcs
	err      error // why it was given up from within
}

func (t *transaction) store(name string) js.Value { return t.Call("objectStore", name) }

// then calls f with the result of a request, in which f may make more
// requests.
func (t *transaction) then(request js.Value, f func(result js.Value)) {
	request.Set("onsuccess", t.handlers.of(func() {
		if err := try(func() { f(request.Get("result")) }); err != nil {
			t.err = err
			t.Call("abort")
		}
	}))
}

// transact runs body in one transaction over both object stores and waits
// until it is complete. A transaction ends by itself once it has no requests
// left, so body makes all of its requests before it returns or from then.
func (s *Store) transact(ctx context.Context, mode string, body func(*transaction)) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	t := &transaction{}
	defer t.handlers.release()
	for retried := false; ; retried = true {
		db, err := s.connection(ctx)
		if err != nil {
			return err
		}
		err = try(func() {
			t.Value = db.Call("transaction", []any{entriesName, metaName}, mode, map[string]any{"durability": "strict"})
		})
		if err == nil {
			break
		}
		s.Close() // the connection was lost without a word
		if retried {
			return err
		}
	}
	done := make(chan error, 1)
	t.Set("oncomplete", t.handlers.of(func() { done <- nil }))
	t.Set("onabort", t.handlers.of(func() {
		switch reason := t.Get("error"); {
		case t.err != nil:
			done <- t.err
		case reason.Truthy():
			done <- domError(reason)
		default:
			done <- errors.New("transaction was given up")
		}
	}))
	if err := try(func() { body(t) }); err != nil {
		t.err = err
		if try(func() { t.Call("abort") }) != nil {
			return err // it had ended by itself
		}
	}
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
		if try(func() { t.Call("abort") }) != nil {
			return <-done // too late to stop it
		}
		<-done
		return ctx.Err()
	}
}

// Load implements flybox.Store.
func (s *Store) Load(ctx context.Context) ([]journal.Entry, error) {
	entries, _, err := s.After(ctx, 0, 0)
	return entries, err
}

// After implements flybox.Store.
func (s *Store) After(ctx context.Context, seq uint64, limit int) ([]journal.Entry, uint64, error) {
	var all []journal.Entry
	for {
		want := pageSize
		if limit > 0 {
			want = min(want, limit-len(all))
		}
		var page []journal.Entry
		var broken error
		err := s.transact(ctx, "readonly", func(t *transaction) {
			from := js.Global().Get("IDBKeyRange").Call("lowerBound", float64(seq), true)
			t.then(t.store(entriesName).Call("getAll", from, want), func(list js.Value) {
				if page, broken = entriesOf(list); len(page) > 0 {
					seq = uint64(list.Index(len(page) - 1).Get("seq").Float())
				}
			})
		})
		if err = errors.Join(err, broken); err != nil {
			return nil, 0, fmt.Errorf("read journal after %d: %w", seq, err)
		}
		all = append(all, page...)
		if len(page) < want || len(all) == limit {
			return all, seq, nil
		}
	}
}

// entriesOf reads a list of records in one step: to ask for each field of each
// took as long as to fold them.
func entriesOf(list js.Value) (out []journal.Entry, err error) {
	if list.Length() == 0 {
		return nil, nil
	}
	var records []struct{ ID, Raw string }
	text := js.Global().Get("JSON").Call("stringify", list).String()
	if err := json.Unmarshal([]byte(text), &records); err != nil {
		return nil, fmt.Errorf("read records: %w", err)
	}
	out = make([]journal.Entry, len(records))
	for i, r := range records {
		out[i] = journal.StoredEntry(journal.ID(r.ID), []byte(r.Raw))
	}
	return out, nil
}

// Append implements flybox.Store.
func (s *Store) Append(ctx context.Context, entries []journal.Entry) ([]journal.ID, error) {
	added, _, err := s.append(ctx, entries, true)
	return added, err
}

// AppendFetched implements flybox.Outbox.
func (s *Store) AppendFetched(ctx context.Context, entries []journal.Entry) (added, replaced []journal.ID, err error) {
	return s.append(ctx, entries, false)
}

func (s *Store) append(ctx context.Context, entries []journal.Entry, unsent bool) (added, replaced []journal.ID, err error) {
	entries = once(entries)
	err = s.transact(ctx, "readwrite", func(t *transaction) {
		store, meta := t.store(entriesName), t.store(metaName)
		known := make([]js.Value, len(entries)) // requests for the number, or the record, of each
		ids := store.Call("index", byID)
		look := "getKey"
		if !unsent {
			look = "get"
		}
		for i, e := range entries {
			known[i] = ids.Call(look, string(e.ID))
		}
		count := meta.Call("get", replacedKey)
		// Requests are answered in order, so all of the above are by then.
		t.then(store.Call("openKeyCursor", nil, "prev"), func(last js.Value) {
			seq := 0.0
			if last.Truthy() {
				seq = last.Get("key").Float()
			}
			for i, e := range entries {
				if here := known[i].Get("result"); !here.IsUndefined() {
					if !unsent && here.Get("raw").String() != string(e.Raw()) {
						store.Call("put", map[string]any{"seq": here.Get("seq"), "id": string(e.ID), "raw": string(e.Raw())})
						replaced = append(replaced, e.ID)
					}
					continue
				}
				seq++
				record := map[string]any{"seq": seq, "id": string(e.ID), "raw": string(e.Raw())}
				if unsent {
					record["unsent"] = 1
				}
				store.Call("add", record)
				added = append(added, e.ID)
			}
			if len(replaced) > 0 {
				meta.Call("put", number(count.Get("result"))+float64(len(replaced)), replacedKey)
			}
		})
	})
	if err != nil {
		return nil, nil, fmt.Errorf("append %d entries: %w", len(entries), err)
	}
	return added, replaced, nil
}

// number is a number that was kept, 0 if none was.
func number(kept js.Value) float64 {
	if kept.Type() != js.TypeNumber {
		return 0
	}
	return kept.Float()
}

// Replaced implements flybox.Outbox.
func (s *Store) Replaced(ctx context.Context) (n uint64, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(metaName).Call("get", replacedKey), func(kept js.Value) { n = uint64(number(kept)) })
	})
	if err != nil {
		return 0, fmt.Errorf("count replaced entries: %w", err)
	}
	return n, nil
}

// Get implements flybox.Store.
func (s *Store) Get(ctx context.Context, id journal.ID) (e journal.Entry, ok bool, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(entriesName).Call("index", byID).Call("get", string(id)), func(record js.Value) {
			if ok = !record.IsUndefined(); ok {
				e = journal.StoredEntry(id, []byte(record.Get("raw").String()))
			}
		})
	})
	if err != nil {
		return journal.Entry{}, false, fmt.Errorf("read entry %q: %w", id, err)
	}
	return e, ok, nil
}

// once leaves out repeats of an id.
func once(entries []journal.Entry) []journal.Entry {
	seen := make(map[journal.ID]bool, len(entries))
	out := make([]journal.Entry, 0, len(entries))
	for _, e := range entries {
		if !seen[e.ID] {
			seen[e.ID] = true
			out = append(out, e)
		}
	}
	return out
}

// Unsent implements flybox.Outbox.
func (s *Store) Unsent(ctx context.Context, limit int) (entries []journal.Entry, err error) {
	count := js.Undefined() // all
	if limit > 0 {
		count = js.ValueOf(limit)
	}
	var broken error
	err = s.transact(ctx, "readonly", func(t *transaction) {
		// An index orders equal keys by the record's own key: by arrival.
		t.then(t.store(entriesName).Call("index", byUnsent).Call("getAll", nil, count), func(list js.Value) {
			entries, broken = entriesOf(list)
		})
	})
	if err = errors.Join(err, broken); err != nil {
		return nil, fmt.Errorf("read unsent entries: %w", err)
	}
	return entries, nil
}

// CountUnsent implements flybox.Outbox.
func (s *Store) CountUnsent(ctx context.Context) (n int, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(entriesName).Call("index", byUnsent).Call("count"), func(count js.Value) { n = count.Int() })
	})
	if err != nil {
		return 0, fmt.Errorf("count unsent entries: %w", err)
	}
	return n, nil
}

// Confirm implements flybox.Outbox.
func (s *Store) Confirm(ctx context.Context, ids []journal.ID) error {
	err := s.transact(ctx, "readwrite", func(t *transaction) {
		store := t.store(entriesName)
		for _, id := range ids {
			t.then(store.Call("index", byID).Call("get", string(id)), func(record js.Value) {
				if record.IsUndefined() || record.Get("unsent").IsUndefined() {
					return
				}
				record.Delete("unsent")
				store.Call("put", record)
			})
		}
	})
	if err != nil {
		return fmt.Errorf("confirm %d entries: %w", len(ids), err)
	}
	return nil
}

// Requeue implements flybox.Outbox.
func (s *Store) Requeue(ctx context.Context) error {
	err := s.transact(ctx, "readwrite", func(t *transaction) {
		t.then(t.store(entriesName).Call("openCursor"), func(cursor js.Value) {
			if !cursor.Truthy() {
				return
			}
			if record := cursor.Get("value"); record.Get("unsent").IsUndefined() {
				record.Set("unsent", 1)
				cursor.Call("update", record)
			}
			cursor.Call("continue")
		})
	})
	if err != nil {
		return fmt.Errorf("requeue: %w", err)
	}
	return nil
}

// Cursor implements flybox.Outbox.
func (s *Store) Cursor(ctx context.Context) (c journal.Cursor, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(metaName).Call("get", cursorKey), func(kept js.Value) {
			if kept.Truthy() {
				c = journal.Cursor{Journal: kept.Get("journal").String(), Seq: uint64(kept.Get("seq").Float()), ID: kept.Get("id").String()}
				if kind := kept.Get("kind"); kind.Type() == js.TypeString {
					c.Kind = kind.String()
				}
				if mark := kept.Get("crewMark"); mark.Type() == js.TypeString {
					c.Crew = journal.Place{Seq: uint64(kept.Get("crewSeq").Float()), Mark: mark.String()}
				}
			}
		})
	})
	if err != nil {
		return journal.Cursor{}, fmt.Errorf("read cursor: %w", err)
	}
	return c, nil
}

// SetCursor implements flybox.Outbox.
func (s *Store) SetCursor(ctx context.Context, c journal.Cursor) error {
	return s.put(ctx, cursorKey, map[string]any{
		"journal": c.Journal, "kind": c.Kind, "seq": float64(c.Seq), "id": c.ID,
		"crewSeq": float64(c.Crew.Seq), "crewMark": c.Crew.Mark,
	})
}

// Synced is when the last exchange with a server ended well; zero if never.
func (s *Store) Synced(ctx context.Context) (at time.Time, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(metaName).Call("get", syncedKey), func(kept js.Value) {
			if ms := number(kept); ms != 0 {
				at = time.UnixMilli(int64(ms))
			}
		})
	})
	if err != nil {
		return time.Time{}, fmt.Errorf("read time of exchange: %w", err)
	}
	return at, nil
}

// SetSynced keeps when an exchange with a server ended well.
func (s *Store) SetSynced(ctx context.Context, at time.Time) error {
	return s.put(ctx, syncedKey, float64(at.UnixMilli()))
}

// Quarantine is what SetQuarantine kept, "" if nothing.
func (s *Store) Quarantine(ctx context.Context) (string, error) { return s.text(ctx, quarantineKey) }

// Ledgers is what SetLedgers kept, "" if nothing.
func (s *Store) Ledgers(ctx context.Context) (string, error) { return s.text(ctx, ledgersKey) }

// SetLedgers keeps a text about the ledgers that this browser has.
func (s *Store) SetLedgers(ctx context.Context, text string) error {
	return s.put(ctx, ledgersKey, text)
}

func (s *Store) text(ctx context.Context, key string) (text string, err error) {
	err = s.transact(ctx, "readonly", func(t *transaction) {
		t.then(t.store(metaName).Call("get", key), func(kept js.Value) {
			if kept.Type() == js.TypeString {
				text = kept.String()
			}
		})
	})
	if err != nil {
		return "", fmt.Errorf("read %s: %w", key, err)
	}
	return text, nil
}

// SetQuarantine keeps a text about what an exchange set aside.
func (s *Store) SetQuarantine(ctx context.Context, text string) error {
	return s.put(ctx, quarantineKey, text)
}

// Device is the name of this device in stamps: random, made once. Two tabs
// that ask for the first time at once get the same.
func (s *Store) Device(ctx context.Context) (name string, err error) {
	err = s.transact(ctx, "readwrite", func(t *transaction) {
		meta := t.store(metaName)
		t.then(meta.Call("get", deviceKey), func(kept js.Value) {
			if kept.Type() == js.TypeString {
				name = kept.String()
				return
			}
			name = NewDevice()
			meta.Call("put", name, deviceKey)
		})
	})
	if err != nil {
		return "", fmt.Errorf("name device: %w", err)
	}
	return name, nil
}

// NewDevice makes a random name: 8 of a-z and 2-7.
func NewDevice() string {
	const digits = "abcdefghijklmnopqrstuvwxyz234567"
	b := make([]byte, 8)
	rand.Read(b) // never fails
	for i := range b {
		b[i] = digits[b[i]%32]
	}
	return string(b)
}

func (s *Store) put(ctx context.Context, key string, value any) error {
	err := s.transact(ctx, "readwrite", func(t *transaction) { t.store(metaName).Call("put", value, key) })
	if err != nil {
		return fmt.Errorf("keep %s: %w", key, err)
	}
	return nil
}

// domError makes an error of what the browser says. Names are those of the
// Web IDL standard, section 4.3.
func domError(e js.Value) error {
	name, text := e.Get("name").String(), e.Get("message").String()
	switch name {
	case "QuotaExceededError":
		return fmt.Errorf("%w: %s", journal.ErrFull, text)
	case "VersionError":
		return fmt.Errorf("%w: %s", ErrNewer, text)
	}
	return fmt.Errorf("%s: %s", name, text)
}

// try turns an exception of the browser into an error.
func try(f func()) (err error) {
	defer func() {
		switch p := recover().(type) {
		case nil:
		case js.Error:
			err = domError(p.Value)
		default:
			panic(p)
		}
	}()
	f()
	return nil
}

// funcs are handlers to be released together.
type funcs []js.Func

func (fs *funcs) of(f func()) js.Func {
	h := js.FuncOf(func(js.Value, []js.Value) any { f(); return nil })
	*fs = append(*fs, h)
	return h
}

func (fs *funcs) release() {
	for _, f := range *fs {
		f.Release()
	}
	*fs = nil
}
