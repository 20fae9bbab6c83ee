//go:build !js

package sync

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	gosync "sync"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Journal is what an exchange goes into.
type Journal interface {
	flybox.Merger
	Store() journal.Store
}

// Feed is what others share with a person.
type Feed interface {
	// After gives what stands after a place, at most limit entries and about
	// size bytes of them, the place that was reached, and whether there may be
	// more. A place that is not in the feed is its start.
	After(ctx context.Context, at journal.Place, limit, size int) (entries []journal.Entry, next journal.Place, more bool, err error)
}

// Handler answers POST /sync. Whether the device may is not its business: put
// it behind the check of pairing.
type Handler struct {
	Into    Journal
	Journal string // random id of the ledger's journal
	Kind    string // flybox.OwnJournal or DemoJournal; empty for OwnJournal
	// Feed is what others share with the person; may be nil.
	Feed Feed
	// Used is how much of their share the person has used, 0 to 1; may be nil.
	Used func(context.Context) (float64, error)
	// Failed is told of what went wrong in the store; may be nil.
	Failed func(error)

	chain  chain
	once   gosync.Once
	gather *gather
}

func (h *Handler) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		fail(w, http.StatusMethodNotAllowed, CodeMethod)
		return
	}
	// Only JSON: a form on another site cannot send it without being asked
	// first, which is refused.
	if media, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || media != "application/json" {
		fail(w, http.StatusUnsupportedMediaType, CodeMediaType)
		return
	}
	body, err := unpacked(w, r)
	if err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			fail(w, http.StatusRequestEntityTooLarge, CodeTooLarge)
		} else if errors.Is(err, errEncoding) {
			w.Header().Set("Accept-Encoding", encodings) // RFC 9110, section 15.5.16
			fail(w, http.StatusUnsupportedMediaType, CodeEncoding)
		} else {
			fail(w, http.StatusBadRequest, CodeBadBody)
		}
		return
	}
	var req Request
	done, err := reading.take(r.Context())
	if err != nil {
		return // nobody waits any more
	}
	err = json.Unmarshal(body, &req)
	done()
	if err != nil {
		fail(w, http.StatusBadRequest, CodeBadBody)
		return
	}
	if len(req.Entries) > MaxEntries {
		fail(w, http.StatusRequestEntityTooLarge, CodeTooMany)
		return
	}
	// A device that has not exchanged yet may bring what it holds into the
	// ledger of its owner, but not into invented data.
	if req.Journal != h.Journal && (req.Journal != "" || h.Kind == journal.DemoJournal && len(req.Entries) > 0) {
		reply(w, http.StatusConflict, Failure{Code: CodeOther, Journal: h.Journal, Kind: h.kind()}, "")
		return
	}
	resp, err := h.round(r.Context(), req)
	if err != nil {
		if h.Failed != nil && !errors.Is(err, journal.ErrShare) && !errors.Is(err, journal.ErrToday) {
			h.Failed(err)
		}
		switch {
		case errors.Is(err, journal.ErrShare):
			fail(w, http.StatusInsufficientStorage, CodeShare)
		case errors.Is(err, journal.ErrToday):
			fail(w, http.StatusInsufficientStorage, CodeToday)
		case errors.Is(err, journal.ErrFull):
			fail(w, http.StatusInsufficientStorage, CodeFull)
		case errors.Is(err, journal.ErrReadOnly):
			fail(w, http.StatusServiceUnavailable, CodeReadOnly)
		default:
			fail(w, http.StatusInternalServerError, CodeStorage)
		}
		return
	}
	reply(w, http.StatusOK, resp, r.Header.Get("Accept-Encoding"))
}

func (h *Handler) kind() string { return cmp.Or(h.Kind, journal.OwnJournal) }

