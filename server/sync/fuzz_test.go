package sync

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"dampstone/flybox/intake"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
)

// threeItems is a feed whose marks are the numbers.
type threeItems struct{ *testing.T }

func (f threeItems) After(_ context.Context, at journal.Place, limit, size int) (entries []journal.Entry, next journal.Place, more bool, err error) {
	if at.Seq > 3 || at.Mark != fmt.Sprint(at.Seq) {
		at = journal.Place{}
	}
	for seq := at.Seq + 1; seq <= 3; seq++ {
		entries = append(entries, storetest.Entry(f, journal.ID(fmt.Sprint("crew", seq)), int(seq)))
	}
	return entries, journal.Place{Seq: 3, Mark: "3"}, false, nil
}

// FuzzRequest sends anything to the server: it answers with a status of its
// own, never stores what it refuses, and names as stored only what it holds.
func FuzzRequest(f *testing.F) {
	for _, seed := range []string{
		`{}`, `{"entries":[]}`, `{"after":18446744073709551615,"journal":"j","mark":"x"}`, `{"after":1,"journal":"j","limit":-1}`,
		`{"entries":[7,{"id":"x"},{"id":"y","at":"2026-08-14T04:00:00.000Z-0000-x","v":1,"kind":"note","body":{"text":"ok"}}]}`,
		`{"entries":[{"id":"y","at":"2026-08-14T04:00:00.000Z-0000-x","v":9,"kind":"moon","body":{"x":[1e400]}}]}`,
		`{"crewAfter":2,"crewMark":"2"}`, `{"crewAfter":18446744073709551615,"crewMark":"x"}`, `{"crewAfter":-1}`, `{"crewMark":7}`,
		"{\"entries\":[{\"id\":\"\xff\"}]}", `[`, ``, `{"entries":[null,{"id":null}]}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		store := &memstore.Store{}
		h := &Handler{Into: intake.New(store), Journal: "j", Feed: threeItems{t}}
		r := httptest.NewRequest(http.MethodPost, Path, bytes.NewReader(body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		switch w.Code {
		case http.StatusOK:
		case http.StatusBadRequest, http.StatusRequestEntityTooLarge:
			if size(newLedger(t, "server", store)) != 0 {
				t.Errorf("refused with %d and stored", w.Code)
			}
			return
		default:
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
		var resp Response
		if err := json.Unmarshal(w.Body.Bytes(), &resp); err != nil {
			t.Fatalf("answer is no JSON: %v", err)
		}
		if resp.CrewNext != 3 || resp.CrewMark != "3" || resp.CrewMore || len(resp.Crew) > 3 || w.Body.Len() > MaxBody {
			t.Errorf("of the feed %d entries up to %d %q", len(resp.Crew), resp.CrewNext, resp.CrewMark)
		}
		held := newLedger(t, "server", store)
		if len(resp.Stored) != size(held) {
			t.Errorf("%d named as stored, %d held", len(resp.Stored), size(held))
		}
		for _, id := range resp.Stored {
			s := held.State()
			if !s.Has(id) {
				t.Errorf("%q is named as stored and is not there", id)
			}
		}
	})
}

// FuzzAnswer gives a phone anything as an answer: it ends, keeps what it has
// and never takes an entry out of the outbox that it did not give.
func FuzzAnswer(f *testing.F) {
	for _, seed := range []string{
		`{}`, `{"journal":"j","stored":[],"entries":[],"next":0,"more":true}`, `{"journal":"j","stored":["a-00001"],"next":3,"mark":"m"}`,
		`{"journal":"j","stored":null,"bad":[{"id":"a-00001","code":"x"}],"entries":[{"id":"z"}],"start":true}`,
		`{"journal":"j","entries":[{"id":"y","at":"2026-08-14T04:00:00.000Z-0000-x","v":1,"kind":"note","body":{"text":"ok"}}],"next":1,"mark":"m"}`,
		`<html>`, ``, `{"journal":"j","next":-1}`,
	} {
		f.Add(200, []byte(seed))
		f.Add(500, []byte(seed))
	}
	f.Fuzz(func(t *testing.T, status int, body []byte) {
		a := newLedger(t, "a", &memstore.Store{})
		note(t, a, "one")
		asked := 0
		_, err := Round(ctx, doer(func(*http.Request) (*http.Response, error) {
			if asked++; asked > 1000 {
				t.Fatal("goes on for ever")
			}
			return answer(status, string(body)), nil
		}), "http://server.invalid", a)
		var said Response
		confirms := json.Unmarshal(body, &said) == nil && len(said.Stored) > 0 && said.Stored[0] == "a-00001"
		if n := unsent(t, a); n == 0 && !confirms && !bytes.Contains(body, []byte("a-00001")) {
			t.Errorf("the entry left the outbox without being named (%v)", err)
		}
		var code *StatusError
		if status != http.StatusOK && !errors.As(err, &code) {
			t.Errorf("status %d gave %v", status, err)
		}
		if size(a) < 1 {
			t.Error("the entry is gone")
		}
	})
}
