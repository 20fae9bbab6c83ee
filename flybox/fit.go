package flybox

// Fit is the Score of a fly for a quarry, and whether it will do as it is. It
// does not allocate.
func Fit(f *CompiledFly, q *CompiledQuarry) (score float64, fits bool) {
	part := q.parts(f)
	score = q.score(&part)
	return score, q.fits(score, &part)
}
