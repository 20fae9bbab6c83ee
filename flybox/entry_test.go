package flybox

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"dampstone/flybox/journal"
)

const goodEntry = `{"id":"e1","at":"2026-08-14T05:12:09.123Z-0004-k3f9","v":1,"kind":"note","body":{"text":"shucks on damp stones"}}`

func TestParseEntry(t *testing.T) {
	swap := func(old, new string) string { return strings.Replace(goodEntry, old, new, 1) }
	long := strings.Repeat("x", journal.MaxEntryBytes)
	tests := []struct {
		name, raw, field, code string
	}{
		{"good", goodEntry, "", ""},
		{"unknown kind, format and fields", `{"id":"e1","at":"2026-08-14T05:12:09.123Z-0004-k3f9","v":99,"kind":"moon","body":{},"more":[1,2]}`, "", ""},
		{"longest id", swap("e1", strings.Repeat("x", journal.MaxIDBytes)), "", ""},
		{"empty", ``, "entry", journal.CodeNotJSON},
		{"not JSON", `{"id":`, "entry", journal.CodeNotJSON},
		{"two records", goodEntry + goodEntry, "entry", journal.CodeNotJSON},
		{"a list", `[1]`, "entry", journal.CodeNotObject},
		{"null", `null`, "entry", journal.CodeNotObject},
		{"too long", swap("shucks", long), "entry", journal.CodeTooLong},
		{"not UTF-8", swap("shucks", "\xff"), "entry", journal.CodeNotUTF8},
		{"no id", swap(`"id":"e1",`, ``), "id", journal.CodeNotID},
		{"id with a space", swap("e1", "e 1"), "id", journal.CodeNotID},
		{"id with a slash", swap("e1", "e/1"), "id", journal.CodeNotID},
		{"id too long", swap("e1", strings.Repeat("x", journal.MaxIDBytes+1)), "id", journal.CodeNotID},
		{"id is a number", swap(`"e1"`, `1`), "entry", journal.CodeNotJSON},
		{"no stamp", swap(`"at"`, `"et"`), "at", journal.CodeNotStamp},
		{"stamp is a date", swap("T05:12:09.123Z-0004-k3f9", ""), "at", journal.CodeNotStamp},
		{"no format", swap(`"v":1,`, ``), "v", journal.CodeRange},
		{"format 0", swap(`"v":1`, `"v":0`), "v", journal.CodeRange},
		{"format is no whole number", swap(`"v":1`, `"v":1.5`), "entry", journal.CodeNotJSON},
		{"no kind", swap(`"kind":"note",`, ``), "kind", journal.CodeUnknown},
		{"kind in capitals", swap(`"note"`, `"Note"`), "kind", journal.CodeUnknown},
		{"no body", swap(`,"body":{"text":"shucks on damp stones"}`, ``), "body", journal.CodeNotObject},
		{"body null", swap(`{"text":"shucks on damp stones"}`, `null`), "body", journal.CodeNotObject},
		{"body is text", swap(`{"text":"shucks on damp stones"}`, `"x"`), "body", journal.CodeNotObject},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			e, err := journal.ParseEntry([]byte(tc.raw))
			if tc.code == "" {
				if err != nil || string(e.Raw()) != tc.raw {
					t.Errorf("%v\n got %s\nwant %s", err, e.Raw(), tc.raw)
				}
				return
			}
			var p *journal.Problem
			if !errors.As(err, &p) || p.Field != tc.field || p.Code != tc.code {
				t.Errorf("got %v, want %s: %s", err, tc.field, tc.code)
			}
		})
	}
}

