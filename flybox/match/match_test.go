package match

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
)

// Flies and insects of these tests are made up; what should come out is what
// an angler would do (common practice, no source).

func fly(name string, style flybox.Style, mm float64, body string, left int, more ...func(*flybox.Pattern)) flybox.Fly {
	p := flybox.Pattern{ID: journal.ID(name), Name: name, Style: style, Hook: 8, Length: mm, Body: body}
	for _, f := range more {
		f(&p)
	}
	return flybox.Fly{Revision: flybox.Revision{Pattern: p, Rev: journal.ID(name + "-r1")}, Left: left}
}

// exactly is a range of one length.
func exactly(mm float64) hatchkeys.Range { return hatchkeys.Range{From: mm, To: mm} }

func compile(flies ...flybox.Fly) []CompiledFly {
	var out []CompiledFly
	for _, f := range flies {
		out = append(out, CompileFly(f))
	}
	return out
}

var (
	shortWing = Quarry{Group: "stonefly", Stage: "adult", Length: exactly(20), Colours: []string{"#a98545", "#b8924c"}, Wings: flybox.ShortWing, Water: "freestone"}
	paleDun   = Quarry{Group: "mayfly", Stage: "dun", Length: exactly(7), Colours: []string{"#d9c48a"}, Water: "tailwater"}
)

func hook(n int) func(*flybox.Pattern) { return func(p *flybox.Pattern) { p.Hook = n } }

func TestRankPutsTheUsefulFirst(t *testing.T) {
	flies := compile(
		fly("golden short wing", flybox.ShortWingStone, 20, "#a98545", 3, hook(8)),
		fly("golden short wing, used up", flybox.ShortWingStone, 20.5, "#b8924c", 0, hook(8)),
		fly("golden foam, a little long", flybox.FoamStone, 23.5, "#b08d45", 2, hook(8)),
		fly("orange foam, big", flybox.FoamStone, 42, "#c46a22", 6, hook(2)),
		fly("pale dun", flybox.ParachuteDun, 7, "#d9c48a", 8, hook(16)),
		fly("midge pupa", flybox.MidgePupa, 4, "#2b2825", 8, hook(22)),
	)
	q := CompileQuarry(shortWing)
	r := Rank(flies, &q)
	var names []string
	for _, m := range r.Matches {
		names = append(names, m.Fly.Name)
	}
	want := []string{"golden short wing", "golden foam, a little long", "golden short wing, used up"}
	if !slices.Equal(names[:3], want) {
		t.Errorf("order %q, want %q first", names, want)
	}
	if len(names) != len(flies) {
		t.Errorf("%d of %d flies shown", len(names), len(flies))
	}
	if r.NothingFits || r.NoneLeft || r.Tie != nil {
		t.Errorf("something fits and is left, but %+v", r)
	}
	if m := r.Matches[2]; !m.NoneLeft || !m.Usable() {
		t.Errorf("used up: %+v", m)
	}
	for _, m := range r.Matches[3:] {
		if m.Usable() {
			t.Errorf("%q should not do for a 20 mm stonefly with short wings: score %.3f %+v", m.Fly.Name, m.Score, m.Changes)
		}
	}
}

func TestReasonsNameTheMisfit(t *testing.T) {
	good := fly("good", flybox.ParachuteDun, 7, "#d9c48a", 1, hook(16))
	tests := []struct {
		name   string
		change func(*flybox.Fly)
		worst  string
	}{
		{"too long", func(f *flybox.Fly) { f.Length = 12 }, PartLength},
		{"too dark", func(f *flybox.Fly) { f.Body = "#2b2825" }, PartColour},
		{"another insect", func(f *flybox.Fly) { f.Style = flybox.StoneflyNymph; f.Floats = flybox.High; f.Wings = flybox.Upright }, PartShape},
		{"sinks", func(f *flybox.Fly) { f.Floats = flybox.Deep }, PartFloats},
	}
	q := CompileQuarry(paleDun)
	base := CompileFly(good)
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			f := good
			tc.change(&f)
			r := Rank(compile(f), &q)
			m := r.Matches[0]
			if m.Parts[0].Code != tc.worst {
				t.Errorf("worst part %s, want %s: %+v", m.Parts[0].Code, tc.worst, m.Parts)
			}
			if m.Score >= Score(&base, &q) {
				t.Errorf("score %.3f not below %.3f", m.Score, Score(&base, &q))
			}
			var weight float64
			for _, p := range m.Parts {
				weight += p.Weight
			}
			if math.Abs(weight-1) > 1e-12 {
				t.Errorf("weights add up to %v", weight)
			}
		})
	}
}

