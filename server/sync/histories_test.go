package sync

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strconv"
	"strings"
	gosync "sync"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
)

// histories is how many random histories run; DAMPSTONE_SEED runs one alone.
const histories = 2400

// ServerStore gives an empty store for a server. Tests of other packages put
// another one here.
var ServerStore = func(*testing.T) journal.Store { return &memstore.Store{} }

// RunHistories runs the histories with seeds below n.
func RunHistories(t *testing.T, n uint64) {
	for seed := range n {
		if runHistory(t, seed); t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

// world is three phones, one of them with two tabs, and a server, with
// everything that can go wrong between them.
type world struct {
	t   *testing.T
	rng *rand.Rand
	now time.Time // true time

	journal string
	store   journal.Store // of the server
	handler *Handler
	screens *flybox.Ledger
	backups [][]journal.Entry // the server's journal at some moments

	phones []*phone
	late   [][]byte // requests that arrive once more later

	written map[journal.ID][]byte // every record that a phone said was saved
	moves   map[journal.ID]int    // what each fly's count must come to
	order   []journal.ID
	hits    map[string]int

	formN  int
	formed map[journal.ID]bool // entries of forms, which are as the server has them
}

type phone struct {
	store *memstore.Store
	tabs  []*flybox.Ledger
	skew  time.Duration // its clock, against the true time
}

func newWorld(t *testing.T, seed uint64) *world {
	w := &world{
		t: t, rng: rand.New(rand.NewPCG(seed, 3)), now: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC),
		journal: "j0", store: ServerStore(t), written: map[journal.ID][]byte{}, moves: map[journal.ID]int{}, hits: map[string]int{}, formed: map[journal.ID]bool{},
	}
	w.startServer()
	for i := range 3 {
		p := &phone{store: &memstore.Store{}}
		tabs := 1
		if i == 0 {
			tabs = 2
		}
		for tab := range tabs {
			n := 0
			l, err := flybox.Open(ctx, p.store, flybox.Options{
				Device: fmt.Sprint("p", i), // the tabs of a phone are one device
				Now:    func() time.Time { return w.now.Add(p.skew) },
				NewID:  func() journal.ID { n++; return journal.ID(fmt.Sprintf("p%d-%d-%04d", i, tab, n)) },
			})
			if err != nil {
				t.Fatal(err)
			}
			p.tabs = append(p.tabs, l)
		}
		w.phones = append(w.phones, p)
	}
	// One phone's clock is wrong, by as much as a year.
	w.phones[w.rng.IntN(3)].skew = time.Duration(w.rng.IntN(2*365)-365) * 24 * time.Hour
	return w
}

// startServer is the process starting over what its store holds.
func (w *world) startServer() {
	n := 0
	l, err := flybox.Open(ctx, w.store, flybox.Options{Device: "server", Now: func() time.Time { return w.now }, NewID: func() journal.ID { n++; return journal.ID(fmt.Sprint("s", n)) }})
	if err != nil {
		w.t.Fatal(err)
	}
	// Exchanges go past the ledger that the screens have, or into it.
	w.screens = l
	w.handler = &Handler{Into: l, Journal: w.journal}
	if w.rng.IntN(2) == 0 {
		w.handler.Into = intake.New(w.store)
		w.hits["exchange past the ledger"]++
	}
}

func (w *world) serverEntries() []journal.Entry {
	all, err := w.store.Load(ctx)
	if err != nil {
		w.t.Fatal(err)
	}
	return all
}

// fates are what may become of a request; "" is none of it.
var fates = []string{
	"", "", "", "",
	"request lost", "half a request", "500 before", "500 after commit", "reply lost", "half a reply",
	"crash after commit", "portal", "twice", "again later",
}

// Do is the way to the server and back.
func (w *world) Do(r *http.Request) (*http.Response, error) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return nil, err
	}
	fate := fates[w.rng.IntN(len(fates))]
	w.hits[fate]++
	switch fate {
	case "request lost":
		return nil, errLost
	case "half a request":
		w.serve(body[:len(body)/2])
		return nil, errLost
	case "500 before":
		return answer(500, `{"code":"storage-failed"}`), nil
	case "portal":
		return answer(200, `<html>Please log in</html>`), nil
	case "twice":
		w.serve(body)
	case "again later":
		w.late = append(w.late, bytes.Clone(body))
	}
	// What was held up may overtake.
	if len(w.late) > 0 && w.rng.IntN(2) == 0 {
		i := w.rng.IntN(len(w.late))
		w.serve(w.late[i])
		w.late = slices.Delete(w.late, i, i+1)
	}
	got := w.serve(body)
	switch fate {
	case "reply lost":
		return nil, errLost
	case "500 after commit":
		return answer(500, ""), nil
	case "crash after commit":
		w.startServer()
		return nil, errLost
	case "half a reply":
		return answer(got.Code, got.Body.String()[:got.Body.Len()/2]), nil
	}
	return answer(got.Code, got.Body.String()), nil
}

