package match

import (
	"math"

	"dampstone/hatchkeys/colour"
)

// Difference is how a fly differs from an insect, part by part. A part of
// which one of the two says nothing is not known.
type Difference struct {
	Length    float64 // ln(length of the fly / length of the insect)
	DeltaE    float64 // CIEDE2000 from the nearest colour that is wanted
	Lightness float64 // CIELAB L of the fly less that of the nearest colour
	Nearest   string  // that colour, #rrggbb
	Depth     int     // steps that the fly lies below where the insect does; negative above
	Shape     float64 // how well its style stands for the insect, 0 to 1
	Wings     float64 // how well its wings do

	HasLength, HasColour, HasDepth, HasShape, HasWings bool
}

// Differ compares a fly with a quarry.
func Differ(f *CompiledFly, q *CompiledQuarry) (d Difference) {
	if q.counts[partLength] && f.mm > 0 {
		d.Length, d.HasLength = f.lnMM-q.lnMM, true
	}
	if q.counts[partColour] && f.hasSeen {
		d.DeltaE, d.HasColour = math.Inf(1), true
		for _, want := range q.colours {
			if e := colour.DeltaE(f.seen, want); e < d.DeltaE {
				d.DeltaE, d.Lightness = e, f.seen.L-want.L
			}
		}
		d.Nearest = q.nearest(f)
	}
	if q.counts[partFloats] && f.floats >= 0 {
		d.Depth, d.HasDepth = f.floats-q.floats, true
	}
	part := q.parts(f)
	d.Shape, d.HasShape = part[partShape], q.counts[partShape] && f.style >= 0
	d.Wings, d.HasWings = part[partWings], q.counts[partWings] && f.wings >= 0
	return d
}
