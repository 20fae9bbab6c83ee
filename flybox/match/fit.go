package match

import "math"

// Fit is the Score of a fly for a quarry, and whether it will do as it is.
// The score is 0 where its length, style, float or wings alone rule the fly
// out. It does not allocate.
func Fit(f *CompiledFly, q *CompiledQuarry) (score float64, fits bool) {
	if q.ruledOut(f) {
		return 0, false
	}
	part := q.parts(f)
	score = q.score(&part)
	return score, q.fits(score, &part)
}

// ruledOut tells by a few comparisons that a fly will not do, to spare the
// colours, which cost most.
func (q *CompiledQuarry) ruledOut(f *CompiledFly) bool {
	if q.counts[partLength] && f.mm > 0 {
		if z := q.beyond(f.lnMM); z*z > farthestFit {
			return true
		}
	}
	return q.counts[partShape] && (f.style < 0 || q.shape[f.style] < FitPart) ||
		q.counts[partFloats] && f.floats >= 0 && floatScore[f.floats][q.floats] < FitPart ||
		q.counts[partWings] && f.wings >= 0 && wingScore[f.wings][q.wings] < FitPart
}

// farthestFit is the z*z at which the length scores FitNear.
var farthestFit = -2 * math.Log(FitNear)
