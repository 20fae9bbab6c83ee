package plan

import (
	"math"
	"math/rand/v2"
	"testing"
)

// pmf of the negative binomial by its closed form, apart from the recurrence
// under test.
func pmf(d Demand, k int) float64 {
	x := float64(k)
	lg := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	if d.Mean == 0 {
		if k == 0 {
			return 1
		}
		return 0
	}
	if math.IsInf(d.Size, 1) {
		return math.Exp(x*math.Log(d.Mean) - d.Mean - lg(x+1))
	}
	return math.Exp(lg(x+d.Size) - lg(d.Size) - lg(x+1) + d.Size*math.Log(d.Size/(d.Size+d.Mean)) + x*math.Log(d.Mean/(d.Size+d.Mean)))
}

// worth is what Fill makes greatest, for one item, by its definition.
func worth(it Item, n int, level float64) float64 {
	d := it.Demand
	var met, below float64
	for k := range n {
		met += float64(k) * pmf(d, k)
		below += pmf(d, k)
	}
	met += float64(n) * (1 - below)
	for _, a := range it.AtHand {
		met += a.Chance * float64(min(n, a.Number))
	}
	return met - (1-level)*float64(n)
}

// best tries every filling.
func best(items []Item, slots, perSlot int, level float64) float64 {
	if len(items) == 0 {
		return 0
	}
	it := items[0]
	most := 14
	if it.Most >= 0 {
		most = min(most, it.Most)
	}
	if slots >= 0 {
		most = min(most, slots*perSlot)
	}
	top := math.Inf(-1)
	for n := 0; n <= most; n++ {
		rest := slots
		if slots >= 0 {
			rest -= (n + perSlot - 1) / perSlot
		}
		top = max(top, worth(it, n, level)+best(items[1:], rest, perSlot, level))
	}
	return top
}

func TestMarginalBenefitIsOptimal(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	bound := 0
	for c := range 1000 {
		items := make([]Item, 1+rng.IntN(3))
		for i := range items {
			d := Demand{Mean: rng.Float64() * 4, Size: []float64{0.7, 2, 6, poisson}[rng.IntN(4)]}
			items[i] = Item{Demand: d, Most: []int{NoLimit, rng.IntN(7)}[rng.IntN(2)], Fixed: NoLimit}
			if rng.IntN(6) == 0 {
				items[i].Demand.Mean = 0
			}
			for range rng.IntN(3) {
				items[i].AtHand = append(items[i].AtHand, AtHand{1 + rng.IntN(8), rng.Float64()})
			}
		}
		slots, perSlot, level := []int{NoLimit, rng.IntN(5)}[min(rng.IntN(6), 1)], 1+rng.IntN(4), 0.5+0.4*rng.Float64()
		take := Fill(items, slots, perSlot, level)
		var got float64
		used := 0
		for i, n := range take {
			got += worth(items[i], n, level)
			used += (n + perSlot - 1) / perSlot
			if n < 0 || items[i].Most >= 0 && n > items[i].Most {
				t.Fatalf("case %d: %d of %+v", c, n, items[i])
			}
		}
		if slots >= 0 && used > slots {
			t.Fatalf("case %d: %d slots of %d", c, used, slots)
		}
		if slots >= 0 && used == slots {
			bound++
		}
		if want := best(items, slots, perSlot, level); math.Abs(got-want) > 1e-9 {
			t.Fatalf("case %d (seed %d): %+v, %d slots of %d, level %.3f: %v is worth %.9f, the best %.9f", c, seed, items, slots, perSlot, level, take, got, want)
		}
	}
	if bound < 300 {
		t.Errorf("slots bind in %d of 1000 cases only", bound)
	}
}

func TestFixedLinesComeFirst(t *testing.T) {
	d := Demand{5, 2}
	items := []Item{{Demand: d, Most: NoLimit, Fixed: NoLimit}, {Demand: d, Most: NoLimit, Fixed: 7}, {Demand: d, Most: NoLimit, Fixed: 0}}
	if got := Fill(items, 3, 4, 0.9); got[0] != 4 || got[1] != 7 || got[2] != 0 {
		t.Errorf("three slots of four: %v, want [4 7 0]", got)
	}
	if got := Fill(items, 1, 4, 0.9); got[0] != 0 || got[1] != 7 {
		t.Errorf("one slot of four: %v, want [0 7 0]", got)
	}
	if got := Fill(nil, 3, 4, 0.9); len(got) != 0 {
		t.Errorf("nothing to take: %v", got)
	}
}

func TestTyingGoesWhereAFlyIsLikeliestMissed(t *testing.T) {
	items := []Item{{Demand: Demand{6, 2}, Most: NoLimit, Fixed: NoLimit}, {Demand: Demand{1, 2}, Most: NoLimit, Fixed: NoLimit}, {Demand: Demand{0.1, 2}, Most: NoLimit, Fixed: 3}}
	have, want := []int{4, 0, 1}, []int{12, 3, 3}
	// By hand, size 2: with mean 1, P(X > 0) = 1 - (2/3)^2 = 0.5556; with mean
	// 6, P(X <= 4) = (1/4)^2 sum over k of (k+1) (3/4)^k = 0.4661, so that
	// P(X > 4) = 0.5339 comes next. What somebody decided goes before both.
	for most, expect := range map[int][3]int{0: {0, 0, 0}, 1: {0, 0, 1}, 2: {0, 0, 2}, 3: {0, 1, 2}, 4: {1, 1, 2}, 99: {8, 3, 2}, -5: {0, 0, 0}} {
		if got := Tie(items, have, want, most); [3]int(got) != expect {
			t.Errorf("time for %d: %v, want %v", most, got, expect)
		}
	}
}
