package hatchkeys

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// TestEvaluationAnswersFollowTheErrorModel compares the answers of the
// simulated observer, who slips and confuses step by step, with the
// distribution that observe gives: chi-square at the 0.1 % level, shared
// evenly among all tests (Bonferroni).
func TestEvaluationAnswersFollowTheErrorModel(t *testing.T) {
	const n = 20000
	w := &world{rng: rand.New(rand.NewPCG(evaluationSeed, 4))}
	tests := 0
	for _, tr := range Traits {
		tests += len(tr.Values())
	}
	for _, tr := range Traits {
		if tr == Water { // weighs hatches; is not observed with error
			continue
		}
		k := len(tr.Values())
		limit := distuv.ChiSquared{K: float64(k - 1)}.Quantile(1 - 0.001/float64(tests))
		for truth := range k {
			var p [maxValues]float64
			p[truth] = 1
			model := observe(tr, p)
			got, want := make([]float64, k), make([]float64, k)
			for range n {
				got[w.answer(&careful, tr, truth)]++
			}
			for v := range k {
				want[v] = n * model[v]
			}
			if x := stat.ChiSquare(got, want); x > limit {
				t.Errorf("%s %s: chi-square %.1f over %.1f\n answers %v\n model   %v (seed %d)", tr, tr.Values()[truth], x, limit, got, want, evaluationSeed)
			}
			// The check can fail: without the confusions it does.
			confused := false
			for _, c := range confusion {
				confused = confused || c.trait == tr && c.truth == tr.Values()[truth] && c.p >= 0.03
			}
			for v := range k {
				want[v] = n * slip[tr] / float64(k)
			}
			want[truth] += n * (1 - slip[tr])
			if x := stat.ChiSquare(got, want); confused && x <= limit {
				t.Errorf("%s %s: answers without confusion pass too, chi-square %.1f", tr, tr.Values()[truth], x)
			}
		}
	}
}

// TestEvaluationNumbersFollowTheErrorModel does the same for lengths and
// hours, by the Kolmogorov-Smirnov distance from the densities of the key; its
// limit at the 0.1 % level is 1.95/sqrt(n) (asymptotic, from memory).
func TestEvaluationNumbersFollowTheErrorModel(t *testing.T) {
	const n = 20000
	limit := 1.95 / math.Sqrt(n)
	key, err := ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	w := &world{key, rand.New(rand.NewPCG(evaluationSeed, 5))}
	h := key.Hatch("claassenia")
	for i := range key.forms {
		hatch, form := key.FormAt(i)
		if hatch != h {
			continue
		}
		table := &key.forms[i]
		lengths, hours := make([]float64, n), make([]float64, n)
		for j := range n {
			var e Evidence
			w.look(&careful, insect{form: i}, Length, &e)
			w.look(&careful, insect{form: i}, Hour, &e)
			lengths[j], hours[j] = math.Log(e.LengthMM), *e.Hour
		}
		about := distuv.Normal{Mu: table.lnMean, Sigma: table.lnSD}
		slipped := distuv.Normal{Mu: math.Log(11), Sigma: 0.75} // as anyLength says
		if d := distance(lengths, func(x float64) float64 {
			return (1-lengthSlip)*about.CDF(x) + lengthSlip*slipped.CDF(x)
		}); d > limit {
			t.Errorf("%s: lengths lie %.4f off, limit %.4f (seed %d)", form.ID, d, limit, evaluationSeed)
		}
		hourCDF := func(x float64) float64 {
			var sum float64
			for b, p := range table.hours {
				sum += p / 48 * min(max(2*x-float64(b), 0), 1)
			}
			return sum
		}
		if d := distance(hours, hourCDF); d > limit {
			t.Errorf("%s: hours lie %.4f off, limit %.4f (seed %d)", form.ID, d, limit, evaluationSeed)
		}
		// The check can fail: a spread a tenth wider does.
		wider := distuv.Normal{Mu: table.lnMean, Sigma: 1.1 * table.lnSD}
		if d := distance(lengths, wider.CDF); d <= limit {
			t.Errorf("%s: lengths pass for a wider spread too, %.4f", form.ID, d)
		}
	}
}

// distance is the greatest between the empirical distribution of x and cdf.
func distance(x []float64, cdf func(float64) float64) float64 {
	slices.Sort(x)
	var d float64
	n := float64(len(x))
	for i, v := range x {
		c := cdf(v)
		d = max(d, c-float64(i)/n, float64(i+1)/n-c)
	}
	return d
}
