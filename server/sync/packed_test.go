package sync

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"

	"dampstone/flybox/intake"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
)

func gzipped(t testing.TB, raw []byte) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := gzip.NewWriter(&buf)
	if _, err := z.Write(raw); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func brotlied(t testing.TB, raw []byte) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := brotli.NewWriter(&buf)
	if _, err := z.Write(raw); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestPackedRequests(t *testing.T) {
	body, err := encode(Request{Entries: []json.RawMessage{storetest.Entry(t, "a", 1).Raw()}})
	if err != nil {
		t.Fatal(err)
	}
	bomb := bytes.Repeat([]byte(" "), 64*MaxBody)
	for _, tc := range []struct {
		name, coding string
		body         []byte
		status       int
		code         string
	}{
		{"not packed", "", body, 200, ""},
		{"identity", "identity", body, 200, ""},
		{"gzip", "gzip", gzipped(t, body), 200, ""},
		{"GZIP", "GZIP", gzipped(t, body), 200, ""},
		{"brotli", "br", brotlied(t, body), 200, ""},
		{"another", "zstd", body, 415, CodeEncoding},
		{"said gzip, is not", "gzip", body, 400, CodeBadBody},
		{"said brotli, is not", "br", body, 400, CodeBadBody},
		{"gzip cut off", "gzip", gzipped(t, body)[:40], 400, CodeBadBody},
		{"gzip that grows without end", "gzip", gzipped(t, bomb), 413, CodeTooLarge},
		{"brotli that grows without end", "br", brotlied(t, bomb), 413, CodeTooLarge},
	} {
		t.Run(tc.name, func(t *testing.T) {
			store := &memstore.Store{}
			h := &Handler{Into: intake.New(store), Journal: "j"}
			r := httptest.NewRequest("POST", Path, bytes.NewReader(tc.body))
			r.Header.Set("Content-Type", "application/json")
			if tc.coding != "" {
				r.Header.Set("Content-Encoding", tc.coding)
			}
			w := httptest.NewRecorder()
			h.ServeHTTP(w, r)
			var f Failure
			if err := json.Unmarshal(w.Body.Bytes(), &f); err != nil || w.Code != tc.status || f.Code != tc.code {
				t.Errorf("%d %q (%v), want %d %q", w.Code, f.Code, err, tc.status, tc.code)
			}
			want := 0
			if tc.status == 200 {
				want = 1
			}
			if n := size(newLedger(t, "server", store)); n != want {
				t.Errorf("%d entries, want %d", n, want)
			}
		})
	}
}

func TestPackedAnswers(t *testing.T) {
	ledger := newLedger(t, "server", &memstore.Store{})
	notes(t, ledger, 100)
	h := &Handler{Into: ledger, Journal: "j"}
	var plain string
	for _, tc := range []struct {
		accept string
		packed bool
	}{{"", false}, {"br", false}, {"gzip;q=0", false}, {"gzip", true}, {"deflate, gzip;q=0.5", true}} {
		r := httptest.NewRequest("POST", Path, strings.NewReader(`{"entries":[]}`))
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("Accept-Encoding", tc.accept)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		packed := w.Header().Get("Content-Encoding") == "gzip"
		if packed != tc.packed || w.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: packed %v", tc.accept, packed)
		}
		raw := w.Body.Bytes()
		if packed {
			z, err := gzip.NewReader(w.Body)
			if err != nil {
				t.Fatal(err)
			}
			if raw, err = io.ReadAll(z); err != nil {
				t.Fatal(err)
			}
		}
		if plain == "" {
			plain = string(raw)
		}
		if string(raw) != plain || len(raw) < 100 {
			t.Errorf("%q: another answer", tc.accept)
		}
	}
}

// FuzzPacked: whatever is said to be packed ends in an answer.
func FuzzPacked(f *testing.F) {
	for i, body := range [][]byte{[]byte(`{"entries":[]}`), nil, bytes.Repeat([]byte("x"), 5000)} {
		f.Add("gzip", gzipped(f, body))
		f.Add("br", brotlied(f, body))
		f.Add(fmt.Sprint("x", i), body)
	}
	f.Fuzz(func(t *testing.T, coding string, body []byte) {
		r := httptest.NewRequest("POST", Path, bytes.NewReader(body))
		r.Header.Set("Content-Encoding", coding)
		raw, err := unpacked(httptest.NewRecorder(), r)
		if err == nil && len(raw) > MaxBody {
			t.Errorf("%d bytes came out", len(raw))
		}
	})
}
