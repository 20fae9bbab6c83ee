package results

// A fly is chosen by its mean rate and a part of its standard deviation, so
// that one of which little is known gets its chance (an upper confidence bound,
// as in Auer, Cesa-Bianchi and Fischer 2002, "Finite-time analysis of the
// multiarmed bandit problem", from memory). The part grows with the fish that
// were shown anything: on a short day what is best so far is hard to beat, over
// a season it pays to look. Of the parts tried it is one that loses no more
// fish over 10, 20, 50 and 200 of the simulated seasons of the tests than the
// best mean or a fixed quantile; a choice, not a published value.
const (
	exploreFirst = 0.2
	exploreFrom  = 10 // fish, until which it stays so
	explorePer   = 0.02
	exploreMost  = 1.0
)

// Candidate is a fly that may be tied on.
type Candidate struct {
	Estimate
	Left int // how many are left
}

// Next is which fly to show the next fish: the one whose rate may well be the
// highest. It never is one of which none is left; ok is false if no fly is
// left. The first of equals is taken.
func Next(list []Candidate) (best int, ok bool) {
	fish := 0
	for _, c := range list {
		fish += c.Count.Fish()
	}
	part := min(exploreFirst+explorePer*float64(max(fish-exploreFrom, 0)), exploreMost)
	top := -1.0
	for i, c := range list {
		if c.Left <= 0 {
			continue
		}
		if x := c.Mean() + part*c.Deviation(); x > top+1e-12 {
			best, top, ok = i, x, true
		}
	}
	return best, ok
}
