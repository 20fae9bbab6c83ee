package hatchkeys

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// without is the key of the pack less one hatch.
func without(t *testing.T, k *Key, hatch int) *Key {
	t.Helper()
	p := *k.Pack
	p.Hatches = slices.Delete(slices.Clone(p.Hatches), hatch, hatch+1)
	out, err := NewKey(&p)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// unknowns gathers what a key says of insects.
type unknowns struct {
	n, leads, certain int
	sum               float64
}

func (u *unknowns) add(r *Reading) {
	u.n++
	u.sum += r.Unknown
	if r.Leader() == nil {
		u.leads++
	} else if r.Leader().Probability >= 0.9 {
		u.certain++
	}
}

func (u *unknowns) mean() float64 { return u.sum / float64(u.n) }

// TestEvaluationOnInsectsThatTheKeyDoesNotHold drops one hatch at a time and
// reads what observers say of its insects. A near relation in the key takes
// most of the weight, as it should, so "unknown" need not lead; it must rise,
// and by more than when a hatch that was not there is dropped.
func TestEvaluationOnInsectsThatTheKeyDoesNotHold(t *testing.T) {
	const each = 12
	for _, region := range Regions() {
		t.Run(region, func(t *testing.T) {
			key, err := ForRegion(region)
			if err != nil {
				t.Fatal(err)
			}
			w := &world{key, rand.New(rand.NewPCG(evaluationSeed, 2))}
			var held, full, lacking, control, outside unknowns
			n := len(key.hatches)
			for h := range n {
				less := without(t, key, h)
				// Half the pack away, so that it is no near relation in the list.
				other := without(t, key, (h+n/2)%n)
				for range each {
					f := key.hatches[h].first + w.pick(func(i int) float64 { return key.forms[key.hatches[h].first+i].share }, key.hatches[h].n)
					e := w.evidence(&careful, w.drawForm(f))
					full.add(key.Read(e))
					lacking.add(less.Read(e))
					control.add(other.Read(e))
				}
			}
			for range 1500 {
				in := w.draw(careful.given[WaterC])
				e := w.evidence(&careful, in)
				if r := key.Read(e); in.form == none {
					outside.add(r)
				} else {
					held.add(r)
				}
			}
			for _, u := range []struct {
				what string
				*unknowns
			}{
				{"insects of the key, as they are met", &held}, {"insects of no key", &outside},
				{"every hatch alike, key whole", &full}, {"every hatch alike, its own entry dropped", &lacking}, {"every hatch alike, another entry dropped", &control},
			} {
				t.Logf("%-42s %5d cases: unknown %.3f, leads in %4.1f %%, a name at 0.9 or more in %4.1f %%", u.what, u.n, u.mean(),
					100*float64(u.leads)/float64(u.n), 100*float64(u.certain)/float64(u.n))
			}
			t.Logf("seed %d", evaluationSeed)
			if rise, chance := lacking.mean()-full.mean(), control.mean()-full.mean(); rise < 0.02 || rise < 5*chance {
				t.Errorf("unknown rises by %.4f when the hatch itself is dropped, by %.4f when another is", rise, chance)
			}
			if outside.mean() < 2*held.mean() {
				t.Errorf("unknown is %.3f for insects of no key, %.3f for its own", outside.mean(), held.mean())
			}
			// Both are counts of some tens out of the same cases, so that the one
			// may pass the other by chance: by less than their Poisson error.
			if float64(lacking.certain) > float64(full.certain)+math.Sqrt(float64(full.certain)) {
				t.Errorf("a name at 0.9 or more for %d insects of the key, for %d that it lacks", full.certain, lacking.certain)
			}
		})
	}
}
