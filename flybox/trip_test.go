package flybox

import (
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"dampstone/flybox/journal"
)

func TestTripKeepsFieldsOfANewerVersion(t *testing.T) {
	raw := `{"id":"t","name":"Canyon","from":"2026-12-30","to":"2027-01-02","rods":2,"shuttle":{"at":"the bridge"},"waters":[{"name":"Ember Creek","altitude_m":0}]}`
	var b Trip
	if err := json.Unmarshal([]byte(raw), &b); err != nil {
		t.Fatal(err)
	}
	b.Rods = 3
	e := entryAt(t, "e", 0, "a", b.clean())
	var got map[string]any
	if err := json.Unmarshal(e.RawBody(), &got); err != nil {
		t.Fatal(err)
	}
	if at, _ := got["shuttle"].(map[string]any); at["at"] != "the bridge" || got["rods"] != 3.0 {
		t.Errorf("written as %s", e.RawBody())
	}
	s := Fold([]journal.Entry{e})
	l, ok := s.Trip("t")
	if !ok || l.Body.Waters[0].Altitude == nil || *l.Body.Waters[0].Altitude != 0 {
		t.Errorf("folded as %+v", l)
	}
	if _, _, n := l.Body.Days(); n != 4 {
		t.Errorf("a trip over the new year has %d days, want 4", n)
	}
}

func TestTripNamesAreThoseOfItsFields(t *testing.T) {
	var names []string
	for f := range reflect.TypeFor[Trip]().Fields() {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" {
			names = append(names, name)
		}
	}
	if !slices.Equal(names, tripNames) {
		t.Errorf("fields %v\nnames %v", names, tripNames)
	}
}

func TestTripBounds(t *testing.T) {
	one, year, high := 1, 400, 9500.0
	for name, c := range map[string]struct {
		change func(*Trip)
		want   string
	}{
		"all said":                          {func(b *Trip) { b.Skill, b.Level, b.PerSlot, b.Evenings = Novice, 0.9, 6, &one }, ""},
		"level of certain":                  {func(b *Trip) { b.Level = 1 }, "level " + journal.CodeRange},
		"level below half":                  {func(b *Trip) { b.Level = 0.2 }, "level " + journal.CodeRange},
		"unknown skill":                     {func(b *Trip) { b.Skill = "expert" }, "skill " + journal.CodeUnknown},
		"too many evenings":                 {func(b *Trip) { b.Evenings = &year }, "evenings " + journal.CodeRange},
		"water in the sky":                  {func(b *Trip) { b.Waters = []TripWater{{Altitude: &high}} }, "altitude_m " + journal.CodeRange},
		"box without id":                    {func(b *Trip) { b.Boxes = []journal.ID{""} }, "boxes " + journal.CodeRequired},
		"temperature of a day that is none": {func(b *Trip) { b.Temperatures = []DayTemp{{"2026-02-30", 4, 9}} }, "temperatures " + journal.CodeNotDate},
		"warmest below coldest":             {func(b *Trip) { b.Temperatures = []DayTemp{{"2026-02-03", 9, 4}} }, "temperatures " + journal.CodeBackwards},
	} {
		b := Trip{Name: "t", From: "2026-08-14", To: "2026-08-14", Rods: 1}
		c.change(&b)
		got := ""
		if p := b.Check(); len(p) > 0 {
			got = p[0].Field + " " + p[0].Code
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestTwoDevicesThatOverruleDifferentLinesKeepBoth(t *testing.T) {
	entries := []journal.Entry{
		entryAt(t, "e1", 1, "a", TripLine{Trip: "t", Pattern: "p", Take: 4}),
		entryAt(t, "e2", 1, "b", TripLine{Trip: "t", Pattern: "q", Take: 7}),
		entryAt(t, "e3", 2, "b", TripLine{Trip: "t", Pattern: "p", Take: 9}),
		entryAt(t, "e4", 3, "b", TripLine{Trip: "t", Pattern: "r", Off: true}),
		entryAt(t, "e5", 3, "b", TripLine{Trip: "u", Pattern: "p", Take: 1}),
	}
	want := []TripLine{{Trip: "t", Pattern: "p", Take: 9}, {Trip: "t", Pattern: "q", Take: 7}}
	digest := ""
	rng := rand.New(rand.NewPCG(5, 1))
	for range 20 {
		rng.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		s := Fold(entries)
		if got := s.TripLines("t"); !slices.Equal(got, want) {
			t.Fatalf("lines %+v, want %+v", got, want)
		}
		if d := s.Digest(); digest != "" && d != digest {
			t.Fatal("the order of arrival shows")
		} else {
			digest = d
		}
	}
}

func TestTheLastCountOfATripCountsAndGoesWithIt(t *testing.T) {
	trip := Trip{ID: "t", Name: "x", From: "2026-08-14", To: "2026-08-14", Rods: 1}
	back := func(n int) TripReturn {
		return TripReturn{ID: "t", When: "2026-08-15T20:00:00Z", RodDays: 1, High: 4, Lines: []ReturnLine{{Pattern: "p", Took: 6, Back: n}, {Pattern: "q", Took: 1, Back: 2}}}
	}
	s := foldOf(t, trip, back(2), back(5))
	if l, ok := s.Return("t"); !ok || l.Body.Lost() != 1 {
		t.Errorf("return %+v %v, want one lost", l, ok)
	}
	if foldOf(t, trip, back(2)).Digest() == foldOf(t, trip, back(3)).Digest() {
		t.Error("the count does not show in the digest")
	}
	if s = foldOf(t, trip, back(2), Deleted{Target: "t"}); len(s.Returns()) != 0 {
		t.Error("the count outlives its trip")
	}
	s = foldOf(t, StockMove{Pattern: "p", Delta: -1, Why: WhyLost, Trip: "t"})
	if m := s.Moves("p"); len(m) != 1 || m[0].Trip != "t" {
		t.Errorf("moves %+v", m)
	}
}
