package foam

import (
	"math"

	"dampstone/flybox"
)

// Bead is a bead on the hook of a nymph that hangs from a floating fly.
type Bead struct {
	Material string  // "tungsten" or "brass"
	MM       float64 // diameter
	Hook     int     // size that it is usually tied on; common practice, no source
}

// Beads are those that the float check answers for: the sizes that are sold
// most (common practice, no source).
var Beads = []Bead{{"tungsten", 2.4, 16}, {"tungsten", 2.8, 14}, {"tungsten", 3.3, 12}, {"brass", 2.4, 16}, {"brass", 2.8, 14}, {"brass", 3.3, 12}}

// beadDensities in g/cm³, least and greatest. Brass by handbooks of materials
// 8.4 to 8.73; tungsten is 19.3 pure, and beads are alloys of it that are
// lighter. From memory.
var beadDensities = map[string][2]float64{"tungsten": {14, 19.3}, "brass": {8.4, 8.73}}

// BeadOf is the bead of a pattern that is heavy enough to ask; ok is false
// where it is not, or not known well enough.
func BeadOf(b flybox.Pattern) (out Bead, ok bool) {
	out = Bead{Material: string(b.Bead), MM: b.BeadMM, Hook: b.Hook}
	_, known := beadDensities[out.Material]
	return out, known && b.BeadMM > 0 && b.Hook > 0
}

// Of the ball so much is left beside the hole and its wide end. Judgement, no
// source.
const leastBead, mostBead = 0.70, 0.90

// dressed is what the dressing of a nymph weighs in water, as a share of its
// hook: thread and fur hold water and weigh little there. Judgement.
const dressed = 0.2

// Weight is what bead, hook and dressing weigh in water, least and most, in g.
func (b Bead) Weight(water float64) (low, high float64) {
	ball := math.Pi / 6 * b.MM * b.MM * b.MM / 1000 // cm³
	rho := WaterDensity(water)
	hook := Spec{Hook: b.Hook, Shank: 1, Wire: Standard}.HookMass() * (1 - rho/SteelDensity)
	d := beadDensities[b.Material]
	return ball*leastBead*(d[0]-rho) + hook*(1-wireWithin), ball*mostBead*(d[1]-rho) + hook*(1+wireWithin)*(1+dressed)
}

// Holds says whether a body holds up a bead in still water.
type Holds string

// The answers.
const (
	HoldsUp   Holds = "yes"   // in every case of what is unknown
	MayHold   Holds = "maybe" // in some
	PullsDown Holds = "no"    // in none
)

// Spare is the weight in water that a body carries before it goes under, in g;
// 0 for one that sinks.
func (a Afloat) Spare(water float64) float64 {
	if a.Sinks {
		return 0
	}
	return max(a.Reserve*a.Volume/1000*WaterDensity(water), 0)
}

// Holds is the answer for one bead.
func (s Spec) Holds(c Check, b Bead) Holds {
	low, high := b.Weight(s.Water)
	switch {
	case high <= c.Worst.Spare(s.Water):
		return HoldsUp
	case low <= c.Best.Spare(s.Water):
		return MayHold
	}
	return PullsDown
}
