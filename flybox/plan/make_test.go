package plan

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/storetest"
	"dampstone/hatchkeys"
)

func demoState(t testing.TB) *flybox.State {
	t.Helper()
	entries, err := demo.Entries()
	if err != nil {
		t.Fatal(err)
	}
	return storetest.Fold(entries)
}

func regionOf(t testing.TB, region string) (*hatchkeys.Key, []match.CompiledQuarry) {
	t.Helper()
	key, err := hatchkeys.ForRegion(region)
	if err != nil {
		t.Fatal(err)
	}
	return key, quarriesOf(key)
}

func quarriesOf(key *hatchkeys.Key) []match.CompiledQuarry {
	quarries := make([]match.CompiledQuarry, key.FormCount())
	for i := range quarries {
		h, f := key.FormAt(i)
		quarries[i] = match.CompileQuarry(match.Quarry{Stage: f.Stage, Group: h.Group, Length: f.Length, Colours: f.Colour.Body, Wing: f.Colour.Wing})
	}
	return quarries
}

func lineOf(p Plan, id journal.ID) (Line, bool) {
	i := slices.IndexFunc(p.Lines, func(l Line) bool { return l.New == nil && l.Fly.ID == id })
	if i < 0 {
		return Line{}, false
	}
	return p.Lines[i], true
}

func TestAnAugustPlanAddsUp(t *testing.T) {
	r := demoRequest(t, nil)
	p := Make(r)
	if len(p.Days) != 3 || len(p.Hatches) == 0 || len(p.Lines) == 0 {
		t.Fatalf("%d days, %d hatches, %d lines", len(p.Days), len(p.Hatches), len(p.Lines))
	}
	if p.Hatches[0].Share <= 0 || p.RodDays != 12 || math.Abs(p.All.Mean-24) > 1e-9 {
		t.Errorf("share %g, %g rod days, %g flies; want 12 and 24", p.Hatches[0].Share, p.RodDays, p.All.Mean)
	}
	var share, days, flies float64
	for _, o := range p.Hatches {
		share += o.Share
		days += o.rodDays
	}
	used := 0
	for _, l := range p.Lines {
		flies += l.Demand.Mean
		used += slotsFor(l.Take, p.PerSlot)
		var uses float64
		for _, u := range l.Uses {
			uses += u.Flies
		}
		if math.Abs(uses-l.Demand.Mean) > 1e-9 {
			t.Errorf("%s: uses add up to %g, demand %g", l.Fly.Name, uses, l.Demand.Mean)
		}
		if l.Take > l.Left()+l.ByThen || l.ByThen > l.Tie || l.Want < 0 || !(l.Enough() >= 0 && l.Enough() <= 1) {
			t.Errorf("%s: %+v", l.Fly.Name, l)
		}
		if l.Reason == ReasonLevel && l.Enough() < p.Level-1e-9 {
			t.Errorf("%s is said to meet the level, with %g", l.Fly.Name, l.Enough())
		}
	}
	if math.Abs(share-1) > 1e-9 || math.Abs(days-12*(1-p.Blind)) > 1e-9 || used != p.Used || p.Used > p.Slots {
		t.Errorf("shares %g, rod days %g, slots %d of %d (said %d)", share, days, used, p.Slots, p.Used)
	}
	// Small needs that nothing fits are dropped, so a little may be missing.
	if flies > p.All.Mean+1e-9 || flies < 0.8*p.All.Mean {
		t.Errorf("lines use up %g, the trip %g", flies, p.All.Mean)
	}
	// In the middle of August the short-winged golden stonefly is about.
	// Common practice, no source.
	if i := slices.IndexFunc(p.Hatches, func(o Outlook) bool { return o.Hatch.ID == "claassenia" }); i < 0 || p.Hatches[i].Chance[0] < 0.3 {
		t.Errorf("claassenia is at %d of the hatches", i)
	}
	if l, ok := lineOf(p, demo.ID("golden-short")); !ok || l.Uses[0].Hatch.ID != "claassenia" {
		t.Errorf("the short-winged fly: %+v", l)
	}
}

func TestMoreLossesMeanMoreFlies(t *testing.T) {
	total := func(p Plan) (n int) {
		for _, l := range p.Lines {
			n += l.Need
		}
		return n
	}
	usual := total(Make(demoRequest(t, nil)))
	for name, r := range map[string]Request{
		"novices":      demoRequest(t, func(b *flybox.Trip) { b.Skill = flybox.Novice }),
		"longer days":  demoRequest(t, func(b *flybox.Trip) { b.Hours = 12 }),
		"more rods":    demoRequest(t, func(b *flybox.Trip) { b.Rods = 6 }),
		"more days":    demoRequest(t, func(b *flybox.Trip) { b.To = "2026-08-18" }),
		"surer":        demoRequest(t, func(b *flybox.Trip) { b.Level = 0.97 }),
		"own bad luck": func() Request { r := demoRequest(t, nil); r.Rate = r.Rate.Learn(60, 12); return r }(),
	} {
		if got := total(Make(r)); got <= usual {
			t.Errorf("%s: %d flies, usually %d", name, got, usual)
		}
	}
	if got := total(Make(demoRequest(t, func(b *flybox.Trip) { b.Skill = flybox.Practised }))); got >= usual {
		t.Errorf("a practised party: %d flies, usually %d", got, usual)
	}
}

