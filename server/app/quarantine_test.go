package app

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/app/setup"
	"dampstone/server/sync"
)

// putRaw puts records into the ledger's store as a fault would have.
func (b *fixture) putRaw(entries ...journal.Entry) {
	b.Helper()
	if _, err := b.ledger.Store().Append(b.Context(), entries); err != nil {
		b.Fatal(err)
	}
	if _, err := b.ledger.Refresh(b.Context()); err != nil {
		b.Fatal(err)
	}
}

func parsed(t *testing.T, raw string) journal.Entry {
	t.Helper()
	e, err := journal.ParseEntry([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

const (
	tooMany = `{"id":"too-many","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"stock","body":{"pattern":"p","delta":5000,"why":"lost"}}`
	later   = `{"id":"from-later","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"moon-phase","body":{}}`
	fine    = `{"id":"fine","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"note","body":{"text":"<b>Seam</b> below the bend"}}`
)

func TestNothingIsSetQuarantine(t *testing.T) {
	b := newFixture(t, true)
	if text := b.get(setup.QuarantinePath, http.StatusOK).text(); !strings.Contains(text, "Nothing is set aside") {
		t.Error(text)
	}
	if text := b.get("/setup", http.StatusOK).text(); strings.Contains(text, "set aside") {
		t.Error("Setup speaks of entries that were set aside")
	}
}

func TestWhatWasSetQuarantineIsShownAndComesAsAFile(t *testing.T) {
	b := newFixture(t, true)
	damaged := journal.StoredEntry("damaged", []byte("\xff{not json"))
	b.putRaw(parsed(t, tooMany), parsed(t, later), parsed(t, fine), damaged)
	b.app.Sync = func(context.Context) screen.SyncStatus {
		return screen.SyncStatus{Waiting: 2, Quarantine: sync.Quarantine{
			Refused: []sync.Refused{{ID: "fine", Code: "strange-code"}, {ID: "too-many", Code: journal.CodeRange}, {ID: "gone", Code: journal.CodeRange}},
			Untaken: []sync.Refused{{ID: "theirs", Code: journal.CodeUnreadable}},
		}}
	}
	if text := b.get("/setup", http.StatusOK).text(); !strings.Contains(text, "5 entries were set aside") {
		t.Errorf("Setup does not say how many: %s", text)
	}
	text := b.get(setup.QuarantinePath, http.StatusOK).text()
	for _, want := range []string{
		"1 entry was written by a newer version",
		"Only on this phone", "A note", "It makes no sense (strange-code).", "<b>Seam</b> below the bend", "Entry gone",
		"Only on the server", "Entry theirs", "It is damaged and cannot be read.",
		"Cannot be used", "Flies that came or went", "A number in it is larger or smaller than it may be.", `"delta":5000`, "Entry damaged", "\uFFFD{not json",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the screen lacks %q", want)
		}
	}
	if n := strings.Count(text, `"delta":5000`); n != 1 {
		t.Errorf("an entry that is refused and broken is shown %d times", n)
	}
	w := b.do(httptest.NewRequest("GET", setup.QuarantineFilePath, nil))
	want := fine + "\n" + "\xff{not json\n" + tooMany + "\n"
	if w.Code != http.StatusOK || w.Body.String() != want || !strings.HasPrefix(w.Header().Get("Content-Disposition"), "attachment; filename=dampstone-quarantine-2026-09-12.jsonl") {
		t.Errorf("status %d, %v\n%q, want\n%q", w.Code, w.Header(), w.Body, want)
	}
	b.prefs = "lang=es"
	if text := b.get(setup.QuarantinePath, http.StatusOK).text(); !strings.Contains(text, "Moscas que entraron o salieron") {
		t.Error("not in Spanish")
	}
}
