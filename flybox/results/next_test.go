package results

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

func TestNextNeverNamesAFlyThatIsGone(t *testing.T) {
	good, poor := Estimate{Beta: Beta{9, 1}}, Estimate{Beta: Beta{1, 9}}
	for _, c := range []struct {
		name string
		list []Candidate
		want int
		ok   bool
	}{
		{"the better one", []Candidate{{poor, 3}, {good, 1}}, 1, true},
		{"the better one is gone", []Candidate{{poor, 3}, {good, 0}}, 0, true},
		{"a count gone wrong", []Candidate{{poor, 1}, {good, -2}}, 0, true},
		{"none left", []Candidate{{poor, 0}, {good, 0}}, 0, false},
		{"no flies", nil, 0, false},
		{"equals: the first", []Candidate{{good, 1}, {good, 1}}, 0, true},
		// The known one has a mean of 0.5, the new one too, and may be far better.
		{"little is known of it", []Candidate{{Estimate{Beta: Beta{20, 20}}, 1}, {Estimate{Beta: Beta{1, 1}}, 1}}, 1, true},
	} {
		if got, ok := Next(c.list); got != c.want || ok != c.ok {
			t.Errorf("%s: %d %v, want %d %v", c.name, got, ok, c.want, c.ok)
		}
	}
}

// season plays the fish of some days against five flies and counts those that
// would have taken the best fly but were shown another (the regret, in fish).
func season(rng *rand.Rand, truth []float64, fit []float64, fish int, choose func(i int, all []Evidence) int) (lost float64) {
	best := 0.0
	for _, p := range truth {
		best = max(best, p)
	}
	all := make([]Evidence, len(truth))
	for i := range all {
		all[i] = Evidence{Rev: journal.ID(rune('a' + i)), Fit: &fit[i]}
	}
	for n := range fish {
		i := choose(n, all)
		lost += best - truth[i]
		if rng.Float64() < truth[i] {
			all[i].Count.Takes++
		} else {
			all[i].Count.Refusals++
		}
	}
	return lost
}

func byNext(n int, all []Evidence) int {
	var list []Candidate
	for _, e := range Estimates(all) {
		list = append(list, Candidate{e, 1})
	}
	i, _ := Next(list)
	return i
}

func takeTurns(n int, all []Evidence) int { return n % len(all) }

// bestSoFar always shows the fly whose rate is most likely the highest by what
// is known so far.
func bestSoFar(_ int, all []Evidence) int {
	return highest(all, Estimate.Mean)
}

// byQuantile shows the fly with the highest upper quantile of its rate (Bayes
// upper confidence bounds: Kaufmann, Cappé and Garivier 2012, from memory).
func byQuantile(_ int, all []Evidence) int {
	return highest(all, func(e Estimate) float64 { return e.Quantile(0.8) })
}

func highest(all []Evidence, of func(Estimate) float64) int {
	best, top := 0, -1.0
	for i, e := range Estimates(all) {
		if x := of(e); x > top+1e-12 {
			best, top = i, x
		}
	}
	return best
}

// TestNextLosesNoMoreFish: on a short day and over a season the rule is no
// worse than always the best so far, and than a fixed quantile, and far better
// than taking turns.
func TestNextLosesNoMoreFish(t *testing.T) {
	const seed = 23
	t.Logf("seed %d", seed)
	play := func(seasons uint64, fish int, choose func(int, []Evidence) int) (lost float64) {
		for s := range seasons {
			rng := rand.New(rand.NewPCG(seed, s)) // the same fish for each rule
			rates := distuv.Beta{Alpha: 1.5, Beta: 2.5, Src: rng}
			truth, fit := make([]float64, 5), make([]float64, 5)
			for i := range truth {
				truth[i] = rates.Rand()
				// The fit says something about the rate, and not too much.
				fit[i] = min(max(match.FitScore+0.3*(truth[i]-0.4)+0.12*rng.NormFloat64(), 0.05), 1)
			}
			lost += season(rng, truth, fit, fish, choose) / float64(seasons)
		}
		return lost
	}
	const many, few = 2000, 100 // seasons; a quantile takes long to work out
	for _, fish := range []int{10, 20, 50, 200} {
		next, best, turns := play(many, fish, byNext), play(many, fish, bestSoFar), play(many, fish, takeTurns)
		nextFew, quantile := play(few, fish, byNext), play(few, fish, byQuantile)
		t.Logf("%d fish: lost %.2f by Next, %.2f by the best so far, %.2f by turns; in %d seasons %.2f by Next, %.2f by a quantile", fish, next, best, turns, few, nextFew, quantile)
		if !(next <= best && nextFew <= quantile && next < 0.6*turns) {
			t.Errorf("%d fish: Next loses more than another rule", fish)
		}
	}
}
