//go:build js && wasm

package idb

import (
	"context"
	_ "embed"
	"encoding/json"
	"reflect"
	"syscall/js"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// A phone keeps its database through every release. When the layout changes,
// keep the old file and add a new one.
//
//go:embed testdata/layout-1.json
var layout1 []byte

// layout is a database as a release left it on a phone.
type layout struct {
	Version int           `json:"version"`
	Stores  []storeLayout `json:"stores"`
	Entries []struct {
		Seq    int        `json:"seq"`
		ID     journal.ID `json:"id"`
		Raw    string     `json:"raw"`
		Unsent int        `json:"unsent"`
	} `json:"entries"`
	Meta map[string]any `json:"meta"`
}

type storeLayout struct {
	Name    string        `json:"name"`
	KeyPath any           `json:"keyPath"`
	Indexes []indexLayout `json:"indexes"`
}

type indexLayout struct {
	Name    string `json:"name"`
	KeyPath string `json:"keyPath"`
	Unique  bool   `json:"unique"`
}

func readLayout(t *testing.T, raw []byte) (l layout) {
	t.Helper()
	if err := json.Unmarshal(raw, &l); err != nil {
		t.Fatal(err)
	}
	return l
}

// install makes the database with the browser's own calls.
func (l layout) install(t *testing.T, name string) {
	t.Helper()
	request := js.Global().Get("indexedDB").Call("open", name, l.Version)
	upgrade := js.FuncOf(func(js.Value, []js.Value) any {
		db := request.Get("result")
		for _, s := range l.Stores {
			options := map[string]any{}
			if s.KeyPath != nil {
				options["keyPath"] = s.KeyPath
			}
			store := db.Call("createObjectStore", s.Name, options)
			for _, i := range s.Indexes {
				store.Call("createIndex", i.Name, i.KeyPath, map[string]any{"unique": i.Unique})
			}
		}
		tx := request.Get("transaction")
		for _, e := range l.Entries {
			record := map[string]any{"seq": e.Seq, "id": string(e.ID), "raw": e.Raw}
			if e.Unsent != 0 {
				record["unsent"] = e.Unsent
			}
			tx.Call("objectStore", "entries").Call("put", record)
		}
		for key, value := range l.Meta {
			tx.Call("objectStore", "meta").Call("put", value, key)
		}
		return nil
	})
	defer upgrade.Release()
	request.Set("onupgradeneeded", upgrade)
	settle(t, request).Call("close")
}

// storesOf reads how a database is laid out.
func storesOf(db js.Value) (stores []storeLayout) {
	names := db.Get("objectStoreNames")
	tx := db.Call("transaction", names, "readonly")
	for i := range names.Length() {
		store := tx.Call("objectStore", names.Index(i))
		s := storeLayout{Name: names.Index(i).String(), Indexes: []indexLayout{}}
		if path := store.Get("keyPath"); path.Type() == js.TypeString {
			s.KeyPath = path.String()
		}
		indexes := store.Get("indexNames")
		for j := range indexes.Length() {
			x := store.Call("index", indexes.Index(j))
			s.Indexes = append(s.Indexes, indexLayout{x.Get("name").String(), x.Get("keyPath").String(), x.Get("unique").Bool()})
		}
		stores = append(stores, s)
	}
	return stores
}

func TestAnOlderDatabaseOpens(t *testing.T) {
	ctx := context.Background()
	l := readLayout(t, layout1)
	const name = "kept-by-release-1"
	l.install(t, name)
	s, err := Open(ctx, name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		s.Close()
		settle(t, js.Global().Get("indexedDB").Call("deleteDatabase", name))
	})
	got, err := s.Load(ctx)
	if err != nil || len(got) != len(l.Entries) {
		t.Fatalf("%d entries, %v; want %d", len(got), err, len(l.Entries))
	}
	var unsent []journal.ID
	for i, e := range l.Entries {
		if got[i].ID != e.ID || string(got[i].Raw()) != e.Raw || !got[i].Readable() {
			t.Errorf("entry %d is %s, want %s", i, got[i].Raw(), e.Raw)
		}
		if e.Unsent == 1 {
			unsent = append(unsent, e.ID)
		}
	}
	list, err := s.Unsent(ctx, 0)
	if err != nil || len(list) != len(unsent) {
		t.Fatalf("unsent: %v, %v; want %v", list, err, unsent)
	}
	for i := range list {
		if list[i].ID != unsent[i] {
			t.Errorf("unsent %d is %s, want %s", i, list[i].ID, unsent[i])
		}
	}
	want := journal.Cursor{Journal: "0c1d7e9a-5b7f-4f0e-9d53-1f6a6c0f6f10", Seq: 41, ID: "00112233445566778899aabbccddeeff"}
	if c, err := s.Cursor(ctx); err != nil || c != want {
		t.Errorf("cursor %+v, %v; want %+v", c, err, want)
	}
	if d, err := s.Device(ctx); err != nil || d != "k3f9abcd" {
		t.Errorf("device %q, %v", d, err)
	}
	if at, err := s.Synced(ctx); err != nil || !at.Equal(time.UnixMilli(1786684329123)) {
		t.Errorf("last exchange %v, %v", at, err)
	}
	// It can be written on, and nothing that is there counts as new.
	more, err := flybox.NewEntry("new-1", got[0].At, flybox.Note{Text: "on"})
	if err != nil {
		t.Fatal(err)
	}
	if added, err := s.Append(ctx, append(got, more)); err != nil || len(added) != 1 || added[0] != "new-1" {
		t.Errorf("added %v, %v", added, err)
	}
}

// TestLayoutIsTheKeptOne fails when the layout changes without a new version
// and a new file.
func TestLayoutIsTheKeptOne(t *testing.T) {
	l := readLayout(t, layout1)
	if l.Version != version {
		t.Fatalf("the newest kept file has version %d, this release %d", l.Version, version)
	}
	db, err := fresh(t).connection(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if got := storesOf(db); !reflect.DeepEqual(got, l.Stores) {
		t.Errorf("layout %+v, want %+v", got, l.Stores)
	}
}
