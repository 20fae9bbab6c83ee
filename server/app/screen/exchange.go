package screen

import (
	"net/http"
	"time"

	"dampstone/server/sync"
	"dampstone/views"
	"dampstone/views/catalog"
)

// SyncStatus is what a phone knows about its exchange with the binary.
type SyncStatus struct {
	Waiting int       // entries that the binary has not confirmed
	Last    time.Time // of the last confirmed exchange; zero if never
	Used    float64   // of the person's share of the binary, 0 to 1, as said then

	Away     bool   // the phone has no signal, or nothing answered the last time
	Rejected int    // status of the last answer where it was no success
	Reason   string // that was given with it, a code of package sync
	sync.Quarantine
}

// RestartHeader marks an answer after which the document has to be loaded
// anew.
const RestartHeader = "Dampstone-Restart"

// ShareWarning is how much of a share is used before a person is told.
const ShareWarning = 0.8

// exchangePart is the part of every screen that says how the exchange stands.
const exchangePart = "exchange"

// AsksExchange tells whether that part alone is asked for.
func AsksExchange(r *http.Request) bool { return r.Header.Get(PartHeader) == exchangePart }

// Exchange says how what is on this phone stands to the binary; it is empty on
// the binary, and for parts of screens, which do not show it.
func (a *Host) Exchange(r *http.Request, t *catalog.Text) views.Exchange {
	if a.Sync == nil || r.Header.Get(PartHeader) != "" && !AsksExchange(r) {
		return views.Exchange{}
	}
	s := a.Sync(r.Context())
	state := exchangeState(s, a.NoStore)
	return views.Exchange{State: state, Text: t.F("sync."+state, catalog.Data{"N": s.Waiting})}
}

// ExchangeStates are the codes of how an exchange may stand.
var ExchangeStates = []string{"unsaved", "unpaired", "nearly", "none", "share", "today", "full", "failing", "offline", "waiting"}

// exchangeState names the sentence: what a person can do about it comes first.
func exchangeState(s SyncStatus, noStore bool) string {
	switch {
	case noStore:
		return "unsaved"
	case s.Rejected == http.StatusUnauthorized:
		return "unpaired"
	case s.Waiting == 0 && s.Used >= ShareWarning:
		return "nearly"
	case s.Waiting == 0:
		return "none"
	case s.Rejected == http.StatusInsufficientStorage && s.Reason == sync.CodeShare:
		return "share"
	case s.Rejected == http.StatusInsufficientStorage && s.Reason == sync.CodeToday:
		return "today"
	case s.Rejected == http.StatusInsufficientStorage:
		return "full"
	case s.Rejected >= http.StatusInternalServerError:
		return "failing"
	case s.Away || s.Rejected != 0:
		return "offline"
	}
	return "waiting"
}
