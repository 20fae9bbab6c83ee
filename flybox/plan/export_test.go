package plan

// What tests alone use.

// Short is the expected number of flies that are missing if n go along.
func (d Demand) Short(n int) float64 {
	short := max(d.Mean, 0)
	d.walk(func(k int, atMost float64) bool {
		if k >= n {
			return false
		}
		short -= 1 - atMost
		return true
	})
	return max(short, 0)
}
