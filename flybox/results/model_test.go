package results

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

func TestHowAFishCounts(t *testing.T) {
	var c Count
	for _, r := range []flybox.Result{flybox.Take, flybox.Lost, flybox.Refusal, flybox.Follow, flybox.Follow, flybox.Follow} {
		c.Add(flybox.Outcome{Result: r})
	}
	if c.Fish() != 6 || c.For() != 2 || c.Against() != 2.5 {
		t.Errorf("%d fish, %v for, %v against; want 6, 2 and 2.5", c.Fish(), c.For(), c.Against())
	}
}

func TestEstimates(t *testing.T) {
	fit := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		name string
		all  []Evidence
		want []Beta
	}{
		// By hand: prior mean 1/2 of 2 fish, then 3 takes and 1 refusal.
		{"alone", []Evidence{{Rev: "a", Count: Count{Takes: 3, Refusals: 1}}}, []Beta{{1 + 3, 1 + 1}}},
		// By hand: the others' rate is (1+3)/(2+4) for b and (1+0)/(2+2) for a.
		{"two flies", []Evidence{{Rev: "a", Count: Count{Takes: 3, Refusals: 1}}, {Rev: "b", Count: Count{Refusals: 2}}},
			[]Beta{{0.5 + 3, 1.5 + 1}, {4.0 / 3, 2.0/3 + 2}}},
		// By hand: the parent's 2 refusals count 0.35 each; it is not among the others.
		{"a revision", []Evidence{{Rev: "a", Count: Count{Refusals: 2}}, {Rev: "b", Ancestors: []journal.ID{"a"}, Count: Count{Takes: 2}}},
			[]Beta{{2 * 0.75, 2*0.25 + 2}, {1 + 2, 1 + 0.7}}},
		// By hand: 40 refusals at 0.35 are 14, of which 4 are borrowed.
		{"a famous parent", []Evidence{{Rev: "a", Count: Count{Refusals: 40}}, {Rev: "b", Ancestors: []journal.ID{"a"}}},
			[]Beta{{1, 1 + 40}, {1, 1 + 4}}},
		// By hand: a grandparent's fish count 0.35 * 0.35.
		{"two generations", []Evidence{{Rev: "a", Count: Count{Takes: 2}}, {Rev: "b"}, {Rev: "c", Ancestors: []journal.ID{"b", "a"}}},
			[]Beta{{1 + 2, 1}, {1.5, 0.5}, {1 + 2*0.35*0.35, 1}}},
		// By hand: at the score where a fly just fits nothing is shifted.
		{"just fits", []Evidence{{Rev: "a", Fit: fit(match.FitScore)}}, []Beta{{1, 1}}},
		{"nothing", nil, nil},
	} {
		got := Estimates(c.all)
		if len(got) != len(c.want) {
			t.Fatalf("%s: %d estimates", c.name, len(got))
		}
		for i, want := range c.want {
			if !near(got[i].A, want.A, 1e-12) || !near(got[i].B, want.B, 1e-12) {
				t.Errorf("%s: %s has %+v, want %+v", c.name, c.all[i].Rev, got[i].Beta, want)
			}
		}
	}
	good, bad := Estimates([]Evidence{{Rev: "a", Fit: fit(0.9)}})[0], Estimates([]Evidence{{Rev: "a", Fit: fit(0.3)}})[0]
	if good.Mean() <= 0.6 || bad.Mean() >= 0.3 || !near(good.A+good.B, PriorFish, 1e-12) {
		t.Errorf("a fly that fits starts at %.2f, one that does not at %.2f", good.Mean(), bad.Mean())
	}
}

func TestWeightIsModerate(t *testing.T) {
	one := func(c Count) float64 { return Estimates([]Evidence{{Rev: "a", Count: c}})[0].Weight() }
	for _, c := range []struct {
		name      string
		count     Count
		low, high float64
	}{
		{"no fish", Count{}, 1, 1},
		{"one take", Count{Takes: 1}, 1.05, 1.2},
		{"one refusal", Count{Refusals: 1}, 0.8, 0.9},
		{"a hundred takes", Count{Takes: 100}, MostWeight, MostWeight},
		{"a hundred refusals", Count{Refusals: 100}, LeastWeight, LeastWeight},
		{"as many takes as refusals", Count{Takes: 20, Refusals: 20}, 0.9999, 1.0001},
	} {
		if got := one(c.count); got < c.low || got > c.high {
			t.Errorf("%s: %.3f, want %.2f to %.2f", c.name, got, c.low, c.high)
		}
	}
}

// Flies whose rates are spread as those of a box are, before as many fish as a
// few days have: the interval must hold the rate about as often as it says,
// and of two flies said to be better with some probability so many must be.
func TestIntervalsAndProbabilitiesAreCalibrated(t *testing.T) {
	const seed, seasons = 11, 3000
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	for _, box := range []struct {
		name string
		a, b float64 // of the true rates
		tol  float64 // of the probability that one is better
	}{
		{"evenly spread", 1, 1, 0.08},
		{"mostly refused", 1.2, 2.8, 0.08},
		// Flies that differ less than the weak prior allows for: it is then a
		// little too sure which is better, a limit that a stronger prior would
		// trade for intervals that are too narrow in the first case.
		{"alike", 4, 6, 0.12},
	} {
		inside, all := 0, 0
		var said, true5, n5 [5]float64
		for range seasons {
			rates := distuv.Beta{Alpha: box.a, Beta: box.b, Src: rng}
			evidence := make([]Evidence, 4)
			truth := make([]float64, 4)
			for i := range evidence {
				truth[i] = rates.Rand()
				evidence[i].Rev = journal.ID(rune('a' + i))
				for range rng.IntN(16) {
					if rng.Float64() < truth[i] {
						evidence[i].Count.Takes++
					} else {
						evidence[i].Count.Refusals++
					}
				}
			}
			est := Estimates(evidence)
			for i, e := range est {
				low, high := e.Interval()
				if all++; low <= truth[i] && truth[i] <= high {
					inside++
				}
			}
			p, better := Better(est[0].Beta, est[1].Beta), truth[0] > truth[1]
			if p < 0.5 {
				p, better = 1-p, !better
			}
			k := min(int((p-0.5)*10), 4)
			n5[k]++
			said[k] += p
			if better {
				true5[k]++
			}
		}
		cover := float64(inside) / float64(all)
		t.Logf("%s: %.1f %% of the 90 %% intervals hold the rate", box.name, 100*cover)
		if cover < 0.87 || cover > 0.97 {
			t.Errorf("%s: %.3f of the intervals hold the rate, want about %.2f", box.name, cover, Level)
		}
		for k := range n5 {
			if n5[k] < 50 {
				continue
			}
			s, is := said[k]/n5[k], true5[k]/n5[k]
			t.Logf("%s: said to be better with %.2f, is in %.2f of %.0f", box.name, s, is, n5[k])
			if !near(s, is, box.tol) {
				t.Errorf("%s: of those said to be better with %.2f, %.2f are (%.0f pairs)", box.name, s, is, n5[k])
			}
		}
	}
}