// by hand: length ln(8/7)/0.15 = 0.8902 sd, exp(-0.8902^2/2) = 0.6729; the
// rest is perfect save film for high (0.8) and 1 for water; weights 3, 2, 4,
// 2, 1 and 0.5: exp((3 ln 0.6729 + 2 ln 0.8)/12.5) = exp(-1.63466/12.5).
func TestScoreByHand(t *testing.T) {
	f := CompileFly(fly("f", flybox.ParachuteDun, 8, "#d9c48a", 1))
	q := CompileQuarry(paleDun)
	// by hand: length exp(-(ln(8/7)/0.17)^2/2) = 0.7345 with 3 of 12.5, float 0.8
	// with 2, the rest 1
	if got := Score(&f, &q); math.Abs(got-0.8961) > 2e-4 {
		t.Errorf("got %.5f, want 0.8961", got)
	}
}

func TestChangesWithScissorsAndPen(t *testing.T) {
	emerger := Quarry{Group: "mayfly", Stage: "emerger", Wings: flybox.Upright, Length: exactly(7), Colours: []string{"#8a4526"}}
	tests := []struct {
		name   string
		fly    flybox.Fly
		quarry Quarry
		want   []string // codes; none: it does as it is
		usable bool
	}{
		{"right as it is", fly("f", flybox.ShortWingStone, 20, "#a98545", 1), shortWing, nil, true},
		{"foam too long by a quarter and winged", fly("f", flybox.FoamStone, 25, "#a98545", 1), shortWing, []string{TrimLength, TrimWing}, true},
		{"pale fly for a dark insect", fly("f", flybox.ShortWingStone, 20, "#f2e6a0", 1),
			Quarry{Group: "stonefly", Stage: "adult", Length: exactly(20), Colours: []string{"#3c3a1e"}, Wings: flybox.ShortWing}, []string{ColourUnder}, true},
		{"pale nymph for a dark insect", fly("f", flybox.StoneflyNymph, 20, "#f2e6a0", 1),
			Quarry{Group: "stonefly", Stage: "nymph", Length: exactly(20), Colours: []string{"#3c3a1e"}}, []string{DarkenBody}, true},
		{"dark fly for a pale insect cannot be made paler", fly("f", flybox.StoneflyNymph, 20, "#1c1a10", 1),
			Quarry{Group: "stonefly", Stage: "nymph", Length: exactly(20), Colours: []string{"#f2e6a0"}}, nil, false},
		{"winged foam, long and pale, takes all three", fly("f", flybox.FoamStone, 25, "#f2e6a0", 1, hook(8)),
			Quarry{Group: "stonefly", Stage: "adult", Length: exactly(20), Colours: []string{"#5f4630"}, Wings: flybox.ShortWing}, []string{ColourUnder, TrimLength, TrimWing}, true},
		{"an upright dun stands too high", fly("f", flybox.UprightDun, 8.2, "#8a4526", 1), emerger, []string{TrimHackle}, true},
		{"a low dun for an insect that stands high", fly("f", flybox.HairFanDun, 7, "#8a4526", 1), Quarry{Group: "mayfly", Stage: "dun", Length: exactly(7), Colours: []string{"#8a4526"}}, nil, true},
		{"a spider for a nymph on the bottom", fly("f", flybox.SoftHackle, 7, "#8a4526", 1), Quarry{Group: "mayfly", Stage: "nymph", Length: exactly(7), Colours: []string{"#8a4526"}}, []string{AddShot}, true},
		{"an emerger for a pupa beneath the surface", fly("f", flybox.Emerger, 7, "#8a4526", 1), Quarry{Group: "midge", Stage: "pupa", Length: exactly(7), Colours: []string{"#8a4526"}}, []string{SinkIt}, true},
		{"foam does not sink", fly("f", flybox.Hopper, 20, "#a98545", 1), Quarry{Group: "stonefly", Stage: "nymph", Length: exactly(20), Colours: []string{"#a98545"}}, nil, false},
		{"far too long", fly("f", flybox.FoamStone, 45, "#a98545", 1), shortWing, nil, false},
		{"too short cannot grow", fly("f", flybox.FoamStone, 11, "#a98545", 1), shortWing, nil, false},
		{"another insect", fly("f", flybox.Streamer, 20, "#a98545", 1), shortWing, nil, false},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			q := CompileQuarry(tc.quarry)
			m := Rank(compile(tc.fly), &q).Matches[0]
			var codes []string
			for _, c := range m.Changes {
				codes = append(codes, c.Code)
			}
			if !slices.Equal(codes, tc.want) || m.Usable() != tc.usable {
				t.Errorf("changes %v, usable %v (score %.3f); want %v, %v\n%+v", codes, m.Usable(), m.Score, tc.want, tc.usable, m.Parts)
			}
			if len(m.Changes) > 0 && (m.After < FitScore || m.After <= m.Score) {
				t.Errorf("changes take it from %.3f to %.3f only", m.Score, m.After)
			}
		})
	}
}

