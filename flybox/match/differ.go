package match

// Difference is how a fly differs from an insect, part by part. A part of
// which one of the two says nothing is not known.
type Difference struct {
	Length    float64 // ln(length of the fly / length of the insect)
	DeltaE    float64 // CIEDE2000 from the wanted colour that it does best by
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
		d.Length, d.HasLength = f.lnMM-(q.lnFrom+q.lnTo)/2, true
	}
	if q.counts[partColour] && f.hasSeen {
		d.HasColour = true
		best, _ := q.nearest(f)
		d.Nearest, d.DeltaE, d.Lightness = best.hex, q.away(f, best), f.seen.L-best.lab.L
	}
	if q.counts[partFloats] && f.floats >= 0 {
		d.Depth, d.HasDepth = f.floats-q.floats, true
	}
	part := q.parts(f)
	d.Shape, d.HasShape = part[partShape], q.counts[partShape] && f.style >= 0
	d.Wings, d.HasWings = part[partWings], q.counts[partWings] && f.wings >= 0
	return d
}
