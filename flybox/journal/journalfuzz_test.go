package journal

import (
	"encoding/json"
	"testing"
)

// FuzzParseStamp: what is read is written the same, and sorts as it is
// written.
func FuzzParseStamp(f *testing.F) {
	for _, seed := range []string{
		"2026-08-14T05:12:09.123Z-0004-k3f9", "0000-01-01T00:00:00.000Z-0000-a", "9999-12-31T23:59:59.999Z-ffff-zz",
		"2026-08-14T05:12:09,123Z-0004-k3f9", "2026-02-30T05:12:09.123Z-0004-k", "2026-08-14T05:12:09.123Z-000G-k", "",
	} {
		f.Add(seed)
	}
	other, err := ParseStamp("2026-08-14T05:12:09.123Z-0004-k3f9")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseStamp(text)
		if err != nil {
			return
		}
		if s.String() != text {
			t.Errorf("%q is written as %q", text, s)
		}
		byText := 0
		switch {
		case text < other.String():
			byText = -1
		case text > other.String():
			byText = 1
		}
		if got := s.Compare(other); got != byText {
			t.Errorf("%q compares %d as a stamp and %d as text", text, got, byText)
		}
	})
}

// FuzzEnvelope: the hand-written reading of a record says what encoding/json
// says, or leaves the record to it.
func FuzzEnvelope(f *testing.F) {
	for _, seed := range []string{
		`{"id":"e","at":"2026-08-14T05:12:09.123Z-0004-k3f9","v":1,"kind":"note","body":{"text":"x"}}`,
		`{"id":"e","at":"x","v":12,"kind":"note","body":{}}`, `{"id":"e","at":"x","v":1,"kind":"note","body":{},"more":1}`,
		`{"id":"e","at":"x","v":1,"kind":"note","body":{},"body":{"text":"y"}}`, `{"id":"a\u0062","at":"x","v":1,"kind":"n","body":{}}`,
		`{"id":"e","at":"x","v":1,"kind":"note","body":{"text":"}"}}`, `{"id":"e","at":"x","v":1,"kind":"note","body":{}`,
		`{"id":"é","at":"x","v":1,"kind":"note","body":[]}`, `{"v":1,"id":"e"}`, `{"id":"`, ``,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		own, ok := ownEnvelope(raw)
		if !ok || hasOuterSpace(raw) { // ParseEntry takes that away first
			return
		}
		var want envelope
		if err := json.Unmarshal(raw, &want); err != nil {
			t.Fatalf("%q is read, but is no JSON: %v", raw, err)
		}
		if own.ID != want.ID || own.At != want.At || own.V != want.V || own.Kind != want.Kind || string(own.Body) != string(want.Body) {
			t.Errorf("%q is read as %+v, want %+v", raw, own, want)
		}
	})
}

// TestOwnLayoutIsReadByHand keeps the short way open for what NewEntry writes.
func TestOwnLayoutIsReadByHand(t *testing.T) {
	at, err := ParseStamp("2026-08-14T05:12:09.123Z-0004-k3f9")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"plain", "quote \" and }", "Großer Fluß <&> \u2028"} {
		e, err := New("e-1", at, "note", struct {
			Text string `json:"text"`
		}{text}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := ownEnvelope(e.Raw()); !ok {
			t.Errorf("%s is left to encoding/json", e.Raw())
		}
	}
}