func TestTrimmingStopsAtTheHookAndWhereTheFlyFallsApart(t *testing.T) {
	q := CompileQuarry(shortWing) // wants 20 mm
	tests := []struct {
		name   string
		mm     float64
		hook   int
		to     float64
		canCut bool
	}{
		{"down to the body", 24, 8, 20, true},
		{"down to the shank", 25, 4, 21, true},    // shank 20.8, next half millimetre
		{"down to four fifths", 30, 12, 24, true}, // by hand: 30 * 0.8
		{"a hair too long is left alone", 20.5, 8, 0, false},
	}
	for _, tc := range tests {
		t.Run(tc.name, func(t *testing.T) {
			g, change, can := q.trimLength(CompileFly(fly("f", flybox.FoamStone, tc.mm, "#a98545", 1, hook(tc.hook))))
			if can != tc.canCut {
				t.Fatalf("can cut: %v", can)
			}
			if can && (g.mm != tc.to || change.MM != tc.mm-tc.to) {
				t.Errorf("cut to %g by %v, want %g", g.mm, change.MM, tc.to)
			}
		})
	}
}

func TestNothingFitsSuggestsWhatToTie(t *testing.T) {
	midge := fly("midge pupa", flybox.MidgePupa, 4, "#2b2825", 8, hook(22))
	t.Run("no fly at all", func(t *testing.T) {
		q := CompileQuarry(shortWing)
		r := Rank(nil, &q)
		if !r.NothingFits || r.NoneLeft || r.Tie == nil {
			t.Fatalf("%+v", r)
		}
		tie := *r.Tie
		if tie.Style != flybox.ShortWingStone || math.Abs(tie.LengthMM-19.7) > 0.1 || tie.Body != "#a98545" || tie.Again != "" || tie.From != "" {
			t.Errorf("%+v", tie)
		}
		// by hand: size 10, 2X long, is 14.2 mm in the shank and 16.3 overall,
		// size 8 is 17.2 and 19.7: nearest to 20
		if tie.Hook != 8 || tie.XL != 2 {
			t.Errorf("hook %d %dX long, want 8 2X long", tie.Hook, tie.XL)
		}
		p := tie.Pattern()
		p.Name = "made tonight"
		if problems := p.Check(); problems != nil {
			t.Errorf("suggestion is not a valid pattern: %v", problems)
		}
		f := CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}, Left: 1})
		if m := Rank([]CompiledFly{f}, &q).Matches[0]; !m.Fits {
			t.Errorf("what was suggested does not fit: %.3f", m.Score)
		}
	})
	t.Run("no fly that does", func(t *testing.T) {
		q := CompileQuarry(shortWing)
		r := Rank(compile(midge), &q)
		if !r.NothingFits || r.Tie == nil || r.Tie.From != "" {
			t.Errorf("%+v", r)
		}
	})
	t.Run("a near one of that style is where to start", func(t *testing.T) {
		q := CompileQuarry(shortWing)
		r := Rank(compile(midge, fly("tiny", flybox.ShortWingStone, 10, "#2b2825", 4), fly("huge", flybox.ShortWingStone, 60, "#2b2825", 4)), &q)
		if !r.NothingFits || r.Tie == nil || r.Tie.From != "tiny-r1" && r.Tie.From != "huge-r1" {
			t.Errorf("%+v", r.Tie)
		}
	})
	t.Run("one that does is used up", func(t *testing.T) {
		q := CompileQuarry(shortWing)
		r := Rank(compile(midge, fly("good", flybox.ShortWingStone, 20, "#a98545", 0)), &q)
		if r.NothingFits || !r.NoneLeft || r.Tie == nil || r.Tie.Again != "good" {
			t.Errorf("%+v %+v", r, r.Tie)
		}
		if r.Matches[0].Fly.Name != "good" {
			t.Errorf("%q first; the fly that would do should be", r.Matches[0].Fly.Name)
		}
	})
}

