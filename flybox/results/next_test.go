package results

import (
	"math"
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

// bestSoFar shows each fly once and then always the one with the best record.
func bestSoFar(n int, all []Evidence) int {
	if n < len(all) {
		return n
	}
	best, top := 0, -1.0
	for i, e := range all {
		if r := e.Count.For() / float64(e.Count.Fish()); r > top {
			best, top = i, r
		}
	}
	return best
}

// byMean is Next without exploring: for the log.
func byMean(n int, all []Evidence) int {
	best, top := 0, -1.0
	for i, e := range Estimates(all) {
		if m := e.Mean(); m > top+1e-12 {
			best, top = i, m
		}
	}
	return best
}

func TestNextLosesFewerFish(t *testing.T) {
	const seed, seasons = 23, 300
	t.Logf("seed %d", seed)
	for _, fish := range []int{20, 60, 150} {
		lost := map[string]float64{}
		for name, choose := range map[string]func(int, []Evidence) int{"next": byNext, "best so far": bestSoFar, "take turns": takeTurns, "by mean": byMean} {
			for s := range uint64(seasons) {
				rng := rand.New(rand.NewPCG(seed, s)) // the same fish for each
				rates := distuv.Beta{Alpha: 1.5, Beta: 2.5, Src: rng}
				truth, fit := make([]float64, 5), make([]float64, 5)
				for i := range truth {
					truth[i] = rates.Rand()
					// The fit says something about the rate, and not too much.
					fit[i] = min(max(match.FitScore+0.3*(truth[i]-0.4)+0.12*rng.NormFloat64(), 0.05), 1)
				}
				lost[name] += season(rng, truth, fit, fish, choose) / seasons
			}
		}
		t.Logf("%d fish: lost %.2f by Next, %.2f by mean, %.2f by the best so far, %.2f by turns", fish, lost["next"], lost["by mean"], lost["best so far"], lost["take turns"])
		if !(lost["next"] < 0.9*lost["best so far"] && lost["next"] < 0.6*lost["take turns"]) {
			t.Errorf("%d fish: Next loses %.2f, the best so far %.2f, taking turns %.2f", fish, lost["next"], lost["best so far"], lost["take turns"])
		}
		if math.IsNaN(lost["next"]) {
			t.Error("not a number")
		}
	}
}
