package results

import (
	"math"
	"math/rand/v2"
	"testing"

	"dampstone/flybox/match"
)

// The three ways to put flies before the same short-winged stonefly: 28 mm,
// 26 mm and cut back to 22 mm, against an insect of 20.5 mm. Invented.
func stones() []Shown {
	length := func(mm float64) match.Difference {
		return match.Difference{Length: math.Log(mm / 20.5), HasLength: true, DeltaE: 3, HasColour: true, Shape: 1, HasShape: true}
	}
	return []Shown{
		{Count{Refusals: 2}, length(28)},
		{Count{Refusals: 1, Follows: 1}, length(26)},
		{Count{Takes: 2, Lost: 1}, length(22)},
	}
}

func TestPointsToLength(t *testing.T) {
	hints := Points(stones())
	if len(hints) != 1 {
		t.Fatalf("%d hints, want one: %+v", len(hints), hints)
	}
	h := hints[0]
	// 10*log10 of beta(4,1) beta(1,4.5) / beta(4,4.5): scipy 1.10.1,
	// scipy.special.betaln.
	if h.Attribute != Length || h.Way != Long || !near(h.Decibans, 10.481260678171935, 1e-9) || h.Off.Fish() != 4 || h.Rest.Fish() != 3 || h.Alike {
		t.Errorf("%+v", h)
	}
}

func TestPointsSaysNothingWithoutNumbers(t *testing.T) {
	long := match.Difference{Length: 0.4, HasLength: true}
	right := match.Difference{HasLength: true}
	for name, shown := range map[string][]Shown{
		"no fish":                  {{Count{}, long}, {Count{}, right}},
		"one fly":                  {{Count{Refusals: 30}, long}},
		"few fish":                 {{Count{Refusals: 2}, long}, {Count{Takes: 2}, right}},
		"no difference":            {{Count{Takes: 8, Refusals: 8}, long}, {Count{Takes: 8, Refusals: 8}, right}},
		"the longer one is better": {{Count{Takes: 20}, long}, {Count{Refusals: 20}, right}},
		"length is not known":      {{Count{Refusals: 20}, match.Difference{Length: 0.4}}, {Count{Takes: 20}, match.Difference{}}},
		"nothing":                  nil,
	} {
		if hints := Points(shown); len(hints) != 0 {
			t.Errorf("%s: %+v", name, hints)
		}
	}
}

func TestPointsFindsEachWay(t *testing.T) {
	right := match.Difference{HasLength: true, HasColour: true, HasDepth: true, Shape: 1, HasShape: true, Wings: 1, HasWings: true}
	for _, c := range []struct {
		way       Way
		attribute Attribute
		make      func(*match.Difference)
	}{
		{Long, Length, func(d *match.Difference) { d.Length = 0.2 }},
		{Short, Length, func(d *match.Difference) { d.Length = -0.2 }},
		{Dark, Colour, func(d *match.Difference) { d.DeltaE, d.Lightness = 20, -18 }},
		{Pale, Colour, func(d *match.Difference) { d.DeltaE, d.Lightness = 20, 18 }},
		{Hue, Colour, func(d *match.Difference) { d.DeltaE, d.Lightness = 20, 2 }},
		{High, Float, func(d *match.Difference) { d.Depth = -1 }},
		{Low, Float, func(d *match.Difference) { d.Depth = 1 }},
		{Other, Shape, func(d *match.Difference) { d.Shape = 0.4 }},
		{Other, Wings, func(d *match.Difference) { d.Wings = 0.4 }},
	} {
		off := right
		c.make(&off)
		hints := Points([]Shown{{Count{Takes: 1, Refusals: 9}, off}, {Count{Takes: 9, Refusals: 1}, right}})
		if len(hints) != 1 || hints[0].Way != c.way || hints[0].Attribute != c.attribute || hints[0].Decibans < Clearly {
			t.Errorf("%s %s: %+v", c.attribute, c.way, hints)
		}
	}
	// Two attributes that go together cannot be told apart, and it says so.
	both := right
	both.Length, both.Depth = 0.3, -1
	hints := Points([]Shown{{Count{Refusals: 9}, both}, {Count{Takes: 9}, right}})
	if len(hints) != 2 || !hints[0].Alike || !hints[1].Alike {
		t.Errorf("two that go together: %+v", hints)
	}
}

// Where nothing about the flies matters, how often does it point somewhere all
// the same? Nine ways are looked at, so it must be rarer than one in ten.
func TestPointsRarelyCriesWolf(t *testing.T) {
	const seed, seasons = 31, 4000
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	for _, fish := range []int{10, 30, 100} {
		wolf, found := 0, 0
		for range seasons {
			var null, real []Shown
			rate := 0.2 + 0.6*rng.Float64()
			for range 5 {
				d := match.Difference{
					Length: 0.2 * rng.NormFloat64(), HasLength: true, DeltaE: 12 * rng.Float64(), Lightness: 10 * rng.NormFloat64(), HasColour: true,
					Depth: rng.IntN(3) - 1, HasDepth: true, Shape: rng.Float64(), HasShape: true, Wings: rng.Float64(), HasWings: true,
				}
				var a, b Count
				for range fish / 5 {
					add := func(c *Count, p float64) {
						if rng.Float64() < p {
							c.Takes++
						} else {
							c.Refusals++
						}
					}
					add(&a, rate)
					p := 0.7
					if d.Length > lengthOff {
						p = 0.15
					}
					add(&b, p)
				}
				null, real = append(null, Shown{a, d}), append(real, Shown{b, d})
			}
			if len(Points(null)) > 0 {
				wolf++
			}
			for _, h := range Points(real) {
				if h.Attribute == Length && h.Way == Long {
					found++
				}
			}
		}
		t.Logf("%d fish: points somewhere in %.1f %% of the seasons without a reason, to length in %.0f %% of those where length matters", fish, 100*float64(wolf)/seasons, 100*float64(found)/seasons)
		if rate := float64(wolf) / seasons; rate > 0.1 {
			t.Errorf("%d fish: %.3f of the seasons without a reason have a hint", fish, rate)
		}
		if fish >= 30 && float64(found)/seasons < 0.35 {
			t.Errorf("%d fish: length is found in %.2f of the seasons", fish, float64(found)/seasons)
		}
	}
}