func (w *world) serve(body []byte) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", Path, bytes.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	got := httptest.NewRecorder()
	w.handler.ServeHTTP(got, r)
	return got
}

func (w *world) step() {
	w.now = w.now.Add(time.Duration(w.rng.IntN(120_000)) * time.Millisecond)
	p := w.phones[w.rng.IntN(3)]
	tab := p.tabs[w.rng.IntN(len(p.tabs))]
	switch w.rng.IntN(12) {
	case 0, 1, 2:
		w.record(tab)
	case 3, 4:
		w.form(tab)
	case 5, 6, 7, 8:
		_, err := joined(w, "http://server.invalid", tab)
		w.expected(err)
	case 9: // a tab comes to the front
		if _, err := tab.Refresh(ctx); err != nil {
			w.t.Fatal(err)
		}
	case 10:
		switch w.rng.IntN(4) {
		case 0:
			w.backups = append(w.backups, w.serverEntries())
		case 1:
			if len(w.backups) > 0 {
				w.hits["older backup"]++
				w.restore(w.backups[w.rng.IntN(len(w.backups))])
			}
		case 2:
			if w.rng.IntN(4) == 0 {
				w.hits["new journal"]++
				w.journal = fmt.Sprint("j", w.now.UnixNano())
				w.restore(nil)
			}
		case 3:
			w.startServer()
		}
	case 11: // somebody sets the clock right, or wrong
		p.skew = []time.Duration{0, 0, 365 * 24 * time.Hour, -365 * 24 * time.Hour}[w.rng.IntN(4)]
	}
}

// restore puts the server back to what an older copy of its journal held.
func (w *world) restore(entries []journal.Entry) {
	w.store = ServerStore(w.t)
	if _, err := w.store.Append(ctx, entries); err != nil {
		w.t.Fatal(err)
	}
	w.startServer()
}

func (w *world) record(tab *flybox.Ledger) {
	var bodies []flybox.Body
	for range 1 + w.rng.IntN(3) {
		switch w.rng.IntN(4) {
		case 0:
			bodies = append(bodies, flybox.Deleted{Target: journal.ID(fmt.Sprint("n", w.rng.IntN(5)))})
		case 1:
			move := flybox.StockMove{Pattern: journal.ID(fmt.Sprint("f", w.rng.IntN(3))), Delta: 1 + w.rng.IntN(9), Why: flybox.WhyTied}
			w.moves[move.Pattern] += move.Delta
			bodies = append(bodies, move)
		default:
			bodies = append(bodies, flybox.Note{ID: journal.ID(fmt.Sprint("n", w.rng.IntN(5))), Text: fmt.Sprint("at ", w.now.UnixMilli())})
		}
	}
	entries, err := tab.Record(ctx, bodies...)
	if err != nil {
		w.t.Fatal(err)
	}
	for _, e := range entries {
		w.written[e.ID] = e.Raw()
		w.order = append(w.order, e.ID)
	}
}

