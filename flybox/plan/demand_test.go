package plan

import (
	"math"
	"testing"
)

var poisson = math.Inf(1)

// Source of the numbers: computed with SciPy 1.10.1 and confirmed with R
// 4.2.2 (size 1 with SciPy alone).
func TestQuantiles(t *testing.T) {
	for _, c := range []struct {
		mean    float64
		poisson [3]int
		by      map[float64][3]int // by size
		doubled [3]int             // variance twice the mean
	}{
		{0.5, [3]int{1, 2, 3}, map[float64][3]int{1: {2, 2, 4}, 2: {2, 2, 3}, 5: {1, 2, 3}}, [3]int{2, 2, 5}},
		{2, [3]int{4, 5, 6}, map[float64][3]int{1: {5, 7, 11}, 2: {5, 6, 9}, 5: {4, 5, 7}}, [3]int{5, 6, 9}},
		{5, [3]int{8, 9, 11}, map[float64][3]int{1: {12, 16, 25}, 2: {11, 13, 19}, 5: {9, 11, 14}}, [3]int{9, 11, 14}},
		{12, [3]int{17, 18, 21}, map[float64][3]int{1: {28, 37, 57}, 2: {24, 30, 42}, 5: {21, 24, 31}}, [3]int{19, 21, 26}},
	} {
		sizes := map[float64][3]int{poisson: c.poisson, c.mean: c.doubled}
		for size, want := range c.by {
			if old, both := sizes[size]; both && old != want {
				t.Fatalf("mean %g, size %g: the table has %v and %v", c.mean, size, old, want)
			}
			sizes[size] = want
		}
		for size, want := range sizes {
			d := Demand{c.mean, size}
			for i, level := range []float64{0.90, 0.95, 0.99} {
				if got := d.Quantile(level); got != want[i] {
					t.Errorf("mean %g, size %g, level %g: %d, want %d", c.mean, size, level, got, want[i])
				}
			}
		}
	}
}

// Source: as TestQuantiles; the achieved levels of the Poisson quantiles.
func TestAtMost(t *testing.T) {
	for _, c := range []struct {
		mean float64
		n    int
		want float64
	}{
		{0.5, 1, .9098}, {0.5, 2, .9856}, {0.5, 3, .9982}, {2, 4, .9473}, {2, 5, .9834}, {2, 6, .9955},
		{5, 8, .9319}, {5, 9, .9682}, {5, 11, .9945}, {12, 17, .9370}, {12, 18, .9626}, {12, 21, .9939},
		{5, -1, 0}, {0, 0, 1}, {-1, 3, 1},
	} {
		if got := (Demand{c.mean, poisson}).AtMost(c.n); math.Abs(got-c.want) > 5e-5 {
			t.Errorf("mean %g: P(X <= %d) = %.4f, want %g", c.mean, c.n, got, c.want)
		}
	}
}

// The newsvendor with integer Poisson demand. Source: computed with SciPy;
// the cost of one fewer and one more shows that the number is the best.
func TestNewsvendor(t *testing.T) {
	for _, c := range []struct {
		mean, under, over      float64
		best                   int
		below, at, short, left float64
		cost, fewer, more      float64
	}{
		{5, 1, 1, 5, 0.440493, 0.615961, 0.877337, 0.877337, 1.754674, 1.873687, 1.986595},
		{5, 3, 1, 6, 0.615961, 0.762183, 0.493298, 1.493298, 2.973190, 3.509347, 3.021924},
		{5, 9, 1, 8, 0.866628, 0.931906, 0.122109, 3.122109, 4.221093, 4.554810, 4.540157},
		{5, 19, 1, 9, 0.931906, 0.968172, 0.054016, 4.054016, 5.080313, 5.442186, 5.443752},
		{2, 4, 1, 3, 0.676676, 0.857123, 0.218018, 1.218018, 2.090088, 2.706706, 2.375705},
		{0.5, 9, 1, 1, 0.606531, 0.909796, 0.106531, 0.606531, 1.565307, 4.500000, 1.663266},
	} {
		d := Demand{c.mean, poisson}
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1.5e-6 {
				t.Errorf("mean %g, %g to %g: %s %.6f, want %.6f", c.mean, c.under, c.over, what, got, want)
			}
		}
		cost := func(n int) float64 {
			short := d.Short(n)
			return c.under*short + c.over*(short+float64(n)-d.Mean)
		}
		n := d.Quantile(c.under / (c.under + c.over))
		if n != c.best {
			t.Errorf("mean %g, %g to %g: %d, want %d", c.mean, c.under, c.over, n, c.best)
		}
		near("P below", d.AtMost(n-1), c.below)
		near("P at", d.AtMost(n), c.at)
		near("short", d.Short(n), c.short)
		near("left", d.Short(n)+float64(n)-d.Mean, c.left)
		near("cost", cost(n), c.cost)
		near("cost of one fewer", cost(n-1), c.fewer)
		near("cost of one more", cost(n+1), c.more)
		// The planner's own way to the same number.
		if got := Fill([]Item{{Demand: d, Most: NoLimit, Fixed: NoLimit}}, NoLimit, 1, c.under/(c.under+c.over)); got[0] != c.best {
			t.Errorf("mean %g, %g to %g: the planner takes %d, want %d", c.mean, c.under, c.over, got[0], c.best)
		}
	}
}

// Source: computed with SciPy; prior Gamma(2, 1), 12 lost in 5 angler days.
func TestALogTeachesTheRate(t *testing.T) {
	r := AssumedRate.Learn(12, 5)
	if r != (Rate{14, 6}) || math.Abs(r.Mean()-2.3333) > 5e-5 {
		t.Fatalf("rate %+v, mean %g", r, r.Mean())
	}
	for days, want := range map[float64][4]int{1: {2, 5, 5, 7}, 3: {7, 11, 13, 16}} {
		d := r.Over(days, 0)
		if math.Abs(d.Size-14) > 1e-9 || math.Abs(d.Mean-days*14/6) > 1e-12 {
			t.Errorf("%g days: %+v", days, d)
		}
		for i, level := range []float64{0.50, 0.90, 0.95, 0.99} {
			if got := d.Quantile(level); got != want[i] {
				t.Errorf("%g days, level %g: %d, want %d", days, level, got, want[i])
			}
		}
	}
	d := r.Over(1, 0)
	if a, b := d.AtMost(5), d.AtMost(4); math.Abs(a-0.956300) > 1e-6 || math.Abs(b-0.897398) > 1e-6 {
		t.Errorf("P(X <= 5) = %.6f, P(X <= 4) = %.6f", a, b)
	}
	for _, bad := range [][2]float64{{-1, 2}, {3, 0}, {3, math.NaN()}, {math.Inf(1), 1}} {
		if got := AssumedRate.Learn(bad[0], bad[1]); got != AssumedRate {
			t.Errorf("a record of %v changes the rate to %+v", bad, got)
		}
	}
}

// A very large mean does not start from a probability of nothing.
func TestLargeDemandIsFinite(t *testing.T) {
	d := Demand{5000, poisson}
	// Normal approximation with continuity: 5000 + 1.2816 sqrt(5000) = 5090.6.
	if got := d.Quantile(0.9); got < 5088 || got > 5093 {
		t.Errorf("90 %% of a mean of 5000: %d", got)
	}
	if got := d.AtMost(4999); math.Abs(got-0.4962) > 0.002 {
		t.Errorf("P(X <= 4999) = %.4f", got)
	}
}
