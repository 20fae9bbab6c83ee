package match

import (
	"cmp"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
)

// Chance is an insect that may be what fish take, and how much speaks for it:
// any positive number, only the shares in the sum count.
type Chance struct {
	Quarry *CompiledQuarry
	Odds   float64
}

// Expected is a fly and how well it does over all that may be about.
type Expected struct {
	// Match is the fly against the chance that it stands for best, see At.
	Match
	At int // number of that chance
	// Mean is the score over all chances by their odds, 0 to 1. What does not
	// fit a chance counts little there.
	Mean float64
}

// unfit is what a score counts where the fly would not do as it is, and mended
// where it would once changed. Judgement, no source.
const (
	unfit  = 0.35
	mended = 0.85
)

// RankOver ranks flies by how well they do over all chances: flies that are
// left and would do before those that are used up, then the rest. own weighs
// the score of a fly for a chance by what fish did to it before, 1 where
// nothing is known; nil for 1.
func RankOver(flies []CompiledFly, chances []Chance, own func(f *flybox.Fly, at int) float64) []Expected {
	var sum float64
	for _, c := range chances {
		sum += c.Odds
	}
	if sum <= 0 {
		return nil
	}
	out := make([]Expected, 0, len(flies))
	for i := range flies {
		f := &flies[i]
		e := Expected{At: -1}
		var mean, ranked, best float64
		for j, c := range chances {
			score, fits := Fit(f, c.Quarry)
			if !fits {
				if _, after, ok := c.Quarry.mend(*f); ok {
					score = after * mended
				} else {
					score *= unfit
				}
			}
			weighed := score
			if own != nil {
				weighed *= own(&f.Fly, j)
			}
			mean += c.Odds * score
			ranked += c.Odds * weighed
			if e.At < 0 || c.Odds*score > best {
				e.At, best = j, c.Odds*score
			}
		}
		e.Match = matchOne(f, chances[e.At].Quarry)
		e.Mean, e.Own = mean/sum, 1
		if mean > 0 {
			e.Own = ranked / mean
		}
		out = append(out, e)
	}
	sortby.Stable(out, func(a, b *Expected) int {
		return cmp.Or(cmp.Compare(a.step(), b.step()), cmp.Compare(b.Mean*b.Own, a.Mean*a.Own),
			cmp.Compare(b.Score, a.Score), cmp.Compare(a.Fly.Name, b.Fly.Name), cmp.Compare(a.Fly.ID, b.Fly.ID))
	})
	return out
}

// step parts what can be tied on now from what is used up and from what would
// not do.
func (e *Expected) step() int {
	switch {
	case e.Usable() && !e.NoneLeft:
		return 0
	case e.Usable():
		return 1
	case !e.NoneLeft:
		return 2
	}
	return 3
}
