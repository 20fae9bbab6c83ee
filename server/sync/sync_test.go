package sync

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
	"dampstone/server/boltstore"
)

var ctx = context.Background()

// clockwork gives a ledger a clock that moves 1 ms at each look and ids that
// count up, after its device.
func clockwork(device string) flybox.Options {
	now, n := time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC), 0
	return flybox.Options{Device: device,
		Now:   func() time.Time { now = now.Add(time.Millisecond); return now },
		NewID: func() journal.ID { n++; return journal.ID(fmt.Sprintf("%s-%05d", device, n)) },
	}
}

func newLedger(t testing.TB, device string, store journal.Store) *flybox.Ledger {
	t.Helper()
	l, err := flybox.Open(ctx, store, clockwork(device))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func note(t testing.TB, l *flybox.Ledger, texts ...string) {
	t.Helper()
	var bodies []flybox.Body
	for _, text := range texts {
		bodies = append(bodies, flybox.Note{Text: text})
	}
	if _, err := l.Record(ctx, bodies...); err != nil {
		t.Fatal(err)
	}
}

func notes(t *testing.T, l *flybox.Ledger, n int) {
	t.Helper()
	texts := make([]string, n)
	for i := range texts {
		texts[i] = fmt.Sprint("note ", i)
	}
	note(t, l, texts...)
}

func digest(l *flybox.Ledger) string {
	return l.State().Digest()
}

func size(l *flybox.Ledger) int {
	return l.State().Len()
}

func unsent(t testing.TB, l *flybox.Ledger) int {
	t.Helper()
	n, err := l.Store().(journal.Outbox).CountUnsent(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

type server struct {
	*httptest.Server
	handler *Handler
	ledger  *flybox.Ledger // over the same journal, as the screens have it
}

// now is the ledger with what exchanges have brought.
func (s *server) now(t testing.TB) *flybox.Ledger {
	t.Helper()
	if _, err := s.ledger.Refresh(ctx); err != nil {
		t.Fatal(err)
	}
	return s.ledger
}

func serve(t *testing.T, journal string, store journal.Store) *server {
	t.Helper()
	s := &server{handler: &Handler{Into: intake.New(store), Journal: journal}, ledger: newLedger(t, "server", store)}
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }))
	t.Cleanup(s.Close)
	return s
}

func (s *server) round(t *testing.T, l *flybox.Ledger) Report {
	t.Helper()
	r, err := joined(s.Client(), s.URL, l)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// joined is a round of somebody who, asked about another ledger, takes all
// along into it. The report then says so as a restart.
func joined(do Doer, base string, l *flybox.Ledger) (Report, error) {
	r, err := Round(ctx, do, base, l)
	other := (*OtherLedger)(nil)
	if !errors.As(err, &other) {
		return r, err
	}
	if err := Join(ctx, l.Store().(journal.Outbox), *other); err != nil {
		return r, err
	}
	r, err = Round(ctx, do, base, l)
	r.Restart = true
	return r, err
}

func wantSame(t *testing.T, ledgers ...*flybox.Ledger) {
	t.Helper()
	for _, l := range ledgers[1:] {
		if size(l) != size(ledgers[0]) || digest(l) != digest(ledgers[0]) {
			t.Errorf("states differ: %d entries and %d", size(ledgers[0]), size(l))
		}
	}
}

func TestTwoDevicesMeetAtTheServer(t *testing.T) {
	bolt, err := boltstore.Open(filepath.Join(t.TempDir(), "j.db"), time.Second)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { bolt.Close() })
	s := serve(t, bolt.Journal(), bolt)
	a, b := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{})
	note(t, a, "one", "two")
	note(t, b, "three")
	if r := s.round(t, a); r.Sent != 2 || r.Received != 0 {
		t.Errorf("a: %+v", r)
	}
	if r := s.round(t, b); r.Sent != 1 || r.Received != 2 {
		t.Errorf("b: %+v", r)
	}
	if r := s.round(t, a); r.Sent != 0 || r.Received != 1 {
		t.Errorf("a again: %+v", r)
	}
	wantSame(t, s.now(t), a, b)
	for range 2 { // nothing left to do
		if r := s.round(t, a); r.Sent+r.Received+len(r.Refused)+len(r.Bad) != 0 || r.Restart {
			t.Errorf("idle round: %+v", r)
		}
	}
	if unsent(t, a)+unsent(t, b) != 0 {
		t.Error("something is still unsent")
	}
}