func TestParseEntryKeepsAllButSpaceBetweenTokens(t *testing.T) {
	in := "\n{ \"id\":\"e1\",\t\"at\":\"2026-08-14T05:12:09.123Z-0004-k3f9\", \"v\":1,\"kind\":\"moon\",\"body\":{\"a b\":[1.50, 1E3],\"x\":\"<\\u00e9 \\n>\"} }\n"
	want := `{"id":"e1","at":"2026-08-14T05:12:09.123Z-0004-k3f9","v":1,"kind":"moon","body":{"a b":[1.50,1E3],"x":"<\u00e9 \n>"}}`
	raw := []byte(in)
	e, err := journal.ParseEntry(raw)
	if err != nil {
		t.Fatal(err)
	}
	clear(raw) // the entry must not share the caller's bytes
	if string(e.Raw()) != want {
		t.Errorf("got %s\nwant %s", e.Raw(), want)
	}
}

func TestStoredEntryNeverFails(t *testing.T) {
	for _, raw := range []string{"", "torn", goodEntry[:40], strings.Replace(goodEntry, "e1", "e2", 1)} {
		e := journal.StoredEntry("e1", []byte(raw))
		if e.ID != "e1" || e.Readable() || string(e.Raw()) != raw {
			t.Errorf("%q read as %+v", raw, e)
		}
	}
	if e := journal.StoredEntry("e1", []byte(goodEntry)); !e.Readable() {
		t.Errorf("good entry read as %+v", e)
	}
}

