package sync

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Doer sends a request: an *http.Client, which in a browser goes through
// fetch.
type Doer interface {
	Do(*http.Request) (*http.Response, error)
}

// StatusError is an answer other than 200.
type StatusError struct {
	Status int
	Code   string // of the Failure, if there was one
}

func (e *StatusError) Error() string { return fmt.Sprintf("server answered %d %s", e.Status, e.Code) }

// ErrAnswer is an answer that makes no sense, perhaps from something between
// here and the server.
var ErrAnswer = errors.New("answer not understood")

// Report is what a round came to.
type Report struct {
	Sent     int          // entries that the server confirmed
	Received int          // entries that were new here
	Refused  []Refused    // entries that the server does not take; they stay unsent
	Bad      []flybox.Bad // entries of the server that were not taken here
	Restart  bool         // the server's journal was another one, or an older copy
	Used     float64      // of the person's share of the server, 0 to 1, as it said last
}

// Round gives the server at base (such as "https://boat.local:8443") what is
// unsent and reads what is new, until both are done. It may be broken off at
// any point and repeated. The report holds what was done, also beside an
// error.
func Round(ctx context.Context, do Doer, base string, ledger *flybox.Ledger) (Report, error) {
	out, ok := ledger.Store().(journal.Outbox)
	if !ok {
		return Report{}, errors.New("sync: store keeps no outbox")
	}
	r := &round{do: do, url: base + Path, ledger: ledger, out: out, refused: map[journal.ID]bool{}, held: map[journal.ID]bool{}}
	err := r.run(ctx)
	if err != nil {
		err = fmt.Errorf("sync: %w", err)
	}
	return r.report, err
}

type round struct {
	do      Doer
	url     string
	ledger  *flybox.Ledger
	out     journal.Outbox
	report  Report
	refused map[journal.ID]bool // not to be given again in this round
	held    map[journal.ID]bool // given, and held by the server as it says
	again   bool                // more became unsent since the last request
}

func (r *round) run(ctx context.Context) error {
	if err := r.meet(ctx); err != nil {
		return err
	}
	for {
		cursor, err := r.out.Cursor(ctx)
		if err != nil {
			return err
		}
		batch, all, err := r.batch(ctx)
		if err != nil {
			return err
		}
		resp, err := r.post(ctx, Request{Journal: cursor.Journal, After: cursor.Seq, Mark: cursor.ID, Limit: MaxEntries, Entries: batch, CrewAfter: cursor.Crew.Seq, CrewMark: cursor.Crew.Mark})
		if err != nil {
			return err
		}
		moved, err := r.take(ctx, cursor, resp, batch)
		if err != nil {
			return err
		}
		if all && !resp.More && !resp.CrewMore && !r.again {
			return nil
		}
		r.again = false
		if !moved {
			// Neither side got any further: to go on would be to go on for ever.
			return fmt.Errorf("%w: no progress", ErrAnswer)
		}
	}
}

// OtherLedger says that the server keeps another ledger than the device knows.
// Nothing has gone either way.
type OtherLedger struct{ Journal, Kind string }

func (o *OtherLedger) Error() string { return "server keeps another ledger: " + o.Kind }

// meet learns what the server keeps, where the device has never exchanged. A
// device that holds nothing of its own takes on any ledger; what was written
// before the first exchange is its owner's, and not for invented data.
func (r *round) meet(ctx context.Context) error {
	cursor, err := r.out.Cursor(ctx)
	if err != nil || cursor.Journal != "" {
		return err
	}
	resp, err := r.post(ctx, Request{Limit: 1})
	if err != nil {
		return err
	}
	if resp.Kind == journal.DemoJournal {
		unsent, err := r.out.CountUnsent(ctx)
		if err != nil {
			return err
		}
		if unsent > 0 {
			return &OtherLedger{resp.Journal, resp.Kind}
		}
	}
	return r.out.SetCursor(ctx, journal.Cursor{Journal: resp.Journal, Kind: resp.Kind})
}

// Join has a device take the server's ledger for its own: the next round
// offers all that it holds and reads the other from the start. Invented data
// goes nowhere.
func Join(ctx context.Context, out journal.Outbox, other OtherLedger) error {
	cursor, err := out.Cursor(ctx)
	if err != nil {
		return err
	}
	if cursor.Kind == journal.DemoJournal || other.Kind == journal.DemoJournal {
		return fmt.Errorf("join ledgers: %w", errInvented)
	}
	// Durable before the cursor leaves the old journal, so that a break here
	// asks again.
	if err := out.Requeue(ctx); err != nil {
		return err
	}
	return out.SetCursor(ctx, journal.Cursor{Journal: other.Journal, Kind: other.Kind})
}

var errInvented = errors.New("one of them is invented")

