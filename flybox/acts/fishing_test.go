package acts_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
)

var noon = time.Date(2026, 8, 14, 12, 0, 0, 0, time.UTC)

// boat is an outing with flies named after their ids.
func boat(t *testing.T, more ...flybox.Body) *flybox.State {
	bodies := []flybox.Body{flybox.Outing{ID: "o", Start: "2026-08-14T05:00:00Z", Rods: 2}}
	for _, id := range []journal.ID{"dry", "nymph", "ant", "soft"} {
		bodies = append(bodies, flybox.Pattern{ID: id, Name: string(id), Style: flybox.Styles[0], Hook: 10, Body: "#a98545"})
	}
	return fold(t, append(bodies, more...)...)
}

func TestChangeRig(t *testing.T) {
	rig := func(rod int, flies ...journal.ID) flybox.Body {
		r := flybox.Rig{When: "2026-08-14T06:00:00Z", Outing: "o", Rod: rod, Hatch: "claassenia", Form: "adult-male"}
		for i, id := range flies {
			if i == 0 {
				r.Pattern = id
			} else {
				r.Above = append(r.Above, flybox.Tied{Pattern: id})
			}
		}
		return r
	}
	for _, c := range []struct {
		name   string
		before flybox.Body
		change acts.Change
		want   string
		err    error
	}{
		{"the first fly", nil, acts.Change{Fly: "dry"}, "0 [dry] ", nil},
		{"another in its place", rig(0, "dry"), acts.Change{Fly: "ant"}, "0 [ant] claassenia", nil},
		{"one more above", rig(0, "dry"), acts.Change{Fly: "ant", Place: 1}, "0 [dry ant] claassenia", nil},
		{"a place far up is the next", rig(0, "dry"), acts.Change{Fly: "ant", Place: 9}, "0 [dry ant] claassenia", nil},
		{"a nymph below the dry fly", rig(0, "dry"), acts.Change{Fly: "nymph", Hang: true}, "0 [nymph dry] claassenia", nil},
		{"the one in the middle", rig(0, "dry", "ant", "soft"), acts.Change{Fly: "nymph", Place: 1}, "0 [dry nymph soft] claassenia", nil},
		{"a fourth", rig(0, "dry", "ant", "soft"), acts.Change{Fly: "nymph", Place: 3}, "", acts.ErrFull},
		{"a fourth below", rig(0, "dry", "ant", "soft"), acts.Change{Fly: "nymph", Hang: true}, "", acts.ErrFull},
		{"the point comes off", rig(0, "dry", "ant"), acts.Change{Off: true}, "0 [ant] claassenia", nil},
		{"the last comes off", rig(0, "dry"), acts.Change{Off: true}, "0 [] claassenia", nil},
		{"what is not there stays off", rig(0, "dry"), acts.Change{Off: true, Place: 2}, "0 [dry] claassenia", nil},
		{"a place below the point", rig(0, "dry"), acts.Change{Off: true, Place: -1}, "0 [dry] claassenia", nil},
		{"what they are on", rig(0, "dry", "ant"), acts.Change{On: &acts.On{Hatch: "hexagenia"}}, "0 [dry ant] hexagenia", nil},
		{"the other rod begins bare", rig(1, "dry"), acts.Change{Rod: 2, Fly: "ant"}, "2 [ant] ", nil},
		{"no such fly", rig(0, "dry"), acts.Change{Fly: "ghost"}, "", acts.ErrUnknown},
	} {
		s := boat(t)
		if c.before != nil {
			s.Apply(entry(t, 20, c.before))
		}
		bodies, err := acts.ChangeRig(s, "o", c.change, noon)
		if !errors.Is(err, c.err) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err != nil {
			continue
		}
		r := bodies[0].(flybox.Rig)
		var ids []journal.ID
		for _, f := range r.Flies() {
			ids = append(ids, f.Pattern)
		}
		if got := fmt.Sprintf("%d %v %s", r.Rod, ids, r.Hatch); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if p := r.Check(); len(p) > 0 {
			t.Errorf("%s: %v", c.name, p)
		}
	}
}