// form sends one form one to three times: to a phone, and perhaps again there,
// to another tab or phone, or to the server, before or after. It counts once.
// What each writes differs by its clock and by what it says of itself.
func (w *world) form(tab *flybox.Ledger) {
	w.formN++
	f := flybox.Form{ID: fmt.Sprintf("0198c0de-0000-4000-8000-%012d", w.formN), Content: "/bench/tied?n=2"}
	to := []*flybox.Ledger{tab}
	for range w.rng.IntN(3) {
		other := w.phones[w.rng.IntN(3)]
		switch w.rng.IntN(3) {
		case 0:
			to = append(to, w.screens)
			w.hits["form to the server"]++
		case 1:
			to = append(to, other.tabs[w.rng.IntN(len(other.tabs))])
			w.hits["form to another"]++
		default:
			to = append(to, tab)
			w.hits["form twice"]++
		}
	}
	w.rng.Shuffle(len(to), func(i, j int) { to[i], to[j] = to[j], to[i] })
	move := flybox.StockMove{Pattern: journal.ID(fmt.Sprint("f", w.rng.IntN(3))), Delta: 1 + w.rng.IntN(9), Why: flybox.WhyTied}
	w.moves[move.Pattern] += move.Delta
	for i, l := range to {
		if i > 0 && w.rng.IntN(2) == 0 {
			_, err := joined(w, "http://server.invalid", tab) // in between
			w.expected(err)
		}
		if l == w.screens {
			if _, err := l.Refresh(ctx); err != nil { // as before each request
				w.t.Fatal(err)
			}
		}
		note := flybox.Note{ID: f.Thing(0), Text: fmt.Sprint("sending ", i, " at ", w.now.UnixMilli())}
		if _, err := l.RecordForm(ctx, f, func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{move, note}, nil }); err != nil {
			w.t.Fatal(err)
		}
	}
	for i := range 2 {
		id := f.Entry(i)
		w.written[id], w.formed[id] = nil, true
		w.order = append(w.order, id)
	}
}

// expected wants no other error than those that the line makes.
func (w *world) expected(err error) {
	var status *StatusError
	if err != nil && !errors.Is(err, errLost) && !errors.Is(err, ErrAnswer) && !errors.As(err, &status) {
		w.t.Fatal(err)
	}
}

// settle mends the line and lets everybody exchange until nothing moves.
func (w *world) settle() {
	direct := doer(func(r *http.Request) (*http.Response, error) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return nil, err
		}
		got := w.serve(body)
		return answer(got.Code, got.Body.String()), nil
	})
	for _, late := range w.late {
		w.serve(late)
	}
	for range 8 {
		moved := 0
		for _, p := range w.phones {
			for _, tab := range p.tabs {
				report, err := joined(direct, "http://server.invalid", tab)
				if err != nil {
					w.t.Fatal(err)
				}
				if len(report.Refused)+len(report.Bad) > 0 {
					w.t.Fatalf("refused %v, bad %v", report.Refused, report.Bad)
				}
				n, err := tab.Refresh(ctx)
				if err != nil {
					w.t.Fatal(err)
				}
				moved += report.Sent + report.Received + n
				if report.Restart {
					moved++
				}
			}
		}
		if moved == 0 {
			return
		}
	}
	w.t.Fatal("eight rounds of everybody, and still something moves")
}