// batch is as much of what is unsent as one request holds, and whether that
// is all of it.
func (r *round) batch(ctx context.Context) (batch []json.RawMessage, all bool, err error) {
	// What was refused stays unsent and may stand first.
	limit := MaxEntries + len(r.refused) + len(r.held) + 1
	unsent, err := r.out.Unsent(ctx, limit)
	if err != nil {
		return nil, false, err
	}
	size := 0
	for _, e := range unsent {
		if r.refused[e.ID] || r.held[e.ID] {
			continue
		}
		if !e.Readable() {
			r.refuse(e.ID, journal.CodeUnreadable)
			continue
		}
		size += len(e.Raw()) + 1
		if len(batch) == MaxEntries || size > MaxBody/2 {
			return batch, false, nil
		}
		batch = append(batch, e.Raw())
	}
	return batch, len(unsent) < limit, nil
}

func (r *round) refuse(id journal.ID, code string) {
	if !r.refused[id] {
		r.refused[id] = true
		r.report.Refused = append(r.report.Refused, Refused{id, code})
	}
}

func (r *round) post(ctx context.Context, body Request) (*Response, error) {
	if body.Entries == nil {
		body.Entries = []json.RawMessage{}
	}
	raw, err := encode(body)
	if err != nil {
		return nil, err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, r.url, bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	resp, err := r.do.Do(req)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	raw, err = io.ReadAll(io.LimitReader(resp.Body, MaxBody+1))
	if err != nil {
		return nil, err
	}
	if resp.StatusCode != http.StatusOK {
		var f Failure
		_ = json.Unmarshal(raw, &f) // whatever answered may not be our server
		if resp.StatusCode == http.StatusConflict && f.Code == CodeOther {
			return nil, &OtherLedger{f.Journal, f.Kind}
		}
		return nil, &StatusError{resp.StatusCode, f.Code}
	}
	var answer Response
	if err := json.Unmarshal(raw, &answer); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrAnswer, err)
	}
	if answer.Journal == "" || len(raw) > MaxBody {
		return nil, ErrAnswer
	}
	return &answer, nil
}

// take makes an answer durable: what was confirmed, what came, the cursor, in
// that order. moved is false if nothing changed.
func (r *round) take(ctx context.Context, cursor journal.Cursor, resp *Response, batch []json.RawMessage) (moved bool, err error) {
	r.report.Used = min(max(resp.Used, 0), 1)
	if resp.Journal != cursor.Journal {
		return false, &OtherLedger{resp.Journal, resp.Kind}
	}
	if resp.Start || resp.Next < cursor.Seq {
		// The server has forgotten things. What it confirmed once it may have
		// lost, so all is offered again; this is durable before the cursor
		// moves, so that a break here starts it over.
		if r.report.Restart {
			return false, fmt.Errorf("%w: journal changed back again", ErrAnswer)
		}
		if err := r.out.Requeue(ctx); err != nil {
			return false, err
		}
		r.report.Restart, r.again, moved = true, true, true
	}
	if len(resp.Stored) > 0 {
		stored := r.given(batch, resp.Stored)
		if err := r.out.Confirm(ctx, stored); err != nil {
			return false, err
		}
		r.report.Sent += len(stored)
		moved = moved || len(stored) > 0
	}
	before := len(r.refused) + len(r.held)
	for _, b := range resp.Bad {
		if b.ID != "" {
			r.refuse(b.ID, b.Code)
		}
	}
	r.refuseUnnamed(batch, resp)
	moved = moved || len(r.refused)+len(r.held) > before

	var entries []journal.Entry
	for _, raw := range slices.Concat(resp.Entries, resp.Held, resp.Crew) {
		e, err := journal.ParseEntry(raw)
		if err != nil {
			r.report.Bad = append(r.report.Bad, flybox.Bad{ID: idOf(raw), Err: err})
			continue
		}
		entries = append(entries, e)
	}
	added, bad, err := r.ledger.MergeFetched(ctx, entries)
	if err != nil {
		return false, err
	}
	r.report.Received += added
	r.report.Bad = append(r.report.Bad, bad...)

	next := journal.Cursor{Journal: resp.Journal, Kind: cursor.Kind, Seq: resp.Next, ID: resp.Mark, Crew: journal.Place{Seq: resp.CrewNext, Mark: resp.CrewMark}}
	if next == cursor {
		return moved, nil
	}
	return true, r.out.SetCursor(ctx, next)
}

// given are those of ids that this request gave: a confirmation of anything
// else is not to be trusted.
func (r *round) given(batch []json.RawMessage, ids []journal.ID) []journal.ID {
	gave := map[journal.ID]bool{}
	for _, raw := range batch {
		gave[idOf(raw)] = true
	}
	var out []journal.ID
	for _, id := range ids {
		if gave[id] {
			gave[id] = false
			out = append(out, id)
		}
	}
	return out
}

// refuseUnnamed sets aside what the server neither stored nor refused, so
// that it is not given over and over in this round.
func (r *round) refuseUnnamed(batch []json.RawMessage, resp *Response) {
	stored := map[journal.ID]bool{}
	for _, id := range resp.Stored {
		stored[id] = true
	}
	for _, raw := range resp.Held {
		id := idOf(raw)
		stored[id], r.held[id] = true, true
	}
	for _, raw := range batch {
		if id := idOf(raw); !stored[id] {
			r.refuse(id, CodeNotConfirmed)
		}
	}
}

// CodeNotConfirmed is the code of an entry that the server did not mention.
const CodeNotConfirmed = "not-confirmed"