func TestAnEmptyDeviceAndAnEmptyServer(t *testing.T) {
	s := serve(t, "j", &memstore.Store{})
	if r := s.round(t, newLedger(t, "a", &memstore.Store{})); r.Sent+r.Received != 0 || r.Restart {
		t.Errorf("%+v", r)
	}
}

func TestBacklogsLongerThanOneRequest(t *testing.T) {
	s := serve(t, "j", &memstore.Store{})
	a, b := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{})
	notes(t, a, 2*MaxEntries+1)
	s.round(t, a)
	// Long notes: the bound in bytes is reached before that in entries.
	for range 75 {
		note(t, b, strings.Repeat("ñ", flybox.MaxNote), strings.Repeat("<", flybox.MaxNote), strings.Repeat("x", flybox.MaxNote), strings.Repeat("y", flybox.MaxNote))
	}
	if r := s.round(t, b); r.Sent != 300 || r.Received != 2*MaxEntries+1 {
		t.Errorf("%+v", r)
	}
	s.round(t, a)
	wantSame(t, s.now(t), a, b)
}

func TestStrangeEntriesKeepTheirBytesThroughTheServer(t *testing.T) {
	s := serve(t, "j", &memstore.Store{})
	a, b := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{})
	strange := storetest.Strange(t, "s")
	if _, bad, err := a.Merge(ctx, []journal.Entry{strange}); err != nil || len(bad) != 0 {
		t.Fatal(bad, err)
	}
	s.round(t, a)
	s.round(t, b)
	got, err := b.Store().Load(ctx)
	if err != nil || len(got) != 1 || !bytes.Equal(got[0].Raw(), strange.Raw()) {
		t.Errorf("got %v (%v)", got, err)
	}
	wantSame(t, s.now(t), a, b)
}

// flaky stands between a device and the server and loses things.
type flaky struct {
	next Doer
	fate func() string // "": let through
}

var errLost = errors.New("no signal")

func (f *flaky) Do(r *http.Request) (*http.Response, error) {
	fate := f.fate()
	if fate == "request lost" {
		return nil, errLost
	}
	if fate == "500" {
		return answer(500, `{"code":"storage-failed"}`), nil
	}
	if fate == "portal" {
		return answer(200, `<html>Please log in</html>`), nil
	}
	if fate == "request twice" {
		raw, err := io.ReadAll(r.Body)
		if err != nil {
			return nil, err
		}
		first := r.Clone(r.Context())
		first.Body = io.NopCloser(bytes.NewReader(raw))
		r.Body = io.NopCloser(bytes.NewReader(raw))
		resp, err := f.next.Do(first)
		if err != nil {
			return nil, err
		}
		resp.Body.Close()
	}
	resp, err := f.next.Do(r)
	if err != nil {
		return nil, err
	}
	switch fate {
	case "reply lost":
		resp.Body.Close()
		return nil, errLost
	case "reply cut short":
		raw, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		if err != nil {
			return nil, err
		}
		resp.Body = io.NopCloser(bytes.NewReader(raw[:len(raw)/2]))
	}
	return resp, nil
}

func answer(status int, body string) *http.Response {
	return &http.Response{StatusCode: status, Header: http.Header{}, Body: io.NopCloser(strings.NewReader(body))}
}

func TestFailuresCostARepeatAndNothingElse(t *testing.T) {
	for fate, want := range map[string]error{"request lost": errLost, "reply lost": errLost, "reply cut short": ErrAnswer, "portal": ErrAnswer, "500": &StatusError{}, "request twice": nil} {
		t.Run(fate, func(t *testing.T) {
			s := serve(t, "j", &memstore.Store{})
			a, b := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{})
			note(t, b, "already there")
			s.round(t, b)
			note(t, a, "one", "two")
			_, err := Round(ctx, &flaky{s.Client(), func() string { return fate }}, s.URL, a)
			var status *StatusError
			switch {
			case want == nil && err != nil, want != nil && err == nil:
				t.Fatalf("error %v, want %v", err, want)
			case errors.As(want, &status):
				if !errors.As(err, &status) || status.Status != 500 || status.Code != CodeStorage {
					t.Fatalf("error %v, want 500", err)
				}
			case !errors.Is(err, want):
				t.Fatalf("error %v, want %v", err, want)
			}
			if err != nil {
				if n := unsent(t, a); n != 2 {
					t.Errorf("%d unsent after a failure, want 2", n)
				}
				if c, _ := a.Store().(journal.Outbox).Cursor(ctx); c.Seq != 0 || c.ID != "" {
					t.Errorf("cursor moved to %+v", c)
				}
				s.round(t, a)
			}
			if n := unsent(t, a); n != 0 {
				t.Errorf("%d unsent, want 0", n)
			}
			s.round(t, b)
			wantSame(t, s.now(t), a, b)
			if size(a) != 3 {
				t.Errorf("%d entries, want 3", size(a))
			}
		})
	}
}

