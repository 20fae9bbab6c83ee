package app

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"dampstone/server/app/screen"
	"dampstone/server/sync"
)

// TestExchangeIsSaid: each outcome of an exchange has its sentence, in the head
// of every screen and as a part alone; the binary says nothing.
func TestExchangeIsSaid(t *testing.T) {
	b := newFixture(t, true)
	if text := b.get("/box", http.StatusOK).text(); strings.Contains(text, "backed up") {
		t.Error("the binary speaks of an exchange with itself")
	}
	for _, tc := range []struct {
		name, state, en, es string
		status              screen.SyncStatus
	}{
		{"all is there", "none", "Everything is backed up", "Todo tiene copia", screen.SyncStatus{}},
		{"all is there, no signal", "none", "Everything is backed up", "Todo tiene copia", screen.SyncStatus{Away: true}},
		{"the share is nearly used up", "nearly", "Everything is backed up; your share of the server is nearly used up", "Todo tiene copia; tu parte del servidor está casi llena", screen.SyncStatus{Used: 0.8}},
		{"on its way", "waiting", "12 not backed up yet", "12 sin copia todavía", screen.SyncStatus{Waiting: 12}},
		{"no signal", "offline", "No signal: 12 not backed up yet", "Sin señal: 12 sin copia todavía", screen.SyncStatus{Waiting: 12, Away: true}},
		{"not paired", "unpaired", "Not paired with the server: 3 not backed up", "Sin vincular con el servidor: 3 sin copia", screen.SyncStatus{Waiting: 3, Rejected: 401}},
		{"no room", "full", "The server has no room left: 3 not backed up", "El servidor no tiene sitio: 3 sin copia", screen.SyncStatus{Waiting: 3, Rejected: 507, Reason: sync.CodeFull}},
		{"no room for one person", "share", "Your share of the server is used up: 3 not backed up. Ask its owner.", "Tu parte del servidor está llena: 3 sin copia. Pregunta a quien lo lleva.", screen.SyncStatus{Waiting: 3, Rejected: 507, Reason: sync.CodeShare}},
		{"no room for one person today", "today", "Your share of the server is used up for today: 3 not backed up", "Tu parte del servidor está llena por hoy: 3 sin copia", screen.SyncStatus{Waiting: 3, Rejected: 507, Reason: sync.CodeToday}},
		{"a fault there", "failing", "The server has a fault: 3 not backed up", "El servidor tiene un fallo: 3 sin copia", screen.SyncStatus{Waiting: 3, Rejected: 503}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			b.app.Sync = func(context.Context) screen.SyncStatus { return tc.status }
			for lang, want := range map[string]string{"en": tc.en, "es": tc.es} {
				b.prefs = "lang=" + lang
				note := `data-exchange="` + tc.state + `">` + want + "</a>"
				if body := b.do(httptest.NewRequest("GET", "/day", nil)).Body.String(); !strings.Contains(body, note) {
					t.Errorf("%s: a screen lacks %s", lang, note)
				}
				r := httptest.NewRequest("GET", "/setup", nil)
				r.Header.Set(screen.PartHeader, "exchange")
				r.Header.Set("Cookie", "prefs=lang="+lang)
				part := b.do(r).Body.String()
				if !strings.Contains(part, note) || !strings.Contains(part, ">"+want+"</p>") || strings.Contains(part, "<main") {
					t.Errorf("%s: the part is %s", lang, part)
				}
			}
		})
	}
	b.app.Sync = func(context.Context) screen.SyncStatus {
		t.Error("the key's reading asks how the exchange stands at each tap")
		return screen.SyncStatus{}
	}
	r := httptest.NewRequest("GET", "/?month=9", nil)
	r.Header.Set(screen.PartHeader, "reading")
	b.do(r)
}
