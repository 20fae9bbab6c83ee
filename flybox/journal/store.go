package journal

import "context"

// Store keeps the journal. Implementations are safe for concurrent use, keep
// entries for ever and pass the suite in flybox/storetest. Entries that
// cannot be read are returned as StoredEntry has them.
type Store interface {
	// Load returns every entry in the order in which it arrived here.
	Load(ctx context.Context) ([]Entry, error)

	// Append adds entries and returns the ids of those that were not there
	// before, in order; entries whose id is known are skipped. When it
	// returns without error all of them are durable; with an error none was
	// added. Where the store is also an Outbox the added entries are unsent.
	Append(ctx context.Context, entries []Entry) (added []ID, err error)

	// Get is the entry with an id; ok is false if there is none.
	Get(ctx context.Context, id ID) (e Entry, ok bool, err error)

	// After returns entries that arrived after the one numbered seq, oldest
	// first, at most limit of them (all if limit <= 0), and the number of the
	// last one returned, or seq if there is none. Numbers start at 1 and rise
	// by one with each entry that this store adds.
	After(ctx context.Context, seq uint64, limit int) (entries []Entry, last uint64, err error)
}

// What a journal is. Entries of one kind never go into one of the other.
const (
	OwnJournal  = "own"  // somebody's ledger
	DemoJournal = "demo" // invented data
)

// Cursor says how far a device has read another journal.
type Cursor struct {
	Journal string // random id of the other journal; empty if never read
	Kind    string // what it is, OwnJournal or DemoJournal; empty for OwnJournal
	Seq     uint64 // number, there, of the last entry read
	// ID is the other side's mark for its journal up to that entry. If the
	// other journal has another mark at Seq it was replaced by an older copy,
	// and reading starts again.
	ID string
	// Crew is how far the other side's feed of what a crew shares was read.
	Crew Place
}

// Place is how far a feed was read.
type Place struct {
	Seq  uint64 // number of the last item; 0 if nothing was read
	Mark string // the other side's mark for that item; another one, or none, means that it is another feed
}

// Outbox is what a store on a phone keeps beside its journal: which entries
// no server has confirmed yet, and how far the server's journal was read.
type Outbox interface {
	// AppendFetched is Append for entries that came from the server: they are
	// not unsent. An entry that is here already keeps its mark, unless it is
	// another record under the same id: then the server's takes its place, in
	// the same transaction, and is not unsent. Those ids are in replaced.
	AppendFetched(ctx context.Context, entries []Entry) (added, replaced []ID, err error)

	// Replaced is how many entries AppendFetched has ever replaced, by which
	// another tab sees that what it has read is not what is there any more.
	Replaced(ctx context.Context) (uint64, error)

	// Unsent returns unsent entries in the order of their arrival, at most
	// limit of them (all if limit <= 0).
	Unsent(ctx context.Context, limit int) ([]Entry, error)

	// CountUnsent is the number of unsent entries.
	CountUnsent(ctx context.Context) (int, error)

	// Confirm marks entries as sent. Ids that are unknown or sent already are
	// passed over.
	Confirm(ctx context.Context, ids []ID) error

	// Requeue marks every entry as unsent, for a server that lost them.
	Requeue(ctx context.Context) error

	// Cursor is how far the server's journal was read; zero at first.
	Cursor(ctx context.Context) (Cursor, error)

	// SetCursor is durable on return.
	SetCursor(ctx context.Context, c Cursor) error
}