// failing refuses to write for a while.
type failing struct {
	memstore.Store
	broken bool
}

var errFull = errors.New("no space left")

func (f *failing) Append(ctx context.Context, es []journal.Entry) ([]journal.ID, error) {
	if f.broken {
		return nil, errFull
	}
	return f.Store.Append(ctx, es)
}

func (f *failing) AppendFetched(ctx context.Context, es []journal.Entry) (added, replaced []journal.ID, err error) {
	if f.broken {
		return nil, nil, errFull
	}
	return f.Store.AppendFetched(ctx, es)
}

func TestAServerThatCannotWriteConfirmsNothing(t *testing.T) {
	store := &failing{}
	s := serve(t, "j", store)
	var told error
	s.handler.Failed = func(err error) { told = err }
	a := newLedger(t, "a", &memstore.Store{})
	note(t, a, "one")
	store.broken = true
	if _, err := Round(ctx, s.Client(), s.URL, a); err == nil || unsent(t, a) != 1 || !errors.Is(told, errFull) {
		t.Errorf("error %v, server was told %v, unsent %d", err, told, unsent(t, a))
	}
	store.broken = false
	s.round(t, a)
	wantSame(t, s.now(t), a)
}

func TestTheCursorStaysWhereThePhoneCannotWrite(t *testing.T) {
	s := serve(t, "j", &memstore.Store{})
	b := newLedger(t, "b", &memstore.Store{})
	note(t, b, "one")
	s.round(t, b)
	store := &failing{broken: true}
	a := newLedger(t, "a", store)
	if _, err := Round(ctx, s.Client(), s.URL, a); !errors.Is(err, errFull) {
		t.Errorf("error %v, want %v", err, errFull)
	}
	if c, _ := store.Cursor(ctx); c.Seq != 0 || c.ID != "" {
		t.Errorf("cursor moved to %+v", c)
	}
	store.broken = false
	s.round(t, a)
	wantSame(t, s.now(t), a, b)
}