func TestAFishCountsForTheFlyThatItSaw(t *testing.T) {
	s := boat(t,
		flybox.Rig{ID: "r", When: "2026-08-14T06:00:00Z", Outing: "o", Rod: 2, Pattern: "nymph", Rev: "rev-n", Above: []flybox.Tied{{Pattern: "dry", Rev: "rev-d"}}},
		flybox.StockMove{Pattern: "dry", Delta: 2, Why: flybox.WhyTied},
	)
	for place, want := range []journal.ID{"nymph", "dry"} {
		bodies, err := acts.NoteFish(s, "o", acts.Fish{ID: "x", Shown: "r", Place: place, Did: flybox.Take, Gone: true}, noon)
		if err != nil || len(bodies) != 2 {
			t.Fatalf("%v, %v", bodies, err)
		}
		o, m := bodies[0].(flybox.Outcome), bodies[1].(flybox.StockMove)
		if o.Pattern != want || m.Pattern != want || o.Rod != 2 || m.Outcome != "x" {
			t.Errorf("place %d: %+v, %+v", place, o, m)
		}
	}
	for _, f := range []acts.Fish{{Shown: "r", Place: 2}, {Shown: "r", Place: -1}, {Rod: 1}} {
		f.Did = flybox.Take
		if _, err := acts.NoteFish(s, "o", f, noon); !errors.Is(err, acts.ErrUnknown) {
			t.Errorf("%+v: %v", f, err)
		}
	}
}

func TestDescribeFish(t *testing.T) {
	s := boat(t,
		flybox.Outcome{ID: "off", When: "2026-08-14T06:00:00Z", Result: flybox.Refusal, Pattern: "dry", Outing: "o", Note: "kept"},
		flybox.Outcome{ID: "on", When: "2026-08-14T06:00:00Z", Result: flybox.Take, Pattern: "dry", Outing: "o"},
		flybox.Outcome{ID: "away", When: "2026-08-14T06:00:00Z", Result: flybox.Lost, Pattern: "dry", Outing: "o"},
	)
	drag, none, landed, kind, mm := flybox.Drag, flybox.Reason(""), flybox.Landed, "grayling", 380.0
	for _, c := range []struct {
		id   journal.ID
		say  acts.Described
		want flybox.Outcome
	}{
		{"off", acts.Described{Why: &drag}, flybox.Outcome{Result: flybox.Refusal, Why: drag}},
		{"off", acts.Described{Why: &none}, flybox.Outcome{}}, // nothing to record
		{"on", acts.Described{Why: &drag}, flybox.Outcome{}},
		{"on", acts.Described{End: &landed}, flybox.Outcome{Result: flybox.Take, End: landed}},
		{"on", acts.Described{Lost: true}, flybox.Outcome{Result: flybox.Lost}},
		{"away", acts.Described{End: &landed}, flybox.Outcome{Result: flybox.Take, End: landed}},
		{"on", acts.Described{Fish: &kind, FishMM: &mm}, flybox.Outcome{Result: flybox.Take, Fish: kind, FishMM: mm}},
	} {
		bodies, err := acts.DescribeFish(s, "o", c.id, c.say)
		if err != nil {
			t.Fatal(err)
		}
		if c.want.Result == "" {
			if len(bodies) > 0 {
				t.Errorf("%s with %+v: %+v", c.id, c.say, bodies)
			}
			continue
		}
		old, _ := s.Outcome(c.id)
		c.want.ID, c.want.When, c.want.Pattern, c.want.Outing, c.want.Note = c.id, old.Body.When, "dry", "o", old.Body.Note
		if len(bodies) != 1 || bodies[0] != flybox.Body(c.want) {
			t.Errorf("%s: %+v, want %+v", c.id, bodies, c.want)
		}
	}
	for _, at := range [][2]journal.ID{{"o", "ghost"}, {"elsewhere", "on"}} {
		if _, err := acts.DescribeFish(s, at[0], at[1], acts.Described{Lost: true}); !errors.Is(err, acts.ErrUnknown) {
			t.Errorf("%v: %v", at, err)
		}
	}
}