func TestEveryStageAndGroupHasAFlyToTie(t *testing.T) {
	stages := []hatchkeys.Stage{"nymph-ashore", "nymph", "pupa", "emerger", "shuck", "dun", "adult", "egg-layer", "spent"}
	groups := []hatchkeys.Group{"stonefly", "mayfly", "caddis", "midge", "cranefly", "damsel", "dragonfly", "alderfly", "terrestrial"}
	for _, g := range groups {
		for _, s := range stages {
			if g == "stonefly" && s == "emerger" {
				continue // there is none: they leave the water to hatch
			}
			mm := 12.0
			switch g {
			case "damsel", "dragonfly":
				mm = 32
			case "midge":
				mm = 6
			}
			q := CompileQuarry(Quarry{Group: g, Stage: s, Length: exactly(mm), Colours: []string{"#6b5a2e"}})
			if !q.counts[partShape] {
				t.Errorf("%s %s: no style stands for it", g, s)
				continue
			}
			tie, ok := SuggestTying(&q)
			if !ok || q.shape[slices.Index(flybox.Styles, tie.Style)] < 0.5 {
				t.Errorf("%s %s: suggests %q, %v", g, s, tie.Style, ok)
			}
		}
	}
}

func TestLikeNarrowsTerrestrials(t *testing.T) {
	q := CompileQuarry(Quarry{Group: "terrestrial", Stage: "adult", Length: exactly(8), Like: "beetle"})
	beetle, ant := CompileFly(fly("b", flybox.Beetle, 8, "", 1)), CompileFly(fly("a", flybox.Ant, 8, "", 1))
	if b, a := Score(&beetle, &q), Score(&ant, &q); b <= a {
		t.Errorf("beetle %.3f, ant %.3f", b, a)
	}
}

func TestAnEmptyQuarryIsNoEvidence(t *testing.T) {
	q := CompileQuarry(Quarry{Stage: "?", Group: "?", Water: "?", Length: exactly(math.NaN()), Colours: []string{"red"}, Wings: "?", Floats: "?", Like: "?"})
	f := CompileFly(fly("f", flybox.Hopper, 20, "#a98545", 1))
	if got := Score(&f, &q); got != notKnown {
		t.Errorf("score %v, want %v", got, notKnown)
	}
	if r := Rank([]CompiledFly{f}, &q); len(r.Matches[0].Parts) != 0 || r.Matches[0].Fits {
		t.Errorf("%+v", r.Matches[0])
	}
}