func raw(t *testing.T, text string) journal.Entry {
	t.Helper()
	e, err := journal.ParseEntry([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func TestOneBadEntryHoldsUpNothing(t *testing.T) {
	// A pattern without name, style or size: it can be read but makes no sense.
	nonsense := func(id string) journal.Entry {
		return raw(t, `{"id":"`+id+`","at":"2026-08-14T04:00:00.000Z-0000-x","v":1,"kind":"pattern","body":{}}`)
	}
	t.Run("on the device", func(t *testing.T) {
		s := serve(t, "j", &memstore.Store{})
		store := &memstore.Store{}
		// More of them than one request holds, before a good one.
		for i := range MaxEntries + 10 {
			if _, err := store.Append(ctx, []journal.Entry{nonsense(fmt.Sprint("bad", i))}); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := store.Append(ctx, []journal.Entry{journal.StoredEntry("torn", []byte(`{"id":"torn`))}); err != nil {
			t.Fatal(err)
		}
		a := newLedger(t, "a", store)
		note(t, a, "good")
		r := s.round(t, a)
		if r.Sent != 1 || len(r.Refused) != MaxEntries+11 {
			t.Errorf("sent %d, refused %d", r.Sent, len(r.Refused))
		}
		if r.Refused[0].ID != "bad0" || r.Refused[0].Code != journal.CodeRequired {
			t.Errorf("refused %+v", r.Refused[0])
		}
		if n := unsent(t, a); n != MaxEntries+11 {
			t.Errorf("%d unsent; what was refused must stay", n)
		}
		if size(s.now(t)) != 1 {
			t.Errorf("server has %d entries", size(s.now(t)))
		}
	})
	t.Run("on the server", func(t *testing.T) {
		store := &memstore.Store{}
		s := serve(t, "j", store)
		if _, err := store.Append(ctx, []journal.Entry{nonsense("bad"), journal.StoredEntry("torn", []byte(`{"id`)), storetest.Entry(t, "good", 1)}); err != nil {
			t.Fatal(err)
		}
		a := newLedger(t, "a", &memstore.Store{})
		r := s.round(t, a)
		if r.Received != 1 || len(r.Bad) != 1 || r.Bad[0].ID != "bad" {
			t.Errorf("%+v", r)
		}
		if c, _ := a.Store().(journal.Outbox).Cursor(ctx); c.Seq != 3 {
			t.Errorf("cursor %+v, want to have passed all three", c)
		}
	})
}

// replaced serves another journal in place of the first.
func (s *server) replaced(t *testing.T, journal string, store journal.Store) {
	t.Helper()
	s.handler, s.ledger = &Handler{Into: intake.New(store), Journal: journal}, newLedger(t, "server2", store)
}

func TestAServerThatForgotGetsEverythingAgain(t *testing.T) {
	older := func(entries []journal.Entry) *memstore.Store {
		store := &memstore.Store{}
		if _, err := store.Append(ctx, entries); err != nil {
			t.Fatal(err)
		}
		return store
	}
	for _, name := range []string{"new journal", "older copy", "older copy that went on", "emptied"} {
		t.Run(name, func(t *testing.T) {
			store := &memstore.Store{}
			s := serve(t, "j", store)
			a, b := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{})
			note(t, a, "one", "two", "three")
			s.round(t, a)
			s.round(t, b)
			all, err := store.Load(ctx)
			if err != nil {
				t.Fatal(err)
			}
			switch name {
			case "new journal":
				s.replaced(t, "k", &memstore.Store{})
			case "older copy":
				s.replaced(t, "j", older(all[:1]))
			case "older copy that went on":
				c := newLedger(t, "c", &memstore.Store{})
				note(t, c, "four", "five", "six", "seven")
				s.replaced(t, "j", older(all[:1]))
				s.round(t, c)
			case "emptied":
				s.replaced(t, "j", &memstore.Store{})
			}
			note(t, a, "eight")
			if r := s.round(t, a); !r.Restart {
				t.Errorf("not noticed: %+v", r)
			}
			s.round(t, b)
			if r := s.round(t, a); r.Restart {
				t.Errorf("started again twice: %+v", r)
			}
			s.round(t, b)
			wantSame(t, s.now(t), a, b)
			if unsent(t, a)+unsent(t, b) != 0 {
				t.Error("something is still unsent")
			}
		})
	}
}

// Random histories over a bad line: whatever is lost, repeated or cut, in the
// end all have the same, and nothing recorded is missing.
func TestRandomHistoriesEndAlike(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 1))
		fates := []string{"", "", "", "request lost", "reply lost", "reply cut short", "500", "portal", "request twice"}
		s := serve(t, "j", &memstore.Store{})
		line := &flaky{s.Client(), func() string { return fates[rng.IntN(len(fates))] }}
		var phones []*flybox.Ledger
		for i := range 3 {
			phones = append(phones, newLedger(t, fmt.Sprint("p", i), &memstore.Store{}))
		}
		recorded := 0
		for step := range 120 {
			p := phones[rng.IntN(len(phones))]
			switch rng.IntN(4) {
			case 0, 1:
				n := 1 + rng.IntN(3)
				for range n {
					body := flybox.Body(flybox.Note{ID: journal.ID(fmt.Sprint("n", rng.IntN(10))), Text: fmt.Sprint("at step ", step)})
					switch rng.IntN(3) {
					case 0:
						body = flybox.Deleted{Target: journal.ID(fmt.Sprint("n", rng.IntN(10)))}
					case 1:
						body = flybox.StockMove{Pattern: journal.ID(fmt.Sprint("f", rng.IntN(4))), Delta: 1 + rng.IntN(9), Why: flybox.WhyTied}
					}
					if _, err := p.Record(ctx, body); err != nil {
						t.Fatal(err)
					}
				}
				recorded += n
			case 2:
				_, _ = joined(line, s.URL, p) // may fail: that is the point
			case 3:
				if rng.IntN(10) == 0 { // the server is lost for good
					s.replaced(t, fmt.Sprint("j", step), &memstore.Store{})
				}
			}
		}
		for range 3 {
			for _, p := range phones {
				s.round(t, p)
			}
		}
		wantSame(t, s.now(t), phones[0], phones[1], phones[2])
		if size(phones[0]) != recorded {
			t.Errorf("%d entries, want %d", size(phones[0]), recorded)
		}
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

func TestHandlerChecksWhatIsSent(t *testing.T) {
	ledger := newLedger(t, "server", &memstore.Store{})
	h := &Handler{Into: ledger, Journal: "j"}
	many := `{"entries":[` + strings.Repeat(`{},`, MaxEntries) + `{}]}`
	tests := []struct {
		name, method, media, body string
		status                    int
		code                      string
	}{
		{"read", "GET", "application/json", `{}`, 405, CodeMethod},
		{"form", "POST", "application/x-www-form-urlencoded", `entries=1`, 415, CodeMediaType},
		{"text that is JSON", "POST", "text/plain", `{}`, 415, CodeMediaType},
		{"no media type", "POST", "", `{}`, 415, CodeMediaType},
		{"not JSON", "POST", "application/json", `{"entries":`, 400, CodeBadBody},
		{"wrong types", "POST", "application/json", `{"after":-1}`, 400, CodeBadBody},
		{"too large", "POST", "application/json", `{"journal":"` + strings.Repeat("x", MaxBody) + `"}`, 413, CodeTooLarge},
		{"too many", "POST", "application/json", many, 413, CodeTooMany},
		{"nothing given", "POST", "application/json; charset=utf-8", `{}`, 200, ""},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			r := httptest.NewRequest(tc.method, Path, strings.NewReader(tc.body))
			if tc.media != "" {
				r.Header.Set("Content-Type", tc.media)
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			var f Failure
			if err := json.Unmarshal(w.Body.Bytes(), &f); err != nil {
				t.Errorf("body %q: %v", w.Body, err)
			}
			if w.Code != tc.status || f.Code != tc.code {
				t.Errorf("%d %q, want %d %q", w.Code, f.Code, tc.status, tc.code)
			}
		})
	}
	if size(ledger) != 0 {
		t.Errorf("%d entries came in", size(ledger))
	}
}

func TestEntriesThatCannotBeReadAreNamedByIDAndCode(t *testing.T) {
	ledger := newLedger(t, "server", &memstore.Store{})
	h := &Handler{Into: ledger, Journal: "j"}
	body := `{"entries":[7,{"id":"x"},{"id":"y","at":"2026-08-14T04:00:00.000Z-0000-x","v":1,"kind":"note","body":{"text":"ok"}}]}`
	r := httptest.NewRequest("POST", Path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	var resp Response
	if err := json.Unmarshal(w.Body.Bytes(), &resp); err != nil {
		t.Fatal(err)
	}
	want := []Refused{{"", journal.CodeNotObject}, {"x", journal.CodeNotStamp}}
	if fmt.Sprint(resp.Bad) != fmt.Sprint(want) || fmt.Sprint(resp.Stored) != "[y]" {
		t.Errorf("bad %v, stored %v", resp.Bad, resp.Stored)
	}
}

// A server must not be able to empty an outbox by naming what it was not
// given, nor to keep a device busy for ever.
func TestAnswersThatCannotBeTrue(t *testing.T) {
	a := newLedger(t, "a", &memstore.Store{})
	note(t, a, "one")
	n := 0
	liar := doer(func(r *http.Request) (*http.Response, error) {
		n++
		if n > 50 {
			t.Fatal("goes on for ever")
		}
		return answer(200, `{"journal":"j","stored":["a-99999"],"entries":[],"next":0,"mark":"","more":true}`), nil
	})
	if _, err := Round(ctx, liar, "http://liar.invalid", a); !errors.Is(err, ErrAnswer) {
		t.Errorf("error %v, want ErrAnswer", err)
	}
	if unsent(t, a) != 1 {
		t.Error("the entry left the outbox")
	}
}

type doer func(*http.Request) (*http.Response, error)

func (d doer) Do(r *http.Request) (*http.Response, error) { return d(r) }

// Two servers behind one address, one after the other: what a phone holds of
// one never goes into the other unasked, nor the other way.
func TestTwoLedgersStayApart(t *testing.T) {
	start := func(t *testing.T, kind, journal string, text ...string) (*server, *flybox.Ledger) {
		s := serve(t, journal, &memstore.Store{})
		s.handler.Kind = kind
		note(t, s.now(t), text...)
		return s, s.now(t)
	}
	meet := func(s *server, l *flybox.Ledger) *OtherLedger {
		var other *OtherLedger
		if _, err := Round(ctx, s.Client(), s.URL, l); !errors.As(err, &other) {
			return nil
		}
		return other
	}
	t.Run("demo first, then one's own", func(t *testing.T) {
		demo, _ := start(t, journal.DemoJournal, "d", "invented", "all of it")
		own, _ := start(t, journal.OwnJournal, "o", "mine")
		phone := newLedger(t, "p", &memstore.Store{})
		demo.round(t, phone)
		note(t, phone, "tried out")
		if got := meet(own, phone); got == nil || *got != (OtherLedger{"o", journal.OwnJournal}) {
			t.Fatalf("met %v", got)
		}
		if size(own.now(t)) != 1 || size(phone) != 3 {
			t.Errorf("own ledger has %d entries, the phone %d", size(own.now(t)), size(phone))
		}
		if err := Join(ctx, phone.Store().(journal.Outbox), OtherLedger{"o", journal.OwnJournal}); err == nil {
			t.Error("invented data may be taken along")
		}
	})
	t.Run("own first, then the demo", func(t *testing.T) {
		own, _ := start(t, journal.OwnJournal, "o", "mine")
		demo, _ := start(t, journal.DemoJournal, "d", "invented")
		phone := newLedger(t, "p", &memstore.Store{})
		own.round(t, phone)
		note(t, phone, "private")
		if got := meet(demo, phone); got == nil || got.Kind != journal.DemoJournal {
			t.Fatalf("met %v", got)
		}
		if size(demo.now(t)) != 1 || size(phone) != 2 || unsent(t, phone) != 1 {
			t.Errorf("the demo has %d entries, the phone %d, %d unsent", size(demo.now(t)), size(phone), unsent(t, phone))
		}
		if err := Join(ctx, phone.Store().(journal.Outbox), OtherLedger{"d", journal.DemoJournal}); err == nil {
			t.Error("a ledger may go into the demo")
		}
		own.round(t, phone) // its own server is back
		if unsent(t, phone) != 0 {
			t.Error("the phone did not go on")
		}
	})
	t.Run("written before the first exchange", func(t *testing.T) {
		own, _ := start(t, journal.OwnJournal, "o", "mine")
		demo, _ := start(t, journal.DemoJournal, "d", "invented")
		phone := newLedger(t, "p", &memstore.Store{})
		note(t, phone, "first fly")
		if got := meet(demo, phone); got == nil || size(demo.now(t)) != 1 || size(phone) != 1 {
			t.Errorf("met %v; the demo has %d entries, the phone %d", got, size(demo.now(t)), size(phone))
		}
		own.round(t, phone) // without a question
		if size(own.now(t)) != 2 || size(phone) != 2 {
			t.Errorf("own ledger has %d entries, the phone %d", size(own.now(t)), size(phone))
		}
	})
	t.Run("an older release offers all at once", func(t *testing.T) {
		demo, _ := start(t, journal.DemoJournal, "d", "invented")
		raw := storetest.Entry(t, "private", 1).Raw()
		for _, body := range []string{`{"entries":[%s]}`, `{"journal":"o","after":3,"mark":"x","entries":[%s]}`} {
			r := httptest.NewRequest(http.MethodPost, Path, strings.NewReader(fmt.Sprintf(body, raw)))
			r.Header.Set("Content-Type", "application/json")
			w := httptest.NewRecorder()
			demo.handler.ServeHTTP(w, r)
			if w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), CodeOther) || strings.Contains(w.Body.String(), "entries") {
				t.Errorf("%s: status %d, %s", body, w.Code, w.Body)
			}
		}
		if size(demo.now(t)) != 1 {
			t.Errorf("the demo took it: %d entries", size(demo.now(t)))
		}
	})
}
