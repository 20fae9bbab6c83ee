package foam

import (
	"fmt"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/kept"
)

// body is everything that is worked out of a spec.
type body struct {
	Spec      Spec
	Low, High float64
	Float     Check
	Words     [2]string
	Help      []Change
	Ties      []float64
	Fold      float64
	Pieces    []Piece
	SVG       []string
	HookMass  float64
	Volume    float64
}

// kept are specs with every part in use.
func keptSpecs() []Spec {
	first := For(flybox.Pattern{Style: flybox.FoamStone, Hook: 8, Shank: 1.21})
	small := For(flybox.Pattern{Style: flybox.Beetle, Hook: 14})
	short := For(flybox.Pattern{Style: flybox.ShortWingStone, Hook: 6, Length: 22})
	folded := first
	folded.Fold, folded.Layers, folded.Step, folded.Legs, folded.Segments = true, 3, 0.6, 3, 7
	heavy := first
	heavy.Wire, heavy.Density, heavy.Layers, heavy.Thick, heavy.Water = Heavy, 0.3, 1, 1, 25
	narrow := first
	narrow.Width, narrow.Layers, narrow.Step, narrow.Taper, narrow.Head = 4, 4, 0.3, 0.8, 2
	return []Spec{first, small, short, folded, heavy, narrow}
}

func bodyOf(s Spec) body {
	b := body{Spec: s, Float: s.Float(), Ties: s.Ties(), Fold: s.FoldAllowance(), Pieces: s.Pieces(), HookMass: s.HookMass()}
	b.Low, b.High = s.Densities()
	for i, a := range []Afloat{b.Float.Best, b.Float.Worst} {
		b.Words[i] = fmt.Sprint(a.Ride(), " ", a.Sit(), " ", a.Lie())
	}
	b.Help = s.Help(b.Float.Worst)
	for i, p := range b.Pieces {
		b.SVG = append(b.SVG, p.SVG(3.7, fmt.Sprint("piece ", i)))
	}
	b.Volume = s.hull(1).Volume()
	return b
}

// What the textbook cases leave open stays as it was.
func TestBodiesAreAsKept(t *testing.T) {
	var got []any
	for _, s := range keptSpecs() {
		got = append(got, bodyOf(s))
	}
	kept.Same(t, "bodies.jsonl", got...)
}