// check wants everywhere the same, byte for byte, nothing lost and nothing
// doubled.
func (w *world) check() {
	for _, e := range w.serverEntries() {
		if w.formed[e.ID] {
			w.written[e.ID] = e.Raw()
		}
	}
	holds := func(what string, store journal.Store) {
		all, err := store.Load(ctx)
		if err != nil {
			w.t.Fatal(err)
		}
		if len(all) != len(w.written) {
			w.t.Errorf("%s holds %d entries, want %d", what, len(all), len(w.written))
		}
		seen := map[journal.ID]bool{}
		for _, e := range all {
			if seen[e.ID] {
				w.t.Errorf("%s holds %s twice", what, e.ID)
			}
			seen[e.ID] = true
			if !bytes.Equal(e.Raw(), w.written[e.ID]) {
				w.t.Errorf("%s changed %s", what, e.ID)
			}
		}
	}
	holds("server", w.store)
	if _, err := w.screens.Refresh(ctx); err != nil {
		w.t.Fatal(err)
	}
	want := w.screens.State().CanonicalJSON()
	for i, p := range w.phones {
		holds(fmt.Sprint("phone ", i), p.store)
		if n, _ := p.store.CountUnsent(ctx); n != 0 {
			w.t.Errorf("phone %d still has %d unsent", i, n)
		}
		for _, tab := range p.tabs {
			s := tab.State()
			if !bytes.Equal(s.CanonicalJSON(), want) {
				w.t.Errorf("phone %d shows something else than the server", i)
			}
			for fly, n := range w.moves {
				if s.Count(fly) != n {
					w.t.Errorf("phone %d counts %d of %s, want %d", i, s.Count(fly), fly, n)
				}
			}
		}
	}
}

func runHistory(t *testing.T, seed uint64) map[string]int {
	w := newWorld(t, seed)
	for range 60 {
		w.step()
	}
	w.settle()
	w.check()
	return w.hits
}

// Whatever is lost, repeated, reordered, cut in half or restored, in the end
// all hold the same bytes, with nothing lost and nothing doubled.
func TestHistoriesConverge(t *testing.T) {
	if text := os.Getenv("DAMPSTONE_SEED"); text != "" {
		seed, err := strconv.ParseUint(text, 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		runHistory(t, seed)
		return
	}
	const workers = 4
	n := histories
	if testing.Short() {
		n /= 10
	}
	t.Logf("seeds 0 to %d; run one alone with DAMPSTONE_SEED=n", n-1)
	var mu gosync.Mutex
	hits := map[string]int{}
	t.Run("seeds", func(t *testing.T) {
		for worker := range workers {
			t.Run(fmt.Sprint("from ", worker), func(t *testing.T) {
				t.Parallel()
				for seed := uint64(worker); seed < uint64(n); seed += workers {
					found := runHistory(t, seed)
					if t.Failed() {
						t.Fatalf("seed %d", seed)
					}
					mu.Lock()
					for fate, k := range found {
						hits[fate] += k
					}
					mu.Unlock()
				}
			})
		}
	})
	// A fault that never happened was not tried.
	for _, fate := range append(slices.Clone(fates), "older backup", "new journal", "form to the server", "form to another", "form twice") {
		if hits[fate] < n/20 {
			t.Errorf("%q came up %d times in %d histories", fate, hits[fate], n)
		}
	}
	t.Log(strings.ReplaceAll(fmt.Sprint(hits), "map", "what came up: "))
}

// A server restored from an older copy may grow until, where a phone stopped
// reading, the very same entry stands again, with something else before it.
func TestAnOlderCopyThatGrewAlikeAtTheMarkIsNoticed(t *testing.T) {
	store := &memstore.Store{}
	s := serve(t, "j", store)
	a, b, c := newLedger(t, "a", &memstore.Store{}), newLedger(t, "b", &memstore.Store{}), newLedger(t, "c", &memstore.Store{})
	note(t, a, "first")
	s.round(t, a)
	backup, err := store.Load(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	note(t, b, "only b has this")
	s.round(t, b)
	note(t, a, "the mark")
	// What a gives arrives, the answer does not.
	if _, err := Round(ctx, &flaky{s.Client(), func() string { return "reply lost" }}, s.URL, a); !errors.Is(err, errLost) {
		t.Fatal(err)
	}
	s.round(t, b)

	older := &memstore.Store{}
	if _, err := older.Append(ctx, backup); err != nil {
		t.Fatal(err)
	}
	s.replaced(t, "j", older)
	note(t, c, "in between")
	s.round(t, c)
	s.round(t, a)
	for range 2 {
		for _, l := range []*flybox.Ledger{a, b, c} {
			s.round(t, l)
		}
	}
	wantSame(t, s.now(t), a, b, c)
	if size(a) != 4 {
		t.Errorf("%d entries, want 4", size(a))
	}
}
