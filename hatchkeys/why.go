package hatchkeys

import (
	"math"
	"sort"
)

// Reason is what one answer says about one hatch.
type Reason struct {
	Question Question
	// Decibans is the weight of evidence: ten times the base-10 logarithm of
	// how the odds on the hatch change when this answer is put to the others.
	// Positive speaks for the hatch. (I.J. Good, Probability and the Weighing
	// of Evidence, 1950; from memory.)
	Decibans float64
}

// Strength puts a weight of evidence into words: 0 says nothing (under 1
// deciban, the least that people notice), 1 a little, 2 clearly (5 and more,
// odds times three), 3 strongly (10 and more, odds times ten).
func (r Reason) Strength() int {
	switch d := math.Abs(r.Decibans); {
	case d >= 10:
		return 3
	case d >= 5:
		return 2
	case d >= 1:
		return 1
	}
	return 0
}

// Why lists what each answer says about a hatch, the weightiest first.
func (r *Reading) Why(h *Ranked) []Reason {
	t := &r.key.hatches[h.index]
	reasons := make([]Reason, 0, len(r.given))
	for i, a := range r.given {
		var with, all float64
		for f, p := range r.post {
			without := p / r.like[i][f]
			all += without
			if f >= t.first && f < t.first+t.n {
				with += without
			}
		}
		before := clamp(with / all)
		now := clamp(h.Probability)
		reasons = append(reasons, Reason{Question: a, Decibans: 10 * math.Log10(now/(1-now)*(1-before)/before)})
	}
	sort.SliceStable(reasons, func(i, j int) bool { return math.Abs(reasons[i].Decibans) > math.Abs(reasons[j].Decibans) })
	return reasons
}

func clamp(p float64) float64 { return min(max(p, tiny), 1-tiny) }
