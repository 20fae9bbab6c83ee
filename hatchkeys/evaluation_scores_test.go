package hatchkeys

import (
	"math"
	"testing"
)

// A forecast is a probability for each candidate and the index of the true one.
type forecast struct {
	p     []float64
	truth int
}

// leastProbability clips a log score, so that it stays finite.
const leastProbability = 1e-12

// logLoss is -ln of the probability of the truth: 0 is perfect.
func (f forecast) logLoss() float64 { return -math.Log(max(f.p[f.truth], leastProbability)) }

// brier is the multi-class Brier score, 0 to 2: 0 is perfect.
func (f forecast) brier() float64 {
	var sum float64
	for k, p := range f.p {
		if k == f.truth {
			p--
		}
		sum += p * p
	}
	return sum
}

// rank of the truth: 1 is the likeliest. Ties count against it.
func (f forecast) rank() int {
	n := 0
	for _, p := range f.p {
		if p >= f.p[f.truth] {
			n++
		}
	}
	return n
}

// top is the probability of the likeliest candidate, and whether it is true.
func (f forecast) top() (p float64, right bool) {
	best := 0
	for k := range f.p {
		if f.p[k] > f.p[best] {
			best = k
		}
	}
	return f.p[best], best == f.truth
}

// A bin gathers cases of about the same stated probability.
type bin struct {
	n, right int
	sum      float64 // of the stated probabilities
}

// A reliability table has bins of equal width over 0 to 1.
type reliability []bin

func (r reliability) add(p float64, right bool) {
	b := &r[min(int(p*float64(len(r))), len(r)-1)]
	b.n++
	b.sum += p
	if right {
		b.right++
	}
}

// ece is the expected calibration error: how far stated probability and
// observed share differ, averaged over cases.
func (r reliability) ece() float64 {
	var n, sum float64
	for _, b := range r {
		n += float64(b.n)
		sum += math.Abs(b.sum - float64(b.right))
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// The cases below have expected numbers computed with scikit-learn 1.2.1 and
// by hand. Definitions: Brier 1950; Good 1952; Murphy 1973 (from memory).
func TestScoresOfWorkedExamples(t *testing.T) {
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s: got %.9f, want %.6f", what, got, want)
		}
	}
	three := []forecast{
		{[]float64{.7, .2, .1}, 0}, {[]float64{.1, .6, .3}, 1},
		{[]float64{.3, .3, .4}, 0}, {[]float64{.05, .15, .8}, 2},
	}
	losses := []float64{0.356675, 0.510826, 1.203973, 0.223144}
	briers := []float64{0.14, 0.26, 0.74, 0.065}
	var loss, brier float64
	for i, f := range three {
		near("log loss", f.logLoss(), losses[i], 5e-7)
		near("Brier", f.brier(), briers[i], 1e-12)
		loss += f.logLoss() / 4
		brier += f.brier() / 4
	}
	near("mean log loss", loss, 0.573654, 5e-7)
	near("mean Brier", brier, 0.301250, 1e-12)
	for i, want := range []int{1, 1, 3, 1} { // a tie counts against the truth
		if got := three[i].rank(); got != want {
			t.Errorf("rank of the truth in case %d: %d, want %d", i, got, want)
		}
	}

	// The spam and ham example of the manual of scikit-learn: columns ham, spam.
	loss = 0
	for _, f := range []forecast{{[]float64{.1, .9}, 1}, {[]float64{.9, .1}, 0}, {[]float64{.8, .2}, 0}, {[]float64{.35, .65}, 1}} {
		loss += f.logLoss() / 4
	}
	near("mean log loss of spam and ham", loss, 0.216162, 5e-7)

	// Binary; the half form is half of the multi-class one.
	half := func(p []float64, o []int) (score float64) {
		for i := range p {
			score += forecast{[]float64{1 - p[i], p[i]}, o[i]}.brier() / 2 / float64(len(p))
		}
		return score
	}
	near("half Brier", half([]float64{.1, .9, .8, .3}, []int{0, 1, 1, 0}), 0.0375, 1e-12)
	p := []float64{.15, .15, .25, .35, .35, .35, .65, .75, .75, .95}
	o := []int{0, 0, 1, 0, 1, 0, 1, 1, 0, 1}
	near("half Brier of ten", half(p, o), 0.2025, 1e-12)
	table := make(reliability, 5)
	for i := range p {
		table.add(p[i], o[i] == 1)
	}
	near("calibration error, 5 bins", table.ece(), 0.12, 1e-12)

	if p, right := three[2].top(); p != 0.4 || right {
		t.Errorf("likeliest %v, right %v; want 0.4, wrong", p, right)
	}
	zero := forecast{[]float64{0, 1}, 0}
	if x := zero.logLoss(); math.IsInf(x, 0) || math.Abs(x+math.Log(leastProbability)) > 1e-9 {
		t.Errorf("log loss of the impossible: %v, want the clip", x)
	}
	if x := make(reliability, 10).ece(); x != 0 {
		t.Errorf("calibration error of nothing: %v", x)
	}
	full := make(reliability, 10)
	full.add(1, true) // belongs in the last bin
	full.add(0, false)
	if full[9].n != 1 || full[0].n != 1 || full.ece() != 0 {
		t.Errorf("ends of the scale: %+v", full)
	}
}