func TestSlotsAndEveningsBind(t *testing.T) {
	r := demoRequest(t, nil)
	r.Slots = 3
	p := Make(r)
	if p.Used > 3 || !slices.ContainsFunc(p.Lines, func(l Line) bool { return l.Reason == ReasonSlots }) {
		t.Errorf("%d of 3 slots used, and no line says that slots ran out", p.Used)
	}
	none := 0
	r = demoRequest(t, func(b *flybox.Trip) { b.Evenings = &none })
	for i := range r.Flies {
		r.Flies[i].Fly.Left = 1
	}
	p = Make(r)
	if p.Tying.Possible != 0 || p.Tying.Wanted == 0 {
		t.Errorf("tying %+v", p.Tying)
	}
	for _, l := range p.Lines {
		if l.ByThen != 0 || l.Take > l.Left() {
			t.Errorf("%s: takes %d of %d without an evening", l.Fly.Name, l.Take, l.Left())
		}
	}
	// By hand: 2 evenings of 1.5 h at 20 minutes a fly are 4 flies each.
	two := 2
	p = Make(demoRequest(t, func(b *flybox.Trip) { b.Evenings, b.EveningHours, b.TieMinutes = &two, 1.5, 20; b.Rods = 20 }))
	if p.Tying.Possible != 8 {
		t.Errorf("tying %+v, want 8 possible", p.Tying)
	}
	if p = Make(demoRequest(t, func(b *flybox.Trip) { b.EveningHours, b.TieMinutes = 0.2, 15 })); p.Tying.Possible != 0 {
		t.Errorf("a fly that takes longer than an evening is tied: %+v", p.Tying)
	}
}

func TestALineCanBeOverruled(t *testing.T) {
	r := demoRequest(t, nil)
	r.Fixed = map[journal.ID]int{demo.ID("golden-short"): 2, demo.ID("winter-stone"): 3, "gone": 5}
	p := Make(r)
	if l, _ := lineOf(p, demo.ID("golden-short")); l.Take != 2 || !l.Fixed || l.Reason != ReasonFixed {
		t.Errorf("%+v", l)
	}
	if l, ok := lineOf(p, demo.ID("winter-stone")); !ok || l.Want != 3 || l.Demand.Mean > 0.5 {
		t.Errorf("a fly that no hatch asks for: %v %+v", ok, l)
	}
}

func TestStrangeTripsHavePlans(t *testing.T) {
	for name, change := range map[string]func(*flybox.Trip){
		"over the new year": func(b *flybox.Trip) { b.From, b.To = "2026-12-30", "2027-01-02" },
		"past":              func(b *flybox.Trip) { b.From, b.To = "2024-07-01", "2024-07-03" },
		"of one day":        func(b *flybox.Trip) { b.To = b.From },
		"of sixty days":     func(b *flybox.Trip) { b.To = "2026-10-11" },
		"of ten years":      func(b *flybox.Trip) { b.To = "2036-08-13" },
		"leap day":          func(b *flybox.Trip) { b.From, b.To = "2028-02-28", "2028-03-01" },
		"without waters":    func(b *flybox.Trip) { b.Waters = nil },
		"no days at all":    func(b *flybox.Trip) { b.From, b.To = "", "" },
	} {
		for _, flies := range []string{"own flies", "no flies"} {
			for _, slots := range []int{NoLimit, 0, 48} {
				r := demoRequest(t, change)
				r.Slots = slots
				if flies == "no flies" {
					r.Flies = nil
				}
				p := Make(r)
				for _, l := range p.Lines {
					if math.IsNaN(l.Demand.Mean) || math.IsNaN(l.Demand.Size) || l.Take < 0 {
						t.Fatalf("%s, %s, %d slots: %+v", name, flies, slots, l)
					}
				}
				if slots == 0 && p.Used != 0 {
					t.Errorf("%s: %d slots used of none", name, p.Used)
				}
				if name == "of sixty days" && len(p.Days) != 60 || len(p.Days) > MaxDays {
					t.Errorf("%s: %d days", name, len(p.Days))
				}
				if flies == "no flies" && len(p.Days) > 0 && (len(p.Lines) == 0 || p.Lines[0].New == nil) {
					t.Errorf("%s: nothing proposed for an empty box", name)
				}
			}
		}
	}
}

// bigRequest is a season: 40 hatches, 600 patterns, 60 days.
func bigRequest(t testing.TB) Request {
	key, quarries := regionOf(t, "west-na")
	var flies []match.CompiledFly
	for i := range 600 {
		b := flybox.Pattern{ID: journal.ID(fmt.Sprint("fly-", i)), Name: fmt.Sprint("Fly ", i), Style: flybox.Styles[i%len(flybox.Styles)], Hook: 4 + i*7%17, Body: fmt.Sprintf("#%02x%02x%02x", 40+i*13%150, 30+i*7%150, 20+i*5%120)}
		flies = append(flies, match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: b}, Left: i % 9}))
	}
	trip := flybox.Trip{ID: "t", Name: "Season", From: "2026-06-15", To: "2026-08-13", Rods: 6, Waters: []flybox.TripWater{{Type: "freestone"}, {Type: "tailwater"}}}
	return Request{Trip: trip, Today: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC), Key: key, Quarries: quarries, Flies: flies, Slots: 400, Rate: AssumedRate}
}

func TestASeasonIsPlannedWhole(t *testing.T) {
	p := Make(bigRequest(t))
	if len(p.Days) != 60 || len(p.Hatches) != mostHatches {
		t.Errorf("%d days, %d hatches", len(p.Days), len(p.Hatches))
	}
}

func BenchmarkSeason(b *testing.B) {
	r := bigRequest(b)
	b.ReportAllocs()
	for b.Loop() {
		Make(r)
	}
}
