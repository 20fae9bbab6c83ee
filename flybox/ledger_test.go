package flybox_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	. "dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
)

var (
	ctx  = context.Background()
	dawn = time.Date(2026, 8, 14, 5, 12, 9, 0, time.UTC)
)

// options gives a device whose clock stands at *now and whose ids count up.
func options(device string, now *time.Time) Options {
	n := 0
	return Options{Device: device, Now: func() time.Time { return *now }, NewID: func() journal.ID { n++; return journal.ID(fmt.Sprintf("%s-%d", device, n)) }}
}

func open(t *testing.T, device string, store journal.Store, now *time.Time) *Ledger {
	t.Helper()
	l, err := Open(ctx, store, options(device, now))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func record(t *testing.T, l *Ledger, bodies ...Body) []journal.Entry {
	t.Helper()
	es, err := l.Record(ctx, bodies...)
	if err != nil {
		t.Fatal(err)
	}
	return es
}

func merge(t *testing.T, to, from *Ledger) {
	t.Helper()
	es, err := from.Store().Load(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if _, bad, err := to.Merge(ctx, es); err != nil || len(bad) > 0 {
		t.Fatal(bad, err)
	}
}

func name(l *Ledger, id journal.ID) (n string) {
	s := l.State()
	f, _ := s.Pattern(id)
	n = f.Name
	return n
}

func digest(l *Ledger) string {
	return l.State().Digest()
}

func ant(id, name string) Pattern {
	return Pattern{ID: journal.ID(id), Name: name, Style: Ant, Hook: 14}
}

func TestWhatIsRecordedIsInTheStoreAndInTheState(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	l := open(t, "a", store, &now)
	es := record(t, l, ant("p", "  Black ant "), StockMove{Pattern: "p", Delta: 6, Why: WhyTied})
	if len(es) != 2 || es[0].ID != "a-1" || es[1].At.Compare(es[0].At) <= 0 {
		t.Errorf("%v", es)
	}
	if name(l, "p") != "Black ant" {
		t.Errorf("name %q", name(l, "p"))
	}
	again := open(t, "b", store, &now)
	if digest(again) != digest(l) {
		t.Error("another state after opening again")
	}
	if next := record(t, again, Note{Text: "x"}); next[0].At.Compare(es[1].At) <= 0 {
		t.Errorf("stamp %s after %s", next[0].At, es[1].At)
	}
	if es, err := l.Record(ctx); err != nil || es != nil {
		t.Errorf("nothing recorded gives %v, %v", es, err)
	}
}

func TestAnInvalidBodyRecordsNothing(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	l := open(t, "a", store, &now)
	_, err := l.Record(ctx, Note{Text: "fine"}, Pattern{Name: "x", Style: Ant, Hook: 99})
	var problems journal.Problems
	if !errors.As(err, &problems) || problems.Field("1.hook") == nil {
		t.Errorf("error %v", err)
	}
	if es, _ := store.Load(ctx); len(es) != 0 {
		t.Errorf("%d entries", len(es))
	}
}

type fullStore struct {
	memstore.Store
	full bool
}

var errFull = errors.New("no space left")

func (f *fullStore) Append(ctx context.Context, es []journal.Entry) ([]journal.ID, error) {
	if f.full {
		return nil, errFull
	}
	return f.Store.Append(ctx, es)
}

func TestWhatCouldNotBeStoredIsNotShown(t *testing.T) {
	now, store := dawn, &fullStore{full: true}
	l := open(t, "a", store, &now)
	before := digest(l)
	if _, err := l.Record(ctx, ant("p", "x")); !errors.Is(err, errFull) {
		t.Errorf("error %v", err)
	}
	if _, _, err := l.Merge(ctx, []journal.Entry{must(NewEntry("e", journal.Stamp{MS: 1, Device: "b"}, Note{Text: "x"}))}); !errors.Is(err, errFull) {
		t.Errorf("error %v", err)
	}
	if digest(l) != before {
		t.Error("shown although it is not stored")
	}
	store.full = false
	record(t, l, ant("p", "x"))
	if name(l, "p") != "x" {
		t.Error("not shown although it is stored")
	}
}

func must(e journal.Entry, err error) journal.Entry {
	if err != nil {
		panic(err)
	}
	return e
}

func TestAPhoneAYearAheadHidesNoLaterEdit(t *testing.T) {
	right, wrong := dawn, dawn.AddDate(1, 0, 0)
	a, b := open(t, "a", &memstore.Store{}, &right), open(t, "b", &memstore.Store{}, &wrong)
	record(t, b, ant("p", "from the year to come"), Slot{Place: Place{"box", 1, 1}, Pattern: "p", Want: 3}, ant("q", "doomed"))
	tied := record(t, b, StockMove{Pattern: "p", Delta: 9, Why: WhyTied})
	merge(t, a, b)
	right = right.Add(time.Minute)
	record(t, a, ant("p", "put right"), ant("p", "and again"), Slot{Place: Place{"box", 1, 1}, Pattern: "p", Want: 5}, Deleted{Target: "q"}, Deleted{Target: tied[0].ID})
	// What is new is stamped with the right time.
	if es := record(t, a, Note{Text: "x"}); es[0].At.Time().Year() != 2026 {
		t.Errorf("a new note is stamped %s", es[0].At)
	}
	merge(t, b, a)
	for _, l := range []*Ledger{a, b, open(t, "c", b.Store(), &right)} {
		if n := name(l, "p"); n != "and again" {
			t.Errorf("name %q", n)
		}
		s := l.State()
		if c := s.Cell(Place{"box", 1, 1}).Contents; len(c) != 1 || c[0].Want != 5 {
			t.Errorf("slot %+v", c)
		}
		if _, ok := s.Pattern("q"); ok || s.Count("p") != 0 {
			t.Errorf("deletions did not hold: q %v, %d of p", ok, s.Count("p"))
		}
	}
	if digest(a) != digest(b) {
		t.Error("states differ")
	}
	// The wrong phone, put right, edits once more.
	wrong = right.Add(time.Minute)
	record(t, b, ant("p", "the last word"))
	record(t, b, ant("q", "back again"), Deleted{Target: "q"})
	merge(t, a, b)
	record(t, a, ant("q", "back again"))
	if name(a, "q") != "back again" {
		t.Error("an edit made after a deletion is hidden by it")
	}
	back := record(t, a, ant("q", "back again"), ant("q", "back again"))
	if back[1].At.Compare(back[0].At) <= 0 {
		t.Errorf("two edits of one thing are stamped %s and %s", back[0].At, back[1].At)
	}
	if name(a, "p") != "the last word" || name(a, "q") != "back again" {
		t.Errorf("names %q and %q", name(a, "p"), name(a, "q"))
	}
}

func TestAPhoneAYearBehindStillEdits(t *testing.T) {
	right, wrong := dawn, dawn.AddDate(-1, 0, 0)
	a, b := open(t, "a", &memstore.Store{}, &right), open(t, "b", &memstore.Store{}, &wrong)
	record(t, a, ant("p", "first"))
	merge(t, b, a)
	record(t, b, ant("p", "second"))
	merge(t, a, b)
	if name(a, "p") != "second" || digest(a) != digest(b) {
		t.Errorf("name %q", name(a, "p"))
	}
}

func TestMergeSetsBadEntriesAsideAndKeepsTheRest(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	l := open(t, "a", store, &now)
	parse := func(raw string) journal.Entry {
		e, err := journal.ParseEntry([]byte(raw))
		return must(e, err)
	}
	good := parse(`{"id":"g","at":"2026-08-14T05:00:00.000Z-0000-b","v":1,"kind":"note","body":{"text":"x"}}`)
	es := []journal.Entry{
		parse(`{"id":"b1","at":"2026-08-14T05:00:00.000Z-0000-b","v":1,"kind":"note","body":{"text":7}}`),
		good,
		parse(`{"id":"b2","at":"2026-08-14T05:00:00.000Z-0000-b","v":1,"kind":"stock","body":{"pattern":"p","delta":1000000,"why":"tied"}}`),
		journal.StoredEntry("b3", []byte("torn")),
		parse(`{"id":"n","at":"2026-08-14T05:00:00.000Z-0000-b","v":1,"kind":"moon","body":{}}`),
		good,
	}
	added, bad, err := l.Merge(ctx, es)
	if err != nil || added != 2 || len(bad) != 3 {
		t.Fatalf("added %d, bad %v, %v", added, bad, err)
	}
	for i, want := range []string{journal.CodeNotJSON, journal.CodeRange, journal.CodeUnreadable} {
		if string(bad[i].ID) != fmt.Sprint("b", i+1) || bad[i].Code() != want {
			t.Errorf("bad %s %s, want b%d %s", bad[i].ID, bad[i].Code(), i+1, want)
		}
	}
	if kept, _ := store.Load(ctx); len(kept) != 2 {
		t.Errorf("%d kept", len(kept))
	}
	if added, _, err := l.Merge(ctx, es); err != nil || added != 0 {
		t.Errorf("added %d again, %v", added, err)
	}
}

func TestFetchedEntriesNeedNotBeSent(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	l := open(t, "a", store, &now)
	e := must(NewEntry("e", journal.Stamp{MS: dawn.UnixMilli(), Device: "b"}, Note{Text: "x"}))
	f := must(NewEntry("f", journal.Stamp{MS: dawn.UnixMilli(), Device: "b"}, Note{Text: "y"}))
	if _, _, err := l.MergeFetched(ctx, []journal.Entry{e}); err != nil {
		t.Fatal(err)
	}
	if n, _ := store.CountUnsent(ctx); n != 0 {
		t.Errorf("%d unsent", n)
	}
	if _, _, err := l.Merge(ctx, []journal.Entry{f}); err != nil {
		t.Fatal(err)
	}
	if n, _ := store.CountUnsent(ctx); n != 1 {
		t.Errorf("%d unsent, want what came by file", n)
	}
}

func TestRefreshTakesInWhatAnotherTabRecorded(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	one, two := open(t, "a", store, &now), open(t, "b", store, &now)
	record(t, one, ant("p", "from tab one"))
	record(t, two, Note{Text: "from tab two"})
	for range 2 {
		if _, err := one.Refresh(ctx); err != nil {
			t.Fatal(err)
		}
	}
	n, err := two.Refresh(ctx)
	if err != nil || n != 1 || name(two, "p") != "from tab one" || digest(one) != digest(two) {
		t.Errorf("%d new, %v, name %q", n, err, name(two, "p"))
	}
}

func TestConcurrentRecordsAreAllKept(t *testing.T) {
	now, store := dawn, &memstore.Store{}
	var mu sync.Mutex
	opt := options("a", &now)
	id := opt.NewID
	opt.NewID = func() journal.ID { mu.Lock(); defer mu.Unlock(); return id() }
	l, err := Open(ctx, store, opt)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 50 {
				// Each takes one more than it sees: none may be overwritten.
				_, err := l.RecordWith(ctx, func(s *State) ([]Body, error) {
					return []Body{acts.Counted(s, "p", Loose, s.Count("p")+1)}, nil
				})
				if err != nil {
					t.Error(err)
				}
				l.State().Patterns()
				if _, err := l.Refresh(ctx); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	s := l.State()
	if s.Count("p") != 200 {
		t.Errorf("%d, want 200", s.Count("p"))
	}
}

func TestOpenRefusesWhatCannotWork(t *testing.T) {
	now := dawn
	for name, opt := range map[string]Options{
		"no device":  options("", &now),
		"bad device": options("My Phone", &now),
		"no clock":   {Device: "a", NewID: func() journal.ID { return "x" }},
		"no ids":     {Device: "a", Now: func() time.Time { return now }},
	} {
		if _, err := Open(ctx, &memstore.Store{}, opt); err == nil {
			t.Errorf("%s: opened", name)
		}
	}
	stopped, stop := context.WithCancel(ctx)
	stop()
	if _, err := Open(stopped, &memstore.Store{}, options("a", &now)); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestASourceOfBadIDsIsReported(t *testing.T) {
	now := dawn
	for _, id := range []journal.ID{"", "always the same", "same"} {
		opt := options("a", &now)
		opt.NewID = func() journal.ID { return id }
		l, err := Open(ctx, &memstore.Store{}, opt)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.Record(ctx, Note{Text: "x"}, Note{Text: "y"}); err == nil {
			t.Errorf("%q: recorded", id)
		}
		if es, _ := l.Store().Load(ctx); len(es) != 0 {
			t.Errorf("%q: %d entries stored", id, len(es))
		}
	}
}
