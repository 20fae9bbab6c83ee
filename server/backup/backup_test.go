package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
)

var made = time.Date(2026, 8, 14, 5, 12, 9, 0, time.UTC)

func ledger(t testing.TB, entries ...journal.Entry) *flybox.Ledger {
	t.Helper()
	store := &memstore.Store{}
	if _, err := store.Append(t.Context(), entries); err != nil {
		t.Fatal(err)
	}
	n := 0
	l, err := flybox.Open(t.Context(), store, flybox.Options{Device: "d", Now: func() time.Time { return made }, NewID: func() journal.ID { n++; return journal.ID(fmt.Sprint("new", n)) }})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func digest(l *flybox.Ledger) string {
	return l.State().Digest()
}

func export(t testing.TB, l *flybox.Ledger) string {
	t.Helper()
	var buf bytes.Buffer
	if err := Write(t.Context(), &buf, l.Store(), false, made); err != nil {
		t.Fatal(err)
	}
	return buf.String()
}

func season(t testing.TB) []journal.Entry {
	t.Helper()
	entries, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	return append(entries, storetest.Strange(t, "strange"))
}

func TestAFileGivesTheSameLedgerAgain(t *testing.T) {
	from := ledger(t, season(t)...)
	file := export(t, from)
	first, _, _ := strings.Cut(file, "\n")
	if want := fmt.Sprintf(`{"dampstone":"ledger","v":1,"made":"2026-08-14T05:12:09Z","entries":%d}`, len(season(t))); first != want {
		t.Errorf("first line %s, want %s", first, want)
	}
	to := ledger(t)
	for i, want := range []int{len(season(t)), 0} { // the second time nothing is new
		report, err := Read(t.Context(), strings.NewReader(file), to, false)
		if err != nil || report.Added != want || report.Read != len(season(t)) || report.BadCount+report.Missing != 0 {
			t.Errorf("time %d: %+v, %v", i+1, report, err)
		}
	}
	if digest(to) != digest(from) || export(t, to) != file {
		t.Error("what came out is not what went in")
	}
}

func TestAFileMergesIntoALedgerThatWentOn(t *testing.T) {
	all := season(t)
	file := export(t, ledger(t, all[:100]...))
	here := ledger(t, all[60:]...)
	report, err := Read(t.Context(), strings.NewReader(file), here, false)
	if err != nil || report.Added != 60 || report.Read != 100 {
		t.Errorf("%+v, %v", report, err)
	}
	if digest(here) != digest(ledger(t, all...)) {
		t.Error("the two together are not the whole")
	}
}

func TestWhatAFileMayBeLike(t *testing.T) {
	good := func(id journal.ID) string { return string(storetest.Entry(t, id, 1).Raw()) }
	header := func(n int) string {
		return fmt.Sprintf(`{"dampstone":"ledger","v":1,"made":"2026-08-14T05:12:09Z","entries":%d}`, n)
	}
	nonsense := `{"id":"bad","at":"2026-08-14T04:00:00.000Z-0000-x","v":1,"kind":"pattern","body":{}}`
	for _, tc := range []struct {
		name string
		file string
		want Report
		err  error
	}{
		{"empty", "", Report{}, nil},
		{"a header alone", header(0), Report{}, nil},
		{"lines of Windows, a mark at the start, no end of line at the end", "\xef\xbb\xbf" + header(2) + "\r\n" + good("a") + "\r\n\r\n" + good("b"), Report{Read: 2, Added: 2}, nil},
		{"the header lost", good("a") + "\n" + good("b") + "\n", Report{Read: 2, Added: 2}, nil},
		{"one bad line between good ones", header(3) + "\n" + good("a") + "\n{\"id\":\n" + good("b"), Report{Read: 2, Added: 2, BadCount: 1, Bad: []Bad{{3, "", journal.CodeNotJSON}}}, nil},
		{"an entry that makes no sense", header(2) + "\n" + nonsense + "\n" + good("a"), Report{Read: 1, Added: 1, BadCount: 1, Bad: []Bad{{2, "bad", journal.CodeRequired}}}, nil},
		{"an entry twice", header(2) + "\n" + good("a") + "\n" + good("a"), Report{Read: 2, Added: 1}, nil},
		{"cut off in a line", header(3) + "\n" + good("a") + "\n" + good("b")[:40], Report{Read: 1, Added: 1, BadCount: 1, Bad: []Bad{{3, "", journal.CodeNotJSON}}, Missing: 1}, nil},
		{"a line without end", header(2) + "\n" + strings.Repeat("x", 3*journal.MaxEntryBytes) + "\n" + good("a"), Report{Read: 1, Added: 1, BadCount: 1, Bad: []Bad{{2, "", journal.CodeTooLong}}}, nil},
		{"another program's", "<html>\n" + good("a"), Report{}, ErrNotOurs},
		{"a photograph", "\xff\xd8\xff\xe0\x00\x10JFIF", Report{}, ErrNotOurs},
		{"a newer version's", `{"dampstone":"ledger","v":2}` + "\n" + good("a"), Report{}, ErrNewer},
		{"a future kind of file", `{"dampstone":"chart","v":1}` + "\n" + good("a"), Report{}, ErrNotOurs},
		{"a backup of two people: only the first is taken", `{"dampstone":"backup","v":1,"entries":2}` + "\n" + `{"ledger":"p1","name":"One","entries":1}` + "\n" + good("a") + "\n" + `{"ledger":"p2","name":"Two","entries":1}` + "\n" + good("b"),
			Report{Read: 1, Added: 1, BadCount: 1, Bad: []Bad{{5, "b", CodeLedger}}}, nil},
	} {
		t.Run(tc.name, func(t *testing.T) {
			l := ledger(t)
			got, err := Read(t.Context(), strings.NewReader(tc.file), l, false)
			if fmt.Sprint(got) != fmt.Sprint(tc.want) || !errors.Is(err, tc.err) {
				t.Errorf("got %+v, %v\nwant %+v, %v", got, err, tc.want, tc.err)
			}
			n := l.State().Len()
			if n != tc.want.Added {
				t.Errorf("the ledger has %d entries, want %d", n, tc.want.Added)
			}
		})
	}
}

// A reader that breaks in the middle has given what came before.
func TestWhatCameBeforeABreakIsKept(t *testing.T) {
	file := export(t, ledger(t, season(t)...))
	broken := errors.New("the card was pulled out")
	l := ledger(t)
	report, err := Read(t.Context(), io.MultiReader(strings.NewReader(file[:len(file)/2]), failing{broken}), l, false)
	if !errors.Is(err, broken) || report.Added == 0 {
		t.Errorf("%+v, %v", report, err)
	}
	if report, err := Read(t.Context(), strings.NewReader(file), l, false); err != nil || report.Read != len(season(t)) {
		t.Errorf("again: %+v, %v", report, err)
	}
	if digest(l) != digest(ledger(t, season(t)...)) {
		t.Error("not the whole")
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

func TestBackupKeepsPeopleApart(t *testing.T) {
	all := season(t)
	a, b := ledger(t, all[:50]...), ledger(t, all[50:]...)
	many := Marks{Gave: []journal.ID{"g"}}
	for i := range 2*markIDs + 1 { // ids as long as they may be
		many.Came = append(many.Came, journal.ID(fmt.Sprintf("%0*d", journal.MaxIDBytes, i)))
	}
	var buf bytes.Buffer
	if err := WriteBackup(t.Context(), &buf, []Part{
		{ID: "pa", Name: "Ana", Shares: true, Store: a.Store(), Marks: func() (Marks, error) { return many, nil }},
		{ID: "pb", Name: "Bo & Co", Store: b.Store()},
	}, made); err != nil {
		t.Fatal(err)
	}
	back := map[string]*flybox.Ledger{}
	var sections []Section
	var marks Marks
	before := 0
	report, err := ReadBackup(t.Context(), &buf, func(s Section) (Target, error) {
		sections = append(sections, s)
		back[s.Ledger] = ledger(t)
		return Target{
			Into: back[s.Ledger],
			Mark: func(m Marks) error {
				if s.Ledger != "pa" {
					t.Errorf("marks of %s: %v", s.Ledger, m)
				}
				marks.Came, marks.Gave = append(marks.Came, m.Came...), append(marks.Gave, m.Gave...)
				return nil
			},
			Before: func(entries []journal.Entry) error {
				if s.Ledger == "pa" && len(marks.Came) != len(many.Came) {
					t.Error("entries come before what marks them")
				}
				before += len(entries)
				return nil
			},
		}, nil
	})
	if err != nil || report.Added != len(all) || before != len(all) || report.BadCount+report.Missing != 0 {
		t.Errorf("%+v, %v; %d were announced", report, err, before)
	}
	if want := []Section{{"pa", "Ana", true, 50}, {"pb", "Bo & Co", false, len(all) - 50}}; fmt.Sprint(sections) != fmt.Sprint(want) {
		t.Errorf("sections %v, want %v", sections, want)
	}
	if !slices.Equal(marks.Came, many.Came) || !slices.Equal(marks.Gave, many.Gave) {
		t.Errorf("%d and %d marks came back, want %d and %d", len(marks.Came), len(marks.Gave), len(many.Came), len(many.Gave))
	}
	if digest(back["pa"]) != digest(a) || digest(back["pb"]) != digest(b) {
		t.Error("a ledger came back different")
	}
}

// FuzzRead: any file ends in a report or an error of its own, and reading it
// twice adds nothing.
func FuzzRead(f *testing.F) {
	file := export(f, ledger(f, season(f)[:5]...))
	f.Add([]byte(file))
	f.Add([]byte(file[:len(file)/2]))
	for _, seed := range []string{"", "\n", "{", `{"dampstone":"ledger","v":1}`, `{"dampstone":"backup","v":1}` + "\n" + `{"ledger":"x"}` + "\n{}\n", "\xef\xbb\xbf{}", strings.Repeat("x", 70000)} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		l := ledger(t)
		first, err := Read(context.Background(), bytes.NewReader(file), l, false)
		if err != nil {
			if !errors.Is(err, ErrNotOurs) && !errors.Is(err, ErrNewer) {
				t.Fatal(err)
			}
			return
		}
		n := l.State().Len()
		if n != first.Added || first.Read < first.Added {
			t.Errorf("%d in the ledger, report %+v", n, first)
		}
		again, err := Read(context.Background(), bytes.NewReader(file), l, false)
		if err != nil || again.Added != 0 || again.Read != first.Read {
			t.Errorf("again: %+v, %v; first %+v", again, err, first)
		}
	})
}
