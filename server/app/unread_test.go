package app

import (
	"net/http"
	"strings"
	"testing"
)

// A ledger that could not be read must not look empty.
func TestAnUnreadLedgerIsNotShownAsEmpty(t *testing.T) {
	b := newFixture(t, false)
	b.app.Phone, b.app.NoStore, b.app.Unread = true, true, true
	for _, path := range []string{"/box", "/box/new", "/hatch/claassenia", "/setup/safe", "/setup/safe/ledger"} {
		page := b.get(path, http.StatusServiceUnavailable)
		if text := page.text(); !strings.Contains(text, "It is not empty, and nothing was deleted") {
			t.Errorf("%s says %s", path, text)
		}
	}
	if w := b.send("/box/new", "name", "x"); w.Code != http.StatusServiceUnavailable {
		t.Errorf("saving: status %d", w.Code)
	}
	for _, path := range []string{"/", "/setup", "/shell/blank"} {
		b.get(path, http.StatusOK)
	}
}