func TestBodiesSayWhatIsWrong(t *testing.T) {
	ok := Pattern{Name: "Pale dun", Style: ParachuteDun, Hook: 16}
	with := func(change func(*Pattern)) Pattern { p := ok; change(&p); return p }
	slot := Place{"b", 1, 1}
	four, thousand := 4, 1000
	tests := []struct {
		name string
		body Body
		want string // "field code", empty for none
	}{
		{"pattern", ok, ""},
		{"name of 120 letters", with(func(p *Pattern) { p.Name = strings.Repeat("ñ", MaxName) }), ""},
		{"name too long", with(func(p *Pattern) { p.Name = strings.Repeat("ñ", MaxName+1) }), "name too-long"},
		{"name of spaces", with(func(p *Pattern) { p.Name = " \n " }), "name required"},
		{"name of two lines", with(func(p *Pattern) { p.Name = "a\nb" }), "name control-character"},
		{"notes of two lines", with(func(p *Pattern) { p.Notes = "a\r\n\tb" }), ""},
		{"notes with a bell", with(func(p *Pattern) { p.Notes = "a\x07b" }), "notes control-character"},
		{"notes too long", with(func(p *Pattern) { p.Notes = strings.Repeat("x", MaxNote+1) }), "notes too-long"},
		{"style unknown", with(func(p *Pattern) { p.Style = "spaceship" }), "style unknown-value"},
		{"no style", with(func(p *Pattern) { p.Style = "" }), "style required"},
		{"hook 30", with(func(p *Pattern) { p.Hook = 30 }), "hook out-of-range"},
		{"hook 1", with(func(p *Pattern) { p.Hook = 1 }), "hook out-of-range"},
		{"neither hook nor length", with(func(p *Pattern) { p.Hook = 0 }), "hook required"},
		{"length but no hook", with(func(p *Pattern) { p.Hook, p.Length = 0, 22 }), ""},
		{"length of 900 mm", with(func(p *Pattern) { p.Length = 900 }), "length_mm out-of-range"},
		{"shank 9", with(func(p *Pattern) { p.Shank = 9 }), "shank out-of-range"},
		{"colour by name", with(func(p *Pattern) { p.Body = "olive" }), "body not-a-colour"},
		{"colour in capitals", with(func(p *Pattern) { p.Body = " #A98545 " }), ""},
		{"floats how", with(func(p *Pattern) { p.Floats = "sometimes" }), "floats unknown-value"},
		{"posture", with(func(p *Pattern) { p.Wings = "folded" }), "posture unknown-value"},
		{"id with a space", with(func(p *Pattern) { p.ID = "a b" }), "id not-an-id"},
		{"box", Box{Name: "Boat box", Rows: 6, Columns: 8}, ""},
		{"box of no rows", Box{Name: "Boat box", Columns: 8}, "rows out-of-range"},
		{"box too wide", Box{Name: "Boat box", Rows: 1, Columns: MaxBoxColumns + 1}, "columns out-of-range"},
		{"slot", Slot{Place: slot, Pattern: "p", Want: 4}, ""},
		{"slot 0", Slot{Place: Place{"b", 1, 0}, Pattern: "p"}, "slot out-of-range"},
		{"slot in no box", Slot{Place: Place{"", 1, 1}, Pattern: "p"}, "box required"},
		{"target below 0", Slot{Place: slot, Pattern: "p", Want: -1}, "want out-of-range"},
		{"tied", StockMove{Pattern: "p", Delta: 6, Why: WhyTied}, ""},
		{"tied fewer than none", StockMove{Pattern: "p", Delta: -6, Why: WhyTied}, "delta does-not-add-up"},
		{"lost", StockMove{Pattern: "p", Place: &slot, Delta: -1, Why: WhyLost}, ""},
		{"lost and gained", StockMove{Pattern: "p", Place: &slot, Delta: 1, Why: WhyLost}, "delta does-not-add-up"},
		{"moved none", StockMove{Pattern: "p", Why: WhyMoved}, "delta required"},
		{"a thousand", StockMove{Pattern: "p", Delta: 1000, Why: WhyTied}, "delta out-of-range"},
		{"no reason", StockMove{Pattern: "p", Delta: 1}, "why required"},
		{"counted right already", StockMove{Pattern: "p", Why: WhyCounted, Counted: &four}, ""},
		{"counted but not how many", StockMove{Pattern: "p", Delta: 1, Why: WhyCounted}, "counted required"},
		{"counted a thousand", StockMove{Pattern: "p", Delta: 1, Why: WhyCounted, Counted: &thousand}, "counted out-of-range"},
		{"tied and counted", StockMove{Pattern: "p", Delta: 1, Why: WhyTied, Counted: &four}, "counted does-not-add-up"},
		{"sighting", Sighting{When: "2026-08-14T05:12:00-06:00", Hatch: "claassenia", Evidence: []byte(`{"shucks":["damp-stones"]}`)}, ""},
		{"sighting at no time", Sighting{Hatch: "claassenia"}, "when required"},
		{"sighting without offset", Sighting{When: "2026-08-14T05:12:00", Hatch: "claassenia"}, "when not-a-time"},
		{"evidence is a list", Sighting{When: "2026-08-14T05:12:00Z", Hatch: "x", Evidence: []byte(`[1]`)}, "evidence not-an-object"},
		{"evidence is null", Sighting{When: "2026-08-14T05:12:00Z", Hatch: "x", Evidence: []byte(`null`)}, ""},
		{"evidence too long", Sighting{When: "2026-08-14T05:12:00Z", Hatch: "x", Evidence: []byte(`{"x":"` + strings.Repeat("x", MaxEvidence) + `"}`)}, "evidence too-long"},
		{"outcome", Outcome{When: "2026-08-14T05:12:00Z", Result: Refusal, Pattern: "p", Rev: "r"}, ""},
		{"outcome told in full", Outcome{When: "2026-08-14T05:12:00Z", Result: Take, Pattern: "p", Rod: 6, Why: Drag, End: Landed, Fish: " rainbow trout ", FishMM: 410}, ""},
		{"seventh rod", Outcome{When: "2026-08-14T05:12:00Z", Result: Take, Pattern: "p", Rod: 7}, "rod out-of-range"},
		{"reason unheard of", Outcome{When: "2026-08-14T05:12:00Z", Result: Refusal, Pattern: "p", Why: "moon"}, "why unknown-value"},
		{"ending unheard of", Outcome{When: "2026-08-14T05:12:00Z", Result: Take, Pattern: "p", End: "eaten"}, "end unknown-value"},
		{"fish as long as a boat", Outcome{When: "2026-08-14T05:12:00Z", Result: Take, Pattern: "p", FishMM: 4000}, "fish_mm out-of-range"},
		{"rig of three", Rig{When: "2026-08-14T05:12:00Z", Outing: "o", Pattern: "p", Above: []Tied{{Pattern: "q"}, {Pattern: "p", Rev: "r"}}}, ""},
		{"rig of four", Rig{When: "2026-08-14T05:12:00Z", Outing: "o", Pattern: "p", Above: []Tied{{Pattern: "q"}, {Pattern: "q"}, {Pattern: "q"}}}, "above out-of-range"},
		{"rig with a nameless fly", Rig{When: "2026-08-14T05:12:00Z", Outing: "o", Pattern: "p", Above: []Tied{{}}}, "above required"},
		{"station without a name", Station{Water: "Sorrel River"}, "name required"},
		{"reading of nothing", Reading{Station: "q", When: "2026-08-14T05:12:00Z"}, "level_m required"},
		{"reading of the moon", Reading{Station: "q", When: "2026-08-14T05:12:00Z", LevelM: new(9001.0)}, "level_m out-of-range"},
		{"reading in boiling water", Reading{Station: "q", When: "2026-08-14T05:12:00Z", WaterC: new(99.0)}, "water_c out-of-range"},
		{"reading below zero", Reading{Station: "q", When: "2026-08-14T05:12:00Z", LevelM: new(-0.4), WaterC: new(0.0)}, ""},
		{"six names", Outing{Start: "2026-08-14T05:00:00Z", Names: []string{"a", "b", "c", "d", "e", ""}}, ""},
		{"seven names", Outing{Start: "2026-08-14T05:00:00Z", Names: make([]string, 7)}, "rod_names out-of-range"},
		{"outcome unheard of", Outcome{When: "2026-08-14T05:12:00Z", Result: "sneeze", Pattern: "p"}, "result unknown-value"},
		{"outing", Outing{Start: "2026-08-14T05:12:00Z"}, ""},
		{"outing that ends before it starts", Outing{Start: "2026-08-14T05:12:00Z", End: "2026-08-14T05:12:00+02:00"}, "end ends-before-start"},
		{"trip of one day", Trip{Name: "t", From: "2026-08-14", To: "2026-08-14", Rods: 2}, ""},
		{"trip backwards", Trip{Name: "t", From: "2026-08-14", To: "2026-08-13", Rods: 2}, "to ends-before-start"},
		{"trip on no day", Trip{Name: "t", From: "2026-02-30", To: "2026-03-01", Rods: 2}, "from not-a-date"},
		{"trip without rods", Trip{Name: "t", From: "2026-08-14", To: "2026-08-14"}, "rods out-of-range"},
		{"order", Order{For: "the other boat", Pattern: "p", Count: 12}, ""},
		{"order of none", Order{For: "the other boat", Pattern: "p"}, "count out-of-range"},
		{"note", Note{Text: "x"}, ""},
		{"empty note", Note{Text: " "}, "text required"},
		{"deleted", Deleted{Target: "x"}, ""},
		{"deleted nothing", Deleted{}, "target required"},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			body := tc.body.clean()
			got := ""
			for _, p := range body.Check() {
				got += p.Field + " " + p.Code
			}
			if got != tc.want {
				t.Fatalf("got %q, want %q", got, tc.want)
			}
			if tc.want != "" {
				return
			}
			e, err := NewEntry("e", journal.Stamp{MS: 1, Device: "d"}, body)
			if err != nil {
				t.Fatal(err)
			}
			back, err := Decode(e)
			if err != nil {
				t.Fatal(err)
			}
			again, err := NewEntry("e", journal.Stamp{MS: 1, Device: "d"}, back)
			if err != nil || !bytes.Equal(again.Raw(), e.Raw()) {
				t.Errorf("round trip changed\n got %s\nwant %s", again.Raw(), e.Raw())
			}
		})
	}
}

