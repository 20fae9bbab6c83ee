package foam

import "math"

// Ride is how high a fly floats.
type Ride string

// The rides.
const (
	RidesHigh Ride = "high"
	RidesMid  Ride = "mid"
	RidesLow  Ride = "low"
	RideSinks Ride = "sinks"
)

// Sit is how a fly sits along the water.
type Sit string

// The ways to sit.
const (
	SitsLevel Sit = "level"
	TailDown  Sit = "tail-down"
	HeadDown  Sit = "head-down"
)

// Lie is how a fly lies across the water.
type Lie string

// The ways to lie.
const (
	Rights Lie = "rights" // turns the hook down from any side
	Flat   Lie = "flat"   // lies flat, and stays upside down if it lands so
	Tender Lie = "tender" // a small tilt and it goes over
	Rolls  Lie = "rolls"  // does not stay with the hook down
)

// Bounds of the words. Judgement, no source.
const (
	highWet, lowWet = 0.4, 0.75 // share of the foam under water
	levelWithin     = 4.0       // degrees
	tenderBack      = 40.0      // degrees
)

// Ride is the word for how high it floats.
func (a Afloat) Ride() Ride {
	switch {
	case a.Sinks:
		return RideSinks
	case a.Wet < highWet:
		return RidesHigh
	case a.Wet > lowWet:
		return RidesLow
	}
	return RidesMid
}

// Sit is the word for its trim.
func (a Afloat) Sit() Sit {
	switch {
	case a.Trim > levelWithin:
		return TailDown
	case a.Trim < -levelWithin:
		return HeadDown
	}
	return SitsLevel
}

// Lie is the word for how it lies.
func (a Afloat) Lie() Lie {
	switch {
	case a.GM <= 0 || a.Back == 0:
		return Rolls
	case a.Back < tenderBack:
		return Tender
	case a.Back >= 180 && a.Over <= 0:
		return Rights
	}
	return Flat
}

// Change is something that would help.
type Change struct {
	Code string // one of Changes
	Spec Spec
	To   Afloat // how it floats then, in the middle of its range
}

// Changes are the codes of what may be changed: a layer more, foam 1 mm
// thicker, 1 mm wider, a lighter wire, a hook two sizes smaller, 1.15 as long, or with less taper.
var Changes = []string{"layer", "thick", "wider", "wire", "hook", "longer", "taper"}

func (s Spec) changed(code string) Spec {
	switch code {
	case "layer":
		s.Layers++
	case "thick":
		s.Thick++
	case "wider":
		s.Width++
	case "wire":
		if s.Wire == Heavy {
			s.Wire = Standard
		} else {
			s.Wire = Fine
		}
	case "hook":
		s.Hook += 2
	case "longer":
		s.Length = math.Round(s.Length*1.15*2) / 2
	case "taper":
		s.Taper = math.Max(s.Taper-0.2, 0)
	}
	return s
}

// Help tries what could be changed about a body that floats low, sits askew or
// does not lie flat, and gives what makes it better by its own numbers. now is
// how it floats in the middle of its range.
func (s Spec) Help(now Afloat) (out []Change) {
	low, askew, rolls := now.Ride() == RideSinks || now.Ride() == RidesLow, now.Sit() != SitsLevel, now.Lie() == Rolls || now.Lie() == Tender
	if now.Sinks {
		askew, rolls = false, false
	}
	if !low && !askew && !rolls {
		return nil
	}
	least, most := s.Densities()
	density := math.Sqrt(least * most)
	for _, code := range Changes {
		t := s.changed(code)
		if t == s || len(t.Check()) > 0 {
			continue
		}
		to := t.floats(density, 1, dressing/2)
		better := !to.Sinks && (low && (now.Sinks || to.Wet < now.Wet-0.03) ||
			askew && math.Abs(to.Trim) < math.Abs(now.Trim)-1 ||
			rolls && (to.Lie() == Flat || to.Lie() == Rights))
		// What helps one way must not spoil the rest.
		spoils := !low && to.Ride() == RidesLow || !rolls && !now.Sinks && (to.Lie() == Rolls || to.Lie() == Tender)
		if better && !spoils {
			out = append(out, Change{code, t, to})
		}
	}
	return out
}
