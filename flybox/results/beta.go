package results

import "math"

// Beta is a beta distribution of a rate of takes: A takes and B refusals,
// prior included, both above 0.
type Beta struct{ A, B float64 }

// Mean of the rate, 0 to 1.
func (b Beta) Mean() float64 { return b.A / (b.A + b.B) }

// Deviation is the standard deviation of the rate.
func (b Beta) Deviation() float64 {
	n := b.A + b.B
	return math.Sqrt(b.A * b.B / (n * n * (n + 1)))
}

// SD is the standard deviation of the rate.
func (b Beta) SD() float64 {
	n := b.A + b.B
	return math.Sqrt(b.A * b.B / (n * n * (n + 1)))
}

// CDF is the probability that the rate is at most x.
func (b Beta) CDF(x float64) float64 { return cdf(x, 1-x, b.A, b.B) }

// Quantile is the rate that is not exceeded with probability p: the inverse
// of CDF, by bisection.
func (b Beta) Quantile(p float64) float64 {
	low, high := 0.0, 1.0
	for range 70 {
		mid := (low + high) / 2
		if b.CDF(mid) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// Interval is the equal-tailed interval that holds the rate with probability
// Level.
func (b Beta) Interval() (low, high float64) {
	return b.Quantile((1 - Level) / 2), b.Quantile((1 + Level) / 2)
}

// lnBeta is the logarithm of the beta function.
func lnBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}

// cdf is the regularized incomplete beta function at x, y being 1-x: given
// apart, so that nothing is lost near 1. Continued fraction and reflection
// as in NIST DLMF 8.17.22 and 8.17.4.
func cdf(x, y, a, b float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case !(y > 0):
		return 1
	}
	front := math.Exp(a*math.Log(x) + b*math.Log(y) - lnBeta(a, b))
	if x < (a+1)/(a+b+2) {
		return front / a * fraction(x, a, b)
	}
	return 1 - front/b*fraction(y, b, a)
}

// fraction is the continued fraction of the incomplete beta function, by the
// modified method of Lentz.
func fraction(x, a, b float64) float64 {
	const tiny, near = 1e-300, 1e-15
	keep := func(v float64) float64 {
		if math.Abs(v) < tiny {
			return tiny
		}
		return v
	}
	c, d := 1.0, 1/keep(1-(a+b)*x/(a+1))
	f := d
	for m := 1.0; m < 2000; m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d = 1 / keep(1+even*d)
		c = keep(1 + even/c)
		f *= d * c
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d = 1 / keep(1+odd*d)
		c = keep(1 + odd/c)
		step := d * c
		f *= step
		if math.Abs(step-1) < near {
			break
		}
	}
	return f
}

// mostTerms is how long a sum may be before quadrature is quicker.
const mostTerms = 400

func whole(x float64) bool { return x >= 1 && x <= mostTerms && x == math.Trunc(x) }

// Better is the probability that the rate of a is greater than that of b. It
// is exact where one of the four counts is a whole number, else by quadrature.
func Better(a, b Beta) float64 {
	// P(A > B) as a sum over the takes of A, when they are whole; the other
	// cases follow from 1-rate being beta distributed with the counts swapped.
	switch {
	case whole(a.A):
		return greater(a.A, a.B, b.A, b.B)
	case whole(b.A):
		return 1 - greater(b.A, b.B, a.A, a.B)
	case whole(b.B):
		return greater(b.B, b.A, a.B, a.A)
	case whole(a.B):
		return 1 - greater(a.B, a.A, b.B, b.A)
	}
	return Best([]Beta{a, b})[0]
}

// greater is P(X > Y) for X beta with a, a whole number, and b, Y beta with c
// and d: the sum over k below a of the chance that k of so many fish were
// taken before the first of Y's. Derived from the identity of the incomplete
// beta function with a binomial tail (NIST DLMF 8.17.5) and integrated term by
// term.
func greater(a, b, c, d float64) float64 {
	// 1-F_X(y) = sum over k < a of y^k (1-y)^b / ((b+k) B(1+k, b)).
	sum := 0.0
	base := lnBeta(c, d)
	for k := 0.0; k < a; k++ {
		sum += math.Exp(lnBeta(c+k, d+b)-lnBeta(1+k, b)-base) / (b + k)
	}
	return min(max(sum, 0), 1)
}

// Best is for each of several rates the probability that it is the greatest,
// by quadrature over a grid that is fine near both ends (tanh-sinh), where a
// rate of few fish may be singular. The sum is 1 but for rounding.
func Best(all []Beta) []float64 {
	out := make([]float64, len(all))
	if len(all) == 0 {
		return out
	}
	narrow := 1.0
	for _, b := range all {
		narrow = min(narrow, b.SD())
	}
	// The trapezium rule needs steps of no more than about a standard
	// deviation; the slope of the substitution is at most pi/4.
	h := min(1.0/24, narrow*0.9)
	h = max(h, 1.0/2000)
	const reach = 4.6
	low := make([]float64, len(all))
	total := 0.0
	for i := -int(reach / h); i <= int(reach/h); i++ {
		t := float64(i) * h
		u := math.Pi / 2 * math.Sinh(t)
		// x = 1/(1+exp(-2u)), y = 1-x, and the slope dx/dt.
		x, y := 1/(1+math.Exp(-2*u)), 1/(1+math.Exp(2*u))
		if x == 0 || y == 0 {
			continue
		}
		slope := math.Pi * math.Cosh(t) * x * y
		for j, b := range all {
			low[j] = cdf(x, y, b.A, b.B)
		}
		for j, b := range all {
			density := math.Exp((b.A-1)*math.Log(x) + (b.B-1)*math.Log(y) - lnBeta(b.A, b.B))
			p := density * slope * h
			for k := range all {
				if k != j {
					p *= low[k]
				}
			}
			out[j] += p
		}
	}
	for _, p := range out {
		total += p
	}
	for j := range out { // what the grid's ends leave out
		out[j] /= total
	}
	return out
}
