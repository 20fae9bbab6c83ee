package hatchkeys

import "math"

// DegreeDays is the thermal sum of one day above a threshold, in the degrees
// of its arguments: the area under a sine from the day's least to its
// greatest temperature, as far as it lies over lower.
//
// Method: single sine (Baskerville and Emin 1969, Ecology 50:514-517, from
// memory). It is 0 where least exceeds most or a number is not one.
func DegreeDays(least, most, lower float64) float64 {
	mean, half := (most+least)/2, (most-least)/2
	switch {
	case !(least <= most) || math.IsInf(mean, 0) || math.IsNaN(lower):
		return 0
	case least >= lower:
		return mean - lower
	case most <= lower:
		return 0
	}
	theta := math.Asin((lower - mean) / half)
	return ((mean-lower)*(math.Pi/2-theta) + half*math.Cos(theta)) / math.Pi
}
