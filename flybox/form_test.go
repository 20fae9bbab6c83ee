package flybox_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
)

func formLedger(t *testing.T, device string, store journal.Store) *flybox.Ledger {
	t.Helper()
	l, err := flybox.Open(context.Background(), store, flybox.Options{Device: device, NewID: flybox.RandomID, Now: func() time.Time { return time.Date(2026, 9, 12, 6, 30, 0, 0, time.UTC) }})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func count(l *flybox.Ledger, pattern journal.ID) int {
	return l.State().Count(pattern)
}

func TestAFormCountsOnce(t *testing.T) {
	ctx := t.Context()
	store := &memstore.Store{}
	first, second := formLedger(t, "tab", store), formLedger(t, "tab", store)
	one := flybox.Form{ID: uuid.NewString(), Content: "/box/fly/x/count?count=1"}
	asked := 0
	plan := func(*flybox.State) ([]flybox.Body, error) {
		asked++
		return []flybox.Body{
			flybox.StockMove{Pattern: "p", Delta: 1, Why: flybox.WhyTied}, flybox.StockMove{Pattern: "p", Delta: 2, Why: flybox.WhyTied},
		}, nil
	}
	send := func(name string, l *flybox.Ledger, f flybox.Form, fresh bool, left int) {
		t.Helper()
		got, err := l.RecordForm(ctx, f, plan)
		if err != nil || got != fresh {
			t.Errorf("%s: fresh %v, %v; want %v", name, got, err, fresh)
		}
		if n := count(l, "p"); n != left {
			t.Errorf("%s: %d left, want %d", name, n, left)
		}
	}
	send("the first time", first, one, true, 3)
	send("a double tap", first, one, false, 3)
	send("in another tab, which has not seen it", second, one, false, 3)
	send("after a new start", formLedger(t, "tab", store), one, false, 3)
	if asked != 1 {
		t.Errorf("the plan was asked %d times", asked)
	}
	changed := one
	changed.Content += "0"
	send("changed and sent again", first, changed, true, 6)
	if one.Thing(0) != changed.Thing(0) || one.Thing(0) == one.Thing(1) {
		t.Error("things must be the same for a form, and differ within it")
	}
	send("a request without an id", first, flybox.Form{}, true, 9)
	send("and again", first, flybox.Form{}, true, 12)

	bad := flybox.Form{ID: uuid.NewString()}
	if _, err := first.RecordForm(ctx, bad, func(*flybox.State) ([]flybox.Body, error) {
		return []flybox.Body{flybox.Note{}}, nil
	}); err == nil {
		t.Error("a note without text was taken")
	}
	send("once it is right, the form is taken", first, bad, true, 15)

	for _, id := range []journal.ID{one.Entry(0), one.Entry(1), one.Thing(0)} {
		if !flybox.IsDerived(id) {
			t.Errorf("%s does not look derived", id)
		}
	}
	for _, id := range []journal.ID{journal.ID(uuid.NewString()), "", "note-1", "urn:uuid:" + one.Entry(0), one.Entry(0) + "x"} {
		if flybox.IsDerived(id) {
			t.Errorf("%q looks derived", id)
		}
	}
}

// What a form made here and on the server is as the server has it, whatever
// stood in the records.
func TestTheServersRecordOfAFormStands(t *testing.T) {
	ctx := t.Context()
	server, phone := formLedger(t, "server", &memstore.Store{}), formLedger(t, "phone", &memstore.Store{})
	f := flybox.Form{ID: uuid.NewString()}
	for l, n := range map[*flybox.Ledger]int{server: 2, phone: 5} {
		if _, err := l.RecordForm(ctx, f, func(*flybox.State) ([]flybox.Body, error) {
			return []flybox.Body{flybox.StockMove{Pattern: "p", Delta: n, Why: flybox.WhyTied}}, nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	theirs, _ := server.Store().Load(ctx)
	before := phone.State()
	if _, bad, err := phone.MergeFetched(ctx, theirs); err != nil || len(bad) > 0 {
		t.Fatal(bad, err)
	}
	after := phone.State()
	if n := count(phone, "p"); n != 2 {
		t.Errorf("the phone counts %d, the server 2", n)
	}
	if before == after {
		t.Error("what was worked out from the state before would be shown on")
	}
	if server.State().Digest() != phone.State().Digest() {
		t.Error("the two show different things")
	}
}

func TestAClashOfRandomIDsIsRefused(t *testing.T) {
	ctx := t.Context()
	note := func(id, text string) journal.Entry {
		e, err := flybox.NewEntry(journal.ID(id), journal.Stamp{MS: 1, Device: "x"}, flybox.Note{Text: text})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	id := uuid.NewString()
	for _, row := range []struct {
		name  string
		merge func(*flybox.Ledger, ...journal.Entry) (int, []flybox.Bad, error)
	}{
		{"from a file", func(l *flybox.Ledger, e ...journal.Entry) (int, []flybox.Bad, error) { return l.Merge(ctx, e) }},
		{"from the server", func(l *flybox.Ledger, e ...journal.Entry) (int, []flybox.Bad, error) { return l.MergeFetched(ctx, e) }},
	} {
		t.Run(row.name, func(t *testing.T) {
			l := formLedger(t, "phone", &memstore.Store{})
			if n, bad, err := row.merge(l, note(id, "mine"), note(id, "mine"), note(id, "within one call")); n != 1 || len(bad) != 1 || err != nil {
				t.Fatalf("added %d, refused %v, %v", n, bad, err)
			}
			n, bad, err := row.merge(l, note(id, "theirs"), note(uuid.NewString(), "another"))
			if err != nil || n != 1 || len(bad) != 1 || string(bad[0].ID) != id || bad[0].Code() != journal.CodeIDTaken {
				t.Errorf("added %d, refused %v, %v", n, bad, err)
			}
			if got, _, _ := l.Store().Get(ctx, journal.ID(id)); !strings.Contains(string(got.Raw()), "mine") {
				t.Errorf("kept %s", got.Raw())
			}
		})
	}
}
