package hatchkeys_test

import (
	"math"
	"testing"

	"dampstone/hatchkeys"
)

// with is the evidence with one more answer.
func with(t *testing.T, e hatchkeys.Evidence, ratio hatchkeys.Ratio) hatchkeys.Evidence {
	t.Helper()
	switch ratio.Question {
	case hatchkeys.Length:
		e.LengthMM = math.Sqrt(ratio.FromMM * ratio.ToMM)
	case hatchkeys.Colour:
		e.Colour = ratio.Value
	default:
		c, err := hatchkeys.OneOf(hatchkeys.Trait(ratio.Question), ratio.Value)
		if err != nil {
			t.Fatal(err)
		}
		e.Choices[ratio.Question] = c
	}
	return e
}

func logOdds(r *hatchkeys.Reading, from, to string) float64 {
	return 10 * math.Log10(r.Find(to).Probability/r.Find(from).Probability)
}

// A ratio is a promise: give that answer, and the odds change by just that.
func TestTurnsForetellWhatTheAnswerDoes(t *testing.T) {
	rows := []struct{ name, line, from, to string }{
		{"two golden stoneflies in June", `{"region":"west-na","month":6,"wings":"flat"}`, "hesperoperla", "calineuria"},
		{"short wings after a drop", `{"region":"west-na","month":9,"wings":["short","none"],"trend":"dropping"}`, "claassenia", "hesperoperla"},
		{"a stonefly against a mayfly", `{"region":"west-na","month":7,"shucks":"damp-stones"}`, "hesperoperla", "siphlonurus"},
		{"nothing but the month", `{"region":"west-na","month":4}`, "skwala", "baetis"},
		{"nothing at all", `{"region":"west-na"}`, "salmonfly", "tricorythodes"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			r := read(t, row.line)
			k := western(t)
			ratios := r.Ratios(r.Find(row.from), r.Find(row.to))
			before := logOdds(r, row.from, row.to)
			if len(ratios) < 40 {
				t.Errorf("only %d answers are thought of", len(ratios))
			}
			for i, ratio := range ratios {
				after := logOdds(k.Read(with(t, r.Evidence, ratio)), row.from, row.to)
				// Read keeps every form above 1e-12, which shows where a hatch
				// is all but ruled out.
				if got := after - before; math.Abs(got-ratio.Decibans) > 1e-3 {
					t.Errorf("%v %s %.1f mm: odds ratio by %.6f dB, foretold %.6f", ratio.Question, ratio.Value, ratio.FromMM, got, ratio.Decibans)
				}
				if i > 0 && ratio.Decibans > ratios[i-1].Decibans {
					t.Errorf("%v %s stands below what weighs less", ratio.Question, ratio.Value)
				}
				if !(ratio.Chance > 0 && ratio.Chance <= 1) {
					t.Errorf("%v %s: chance %g", ratio.Question, ratio.Value, ratio.Chance)
				}
			}
		})
	}
}

func TestChancesOfTheAnswersToOneQuestionAddUp(t *testing.T) {
	r := read(t, `{"region":"west-na","month":6,"wings":"flat"}`)
	sums := map[hatchkeys.Question]float64{}
	for _, ratio := range r.Ratios(r.Find("hesperoperla"), r.Find("calineuria")) {
		sums[ratio.Question] += ratio.Chance
	}
	for a, sum := range sums {
		tolerance := 1e-9
		if a == hatchkeys.Length { // bins of the density, by their middles, cut at both ends
			tolerance = 0.03
		}
		if math.Abs(sum-1) > tolerance {
			t.Errorf("%v: chances sum to %.6f", a, sum)
		}
	}
	if len(sums) < 10 {
		t.Errorf("only %d questions", len(sums))
	}
}

// The tufts between the tails of a shuck part the two (iNaturalist 117855, as
// cited in the pack).
func TestGillTuftsTurnTheOddsBetweenTheGoldenStoneflies(t *testing.T) {
	r := read(t, `{"region":"west-na","month":6,"wings":"none","shucks":"dry-rocks"}`)
	a, b := r.Find("hesperoperla"), r.Find("calineuria")
	best := r.Ratios(a, b)[0]
	// Tufts shrivel and are overlooked, so that none seen tells less than some
	// seen; 3 dB makes the odds twice as good.
	if best.Question != hatchkeys.Question(hatchkeys.Gills) || best.Value != "no" || best.Decibans < 3 {
		t.Errorf("best ratio to Calineuria: %v %s, %.1f dB", best.Question, best.Value, best.Decibans)
	}
	none := best.Decibans
	best = r.Ratios(b, a)[0]
	if best.Decibans <= none {
		t.Errorf("tufts seen weigh %.1f dB, none seen %.1f dB", best.Decibans, none)
	}
	if best.Question != hatchkeys.Question(hatchkeys.Gills) || best.Value != "yes" || best.Strength() < 2 {
		t.Errorf("best ratio to Hesperoperla: %v %s, %.1f dB", best.Question, best.Value, best.Decibans)
	}
}

func TestTurnsLeaveOutWhatIsAnsweredOrCannotBeTold(t *testing.T) {
	r := read(t, `{"region":"west-na","month":6,"wings":"flat","tails":"unsure","length_mm":24}`)
	for _, ratio := range r.Ratios(&r.Ranked[0], &r.Ranked[1]) {
		switch ratio.Question {
		case hatchkeys.Question(hatchkeys.Wings), hatchkeys.Question(hatchkeys.Tails), hatchkeys.Length,
			hatchkeys.Month, hatchkeys.Hour, hatchkeys.WaterC:
			t.Errorf("asks for %v", ratio.Question)
		}
	}
}

func TestNothingTurnsAHatchAgainstItself(t *testing.T) {
	r := read(t, `{"region":"west-na","month":6}`)
	for _, ratio := range r.Ratios(&r.Ranked[0], &r.Ranked[0]) {
		if ratio.Decibans != 0 {
			t.Errorf("%v %s: %g dB", ratio.Question, ratio.Value, ratio.Decibans)
		}
	}
}
