package results

import (
	"cmp"
	"math"

	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
)

// Attribute of a fly.
type Attribute string

// The attributes.
const (
	Length Attribute = "length"
	Colour Attribute = "colour"
	Float  Attribute = "float"
	Shape  Attribute = "shape"
	Wings  Attribute = "wings"
)

// Way is how a fly is off the insect.
type Way string

// The ways, by attribute: length long or short; colour dark, pale or of
// another hue; float high or low; shape and wings other.
const (
	Long  Way = "long"
	Short Way = "short"
	Dark  Way = "dark"
	Pale  Way = "pale"
	Hue   Way = "hue"
	High  Way = "high"
	Low   Way = "low"
	Other Way = "other"
)

// When a fly is off the insect. Judgement, no source.
const (
	lengthOff = 0.11 // ln(fly/insect): about a ninth
	colourOff = 10.0 // CIEDE2000
	paleOff   = 5.0  // lightness, of 100
	partOff   = 0.7  // score of shape and wings
)

// Grades of evidence in decibans, ten times the decimal logarithm of a Bayes
// factor: 10 is ten to one, "strong", 15 "very strong" (Jeffreys, Theory of
// Probability, appendix B; from memory). Less than PointsFrom is not said.
const (
	PointsFrom = 10.0
	Clearly    = 15.0
	// alike: attributes that come within this many decibans of the best part
	// the same fish about as well.
	alike = 3.0
)

// Shown is a fly that was shown to fish: what they did, and how it differs
// from the insect that they were on.
type Shown struct {
	Count
	match.Difference
}

// Hint is an attribute that parts the flies that were taken from those that
// were refused.
type Hint struct {
	Attribute Attribute
	Way       Way     // how the refused ones are off
	Decibans  float64 // weight of evidence that it matters
	Off, Rest Count   // before flies that are off in this way, and the others
	// Alike: another attribute does as well, so that either may be the reason.
	Alike bool
}

// IsOff tells whether a fly that differs so is off in the way of the hint.
func (h Hint) IsOff(d match.Difference) bool {
	for _, way := range ways {
		if way.attribute == h.Attribute && way.way == h.Way {
			off, known := way.off(d)
			return off && known
		}
	}
	return false
}

// Points says which attributes part the flies that fish refused from those
// that they took, the weightiest first; none if the numbers do not carry it.
//
// For each way to be off the insect it compares two accounts of the fish:
// flies that are off and those that are not are taken at rates of their own
// (each uniform beforehand), or at one and the same. The weight of evidence
// is the Bayes factor of the two, from beta functions. It is heard only if
// the flies that are off did worse.
func Points(shown []Shown) []Hint {
	var out []Hint
	for _, way := range ways {
		h := Hint{Attribute: way.attribute, Way: way.way}
		for _, s := range shown {
			off, known := way.off(s.Difference)
			switch {
			case !known:
			case off:
				h.Off = h.Off.Plus(s.Count)
			default:
				h.Rest = h.Rest.Plus(s.Count)
			}
		}
		if h.Decibans = parts(h.Off, h.Rest); h.Decibans >= PointsFrom {
			out = append(out, h)
		}
	}
	sortby.Stable(out, func(a, b *Hint) int { return cmp.Compare(b.Decibans, a.Decibans) })
	for i := range out {
		other := 0
		if i == 0 {
			other = 1
		}
		out[i].Alike = len(out) > 1 && math.Abs(out[i].Decibans-out[other].Decibans) < alike
	}
	return out
}

// parts is the weight of evidence in decibans that fish take the flies that
// are off less often than the rest; 0 if they did not.
func parts(off, rest Count) float64 {
	t1, r1, t2, r2 := off.For(), off.Against(), rest.For(), rest.Against()
	if t1+r1 == 0 || t2+r2 == 0 || t1*(t2+r2) >= t2*(t1+r1) {
		return 0
	}
	ln := lnBeta(1+t1, 1+r1) + lnBeta(1+t2, 1+r2) - lnBeta(1+t1+t2, 1+r1+r2)
	return 10 * ln / math.Ln10
}

var ways = []struct {
	attribute Attribute
	way       Way
	off       func(match.Difference) (off, known bool)
}{
	{Length, Long, func(d match.Difference) (bool, bool) { return d.Length > lengthOff, d.HasLength }},
	{Length, Short, func(d match.Difference) (bool, bool) { return d.Length < -lengthOff, d.HasLength }},
	{Colour, Dark, func(d match.Difference) (bool, bool) {
		return d.DeltaE > colourOff && d.Lightness < -paleOff, d.HasColour
	}},
	{Colour, Pale, func(d match.Difference) (bool, bool) {
		return d.DeltaE > colourOff && d.Lightness > paleOff, d.HasColour
	}},
	{Colour, Hue, func(d match.Difference) (bool, bool) {
		return d.DeltaE > colourOff && math.Abs(d.Lightness) <= paleOff, d.HasColour
	}},
	{Float, High, func(d match.Difference) (bool, bool) { return d.Depth < 0, d.HasDepth }},
	{Float, Low, func(d match.Difference) (bool, bool) { return d.Depth > 0, d.HasDepth }},
	{Shape, Other, func(d match.Difference) (bool, bool) { return d.Shape < partOff, d.HasShape }},
	{Wings, Other, func(d match.Difference) (bool, bool) { return d.Wings < partOff, d.HasWings }},
}
