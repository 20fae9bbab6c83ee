package results

import (
	"math"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

// Evidence is what is known of one revision of a fly.
type Evidence struct {
	Rev journal.ID
	// Ancestors are the revisions that it was made from, the nearest first.
	Ancestors []journal.ID
	Count     Count
	// Fit is how well the fly matches the insect, 0 to 1 (flybox.Score); nil
	// if that is not known or is not to count.
	Fit *float64
}

// Estimate is the rate of takes of one fly.
type Estimate struct {
	Beta
	// Prior is the rate before the fly's own fish counted.
	Prior Beta
	Count Count
}

// Estimates are the rates of flies before fish that were on the same form.
//
// Each starts from a weak beta prior of PriorFish fish whose mean is the rate
// of all other flies together (which starts from PoolTakes of PoolFish). A
// revision borrows, at a discount, the fish of those that it was made from.
// The fit to the insect, if given, shifts the odds of the prior's mean. The
// fly's own fish are then added as they are: a beta-binomial model, conjugate.
func Estimates(all []Evidence) []Estimate {
	index := make(map[journal.ID]int, len(all))
	var takes, fish float64
	for i, e := range all {
		index[e.Rev] = i
		takes += e.Count.For()
		fish += e.Count.For() + e.Count.Against()
	}
	out := make([]Estimate, len(all))
	for i, e := range all {
		// What all others did: neither the fly's own fish nor those that it
		// borrows count twice.
		otherTakes := takes - e.Count.For()
		otherFish := fish - e.Count.For() - e.Count.Against()
		var borrowed Beta
		share := 1.0
		for _, rev := range e.Ancestors {
			share *= Borrow
			if j, ok := index[rev]; ok && j != i {
				c := all[j].Count
				otherTakes -= c.For()
				otherFish -= c.For() + c.Against()
				borrowed.A += share * c.For()
				borrowed.B += share * c.Against()
			}
		}
		if n := borrowed.A + borrowed.B; n > BorrowMost {
			borrowed.A *= BorrowMost / n
			borrowed.B *= BorrowMost / n
		}
		mean := (PoolTakes + max(otherTakes, 0)) / (PoolFish + max(otherFish, 0))
		if e.Fit != nil {
			mean = shift(mean, FitWeight*(*e.Fit-match.FitScore))
		}
		prior := Beta{PriorFish*mean + borrowed.A, PriorFish*(1-mean) + borrowed.B}
		out[i] = Estimate{Beta{prior.A + e.Count.For(), prior.B + e.Count.Against()}, prior, e.Count}
	}
	return out
}

// shift adds to the logarithm of the odds of p.
func shift(p, by float64) float64 { return 1 / (1 + (1-p)/p*math.Exp(-by)) }

// Ancestors are the revisions that one was made from, the nearest first, as
// far as the ledger knows them.
func Ancestors(s *flybox.State, rev journal.ID) (out []journal.ID) {
	seen := map[journal.ID]bool{rev: true}
	for {
		r, ok := s.Revision(rev)
		if !ok || r.Parent == "" || seen[r.Parent] {
			return out
		}
		rev = r.Parent
		seen[rev] = true
		out = append(out, rev)
	}
}

// Bounds of what own results do to the rank of a fly: by no more than a
// quarter up or a fifth down, so that they part flies that fit about alike
// and never put one that does not fit before one that does.
const (
	LeastWeight, MostWeight = 0.8, 1.25
	weightPower             = 0.5
)

// Weight is what own results make of the score of a fly in the ranking: the
// square root of its rate against its prior's, bounded. It is 1 where no fish
// was shown the fly.
func (e Estimate) Weight() float64 {
	if e.Count.Fish() == 0 {
		return 1
	}
	return min(max(math.Pow(e.Mean()/e.start(), weightPower), LeastWeight), MostWeight)
}

// start is the rate that the fly had before any fish, own or borrowed.
func (e Estimate) start() float64 { return e.Prior.Mean() }
