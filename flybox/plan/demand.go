package plan

import "math"

// Demand is how many flies of a kind a trip uses up: negative binomial with a
// mean and a size, so that the variance is Mean + Mean²/Size. An infinite size
// is the Poisson distribution. A mean of 0 is no demand.
type Demand struct{ Mean, Size float64 }

// Variance of the number of flies.
func (d Demand) Variance() float64 { return d.Mean + d.Mean*d.Mean/d.Size }

// mostFlies bounds every count; no box holds as many.
const mostFlies = 1 << 20

// walk gives P(X <= n) for n from 0 up until f says no. It sums the
// probabilities by their recurrence, in logarithms so that a large mean does
// not start from nothing.
func (d Demand) walk(f func(n int, atMost float64) bool) {
	if !(d.Mean > 0) {
		f(0, 1)
		return
	}
	ln, step := -d.Mean, math.Log(d.Mean)
	poisson := math.IsInf(d.Size, 1)
	if !poisson {
		ln = -d.Size * math.Log1p(d.Mean/d.Size)
		step -= math.Log(d.Mean + d.Size)
	}
	sum := 0.0
	for n := 0; n < mostFlies; n++ {
		sum += math.Exp(ln)
		if !f(n, min(sum, 1)) {
			return
		}
		ln += step - math.Log(float64(n+1))
		if !poisson {
			ln += math.Log(float64(n) + d.Size)
		}
	}
}

// AtMost is the chance that no more than n flies are used up: that n do not
// run short.
func (d Demand) AtMost(n int) (p float64) {
	if n < 0 {
		return 0
	}
	d.walk(func(k int, atMost float64) bool {
		p = atMost
		return k < n
	})
	return p
}

// Quantile is the least n with AtMost(n) >= level: the newsvendor's number
// where a fly that is missing costs level for every 1-level that one too many
// costs. level is below 1.
func (d Demand) Quantile(level float64) (n int) {
	d.walk(func(k int, atMost float64) bool {
		n = k
		// A hair of tolerance, so that rounding in the sum does not ask for one
		// more fly at a level that is met exactly.
		return atMost < level-1e-12
	})
	return n
}

// Rate is what is known of the flies that one rod loses or gives away in a
// day: a gamma distribution with Shape and Days, mean Shape/Days, as if Shape
// flies had gone in that many rod days.
type Rate struct{ Shape, Days float64 }

// AssumedRate is the rate before anything is learned.
var AssumedRate = Rate{AssumedLost, AssumedLostDays}

// Learn adds a record of flies gone in a number of rod days: the conjugate
// update of a Poisson rate.
func (r Rate) Learn(gone, days float64) Rate {
	if !(gone >= 0 && days > 0) || math.IsInf(gone, 0) || math.IsInf(days, 0) {
		return r
	}
	return Rate{r.Shape + gone, r.Days + days}
}

// Mean of the rate, flies per rod day.
func (r Rate) Mean() float64 { return r.Shape / r.Days }

// Over is the demand of a number of rod days: Poisson at a gamma rate, hence
// negative binomial. spread is the squared coefficient of variation of the
// rod days themselves, 0 where they are certain; the size then matches the
// variance of the product.
func (r Rate) Over(days, spread float64) Demand {
	return Demand{Mean: days * r.Mean(), Size: 1 / ((1+1/r.Shape)*(1+spread) - 1)}
}
