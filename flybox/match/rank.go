package match

import (
	"cmp"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
)

// Part is one reason for a score.
type Part struct {
	Code   string  // PartLength and so on
	Score  float64 // 0 to 1
	Weight float64 // share in the whole, the weights of all parts adding up to 1

	Have, Want     string  // what the fly has and the insect: a code or a colour, whichever the part is about; Want is empty for the style
	HaveMM, WantMM float64 // lengths, for PartLength alone
	DeltaE         float64 // CIEDE2000 between Have and Want, for PartColour alone
}

// Match is a fly and how well it stands for a quarry.
type Match struct {
	Fly       flybox.Fly
	LengthMM  float64 // 0 if not known
	Estimated bool    // the length is from the hook, not measured
	Score     float64 // as it is
	Own       float64 // what own results make of the score in the ranking; 1 where there are none
	Fits      bool    // as it is
	Left      int     // how many are left, never negative
	NoneLeft  bool
	Parts     []Part // worst first, by what each costs
	// Changes make it fit with what is at hand on the water, or fit clearly
	// better; empty if it is right as it is or cannot be made to fit.
	Changes []Change
	After   float64 // score once the changes are made; Score if there are none
}

// Usable tells whether the fly fits as it is or once changed.
func (m Match) Usable() bool { return m.Fits || len(m.Changes) > 0 }

// Ranking is every fly, best first.
type Ranking struct {
	// Matches are the flies: those that fit and are left, those left that can
	// be made to fit, those that would do but are used up, and the rest, each
	// by score.
	Matches []Match
	// NothingFits: not one of the flies would do, left or not.
	NothingFits bool
	// NoneLeft: some would do, but all of those are used up.
	NoneLeft bool
	// Tie is what to tie, if NothingFits or NoneLeft; nil where no hook would
	// carry it.
	Tie *Tying
}

// RankBy ranks flies for a quarry with the reader's own results: among flies
// of the same kind (that fit, that can be made to fit, and so on) they stand
// by Score times own, which is 1 where nothing is known. Whether a fly fits is for the match
// alone to say. A nil own is 1 for all.
func RankBy(flies []CompiledFly, q *CompiledQuarry, own func(*flybox.Fly) float64) Ranking {
	r := Ranking{NothingFits: true}
	usableLeft := false
	for i := range flies {
		m := matchOne(&flies[i], q)
		if m.Own = 1; own != nil {
			m.Own = own(&m.Fly)
		}
		if m.Usable() {
			r.NothingFits = false
			usableLeft = usableLeft || !m.NoneLeft
		}
		r.Matches = append(r.Matches, m)
	}
	sortby.Stable(r.Matches, func(a, b *Match) int {
		return cmp.Or(cmp.Compare(a.tier(), b.tier()), cmp.Compare(b.Score*b.Own, a.Score*a.Own),
			cmp.Compare(a.Fly.Name, b.Fly.Name), cmp.Compare(a.Fly.ID, b.Fly.ID))
	})
	r.NoneLeft = !r.NothingFits && !usableLeft
	if !usableLeft {
		if t, ok := suggest(q, r.Matches); ok {
			r.Tie = &t
		}
	}
	return r
}

func (m Match) tier() int {
	switch {
	case m.Fits && !m.NoneLeft:
		return 0
	case m.Usable() && !m.NoneLeft:
		return 1
	case m.Usable():
		return 2
	case !m.NoneLeft:
		return 3
	}
	return 4
}

func matchOne(f *CompiledFly, q *CompiledQuarry) Match {
	part := q.parts(f)
	m := Match{Fly: f.Fly, LengthMM: f.mm, Estimated: f.estimate, Score: q.score(&part), Left: max(f.Fly.Left, 0), NoneLeft: f.Fly.Left <= 0}
	m.After = m.Score
	m.Fits = q.fits(m.Score, &part)
	for p, s := range part {
		if q.counts[p] {
			m.Parts = append(m.Parts, q.part(p, s, f))
		}
	}
	sortby.Stable(m.Parts, func(a, b *Part) int { return cmp.Compare(b.cost(), a.cost()) })
	if changes, after, ok := q.mend(*f); ok {
		m.Changes, m.After = changes, after
	}
	return m
}

// cost is what the part takes off the score: the weight of what is missing.
func (p Part) cost() float64 { return p.Weight * (1 - p.Score) }

// part is one reason, with what fly and insect have of it.
func (c *CompiledQuarry) part(p int, score float64, f *CompiledFly) Part {
	out := Part{Code: partCodes[p], Score: score, Weight: weights[p] / c.weight}
	switch p {
	case partLength:
		out.HaveMM, out.WantMM = f.mm, c.wantMM(f.mm)
	case partColour:
		best, _ := c.nearest(f)
		out.Want = best.hex
		if f.hasSeen {
			out.Have, out.DeltaE = f.seenHex, c.deltaE(f)
		}
	case partShape:
		out.Have = string(f.Fly.Style)
	case partFloats:
		out.Have, out.Want = string(FloatsOf(f.Fly.Pattern)), string(c.Quarry.Floats)
	case partWings:
		out.Have, out.Want = string(wingsOf(f.Fly.Pattern)), string(c.Quarry.Wings)
	case partWing:
		out.Have, out.Want = f.Fly.Wing, c.Quarry.Wing
	case partWater:
		out.Want = c.Quarry.Water
	}
	return out
}
