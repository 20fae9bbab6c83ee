package flybox

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

// FuzzDecode: whatever the body of a record says, reading it and folding it
// ends, twice is as once, and what this version would write again is valid.
func FuzzDecode(f *testing.F) {
	for _, seed := range [][2]string{
		{"pattern", `{"name":"Foam beetle","style":"beetle","hook":14,"body":"#202020"}`}, {"box", `{"name":"Boat","rows":4,"columns":6}`},
		{"slot", `{"box":"b","row":1,"slot":1,"pattern":"p","want":3}`}, {"stock", `{"pattern":"p","delta":-3,"why":"lost"}`},
		{"sighting", `{"when":"2026-08-14T05:00:00Z","hatch":"h","evidence":{"month":8}}`}, {"outcome", `{"result":"take"}`},
		{"trip", `{"name":"x","from":"2026-08-14","to":"2026-08-13"}`}, {"order", `{}`}, {"note", `{"text":"x"}`},
		{"recipe", `{"id":"p","minutes":9,"lines":[{"name":"Foam","amount":24,"unit":"mm"}],"vise":1}`}, {"recipe", `{"id":"p","lines":[{}]}`},
		{"material", `{"name":"Foam","unit":"mm"}`}, {"material-move", `{"material":"m","delta":-0.5,"why":"used","tie":"t"}`}, {"material-move", `{"material":"m","delta":1e999,"why":"counted"}`},
		{"stock", `{"pattern":"p","delta":3,"why":"tied","order":"o","tie":"t"}`},
		{"deleted", `{"target":"x"}`}, {"moon", `{"x":[1e400]}`}, {"stock", `{"delta":9999999999999999999}`}, {"note", `{"text":7}`},
	} {
		f.Add(seed[0], 1, seed[1])
	}
	f.Add("note", 9, `{"text":"from later"}`)
	f.Fuzz(func(t *testing.T, kind string, format int, body string) {
		raw, err := json.Marshal(envelope{ID: "e", At: "2026-08-14T05:12:09.123Z-0004-k3f9", V: format, Kind: Kind(kind), Body: json.RawMessage(body)})
		if err != nil {
			return
		}
		e, err := ParseEntry(raw)
		if err != nil {
			return
		}
		s := Fold([]Entry{e, e})
		if s.Len() != 1 || s.Digest() != Fold([]Entry{e}).Digest() {
			t.Error("twice is not as once")
		}
		b, err := Decode(e)
		if err != nil {
			return
		}
		again, err := NewEntry("f", e.At, b)
		if err != nil {
			t.Fatalf("what was read cannot be written: %v", err)
		}
		if _, err := Decode(again); err != nil {
			t.Errorf("what was written cannot be read: %v", err)
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
		e, err := NewEntry("e-1", at, Note{Text: text})
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := ownEnvelope(e.Raw()); !ok {
			t.Errorf("%s is left to encoding/json", e.Raw())
		}
	}
}
