package match

import (
	"math"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

func TestDiffer(t *testing.T) {
	q := CompileQuarry(Quarry{Group: "stonefly", Stage: "adult", Length: exactly(20), Colours: []string{"#a98545", "#3a2f24"}, Wings: flybox.ShortWing})
	fly := func(p flybox.Pattern) *CompiledFly {
		f := CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}})
		return &f
	}
	d := Differ(fly(flybox.Pattern{Style: flybox.FoamStone, Length: 28, Body: "#a98545"}), &q)
	if !d.HasLength || math.Abs(d.Length-math.Log(1.4)) > 1e-12 {
		t.Errorf("length %v, want ln(28/20)", d.Length)
	}
	if !d.HasColour || d.DeltaE != 0 || d.Lightness != 0 || d.Nearest != "#a98545" {
		t.Errorf("colour %+v", d)
	}
	if !d.HasDepth || d.Depth != 0 || !d.HasWings || d.Wings != wingScore[1][3] || !d.HasShape || d.Shape != 0.85 {
		t.Errorf("depth %d, wings %v, shape %v", d.Depth, d.Wings, d.Shape)
	}
	// Black, nearest to the darker of the two, and lying in the film: a step
	// below an adult that stands high.
	d = Differ(fly(flybox.Pattern{Style: flybox.ShortWingStone, Length: 20, Body: "#000000", Floats: flybox.Film}), &q)
	if d.Lightness >= 0 || d.Nearest != "#3a2f24" || d.Depth != 1 || d.Length != 0 {
		t.Errorf("black in the film: %+v", d)
	}
	// What is not said is not known.
	d = Differ(fly(flybox.Pattern{Style: flybox.ShortWingStone}), &q)
	if d.HasLength || d.HasColour {
		t.Errorf("nothing was said, but: %+v", d)
	}
	bare := CompileQuarry(Quarry{})
	if d = Differ(fly(flybox.Pattern{Style: flybox.FoamStone, Length: 28, Body: "#a98545"}), &bare); d.HasLength || d.HasColour || d.HasDepth || d.HasShape || d.HasWings {
		t.Errorf("nothing is wanted, but: %+v", d)
	}
}

// Own results part flies of the same standing and no others, and without them
// the ranking is as it ever was.
func TestRankByOwnResults(t *testing.T) {
	q := CompileQuarry(Quarry{Group: "stonefly", Stage: "adult", Length: exactly(20), Colours: []string{"#a98545"}, Wings: flybox.ShortWing})
	make := func(id journal.ID, mm float64, left int) CompiledFly {
		return CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: flybox.Pattern{ID: id, Name: string(id), Style: flybox.ShortWingStone, Length: mm, Body: "#a98545"}, Rev: id}, Left: left})
	}
	flies := []CompiledFly{make("a", 20, 1), make("b", 21, 1), make("gone", 20, 0), make("long", 40, 1)}
	order := func(r Ranking) (s string) {
		for _, m := range r.Matches {
			s += string(m.Fly.ID) + " "
		}
		return s
	}
	plain := Rank(flies, &q)
	if got := order(plain); got != "a b gone long " {
		t.Fatalf("without results: %s", got)
	}
	same := RankBy(flies, &q, func(*flybox.Fly) float64 { return 1 })
	for i := range plain.Matches {
		if plain.Matches[i].Score != same.Matches[i].Score || plain.Matches[i].Own != 1 {
			t.Errorf("%+v", same.Matches[i])
		}
	}
	own := RankBy(flies, &q, func(f *flybox.Fly) float64 {
		if f.ID == "a" {
			return 0.8
		}
		return 1.25
	})
	if got := order(own); got != "b a gone long " {
		t.Errorf("with results: %s", got)
	}
	for _, m := range own.Matches {
		if m.Fly.ID == "long" && (m.Fits || m.Score != plain.Matches[3].Score) {
			t.Errorf("results made the long one fit: %+v", m)
		}
	}
}
