// Package screen is what all screens share: what a handler returns and how
// that becomes a page, forms and what is wrong in them, and how a reader wants
// things shown.
package screen

import (
	"context"
	"log/slog"
	"net/http"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Config is what a host gives the application.
type Config struct {
	Ledger *flybox.Ledger
	Now    func() time.Time // local time of the person
	NewID  func() journal.ID
	// Asset gives the address of a static file by its name.
	Asset func(name string) string
	Log   *slog.Logger
	// Phone is set in the engine, where prefs come from the page.
	Phone bool
	// NoStore says that the ledger is in memory only: saving is refused.
	NoStore bool
	// Unread says that there is a ledger which could not be read: what comes
	// from it must not look empty. Only the key works then.
	Unread bool
	// Sync tells how safe the ledger is; nil on the binary.
	Sync func(context.Context) SyncStatus
	// Version of the release.
	Version string
	// Demo says that all is invented, and on the binary that nothing is paired:
	// everybody on this computer may read and write. nil where it never is; a
	// phone learns it at its first exchange.
	Demo func() bool
	// Other is the other ledger that the server at this address was found to
	// keep, and what to do about it; nil on the binary.
	Other OtherLedger
	// People says that the host has a screen for people and phones.
	People bool
}

// View is what every screen needs.
func (a *Host) View(r *http.Request, p Asked, section, title string) views.Page {
	t := catalog.For(p.Lang)
	return views.Page{
		T: t, U: p.Units, Title: title, Section: section,
		Asset: a.Asset, PxPerMM: p.Px, NoStore: a.NoStore, Demo: a.IsDemo(),
		Flash: a.flash(t, r),
		Shell: r.Header.Get(ShellHeader), Exchange: a.Exchange(r, t),
	}
}

// Asked is what all of one answer comes from: how its reader wants things
// shown, and the ledger as it was when the request came, so that no two parts
// of a page tell of different states.
type Asked struct {
	Prefs
	State *flybox.State
}

// IsDemo tells whether the ledger is invented.
func (a *Host) IsDemo() bool { return a.Demo != nil && a.Demo() }

// OtherLedger is what a phone does where the server turns out to keep another
// ledger than the phone has.
type OtherLedger interface {
	// Found tells what the server keeps: invented data, or somebody's ledger;
	// ok is false where it is the one that the phone has.
	Found() (demo, ok bool)
	// Apart opens a database of its own for that ledger.
	Apart(context.Context) error
	// Join has the phone's entries go into that ledger.
	Join(context.Context) error
}

// ShellHeader marks a request for a document that is prerendered for the
// phone; its value becomes html[data-shell].
const ShellHeader = "Dampstone-Shell"

// PartHeader asks for one region of a screen instead of the whole.
const PartHeader = "Dampstone-Part"

// Host is what the screens run on.
type Host struct{ Config }

// New makes a host of what it is given.
func New(c Config) *Host { return &Host{Config: c} }
