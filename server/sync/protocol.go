// Package sync carries a journal between a device and the server.
//
// One round is POST /sync with a Request, answered by a Response: the device
// gives what is unsent and asks for what it has not read. These hold, and the
// tests try each:
//
//   - An entry stays in the outbox until the server has named its id in
//     Stored, which it does only once the entry is durable there.
//   - The cursor moves only once what was read is durable here.
//   - Giving or reading the same entries twice changes nothing, so a lost
//     reply costs a repeat.
//   - One entry that the server refuses, or that cannot be read here, is
//     reported and holds up nothing.
//   - The record that the server has under an id stands. A form that was sent
//     both to the server and to the device makes entries with the same ids and
//     other stamps: the server names its own in Held, and they take the place
//     of the device's. Where an id was not derived from a form a clash is a
//     fault: the entry is refused, and reported.
//   - If the server's journal is an older copy of itself, the device reads it
//     from the start and offers all that it has.
//   - What a crew shares stands in a feed of the server's, not in the journal;
//     a device reads it beside the journal and keeps it with its entries.
//   - If the server's journal is another one than the device knows, nothing
//     goes either way until a person has said so, see OtherLedger.
package sync

import (
	"bytes"
	"encoding/json"

	"dampstone/flybox/journal"
)

// Path is where the server answers.
const Path = "/sync"

// Bounds of one request and one response.
const (
	MaxBody    = 1 << 20 // bytes
	MaxEntries = 500
)

// Request is what a device sends.
type Request struct {
	Journal string            `json:"journal,omitempty"` // the server's journal as last seen
	After   uint64            `json:"after"`             // number there of the last entry read
	Mark    string            `json:"mark,omitempty"`    // what the server called the journal up to there
	Limit   int               `json:"limit,omitempty"`   // entries wanted; 0: MaxEntries
	Entries []json.RawMessage `json:"entries"`

	CrewAfter uint64 `json:"crewAfter,omitempty"` // number in the feed of the last item read
	CrewMark  string `json:"crewMark,omitempty"`  // what the server called it
}

// Response is what the server answers.
type Response struct {
	Journal string            `json:"journal"`
	Kind    string            `json:"kind"`   // flybox.OwnJournal or DemoJournal
	Stored  []journal.ID      `json:"stored"` // ids that are durable here, new or not
	Bad     []Refused         `json:"bad"`
	Entries []json.RawMessage `json:"entries"`
	// Held are the server's records under ids that the device gave with others.
	Held []json.RawMessage `json:"held,omitempty"`
	// Start: the entries were read from the start of the journal because what
	// the device named is not in it.
	Start bool   `json:"start,omitempty"`
	Next  uint64 `json:"next"` // number of the last entry read
	Mark  string `json:"mark"` // stands for all entries up to Next, see link
	More  bool   `json:"more"` // there are entries after Next

	Crew     []json.RawMessage `json:"crew,omitempty"` // what others share
	CrewNext uint64            `json:"crewNext,omitempty"`
	CrewMark string            `json:"crewMark,omitempty"`
	CrewMore bool              `json:"crewMore,omitempty"` // there may be more of it

	// Used is how much of their share of the server the person has used, 0 to
	// 1; 0 where there is no bound.
	Used float64 `json:"used,omitempty"`
}

// Refused is an entry that the server does not take.
type Refused struct {
	ID   journal.ID `json:"id"` // empty if the entry has none that can be read
	Code string     `json:"code"`
}

// Failure is the body of an answer other than 200.
type Failure struct {
	Code string `json:"code"`
	// Journal and Kind are those of the server, with CodeOther.
	Journal string `json:"journal,omitempty"`
	Kind    string `json:"kind,omitempty"`
}

// Codes of a Failure.
const (
	CodeMethod    = "method-not-allowed"
	CodeMediaType = "not-json-media-type"
	CodeTooLarge  = "body-too-large"
	CodeTooMany   = "too-many-entries"
	CodeEncoding  = "unknown-content-encoding"
	CodeOther     = "another-ledger" // the device knows another journal
	CodeTooMuch   = "too-many-requests"
	CodeBadBody   = "body-not-understood"
	CodeStorage   = "storage-failed"
	CodeNotPaired = "not-paired"
	CodeFull      = "no-space-left"
	CodeShare     = "share-used-up" // of the person, on this server
	CodeToday     = "share-of-the-day-used-up"
	CodeReadOnly  = "journal-not-writable"
)

// idOf reads the id of an entry that is otherwise refused, so that the device
// knows which one is meant.
func idOf(raw []byte) journal.ID {
	var e struct {
		ID journal.ID `json:"id"`
	}
	if json.Unmarshal(raw, &e) != nil || len(e.ID) > journal.MaxIDBytes {
		return ""
	}
	return e.ID
}

// encode is JSON without the escapes meant for HTML: entries keep their bytes.
func encode(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return buf.Bytes(), err
}
