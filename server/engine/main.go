//go:build js && wasm

// Command engine is the application on a phone: the same screens as on the
// server, over a journal in the browser, answering the page's messages. It
// runs in the worker of static/engine.js.
//
// Messages to it, each answered by one with the same n:
//
//	{kind: "ask", n, method, url, headers: {name: value}, body: Uint8Array or null}
//	    -> {n, url, status, type, disposition, body: ArrayBuffer, prefs, saved, wrote, restart}
//	       after redirects; prefs is what was set of how things are shown, saved
//	       tells that a post was accepted, wrote that it left entries, restart
//	       that the document has to be loaded anew
//	{kind: "refresh", n}  another tab has saved something  -> {n, added}
//	{kind: "sync", n}     exchange entries with the server -> {n, ok, added, refused, restart, other}
//	                      refused counts those that the server had not refused before;
//	                      other: the server keeps another ledger, restart: one
//	                      that this browser has, to be shown by loading anew
//
// or {n, error} where the engine is at fault. Once ready it says
// {kind: "awake", ms, canSave, entries}.
package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	gosync "sync"
	"sync/atomic"
	"syscall/js"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/app"
	"dampstone/server/app/screen"
	"dampstone/server/engine/idb"
	"dampstone/server/engine/recorder"
	"dampstone/server/sync"
)

func main() {
	// Program counters are what a traceback of the engine is read by (static/build
	// -trace): it has no names.
	debug.SetTraceback("system")
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	e, err := wake(context.Background(), log)
	if err != nil {
		log.Error("wake", "err", err)
		os.Exit(1) // the worker tells the page
	}
	worker.Call("listen", js.FuncOf(func(_ js.Value, args []js.Value) any {
		go e.take(args[0])
		return nil
	}))
	post(map[string]any{
		"kind": "awake", "ms": js.Global().Get("performance").Call("now"),
		"canSave": e.kept != nil, "entries": e.ledger.State().Len(),
	})
	select {}
}

// worker is what static/engine.js offers.
var worker = js.Global().Get("dampstone")

type engine struct {
	log    *slog.Logger
	ledger *flybox.Ledger
	outbox journal.Outbox
	kept   *idb.Store // nil where the journal is in memory alone
	app    http.Handler
	origin string
	unread bool // there may be a journal, but it could not be read

	demo    atomic.Bool // what is here is invented
	first   *idb.Store  // holds the list of ledgers
	ledgers ledgers
	name    string // of the database that is open; another may be shown next

	otherLock gosync.Mutex
	other     *sync.OtherLedger // what the server was found to keep

	quarantineLock gosync.Mutex
	quarantine     sync.Quarantine
	last           outcome
}

// outcome is how the last exchange went.
type outcome struct {
	used     float64 // of the share of the server, as it said last
	failed   bool
	rejected int    // status of the answer that was no success, 0 if there was none
	reason   string // that was given with it
}

// wake opens the journal and makes the application. Without a database the
// key still works, over a journal in memory that nothing is saved to.
func wake(ctx context.Context, log *slog.Logger) (*engine, error) {
	e := &engine{log: log, origin: js.Global().Get("location").Get("origin").String()}
	var store journal.Store
	device := idb.NewDevice()
	kept, name, err := e.openKept(ctx)
	if err == nil {
		e.kept, e.outbox, store, device = kept, kept, kept, name
	} else {
		// A private window may have no database, and never had a ledger. Where
		// there was or may be one, it must not look empty.
		e.unread = worker.Get("start").Get("held").Truthy() || errors.Is(err, idb.ErrNewer) || errors.Is(err, idb.ErrTimeout)
		log.Error("open database", "err", err)
		mem := &memstore.Store{}
		e.outbox, store = mem, mem
	}
	e.ledger, err = flybox.Open(ctx, store, flybox.Options{Device: device, Now: time.Now, NewID: flybox.RandomID})
	if err != nil {
		return nil, err
	}
	e.loadQuarantine(ctx)
	if err := e.met(ctx); err != nil {
		return nil, err
	}
	urls := worker.Get("start").Get("urls")
	e.app = app.New(app.Config{
		Ledger: e.ledger, Now: time.Now, NewID: flybox.RandomID, Log: log,
		Asset:   func(name string) string { return assetURL(urls, name) },
		Phone:   true,
		NoStore: e.kept == nil,
		Unread:  e.unread,
		Sync:    e.syncStatus,
		People:  true,
		Demo:    e.demo.Load,
		Other:   e,
	})
	return e, nil
}

func assetURL(urls js.Value, name string) string {
	if u := urls.Get(name); u.Type() == js.TypeString {
		return u.String()
	}
	return "/static/" + name
}

// take answers one message.
func (e *engine) take(message js.Value) {
	n := message.Get("n")
	defer func() {
		if fault := recover(); fault != nil {
			e.log.Error("fault", "fault", fault, "at", callers())
			post(map[string]any{"n": n, "error": fmt.Sprint(fault)})
		}
	}()
	ctx := context.Background()
	var result map[string]any
	var err error
	switch kind := message.Get("kind").String(); kind {
	case "ask":
		e.answer(ctx, message)
		return
	case "refresh":
		var added int
		added, err = e.ledger.Refresh(ctx)
		result = map[string]any{"added": added}
	case "sync":
		result = e.sync(ctx)
	default:
		err = fmt.Errorf("message of kind %q is not known", kind)
	}
	if err != nil {
		e.log.Error("message", "err", err)
		result = map[string]any{"error": err.Error()}
	}
	result["n"] = n
	post(result)
}

