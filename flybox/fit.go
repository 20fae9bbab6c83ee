package flybox

import "math"

// Fit is the Score of a fly for a quarry, and whether it will do as it is.
// The score is 0 where the length alone rules the fly out. It does not
// allocate.
func Fit(f *CompiledFly, q *CompiledQuarry) (score float64, fits bool) {
	if q.counts[partLength] && f.mm > 0 {
		// The plain comparison spares the colours, which cost most.
		if z := (f.lnMM - q.lnMM) / lengthSD; z*z > farthestFit {
			return 0, false
		}
	}
	part := q.parts(f)
	score = q.score(&part)
	return score, q.fits(score, &part)
}

// farthestFit is the z*z at which the length scores FitNear.
var farthestFit = -2 * math.Log(FitNear)