// The largest body that passes its checks must fit in an entry: four bytes in
// each of the characters allowed.
func TestLargestBodyFitsInAnEntry(t *testing.T) {
	long := func(n int) string { return strings.Repeat("𓆏", n) }
	b := Sighting{When: "2026-08-14T05:12:00Z", Hatch: long(MaxName), Form: long(MaxName), Water: long(MaxName), Place: long(MaxName),
		Note: long(MaxNote), Evidence: []byte(`{"x":"` + strings.Repeat("y", MaxEvidence-8) + `"}`)}
	if p := b.Check(); p != nil {
		t.Fatal(p)
	}
	if _, err := NewEntry("e", journal.Stamp{MS: 1, Device: "d"}, b); err != nil {
		t.Error(err)
	}
}

func TestProblemText(t *testing.T) {
	p := journal.Problems{{Field: "hook", Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(2), Max: journal.Of(28), Got: journal.Of(30)}}, {Field: "name", Code: journal.CodeRequired}}
	if got, want := p.Error(), "hook: out-of-range got=30 max=28 min=2; name: required"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	var one *journal.Problem
	if !errors.As(p.Err(), &one) || one.Field != "hook" || p.Field("name") == nil || p.Field("style") != nil {
		t.Error("problems cannot be found by their field")
	}
	if journal.Problems(nil).Err() != nil {
		t.Error("no problem is an error")
	}
}

