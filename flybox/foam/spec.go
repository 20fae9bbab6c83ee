package foam

import (
	"math"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

// Limits of a body. They keep a folded piece on a sheet of A4 or letter paper
// with room for the check of its scale.
const (
	MinLength, MaxLength   = 6.0, 80.0 // mm
	MinWidth, MaxWidth     = 2.0, 30.0
	MaxSegments            = 16
	MaxTaper               = 0.9
	MinHead                = 1.0
	MinThick, MaxThick     = 0.5, 6.0
	MaxLayers              = 4
	MaxStep                = 3.0
	MaxLegs                = 3 // pairs: an insect has three
	MinWater, MaxWater     = 0.0, 35.0
	MinDensity, MaxDensity = 0.02, 0.6 // g/cm³
	headShare              = 0.5       // of the length that a head takes at most
	foldShare              = 0.6       // of the width that a fold at the front has; judgement, no source
	legInset               = 0.6       // mm that a leg's station lies within the edge; judgement
	legInsetShare          = 0.5       // of the half width, where that is less
)

// Wire is how heavy the wire of a hook is for its size.
type Wire string

// The wires.
const (
	Fine     Wire = "fine"
	Standard Wire = "standard"
	Heavy    Wire = "heavy"
)

// Wires lists the wires from the lightest.
var Wires = []Wire{Fine, Standard, Heavy}

// Spec says what the body is to be like.
type Spec struct {
	Length, Width float64 // over all, before tying
	Segments      int     // of the part behind the head
	Taper         float64 // share of the width that is gone at the tail
	Head          float64 // length over which the front is rounded
	Thick         float64 // of one layer
	Layers        int
	Step          float64 // by which the edge of each piece lies within the one beneath
	Fold          bool    // the lowest two layers are one piece, folded at the front
	Legs          int     // pairs
	Hook          int     // size number
	Shank         float64 // multiple of the standard shank
	Wire          Wire
	Density       float64 // of the foam in g/cm³ if it was weighed; 0 for the usual range
	Water         float64 // temperature in °C
}

// For is a body to start from for a pattern: its length, and proportions that
// are judgement, no source.
func For(b flybox.Pattern) Spec {
	s := Spec{Length: 24, Segments: 6, Taper: 0.4, Thick: 2, Layers: 2, Legs: 3, Hook: b.Hook, Shank: b.Shank, Wire: Standard, Water: 12}
	if mm, _ := match.LengthMM(b); mm > 0 {
		s.Length = math.Round(within(mm, MinLength, MaxLength)*2) / 2
	}
	if s.Hook == 0 {
		s.Hook, s.Shank = 8, match.XLong(2)
	}
	if s.Shank == 0 {
		s.Shank = 1
	}
	s.Width = math.Round(within(0.24*s.Length, MinWidth+1, MaxWidth)*2) / 2
	s.Head = math.Max(MinHead, math.Round(0.18*s.Length*2)/2)
	switch b.Style {
	case flybox.Beetle:
		s.Width, s.Segments, s.Taper = math.Round(within(0.55*s.Length, MinWidth, MaxWidth)*2)/2, 3, 0.2
	case flybox.Ant:
		s.Segments, s.Taper, s.Layers = 3, 0.2, 1
	case flybox.DamselAdult:
		s.Width, s.Segments, s.Taper, s.Layers, s.Legs = 3, 8, 0.3, 1, 0
	}
	return s
}

func within(x, low, high float64) float64 { return min(max(x, low), high) }

// tailHalf is half the width at the tail, where it is rounded.
func (s Spec) tailHalf() float64 { return s.Width / 2 * (1 - s.Taper) }

// Check lists what cannot be cut. The fields are the names below, lengths in
// the data are mm.
func (s Spec) Check() (p journal.Problems) {
	number := func(field string, x, low, high float64) {
		if !(x >= low && x <= high) { // also catches NaN
			p = append(p, journal.Problem{Field: field, Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(low), Max: journal.Of(high), Got: journal.Of(x)}})
		}
	}
	whole := func(field string, x, low, high int) {
		if x < low || x > high {
			p = append(p, journal.Problem{Field: field, Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(low), Max: journal.Of(high), Got: journal.Of(x)}})
		}
	}
	number("length", s.Length, MinLength, MaxLength)
	number("width", s.Width, MinWidth, math.Min(MaxWidth, s.Length))
	whole("segments", s.Segments, 1, MaxSegments)
	number("taper", s.Taper, 0, MaxTaper)
	number("head", s.Head, MinHead, headShare*s.Length)
	number("thick", s.Thick, MinThick, MaxThick)
	whole("layers", s.Layers, 1, MaxLayers)
	number("step", s.Step, 0, MaxStep)
	whole("legs", s.Legs, 0, MaxLegs)
	whole("hook", s.Hook, flybox.MinHook, flybox.MaxHook)
	number("shank", s.Shank, flybox.MinShank, flybox.MaxShank)
	number("water", s.Water, MinWater, MaxWater)
	if s.Density != 0 {
		number("density", s.Density, MinDensity, MaxDensity)
	}
	switch s.Wire {
	case Fine, Standard, Heavy:
	default:
		p = append(p, journal.Problem{Field: "wire", Code: journal.CodeUnknown, Detail: journal.Detail{Got: journal.Of(string(s.Wire))}})
	}
	if len(p) > 0 {
		return p
	}
	// What is left when the parts are taken together.
	if room := s.Length - s.Head - s.tailHalf(); room < 1 {
		p = append(p, journal.Problem{Field: "head", Code: CodeHeadTooLong})
	}
	if s.Fold && s.Layers < 2 {
		p = append(p, journal.Problem{Field: "layers", Code: CodeNothingToFold})
	}
	if s.Legs > s.Segments {
		p = append(p, journal.Problem{Field: "legs", Code: CodeMoreLegs, Detail: journal.Detail{Max: journal.Of(s.Segments), Got: journal.Of(s.Legs)}})
	}
	if left := s.Width - 2*s.Step*float64(s.pieceCount()-1); left < 1 {
		p = append(p, journal.Problem{Field: "step", Code: CodeNothingLeft, Detail: journal.Detail{Got: journal.Of(s.Step)}})
	}
	return p
}

// Codes of a Problem with parts that do not go together.
const (
	CodeNothingToFold = "nothing-to-fold" // one layer only
	CodeMoreLegs      = "more-legs"       // Data: max, got; legs are tied in where the segments are
	CodeNothingLeft   = "nothing-left"    // Data: got; the uppermost piece would be narrower than 1 mm
	CodeHeadTooLong   = "head-too-long"   // head and rounded tail meet
)

// pieceCount is how many pieces are cut.
func (s Spec) pieceCount() int {
	if s.Fold && s.Layers > 1 {
		return s.Layers - 1
	}
	return s.Layers
}
