package foam

import (
	"math"
	"testing"

	"dampstone/flybox"
)

// By hand: a ball of 2.8 mm has pi/6 x 2.8³ = 11.494 mm³; of brass, whole, it
// weighs 0.0965 to 0.1003 g in air and less 0.0115 g in water.
func TestABeadWeighsWhatItsBallDoes(t *testing.T) {
	for _, b := range Beads {
		ball := math.Pi / 6 * math.Pow(b.MM, 3) / 1000
		d := beadDensities[b.Material]
		low, high := b.Weight(4)
		hook := Spec{Hook: b.Hook, Shank: 1, Wire: Standard}.HookMass()
		if low < ball*0.7*(d[0]-1)*0.99 || high > ball*0.9*(d[1]-0.999)+hook*1.5 || low >= high {
			t.Errorf("%+v: %.4f to %.4f g, ball of %.4f cm³", b, low, high, ball)
		}
	}
	// The ball alone: 11.494 mm³ x 0.7 x 7.4 mg and x 0.9 x 7.73 mg.
	low, high := (Bead{"brass", 2.8, 14}).Weight(4)
	hook := Spec{Hook: 14, Shank: 1, Wire: Standard}.HookMass() * (1 - 1/SteelDensity)
	if low -= hook * (1 - wireWithin); math.Abs(low-0.05954) > 1e-4 {
		t.Errorf("the ball weighs %.5f g in water at least, want 0.05954", low)
	}
	if high -= hook * (1 + wireWithin) * (1 + dressed); math.Abs(high-0.07996) > 1e-4 {
		t.Errorf("the ball weighs %.5f g in water at most, want 0.07996", high)
	}
}

// Archimedes: what is spare is what the foam above the water displaces. A body
// of twice the thickness holds more, a heavier bead is held less, and what
// sinks holds nothing.
func TestMoreFoamHoldsMore(t *testing.T) {
	s := For(flybox.Pattern{Style: flybox.FoamStone, Hook: 8, Shank: 1.21})
	thick, thin := s, s
	thick.Layers, thin.Layers, thin.Thick, thin.Width = 3, 1, 1, 3
	order := map[Holds]int{PullsDown: 0, MayHold: 1, HoldsUp: 2}
	for i, b := range Beads {
		a, c := order[thick.Holds(thick.Float(), b)], order[thin.Holds(thin.Float(), b)]
		if a < c {
			t.Errorf("%+v: thick %d, thin %d", b, a, c)
		}
		if i > 0 && Beads[i-1].Material == b.Material && order[s.Holds(s.Float(), b)] > order[s.Holds(s.Float(), Beads[i-1])] {
			t.Errorf("%+v is held better than a smaller one", b)
		}
	}
	if thick.Holds(thick.Float(), Beads[3]) != HoldsUp {
		t.Errorf("three layers do not hold a small brass bead: %+v, %.4f g spare", thick, thick.Float().Worst.Spare(thick.Water))
	}
	if (Afloat{Sinks: true}).Spare(10) != 0 {
		t.Error("what sinks has weight to spare")
	}
	c := s.Float()
	if want := c.Middle.Reserve * c.Middle.Mass; math.Abs(c.Middle.Spare(s.Water)-want) > 0.02*want {
		t.Errorf("spare %.5f g, reserve of the mass afloat %.5f g", c.Middle.Spare(s.Water), want)
	}
}