func (h *Handler) round(ctx context.Context, req Request) (*Response, error) {
	resp := &Response{Journal: h.Journal, Kind: h.kind(), Stored: []journal.ID{}, Bad: []Refused{}, Entries: []json.RawMessage{}}
	given, err := h.store(ctx, req.Entries, resp)
	if err != nil {
		return nil, err
	}
	if h.Used != nil {
		if resp.Used, err = h.Used(ctx); err != nil {
			return nil, err
		}
	}
	from, err := h.from(ctx, req)
	if err != nil {
		return nil, err
	}
	resp.Start = from == 0 && req.After != 0
	resp.Next = from
	if from != 0 {
		resp.Mark = req.Mark
	}
	limit := req.Limit
	if limit <= 0 || limit > MaxEntries {
		limit = MaxEntries
	}
	// One more than asked tells whether there are more.
	entries, _, err := h.Into.Store().After(ctx, from, limit+1)
	if err != nil {
		return nil, err
	}
	size := 0
	for _, e := range entries {
		size += len(e.Raw()) + 1
		// Half of the bound leaves room for the rest; the first entry always
		// goes, as none is larger than that.
		if limit == 0 || size > MaxBody/2 {
			resp.More = true
			break
		}
		limit--
		resp.Next++
		// The device has what it has just given. What cannot be read any more
		// is of no use to it, and must not keep it from the rest.
		if !given[e.ID] && e.Readable() {
			resp.Entries = append(resp.Entries, e.Raw())
		}
	}
	if h.Feed != nil {
		if err := h.crew(ctx, req, resp); err != nil {
			return nil, err
		}
	}
	if resp.Next > from {
		mark, ok, err := h.chain.at(ctx, h.Into.Store(), resp.Next)
		if err != nil {
			return nil, err
		}
		if !ok {
			return nil, fmt.Errorf("journal ends before number %d, which was just read", resp.Next)
		}
		resp.Mark = mark.String()
	}
	return resp, nil
}

// crew adds what others share.
func (h *Handler) crew(ctx context.Context, req Request, resp *Response) error {
	entries, next, more, err := h.Feed.After(ctx, journal.Place{Seq: req.CrewAfter, Mark: req.CrewMark}, MaxEntries, MaxBody/8)
	if err != nil {
		return err
	}
	for _, e := range entries {
		resp.Crew = append(resp.Crew, e.Raw())
	}
	resp.CrewNext, resp.CrewMark, resp.CrewMore = next.Seq, next.Mark, more
	return nil
}

// store keeps what the device gave and notes in resp what became of it.
func (h *Handler) store(ctx context.Context, raws []json.RawMessage, resp *Response) (given map[journal.ID]bool, err error) {
	entries, err := h.parse(ctx, raws, resp)
	if err != nil {
		return nil, err
	}
	h.once.Do(func() {
		_, elsewhere := h.Into.Store().(Linked)
		h.gather = &gather{into: h.Into, elsewhere: elsewhere}
	})
	bad, err := h.gather.add(ctx, entries)
	if err != nil {
		return nil, err
	}
	refused := map[journal.ID]bool{}
	held := 0
	for _, b := range bad {
		if refused[b.ID] {
			continue
		}
		refused[b.ID] = true
		if b.Code() != journal.CodeIDTaken || !flybox.IsDerived(b.ID) {
			resp.Bad = append(resp.Bad, Refused{ID: b.ID, Code: b.Code()})
			continue
		}
		mine, ok, err := h.Into.Store().Get(ctx, b.ID)
		if err != nil {
			return nil, err
		}
		// What does not fit is given again and named then.
		if held += len(mine.Raw()); ok && mine.Readable() && held <= MaxBody/4 {
			resp.Held = append(resp.Held, mine.Raw())
		}
	}
	given = map[journal.ID]bool{}
	for _, e := range entries {
		if !refused[e.ID] && !given[e.ID] {
			given[e.ID] = true
			resp.Stored = append(resp.Stored, e.ID)
		}
	}
	return given, nil
}

// parse reads what the device gave.
func (h *Handler) parse(ctx context.Context, raws []json.RawMessage, resp *Response) (entries []journal.Entry, err error) {
	done, err := reading.take(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	for _, raw := range raws {
		e, err := journal.ParseEntry(raw)
		if err != nil {
			resp.Bad = append(resp.Bad, Refused{ID: idOf(raw), Code: flybox.Bad{Err: err}.Code()})
			continue
		}
		_, _ = flybox.Decode(e) // here, where those of one ledger do not wait for one another
		entries = append(entries, e)
	}
	return entries, nil
}

// from is the number after which to read: what the device says, or 0 if that
// is not in this journal.
func (h *Handler) from(ctx context.Context, req Request) (uint64, error) {
	if req.Journal != h.Journal || req.After == 0 {
		return 0, nil
	}
	mark, ok, err := h.chain.at(ctx, h.Into.Store(), req.After)
	if err != nil {
		return 0, err
	}
	if !ok || mark.String() != req.Mark {
		return 0, nil
	}
	return req.After, nil
}

func fail(w http.ResponseWriter, status int, code string) { reply(w, status, Failure{Code: code}, "") }

func reply(w http.ResponseWriter, status int, body any, takes string) {
	raw, err := encode(body)
	if err != nil {
		http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("X-Content-Type-Options", "nosniff")
	raw = pack(w.Header(), takes, raw)
	w.WriteHeader(status)
	w.Write(raw) // nobody is left to tell if the device has gone
}
