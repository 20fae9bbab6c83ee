package foam

import (
	"math"

	"dampstone/flybox/match"
)

// SteelDensity of plain carbon steel in g/cm³: the figure of engineering
// handbooks, from memory.
const SteelDensity = 7.85

// wireFactor is the diameter of a wire as a multiple of the nominal one:
// common practice counts fine and heavy wire in sizes of hook; about three
// sizes are taken here, judgement, no source.
var wireFactor = map[Wire]float64{Fine: 0.85, Standard: 1, Heavy: 1.15}

const (
	spearShare = 0.45 // of a standard shank, from the bend to the point: common practice, no source
	eyeLength  = 10.0 // of wire in the eye and its return, in diameters: judgement, no source
)

// ShankMM is the nominal shank in mm, see flybox.ShankMM.
func (s Spec) ShankMM() float64 { return match.ShankMM(s.Hook, s.Shank) }

// wireMM is the nominal diameter of the wire in mm.
func (s Spec) wireMM() float64 { return match.WireMM(s.Hook) * wireFactor[s.Wire] }

// HookMass is the nominal mass of the hook in g.
func (s Spec) HookMass() float64 {
	m := 0.0
	for _, l := range s.hook(1) {
		m += l.Mass
	}
	return m
}

// hook is the hook as small lumps of wire: the shank along the underside of
// the foam from its front, the bend and the spear beneath. thicker is a factor
// on the diameter.
func (s Spec) hook(thicker float64) []Lump {
	d := s.wireMM() * thicker
	section := math.Pi / 4 * d * d
	shank, gape := s.ShankMM(), match.GapeMM(s.Hook)
	spear := spearShare * match.ShankMM(s.Hook, 1)
	var out []Lump
	wire := func(length float64, n int, at func(t float64) (x, z float64)) {
		for i := range n {
			x, z := at((float64(i) + 0.5) / float64(n))
			v := section * length / float64(n)
			out = append(out, Lump{X: x, Z: z - d/2, Mass: v * SteelDensity / 1000, Volume: v, Radius: d / 2})
		}
	}
	wire(eyeLength*d, 1, func(float64) (float64, float64) { return 0, 0 })
	wire(shank, 12, func(t float64) (float64, float64) { return t * shank, 0 })
	wire(math.Pi/2*gape, 8, func(t float64) (float64, float64) {
		sin, cos := math.Sincos(math.Pi * t)
		return shank + gape/2*sin, gape/2*cos - gape/2
	})
	wire(spear, 5, func(t float64) (float64, float64) { return shank - t*spear, -gape })
	return out
}
