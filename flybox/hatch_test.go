package flybox

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
)

// redDrake is an invented hatch that is at least mm long.
func redDrake(mm int) json.RawMessage {
	return fmt.Appendf(nil, `{"name":{"en":"Invented red drake"},"group":"mayfly","season":[{"from":"11-01","to":"11-30"}],"forms":[{"stage":"dun","length":{"from":%d,"to":40},"colour":{"body":["#8a4526"]}}]}`, mm)
}

func TestAHatchSaysWhatIsWrong(t *testing.T) {
	ok := Hatch{Region: "west-na", Hatch: redDrake(31)}
	with := func(change func(*Hatch)) Hatch { b := ok; change(&b); return b }
	rows := []struct {
		name string
		body Hatch
		want string // "field code", empty for none
	}{
		{"a hatch", ok, ""},
		{"of a region that is not known here", with(func(b *Hatch) { b.Region = "mars" }), ""},
		{"with parts that are not known here", with(func(b *Hatch) {
			b.Hatch = bytes.Replace(b.Hatch, []byte(`{`), []byte(`{"glow":[1,2],`), 1)
		}), ""},
		{"no region", with(func(b *Hatch) { b.Region = " " }), "region required"},
		{"no hatch", with(func(b *Hatch) { b.Hatch = nil }), "hatch required"},
		{"null", with(func(b *Hatch) { b.Hatch = []byte("null") }), "hatch not-json"},
		{"text", with(func(b *Hatch) { b.Hatch = []byte(`"x"`) }), "hatch not-json"},
		{"half an object", with(func(b *Hatch) { b.Hatch = []byte(`{"name":`) }), "hatch not-json"},
		{"too large", with(func(b *Hatch) {
			b.Hatch = append(redDrake(31), bytes.Repeat([]byte(" "), hatchkeys.MaxLocalBytes)...)
		}), "hatch too-long"},
		{"41 mm to 40 mm", with(func(b *Hatch) { b.Hatch = redDrake(41) }), "hatch.forms.0.length.to does-not-add-up"},
		{"no length", with(func(b *Hatch) { b.Hatch = redDrake(0) }), "hatch.forms.0.length.from out-of-range"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			got := ""
			if p := row.body.clean().Check(); len(p) > 0 {
				got = p[0].Field + " " + p[0].Code
			}
			if got != row.want {
				t.Errorf("got %q, want %q", got, row.want)
			}
		})
	}
}

func TestAHatchIsChangedAndDeletedAndComesBack(t *testing.T) {
	first, second := Hatch{ID: "w", Region: "x", Hatch: redDrake(31)}, Hatch{ID: "w", Region: "x", Hatch: redDrake(33)}
	s := foldOf(t, first, second)
	if l, ok := s.Hatch("w"); !ok || !bytes.Equal(l.Body.Hatch, redDrake(33)) || l.Entry != "e1" || len(s.Hatches()) != 1 {
		t.Errorf("after a change: %v %+v", ok, l)
	}
	s = foldOf(t, first, Deleted{Target: "w"})
	if _, ok := s.Hatch("w"); ok || len(s.Hatches()) != 0 {
		t.Error("a deleted hatch shows")
	}
	s = foldOf(t, first, Deleted{Target: "w"}, second)
	if _, ok := s.Hatch("w"); !ok {
		t.Error("a change after a deletion does not show")
	}
}

// A hatch that a newer version wrote goes on to other devices as it is, and
// changes nothing here.
func TestANewerHatchSurvivesAndChangesNothing(t *testing.T) {
	rows := []struct{ name, raw string }{
		{"newer format", `{"id":"n1","at":"2026-08-14T05:00:00.000Z-0000-a","v":2,"kind":"hatch","body":{"id":"w","region":"x","hatch":{"spectrum":[1,2,3]}}}`},
		{"newer kind", `{"id":"n2","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"hatch-song","body":{"id":"w"}}`},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			e, err := journal.ParseEntry([]byte(row.raw))
			if err != nil {
				t.Fatal(err)
			}
			good, bad := Sift([]journal.Entry{e})
			if len(good) != 1 || len(bad) != 0 || string(good[0].Raw()) != row.raw {
				t.Fatalf("kept %v, refused %v", good, bad)
			}
			s := foldOf(t, Hatch{ID: "w", Region: "x", Hatch: redDrake(31)})
			s.Apply(e)
			if l, ok := s.Hatch("w"); !ok || s.Newer() != 1 || !bytes.Equal(l.Body.Hatch, redDrake(31)) {
				t.Errorf("%d newer, hatch %v %s", s.Newer(), ok, l.Body.Hatch)
			}
		})
	}
	// Fields that are not known survive within a hatch that is.
	raw := `{"id":"n3","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"hatch","body":{"id":"w","region":"x","mood":"glad","hatch":` +
		strings.Replace(string(redDrake(31)), "{", `{"glow":"faint",`, 1) + `}}`
	e, err := journal.ParseEntry([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	if good, _ := Sift([]journal.Entry{e}); len(good) != 1 || string(good[0].Raw()) != raw {
		t.Errorf("kept %v", good)
	}
	if l, ok := Fold([]journal.Entry{e}).Hatch("w"); !ok || !strings.Contains(string(l.Body.Hatch), `"glow":"faint"`) {
		t.Errorf("shows %v %s", ok, l.Body.Hatch)
	}
}
