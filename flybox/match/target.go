package match

import (
	"math"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/colour"
)

// Of is the insect of a form of the key that a fly is to stand for, as it
// occurs.
func Of(h *hatchkeys.Hatch, f *hatchkeys.Form) Quarry {
	return Quarry{
		Stage: f.Stage, Group: h.Group, Length: f.Length,
		Colours: f.Colour.Body, Wing: f.Colour.Wing,
		Wings: flybox.Posture(f.Wings.Likeliest(hatchkeys.Wings)), Like: h.Like,
	}
}

// Observation is what was seen of an insect, as far as a fly can be held
// against it. Zero values were not seen.
type Observation struct {
	LengthMM float64 // body without tails
	Colour   string  // of the body, #rrggbb
	Water    string  // kind of water, a code of the key
}

// As is the insect as it was seen. A length that was measured moves the range
// to what this insect is likely to measure, given the usual range and the
// error of the observer (hatchkeys.LengthError); the measured length is always
// within.
func (q Quarry) As(o Observation) Quarry {
	if o.LengthMM > 0 {
		q.Length = narrowed(q.Length, o.LengthMM)
	}
	if o.Colour != "" {
		q.Seen = o.Colour
	}
	if o.Water != "" {
		q.Water = o.Water
	}
	return q
}

// narrowed is the posterior of a length, one standard deviation each way:
// normal in the logarithm, the usual range holding four standard deviations as
// the key has it, the observer's error beside it.
func narrowed(usual hatchkeys.Range, seen float64) hatchkeys.Range {
	ln := math.Log(seen)
	if !(usual.From > 0 && usual.To >= usual.From) {
		return hatchkeys.Range{From: math.Exp(ln - hatchkeys.LengthError), To: math.Exp(ln + hatchkeys.LengthError)}
	}
	mean := (math.Log(usual.From) + math.Log(usual.To)) / 2
	sd := max(math.Log(usual.To/usual.From)/4, leastSpread)
	of, by := 1/(sd*sd), 1/(hatchkeys.LengthError*hatchkeys.LengthError)
	mean, sd = (of*mean+by*ln)/(of+by), 1/math.Sqrt(of+by)
	return hatchkeys.Range{From: math.Exp(min(mean-sd, ln)), To: math.Exp(max(mean+sd, ln))}
}

// leastSpread keeps a range of one length from outweighing what was measured.
const leastSpread = 0.05

// beyond is how far a fly's length lies outside the range, in standard
// deviations; negative where it is too short, 0 within.
func (c *CompiledQuarry) beyond(lnMM float64) float64 {
	switch {
	case lnMM < c.lnFrom:
		return (lnMM - c.lnFrom) / shortSD
	case lnMM > c.lnTo:
		return (lnMM - c.lnTo) / longSD
	}
	return 0
}

// wantMM is the length within the range that is nearest to a fly's, or the
// middle where the fly's is not known.
func (c *CompiledQuarry) wantMM(mm float64) float64 {
	if mm <= 0 {
		return Middle(c.Quarry.Length)
	}
	return min(max(mm, c.Quarry.Length.From), c.Quarry.Length.To)
}

// Middle of a range of lengths.
func Middle(r hatchkeys.Range) float64 { return (r.From + r.To) / 2 }

// target is a colour that a fly may have, and how much it counts, 0 to 1.
type target struct {
	hex   string
	lab   colour.Lab
	worth float64
}

// later is what each colour behind the commonest loses. Judgement, no source.
const later = 0.15

// targets are the colours of the quarry with their worth.
func (q Quarry) targets() (out []target) {
	seen, ok := colour.Parse(q.Seen)
	if ok {
		out = append(out, target{q.Seen, seen, 1})
	}
	for i, hex := range q.Colours {
		lab, is := colour.Parse(hex)
		if !is {
			continue
		}
		worth := 1 / (1 + later*float64(i))
		if ok {
			z := colour.DeltaE(seen, lab) / hatchkeys.ColourError
			worth *= math.Exp(-z * z / 2)
		}
		out = append(out, target{hex, lab, worth})
	}
	return out
}

// nearest is the wanted colour that a fly does best by, and how well. Of a fly
// whose colour is not known it is the one that is worth most, and a score that
// says as much as no colour does.
func (c *CompiledQuarry) nearest(f *CompiledFly) (best *target, score float64) {
	for i := range c.colours {
		t := &c.colours[i]
		s := t.worth
		if f.penned || f.hasSeen {
			z := c.away(f, t) / colourSD
			s *= math.Exp(-z * z / 2)
		}
		if best == nil || s > score {
			best, score = t, s
		}
	}
	return best, score
}

// away is the distance of the colour that a fish sees from a wanted one.
func (c *CompiledQuarry) away(f *CompiledFly, t *target) float64 {
	if f.penned {
		return penDeltaE
	}
	return colour.DeltaE(f.seen, t.lab)
}

// deltaE is that from the one that the fly does best by.
func (c *CompiledQuarry) deltaE(f *CompiledFly) float64 {
	best, _ := c.nearest(f)
	return c.away(f, best)
}
