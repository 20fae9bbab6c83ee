package hatchkeys

import (
	"cmp"
	"math"
	"slices"
	"sort"
)

// Ratio is a possible answer and its likelihood ratio: how it would turn the odds from one
// hatch to another.
type Ratio struct {
	Question Question
	// Value is the code of a trait value, or the hex colour of a swatch; empty
	// for a length.
	Value string
	// FromMM and ToMM bound the bin of a length, in mm; 0 otherwise.
	FromMM, ToMM float64
	// Decibans is ten times the base-10 logarithm of the factor by which the
	// odds of the other hatch against the first would change. For a length it
	// is that of the middle of its bin.
	Decibans float64
	// Chance is how likely the answer would be if the other hatch were there,
	// 0 to 1. An answer that nobody would ever give decides nothing, whatever
	// its weight.
	Chance float64
}

// Strength puts the weight into words as Reason.Strength does.
func (t Ratio) Strength() int { return Reason{Decibans: t.Decibans}.Strength() }

// Ratios lists every answer to what is neither answered nor marked unsure, with
// what it would do to the odds of to against from, the weightiest first.
// Negative ones speak for from. Each is P(answer | to) over P(answer | from),
// where a hatch is the mean of its forms in the shares that the evidence has
// left them. Dates, hours and water temperatures are not asked: a clock and a
// thermometer move seasons rather than tell two insects apart.
func (r *Reading) Ratios(from, to *Ranked) []Ratio {
	var ratios []Ratio
	for _, a := range Questions {
		if skip(a) || r.Evidence.Given(a) || r.Evidence.Unsure[a] {
			continue
		}
		for _, t := range possible(a) {
			e := t.evidence()
			like := r.key.likelihood(a, &e)
			before, _ := r.expect(t, like, from)
			after, chance := r.expect(t, like, to)
			t.Decibans, t.Chance = 10*math.Log10(after/before), chance
			ratios = append(ratios, t)
		}
	}
	sort.SliceStable(ratios, func(i, j int) bool {
		a, b := ratios[i], ratios[j]
		return cmp.Or(cmp.Compare(b.Decibans, a.Decibans), cmp.Compare(b.Chance, a.Chance)) < 0
	})
	return ratios
}

// possible are the answers that a may have.
func possible(a Question) (list []Ratio) {
	switch a {
	case Length:
		for _, mid := range lengthBins {
			list = append(list, Ratio{Question: a, FromMM: math.Exp(mid - LengthError), ToMM: math.Exp(mid + LengthError)})
		}
	case Colour:
		for _, s := range Swatches {
			list = append(list, Ratio{Question: a, Value: s.Hex})
		}
	default:
		for _, v := range Trait(a).Values() {
			list = append(list, Ratio{Question: a, Value: v})
		}
	}
	return list
}

// evidence is the answer alone.
func (t Ratio) evidence() (e Evidence) {
	switch t.Question {
	case Length:
		e.LengthMM = math.Sqrt(t.FromMM * t.ToMM)
	case Colour:
		e.Colour = t.Value
	default:
		tr := Trait(t.Question)
		e.Choices[t.Question].w[tr.Index(t.Value)], e.Choices[t.Question].given = 1, true
	}
	return e
}

// expect is the factor by which Read would multiply a hatch for an answer, and
// the probability (0 to 1) of that answer from somebody who looks at the hatch.
// like is the likelihood of the answer under each form.
func (r *Reading) expect(t Ratio, like []float64, h *Ranked) (factor, chance float64) {
	k := r.key
	table := &k.hatches[h.index]
	var sum float64
	for f := table.first; f < table.first+table.n; f++ {
		share := r.post[f]
		sum += share
		factor += share * like[f]
		if t.Question == Colour {
			chance += share * k.swatchTable()[f][swatchIndex(t.Value)]
		}
	}
	factor /= sum
	switch t.Question {
	case Length: // a density over ln mm, times the width of the bin
		chance = factor * 2 * LengthError
	case Colour:
		chance /= sum
	case Question(Water): // takes the place of the mean over all waters
		factor /= table.anyWater
		chance = factor * waterBase[Water.Index(t.Value)]
	default:
		chance = factor
	}
	return factor, min(chance, 1)
}

func swatchIndex(hex string) int {
	return slices.IndexFunc(Swatches, func(s Swatch) bool { return s.Hex == hex })
}
