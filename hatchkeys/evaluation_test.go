package hatchkeys

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
)

const (
	evaluationSeed  = 20261125
	evaluationCases = 3000 // by region
)

// tally scores one way of naming hatches.
type tally struct {
	name             string
	n, first, third  int
	loss, brierTotal float64
	table            reliability
}

func newTally(name string) *tally { return &tally{name: name, table: make(reliability, 10)} }

func (s *tally) add(f forecast) {
	s.n++
	s.loss += f.logLoss()
	s.brierTotal += f.brier()
	switch r := f.rank(); {
	case r == 1:
		s.first++
		s.third++
	case r <= 3:
		s.third++
	}
	s.table.add(f.top())
}

func (s *tally) meanLoss() float64 { return s.loss / float64(s.n) }

func (s *tally) line() string {
	n := float64(s.n)
	return fmt.Sprintf("  %-26s top-1 %5.1f %%  top-3 %5.1f %%  log loss %6.3f  Brier %.3f  ECE %.3f",
		s.name, 100*float64(s.first)/n, 100*float64(s.third)/n, s.meanLoss(), s.brierTotal/n, s.table.ece())
}

func (s *tally) reliability() string {
	var b strings.Builder
	for i, x := range s.table {
		if x.n > 0 {
			fmt.Fprintf(&b, "    %.1f to %.1f: %5d cases, said %.3f, was %.3f\n",
				float64(i)/10, float64(i+1)/10, x.n, x.sum/float64(x.n), float64(x.right)/float64(x.n))
		}
	}
	return b.String()
}

// forecast of a reading: a probability for each hatch in the order of the
// pack, then for something unknown.
func (r *Reading) forecast(truth int) forecast {
	p := make([]float64, len(r.Ranked)+1)
	for i := range r.Ranked {
		p[r.Ranked[i].index] = r.Ranked[i].Probability
	}
	p[len(p)-1] = r.Unknown
	return forecast{p, truth}
}

// TestEvaluationOnSimulatedObservers draws insects and what observers say of
// them, and compares the key with what it must beat. Where the world follows
// the key's own assumptions this checks the arithmetic and the shortcuts (a
// probability must mean what it says); it does not show that the assumptions
// hold on a river. The hasty observer shows how the key bears up when they do
// not; that is reported, and asserted only as far as it still beats the
// baselines.
func TestEvaluationOnSimulatedObservers(t *testing.T) {
	for _, region := range Regions() {
		t.Run(region, func(t *testing.T) {
			key, err := ForRegion(region)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%s: %d hatches, %d forms, %d cases, seed %d", region, len(key.hatches), len(key.forms), evaluationCases, evaluationSeed)
			for _, o := range []struct {
				name   string
				skill  *observer
				assert bool
				cases  int
			}{{"observer as assumed", &careful, true, evaluationCases}, {"observer half as good", &hasty, false, evaluationCases / 3}} {
				ways := evaluate(key, o.skill, o.cases, rand.New(rand.NewPCG(evaluationSeed, 1)))
				report := o.name + "\n"
				for _, w := range ways {
					report += w.line() + "\n"
				}
				t.Log(report + "  reliability of the key's first name:\n" + ways[0].reliability())
				for _, w := range ways[1:] {
					if ways[0].meanLoss() >= w.meanLoss() {
						t.Errorf("%s: log loss %.3f is no better than %.3f of %s", o.name, ways[0].meanLoss(), w.meanLoss(), w.name)
					}
				}
				if e := ways[0].table.ece(); o.assert && e >= 0.05 {
					t.Errorf("calibration error %.3f, want under 0.05", e)
				}
			}
		})
	}
}

// evaluate returns the tallies of the key and of the baselines.
func evaluate(key *Key, o *observer, cases int, rng *rand.Rand) []*tally {
	w := &world{key, rng}
	n := len(key.hatches) + 1
	ours, month, even := newTally("key"), newTally("month only"), newTally("no knowledge")
	uniform := make([]float64, n)
	fill(uniform, 1/float64(n))
	rigid := newRigidKey(key)
	for range cases {
		in := w.draw(o.given[WaterC])
		e := w.evidence(o, in)
		truth := w.hatch(in)
		ours.add(key.Read(e).forecast(truth))
		month.add(key.Read(Evidence{Month: e.Month, Day: e.Day}).forecast(truth))
		even.add(forecast{uniform, truth})
		rigid.add(&e, truth)
	}
	return []*tally{ours, month, even, rigid.best()}
}