// callers are the program counters of what led here, for static/build -trace.
func callers() string {
	var out []byte
	pcs := make([]uintptr, 32)
	for _, pc := range pcs[:runtime.Callers(2, pcs)] {
		out = fmt.Appendf(out, "pc=%#x ", pc)
	}
	return string(out)
}

// answer asks the application.
func (e *engine) answer(ctx context.Context, message js.Value) {
	n, before := message.Get("n"), e.ledger.State().Len()
	a, err := recorder.Follow(ctx, e.app, message.Get("method").String(), message.Get("url").String(),
		headerOf(message.Get("headers")), bytesOf(message.Get("body")))
	if err != nil {
		e.log.Error("ask", "err", err)
		post(map[string]any{"n": n, "error": err.Error()})
		return
	}
	prefs := ""
	for _, c := range a.Cookies {
		if c.Name == screen.PrefsCookie {
			prefs = c.Value
		}
	}
	restart := slices.ContainsFunc(a.Way, func(h http.Header) bool { return h.Get(screen.RestartHeader) != "" })
	bytes := js.Global().Get("Uint8Array").New(len(a.Body))
	js.CopyBytesToJS(bytes, a.Body)
	buffer := bytes.Get("buffer")
	post(map[string]any{
		"n": n, "url": a.URL, "status": a.Status, "body": buffer,
		"type": a.Header.Get("Content-Type"), "disposition": a.Header.Get("Content-Disposition"),
		"prefs": prefs, "saved": a.Accepted, "wrote": a.Accepted && e.ledger.State().Len() > before,
		"restart": restart,
	}, buffer)
}

func headerOf(object js.Value) http.Header {
	h := http.Header{}
	names := js.Global().Get("Object").Call("keys", object)
	for i := range names.Length() {
		name := names.Index(i).String()
		h.Set(name, object.Get(name).String())
	}
	return h
}

func bytesOf(array js.Value) []byte {
	if !array.Truthy() {
		return nil
	}
	b := make([]byte, array.Length())
	js.CopyBytesToGo(b, array)
	return b
}

func post(message map[string]any, transfer ...any) {
	if len(transfer) == 0 {
		worker.Call("post", message)
		return
	}
	worker.Call("post", message, transfer)
}

// syncTimeout bounds one exchange; a connection at the edge of reach may hang
// for ever.
const syncTimeout = 2 * time.Minute

// sync exchanges entries with the server. That it is out of reach is the
// usual case on a river and no fault.
func (e *engine) sync(ctx context.Context) map[string]any {
	ctx, cancel := context.WithTimeout(ctx, syncTimeout)
	defer cancel()
	report, err := sync.Round(ctx, fetcher{}, e.origin, e.ledger)
	last := outcome{used: report.Used, failed: err != nil}
	if answered := (*sync.StatusError)(nil); errors.As(err, &answered) {
		last.rejected, last.reason = answered.Status, answered.Code
	}
	e.quarantineLock.Lock()
	e.last = last
	e.quarantineLock.Unlock()
	result := map[string]any{"ok": err == nil, "added": report.Received, "refused": e.setQuarantine(ctx, report, err == nil)}
	for _, r := range report.Refused {
		e.log.Warn("server refused an entry", "id", r.ID, "code", r.Code)
	}
	for _, b := range report.Bad {
		e.log.Warn("entry of the server was not taken", "id", b.ID, "code", b.Code())
	}
	if err := e.met(ctx); err != nil {
		e.log.Error("note ledger", "err", err)
	}
	if err != nil {
		e.log.Debug("sync", "err", err)
		if other := (*sync.OtherLedger)(nil); errors.As(err, &other) {
			restart := e.found(ctx, *other)
			result["restart"], result["other"] = restart, !restart
		}
		return result
	}
	if e.kept != nil {
		if err := e.kept.SetSynced(ctx, time.Now()); err != nil {
			e.log.Error("sync", "err", err)
		}
	}
	return result
}

func (e *engine) syncStatus(ctx context.Context) app.SyncStatus {
	var s app.SyncStatus
	var err error
	if s.Waiting, err = e.outbox.CountUnsent(ctx); err != nil {
		e.log.Error("sync status", "err", err)
	}
	if e.kept != nil {
		if s.Last, err = e.kept.Synced(ctx); err != nil {
			e.log.Error("sync status", "err", err)
		}
	}
	e.quarantineLock.Lock()
	defer e.quarantineLock.Unlock()
	s.Quarantine, s.Used, s.Rejected, s.Reason = e.quarantine, e.last.used, e.last.rejected, e.last.reason
	online := js.Global().Get("navigator").Get("onLine")
	s.Away = e.last.failed && e.last.rejected == 0 || online.Type() == js.TypeBoolean && !online.Bool()
	return s
}
