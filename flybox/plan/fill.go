package plan

import (
	"cmp"

	"dampstone/flybox/sortby"
)

// Item is a kind of fly that may go along.
type Item struct {
	Demand Demand
	// Most is how many can go along, such as how many there are; -1 for any
	// number.
	Most int
	// Fixed is how many go along because somebody says so; -1 to let the
	// planner decide.
	Fixed int
	// AtHand are the numbers that nobody wants to stand without, each with the
	// chance that it comes to that.
	AtHand []AtHand
}

// AtHand is a number of flies of a kind and the chance that they are wanted at
// hand.
type AtHand struct {
	Number int
	Chance float64
}

// worth is what one more fly is worth where there are n: the chance that it
// is used up, atMost being the chance that n are enough, and that of every
// number at hand that n do not reach.
func (it Item) worth(n int, atMost float64) float64 {
	gain := 1 - atMost
	for _, a := range it.AtHand {
		if n < a.Number {
			gain += a.Chance
		}
	}
	return gain
}

// NoLimit stands for a number that is not bounded.
const NoLimit = -1

// Fill says how many of each item go along, so that
//
//	sum over items of [ E min(demand, n) + sum over AtHand of chance min(number, n) - (1-level) n ]
//
// is greatest: each fly is worth the chance that it is used up and the chances
// that it is wanted at hand, less the chance of running out that was allowed.
// slots is how many slots there are
// (NoLimit for any number), each holding up to perSlot flies of one kind.
//
// Both needs are concave in a kind's flies, so their sum is, so it is concave in its slots too,
// and the sum is greatest when slots go one by one to where the next one adds
// most (marginal allocation; Fox 1966, Operations Research 14:210-216, from
// memory). Where slots do not run out each kind has its Quantile at level, or
// Most. Fixed items are served first, even beyond the slots that there are.
func Fill(items []Item, slots, perSlot int, level float64) []int {
	perSlot = max(perSlot, 1)
	take := make([]int, len(items))
	type slot struct {
		item, flies int
		gain        float64
	}
	var offers []slot
	for i, it := range items {
		if it.Fixed >= 0 {
			take[i] = it.Fixed
			if slots >= 0 {
				slots = max(slots-slotsFor(it.Fixed, perSlot), 0)
			}
			continue
		}
		want := it.wish(level)
		if it.Most >= 0 {
			want = min(want, it.Most)
		}
		if want == 0 {
			continue
		}
		var next slot
		it.walk(func(n int, atMost float64) bool { // the n+1st fly
			next.item = i
			next.flies++
			next.gain += it.worth(n, atMost) - (1 - level)
			if next.flies == perSlot || n+1 == want {
				offers = append(offers, next)
				next = slot{}
			}
			return n+1 < want
		})
	}
	// Stable, so that of two that are worth the same the first comes first and
	// a kind's own slots stay in order.
	sortby.Stable(offers, func(a, b *slot) int { return cmp.Compare(b.gain, a.gain) })
	if slots >= 0 {
		offers = offers[:min(len(offers), slots)]
	}
	for _, o := range offers {
		take[o.item] += o.flies
	}
	return take
}

// wish is the number at which one more fly is worth no more than its cost.
func (it Item) wish(level float64) (want int) {
	most := 0
	for _, a := range it.AtHand {
		most = max(most, a.Number)
	}
	it.walk(func(n int, atMost float64) bool {
		if it.worth(n, atMost) <= 1-level+1e-12 {
			return n < most
		}
		want = n + 1
		return true
	})
	return want
}

// walk is Demand.walk, and goes on where there is no demand.
func (it Item) walk(f func(n int, atMost float64) bool) {
	if it.Demand.Mean > 0 {
		it.Demand.walk(f)
		return
	}
	for n := 0; n < mostFlies && f(n, 1); n++ {
	}
}

// slotsFor is how many slots n flies need.
func slotsFor(n, perSlot int) int { return (n + perSlot - 1) / perSlot }

// Tie says how many of each item to tie, so many in all at most, where have
// are there and want are wished: first those flies that are likeliest to be
// missed. Items with a Fixed number come before the others.
func Tie(items []Item, have, want []int, most int) []int {
	type fly struct {
		item   int
		fixed  bool
		needed float64
	}
	var flies []fly
	for i, it := range items {
		if want[i] <= have[i] {
			continue
		}
		needed := make([]float64, 0, want[i])
		it.walk(func(n int, atMost float64) bool {
			needed = append(needed, it.worth(n, atMost))
			return n+1 < want[i]
		})
		for n := have[i]; n < want[i]; n++ {
			f := fly{item: i, fixed: it.Fixed >= 0}
			if n < len(needed) { // else wished, though nobody will miss it
				f.needed = needed[n]
			}
			flies = append(flies, f)
		}
	}
	sortby.Stable(flies, func(a, b *fly) int {
		if a.fixed != b.fixed {
			if a.fixed {
				return -1
			}
			return 1
		}
		return cmp.Compare(b.needed, a.needed)
	})
	tie := make([]int, len(items))
	for _, f := range flies[:min(len(flies), max(most, 0))] {
		tie[f.item]++
	}
	return tie
}