func TestUtilityIsBetweenNoneAndOneAndZeroIfNoneIsLeft(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	flies, quarries := randomFlies(rng, 60), randomQuarries(rng, 60)
	for i := range flies {
		for j := range quarries {
			u := Utility(&flies[i], &quarries[j])
			if !(u >= 0 && u <= 1) || (u == 0) != (flies[i].Fly.Left <= 0) {
				t.Fatalf("utility %v of %+v for %+v", u, flies[i].Fly, quarries[j].Quarry)
			}
		}
	}
	if n := testing.AllocsPerRun(100, func() { Utility(&flies[0], &quarries[0]) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func randomFlies(rng *rand.Rand, n int) []CompiledFly {
	var out []CompiledFly
	for range n {
		out = append(out, CompileFly(fly("f", flybox.Styles[rng.IntN(len(flybox.Styles))], 3+40*rng.Float64(), randomHex(rng), rng.IntN(4)-1)))
	}
	return out
}

func randomQuarries(rng *rand.Rand, n int) []CompiledQuarry {
	var keys []shapeKey
	for k := range shapes {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b shapeKey) int {
		return slices.Compare([]string{string(a.group), string(a.stage), string(a.wings)}, []string{string(b.group), string(b.stage), string(b.wings)})
	})
	var out []CompiledQuarry
	for range n {
		k := keys[rng.IntN(len(keys))]
		out = append(out, CompileQuarry(Quarry{Group: k.group, Stage: k.stage, Wings: k.wings, Length: exactly(3 + 40*rng.Float64()),
			Colours: []string{randomHex(rng), randomHex(rng)}, Water: "freestone"}))
	}
	return out
}

func randomHex(rng *rand.Rand) string {
	const digits = "0123456789abcdef"
	b := []byte("#000000")
	for i := 1; i < 7; i++ {
		b[i] = digits[rng.IntN(16)]
	}
	return string(b)
}

func BenchmarkUtility200x200(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	flies, quarries := randomFlies(rng, 200), randomQuarries(rng, 200)
	b.ReportAllocs()
	for b.Loop() {
		for i := range flies {
			for j := range quarries {
				Score(&flies[i], &quarries[j])
			}
		}
	}
}

// A bead of metal or wire takes a fly down; a hackled dun can be cut to lie
// spent, a nymph hung beneath the surface, a tail cut short. Common practice,
// no source.
func TestWeightAndScissors(t *testing.T) {
	for _, c := range []struct {
		what string
		b    flybox.Pattern
		want flybox.Float
	}{
		{"a soft hackle", flybox.Pattern{Style: flybox.SoftHackle}, flybox.Under},
		{"with a brass bead", flybox.Pattern{Style: flybox.SoftHackle, Bead: "brass"}, flybox.Deep},
		{"with a glass bead", flybox.Pattern{Style: flybox.SoftHackle, Bead: "glass"}, flybox.Under},
		{"a streamer with wire", flybox.Pattern{Style: flybox.Streamer, Wire: true}, flybox.Deep},
		{"a hair-winged sedge with wire", flybox.Pattern{Style: flybox.HairWingCaddis, Wire: true}, flybox.Under},
		{"what the tyer says", flybox.Pattern{Style: flybox.SoftHackle, Bead: "tungsten", Floats: flybox.Film}, flybox.Film},
		{"of no known style", flybox.Pattern{Style: "later", Bead: "brass"}, ""},
	} {
		if got := FloatsOf(c.b); got != c.want {
			t.Errorf("%s: floats %q, want %q", c.what, got, c.want)
		}
	}
	spent := CompileQuarry(Quarry{Group: hatchkeys.Mayfly, Stage: hatchkeys.Spent, Length: exactly(9), Colours: []string{"#8a4526"}})
	pupa := CompileQuarry(Quarry{Group: hatchkeys.Caddis, Stage: hatchkeys.Pupa, Length: exactly(10), Colours: []string{"#7a8a48"}})
	leech := CompileQuarry(Quarry{Group: hatchkeys.OtherGroup, Stage: hatchkeys.Nymph, Like: "crayfish", Length: exactly(40), Colours: []string{"#5a4a30"}})
	for _, c := range []struct {
		what string
		f    flybox.Fly
		q    CompiledQuarry
		want string
	}{
		{"an upright dun over spent ones", fly("f", flybox.UprightDun, 9, "#8a4526", 1), spent, ClipAbove},
		{"a beaded pupa", func() flybox.Fly {
			f := fly("f", flybox.CaddisPupa, 10, "#7a8a48", 1)
			f.Bead = "tungsten"
			return f
		}(), pupa, BehindDry},
		{"a long one of feathers", fly("f", flybox.Crayfish, 48, "#5a4a30", 1), leech, TrimTail},
	} {
		changes, after, ok := c.q.mend(CompileFly(c.f))
		if !ok || !slices.ContainsFunc(changes, func(x Change) bool { return x.Code == c.want }) {
			t.Errorf("%s: %v, %.2f, %t; want %s", c.what, changes, after, ok, c.want)
		}
	}
}
