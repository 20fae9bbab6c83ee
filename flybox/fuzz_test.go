package flybox

import (
	"encoding/json"
	"testing"

	"dampstone/flybox/journal"
)

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
		raw, err := json.Marshal(struct {
			ID   string          `json:"id"`
			At   string          `json:"at"`
			V    int             `json:"v"`
			Kind string          `json:"kind"`
			Body json.RawMessage `json:"body"`
		}{"e", "2026-08-14T05:12:09.123Z-0004-k3f9", format, kind, json.RawMessage(body)})
		if err != nil {
			return
		}
		e, err := journal.ParseEntry(raw)
		if err != nil {
			return
		}
		s := Fold([]journal.Entry{e, e})
		if s.Len() != 1 || s.Digest() != Fold([]journal.Entry{e}).Digest() {
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