func FuzzParseEntry(f *testing.F) {
	f.Add([]byte(goodEntry))
	f.Add([]byte(`{"id":"p1","at":"2026-08-14T05:12:09.123Z-0000-a","v":1,"kind":"pattern","body":{"name":"x","style":"nymph","hook":14}}`))
	f.Add([]byte(`{"id":"m1","at":"2026-08-14T05:12:09.123Z-0000-a","v":1,"kind":"stock","body":{"pattern":"p1","place":{"box":"b","row":1,"slot":2},"delta":3,"why":"tied"}}`))
	f.Add([]byte(`{"id":"m1","at":"2026-08-14T05:12:09.123Z-0000-a","v":2,"kind":"moon","body":{},"x":"\u2028<"}`))
	f.Add([]byte("{\"id\":\"\xff\"}"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		e, err := journal.ParseEntry(raw)
		if err != nil {
			var p *journal.Problem
			if !errors.As(err, &p) {
				t.Fatalf("error is no Problem: %v", err)
			}
			return
		}
		var plain bytes.Buffer
		if err := json.Compact(&plain, raw); err != nil || !bytes.Equal(plain.Bytes(), e.Raw()) {
			t.Fatalf("got %s, want %s (%v)", e.Raw(), &plain, err)
		}
		again, err := journal.ParseEntry(e.Raw())
		if err != nil || !bytes.Equal(again.Raw(), e.Raw()) || again.ID != e.ID || again.At != e.At || again.V != e.V || again.Kind != e.Kind {
			t.Fatalf("read again as %+v (%v)", again, err)
		}
		whole, err := journal.Marshal(struct{ E journal.Entry }{e})
		if err != nil || string(whole) != `{"E":`+string(e.Raw())+`}` {
			t.Fatalf("changed inside other JSON: %s (%v)", whole, err)
		}
		s := Fold([]journal.Entry{e, e})
		if s.Len() != 1 {
			t.Fatalf("%d entries", s.Len())
		}
		s.CanonicalJSON()
		if body, err := Decode(e); err == nil {
			if p := body.Check(); p != nil {
				t.Fatalf("decoded but not valid: %v", p)
			}
			if _, err := NewEntry("x", e.At, body); err != nil {
				t.Fatalf("decoded but cannot be written: %v", err)
			}
		}
	})
}
