package level

import (
	"math"
	"slices"
	"sort"
)

// z95 is the 0.975 quantile of the standard normal distribution.
const z95 = 1.959963984540054

// Slope is the median slope of a series, with limits that hold the true one
// with 95 %.
type Slope struct{ Mid, Low, High float64 }

// TheilSen is the median of the slopes between all pairs of points that differ
// in x. The limits are Sen's, by the variance of Kendall's score with ties
// (Sen 1968, sections 3 and 4; as scipy.stats.theilslopes has them). ok is
// false if fewer than two points differ in x.
func TheilSen(x, y []float64) (s Slope, ok bool) {
	var slopes []float64
	for i := range x {
		for j := i + 1; j < len(x); j++ {
			if x[i] != x[j] {
				slopes = append(slopes, (y[j]-y[i])/(x[j]-x[i]))
			}
		}
	}
	if len(slopes) == 0 {
		return s, false
	}
	sort.Float64s(slopes)
	s.Mid = median(slopes)
	sigma := math.Sqrt((pairs(len(y)) - tied(x) - tied(y)) / 18)
	n := float64(len(slopes))
	at := func(rank float64) float64 {
		return slopes[min(max(int(rank), 0), len(slopes)-1)]
	}
	s.Low = at(math.RoundToEven((n-z95*sigma)/2) - 1)
	s.High = at(math.RoundToEven((n + z95*sigma) / 2))
	return s, true
}

// median is that of sorted numbers.
func median(sorted []float64) float64 {
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	return (sorted[n/2-1] + sorted[n/2]) / 2
}

// pairs is n(n-1)(2n+5), 18 times the variance of Kendall's score of n values
// without ties.
func pairs(n int) float64 { return float64(n * (n - 1) * (2*n + 5)) }

// tied is what equal values take off it.
func tied(v []float64) (sum float64) {
	sorted := slices.Clone(v)
	sort.Float64s(sorted)
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] == sorted[i] {
			j++
		}
		sum += pairs(j - i)
		i = j
	}
	return sum
}

// Kendall is the test of Mann and Kendall for any trend at all.
type Kendall struct {
	S   int     // pairs that rise less those that fall
	Var float64 // of S where there is no trend
	Z   float64
	P   float64 // that S is as far from 0, or farther, where there is no trend
}

// exactMost is the greatest number of values for which P is exact: for more the
// normal distribution is close (Kendall 1975 tabulates up to 10).
const exactMost = 10

// MannKendall tests values in order of time. P is exact for at most exactMost
// values without ties, otherwise by the normal distribution with the continuity
// correction.
func MannKendall(y []float64) (k Kendall) {
	for i := range y {
		for j := i + 1; j < len(y); j++ {
			switch {
			case y[j] > y[i]:
				k.S++
			case y[j] < y[i]:
				k.S--
			}
		}
	}
	ties := tied(y)
	k.Var = (pairs(len(y)) - ties) / 18
	switch {
	case k.S > 0:
		k.Z = float64(k.S-1) / math.Sqrt(k.Var)
	case k.S < 0:
		k.Z = float64(k.S+1) / math.Sqrt(k.Var)
	}
	switch {
	case k.Var == 0:
		k.P = 1
	case ties == 0 && len(y) <= exactMost:
		k.P = exact(len(y), max(k.S, -k.S))
	default:
		k.P = min(math.Erfc(math.Abs(k.Z)/math.Sqrt2), 1)
	}
	return k
}

// exact is the share of orders of n values whose score is s or more, or -s or
// less: by the numbers of permutations with so many inversions.
func exact(n, s int) float64 {
	counts := []float64{1}
	for k := 2; k <= n; k++ {
		next := make([]float64, len(counts)+k-1)
		for i, c := range counts {
			for j := range k {
				next[i+j] += c
			}
		}
		counts = next
	}
	all, far := 0.0, 0.0
	most := n * (n - 1) / 2
	for inversions, c := range counts {
		all += c
		if score := most - 2*inversions; score >= s || -score >= s {
			far += c
		}
	}
	return far / all
}

// Step is a sudden change of level.
type Step struct {
	At   int     // index of the first value after it
	Size float64 // median after it less the median before
	P    float64 // that a series without a step looks so much like one
}

// Pettitt finds where a series most looks as if it had jumped (Pettitt 1979, "A
// non-parametric approach to the change-point problem", Applied Statistics
// 28:126-135, with the approximation of P given there; from memory). ok is
// false for fewer than four values.
func Pettitt(y []float64) (s Step, ok bool) {
	n := len(y)
	if n < 4 {
		return s, false
	}
	most, u := 0, 0
	for t := 1; t < n; t++ {
		for _, other := range y { // those before it cancel each other out
			switch {
			case other > y[t-1]:
				u++
			case other < y[t-1]:
				u--
			}
		}
		if size := max(u, -u); size > most {
			most, s.At = size, t
		}
	}
	if most == 0 {
		return Step{P: 1}, true
	}
	s.P = min(2*math.Exp(-6*float64(most*most)/float64(n*n*n+n*n)), 1)
	before, after := slices.Clone(y[:s.At]), slices.Clone(y[s.At:])
	sort.Float64s(before)
	sort.Float64s(after)
	s.Size = median(after) - median(before)
	return s, true
}
