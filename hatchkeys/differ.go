package hatchkeys

import (
	"math"

	"dampstone/hatchkeys/colour"
)

// How far two forms must be apart in a thing before an angler is told that
// they differ in it. Assumed, as the error model is (see observer.go).
const (
	// apartShare is the share of two distributions that must not overlap: of
	// trait values, of days of the year, of hours of the day.
	apartShare = 0.25
	// apartWaterC is how far either end of the usual water temperature must
	// lie from the other's, in degrees.
	apartWaterC = tempSD
)

// Weights of a trait in the form of h, or where the form says nothing of gills
// (an adult has none to see), in the first form of the hatch that does. Nil if
// nothing is known.
func (h *Ranked) Weights(t Trait) *Weights {
	switch t {
	case Water:
		return &h.Hatch.Waters
	case Trend:
		return h.Hatch.Trend
	}
	if w := h.Form.Weights(t); w != nil || t != Gills {
		return w
	}
	for i := range h.Hatch.Forms {
		if w := h.Hatch.Forms[i].Gills; w != nil {
			return w
		}
	}
	return nil
}

// Differ tells whether any two of the hatches, each in its form, are far
// enough apart in a for an angler to tell them by it. What is not known of a
// hatch is no difference.
func (r *Reading) Differ(a Question, list ...*Ranked) bool {
	for i, x := range list {
		for _, y := range list[:i] {
			if r.key.apart(a, x, y) {
				return true
			}
		}
	}
	return false
}

func (k *Key) apart(a Question, x, y *Ranked) bool {
	switch a {
	case Month:
		s, t := &k.hatches[x.index], &k.hatches[y.index]
		return disjoint(s.day[:], t.day[:]) >= apartShare
	case Length:
		// As far as people misjudge a length.
		return math.Abs(lnMiddle(x.Form.Length)-lnMiddle(y.Form.Length)) >= LengthError
	case Colour:
		return coloursApart(x.Form.Colour.Body, y.Form.Colour.Body)
	case Hour:
		if x.Form.Hours == nil || y.Form.Hours == nil {
			return false
		}
		s, t := hourTable(x.Form.Hours), hourTable(y.Form.Hours)
		return disjoint(s[:], t[:]) >= apartShare
	case WaterC:
		s, t := x.Hatch.WaterC, y.Hatch.WaterC
		return s != nil && t != nil && max(math.Abs(s.From-t.From), math.Abs(s.To-t.To)) >= apartWaterC
	}
	v, w := x.Weights(Trait(a)), y.Weights(Trait(a))
	if v == nil || w == nil {
		return false
	}
	var p, q [maxValues]float64
	for i, code := range Trait(a).Values() {
		p[i], q[i] = v.Of[code], w.Of[code]
	}
	if Trait(a) != Water { // Weights of waters stand for themselves, not for shares
		scale(&p)
		scale(&q)
	}
	return disjoint(p[:], q[:]) >= apartShare
}

func scale(p *[maxValues]float64) {
	var sum float64
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= max(sum, tiny)
	}
}

// disjoint is the share of two curves that is not common to both, 0 to 1: one
// less the area under both over the mean area.
func disjoint(p, q []float64) float64 {
	var both, all float64
	for i := range p {
		both += min(p[i], q[i])
		all += (p[i] + q[i]) / 2
	}
	return 1 - both/max(all, tiny)
}

func lnMiddle(r Range) float64 { return (math.Log(r.From) + math.Log(r.To)) / 2 }

// coloursApart tells whether no colour of one is near any of the other, by
// the spread with which people name colours.
func coloursApart(x, y []string) bool {
	known := false
	for _, hx := range x {
		for _, hy := range y {
			cx, okX := colour.Parse(hx)
			cy, okY := colour.Parse(hy)
			if !okX || !okY {
				continue
			}
			known = true
			if colour.DeltaE(cx, cy) < ColourError {
				return false
			}
		}
	}
	return known
}
