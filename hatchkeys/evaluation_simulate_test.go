package hatchkeys

import (
	"math"
	"math/rand/v2"

	"dampstone/hatchkeys/colour"

	"github.com/lucasb-eyer/go-colorful"
)

// A simulated world: insects drawn from a pack, and observers who misjudge
// them. It follows the stated error model step by step (what is true, then how
// it is mistaken) and uses none of the likelihoods of the key.

// observer is how well people see. The zero skill is blind; see careful.
type observer struct {
	lengthSD, lengthSlip float64
	colourSD, colourSlip float64
	hourSlip             float64
	clumsy               float64 // multiplies every slip and confusion of traits
	given                map[Question]float64
	unsure, soft         float64 // share of answers
}

// careful is the observer whom the key assumes. What people bother to answer
// is assumed.
var careful = observer{
	lengthSD: LengthError, lengthSlip: lengthSlip, colourSD: ColourError, colourSlip: colourSlip,
	hourSlip: hourSlip, clumsy: 1, unsure: 0.08, soft: 0.08,
	given: map[Question]float64{
		Month: 0.9, Length: 0.75, Colour: 0.7, Hour: 0.6, WaterC: 0.2,
		Question(Wings): 0.8, Question(Tails): 0.5, Question(Doing): 0.6, Question(Where): 0.6,
		Question(Shucks): 0.4, Question(Trend): 0.5, Question(Gills): 0.1, Question(Fish): 0.4,
		Question(Wind): 0.2, Question(Water): 0.7,
	},
}

// hasty misjudges half as much again and slips twice as often as the key
// assumes: how the key bears up when its error model is wrong.
var hasty = func() observer {
	o := careful
	o.lengthSD *= 1.5
	o.lengthSlip *= 2
	o.colourSD *= 1.5
	o.colourSlip *= 2
	o.hourSlip *= 2
	o.clumsy = 2
	return o
}()

// none is the place of something that is in no key, among forms.
const none = -1

// world draws insects and what an observer answers.
type world struct {
	key *Key
	rng *rand.Rand
}

// insect is a form of a hatch on a day in a kind of water.
type insect struct {
	form  int // or none
	day   int // of the leap year
	water int // in Water.Values()
	tempC float64
	useC  bool // the angler has a thermometer, and what is about suits it
}

// pick draws an index by weight.
func (w *world) pick(weight func(i int) float64, n int) int {
	var sum float64
	for i := range n {
		sum += weight(i)
	}
	x := w.rng.Float64() * sum
	last := 0
	for i := range n {
		if g := weight(i); g > 0 {
			if x -= g; x < 0 {
				return i
			}
			last = i
		}
	}
	return last
}

// draw draws an encounter: date and kind of water at random, then a hatch by
// how common it is and how far in season, or with the weight that the key
// gives it, something that no key holds. Days on which more is about have
// more encounters.
func (w *world) draw(thermometer float64) insect {
	k := w.key
	for {
		in := insect{day: w.rng.IntN(yearDays), useC: w.rng.Float64() < thermometer}
		in.water = w.pick(func(i int) float64 { return waterBase[i] }, len(Water.Values()))
		// Rivers run from about 4 degrees in January to 16 in July. Assumed;
		// the southern year is turned about.
		phase := 2 * math.Pi * float64(in.day-20) / yearDays
		if k.Pack.ID == "south" {
			phase += math.Pi
		}
		in.tempC = 10 - 6*math.Cos(phase) + 2.5*w.rng.NormFloat64()
		weights := make([]float64, len(k.hatches)+1)
		weights[len(k.hatches)] = k.unknownPrior
		about := k.unknownPrior
		for h := range k.hatches {
			t := &k.hatches[h]
			weights[h] = k.Pack.Hatches[h].Abundance * t.day[in.day] * t.water[in.water]
			if in.useC {
				weights[h] *= warmth(k.Pack.Hatches[h].WaterC, in.tempC)
			}
			about += weights[h]
		}
		const most = 60 // more than any day of any pack has about
		if about > most {
			panic("more insects about than assumed")
		}
		if w.rng.Float64()*most > about {
			continue
		}
		h := w.pick(func(h int) float64 { return weights[h] }, len(weights))
		if h == len(k.hatches) {
			in.form = none
			return in
		}
		t := &k.hatches[h]
		in.form = t.first + w.pick(func(i int) float64 { return k.forms[t.first+i].share }, t.n)
		return in
	}
}

// drawForm draws the day and water on which a given form is met.
func (w *world) drawForm(form int) insect {
	t := &w.key.hatches[w.key.forms[form].hatch]
	return insect{
		form:  form,
		day:   w.pick(func(d int) float64 { return t.day[d] }, yearDays),
		water: w.pick(func(i int) float64 { return waterBase[i] * t.water[i] }, len(Water.Values())),
	}
}

// hatch of an insect: its index in the pack, or the number of hatches for
// something that no key holds.
func (w *world) hatch(in insect) int {
	if in.form == none {
		return len(w.key.hatches)
	}
	return w.key.forms[in.form].hatch
}

// truth draws the true value of a trait. ok is false where neither pack nor
// nature knows more than the run of all insects.
func (w *world) truth(in insect, t Trait) (value int, ok bool) {
	if t == Trend {
		var m *Weights
		if in.form != none {
			h, _ := w.key.FormAt(in.form)
			m = h.Trend
		}
		return w.pick(func(i int) float64 {
			x := trendBase[i]
			if m != nil {
				if by, ok := m.Of[t.Values()[i]]; ok {
					x *= by
				}
			}
			return x
		}, len(t.Values())), true
	}
	if in.form == none {
		return 0, false
	}
	_, f := w.key.FormAt(in.form)
	of := f.Weights(t)
	if of == nil {
		return 0, false
	}
	return w.pick(func(i int) float64 { return of.Of[t.Values()[i]] }, len(t.Values())), true
}

// answer is what the observer says of a true value.
func (w *world) answer(o *observer, t Trait, truth int) int {
	n := len(t.Values())
	if w.rng.Float64() < min(slip[t]*o.clumsy, 0.9) {
		return w.rng.IntN(n)
	}
	x := w.rng.Float64()
	for _, c := range confusion {
		if c.trait == t && t.Index(c.truth) == truth {
			if x -= min(c.p*o.clumsy, 0.45); x < 0 {
				return t.Index(c.answer)
			}
		}
	}
	return truth
}

// look lets the observer answer one question. Where nobody knows more (a trait
// of which a form says nothing, an insect of no key) the answer follows the
// run of all insects, half and half with no preference.
func (w *world) look(o *observer, in insect, a Question, e *Evidence) {
	k := w.key
	switch a {
	case Month:
		for m := range 12 {
			if in.day >= monthDays[m] && in.day < monthDays[m+1] {
				e.Month, e.Day = m+1, in.day-monthDays[m]+1
			}
		}
		if w.rng.Float64() < 0.3 {
			e.Day = 0
		}
	case Length:
		x := math.Log(11) + 0.75*w.rng.NormFloat64() // as anyLength says
		if in.form != none && w.rng.Float64() >= o.lengthSlip {
			_, f := k.FormAt(in.form)
			from, to := math.Log(f.Length.From), math.Log(f.Length.To)
			x = (from+to)/2 + (to-from)/4*w.rng.NormFloat64() + o.lengthSD*w.rng.NormFloat64()
		}
		e.LengthMM = math.Exp(x)
	case Colour:
		e.Colour = Swatches[w.swatch(o, in)].Hex
	case Hour:
		i := w.rng.IntN(48)
		if in.form != none && w.rng.Float64() >= o.hourSlip {
			_, f := k.FormAt(in.form)
			i = w.pick(func(i int) float64 { return aboutAt(f.Hours, (float64(i)+0.5)/2) }, 48)
		}
		h := (float64(i) + w.rng.Float64()) / 2
		e.Hour = &h
	case WaterC:
		c := in.tempC
		e.WaterC = &c
	case Question(Water):
		e.Choices[Water], _ = OneOf(Water, Water.Values()[in.water])
	default:
		t := Trait(a)
		n := len(t.Values())
		var v int
		if truth, ok := w.truth(in, t); ok {
			v = w.answer(o, t, truth)
		} else {
			v = w.pick(func(i int) float64 { return k.unknown.traits[t][i] }, n)
		}
		values := []string{t.Values()[v]}
		if w.rng.Float64() < o.soft { // "this or that"
			if other := w.rng.IntN(n); other != v {
				values = append(values, t.Values()[other])
			}
		}
		e.Choices[t], _ = OneOf(t, values...)
	}
}

// aboutAt is how far a form is about at an hour: full in its hours, and fading
// over one hour as a normal curve.
func aboutAt(r *Range, hour float64) float64 {
	if r == nil {
		return 1
	}
	from, to := r.From, r.To
	if to <= from {
		to += 24
	}
	best := math.Inf(1)
	for _, h := range []float64{hour - 24, hour, hour + 24} {
		best = min(best, max(from-h, h-to, 0))
	}
	return math.Exp(-best * best / 2)
}

// swatch is the offered colour that the observer picks: the one nearest to a
// body colour seen with an error of colourSD in every direction.
func (w *world) swatch(o *observer, in insect) int {
	k := w.key
	var c colorful.Color
	any := in.form == none || w.rng.Float64() < o.colourSlip
	if any {
		c = ofLab(k.palette[w.pick(func(i int) float64 { return k.paletteWeigh[i] }, len(k.palette))])
	} else {
		body := k.forms[in.form].body
		c = ofLab(k.palette[body[w.pick(func(i int) float64 { return 1 / float64(i+1) }, len(body))]])
	}
	return nearestSwatch(w.misjudge(c, o.colourSD))
}

func ofLab(c colour.Lab) colorful.Color { return colorful.Lab(c.L/100, c.A/100, c.B/100) }

// misjudge moves a colour by a normal error with the given standard deviation
// in CIEDE2000 units along each of three axes.
func (w *world) misjudge(c colorful.Color, sd float64) colorful.Color {
	l, a, b := c.Lab()
	x, y, z := w.rng.NormFloat64(), w.rng.NormFloat64(), w.rng.NormFloat64()
	want := sd * math.Sqrt(x*x+y*y+z*z)
	// Distances are not even in the space of L, a and b: find how far to go.
	lo, hi := 0.0, 1.0
	at := func(s float64) colorful.Color { return colorful.Lab(l+s*x, a+s*y, b+s*z) }
	for range 12 {
		if mid := (lo + hi) / 2; c.DistanceCIEDE2000(at(mid))*100 < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return at(lo).Clamped()
}

var swatchColours = func() (out []colorful.Color) {
	for _, s := range Swatches {
		out = append(out, mustColour(s.Hex))
	}
	return out
}()

// nearestSwatch is the index of the offered colour that is nearest to c.
func nearestSwatch(c colorful.Color) int {
	best, at := math.Inf(1), 0
	for i, s := range swatchColours {
		if d := c.DistanceCIEDE2000(s); d < best {
			best, at = d, i
		}
	}
	return at
}

// evidence is all that the observer answers about an insect.
func (w *world) evidence(o *observer, in insect) Evidence {
	var e Evidence
	for _, a := range Questions {
		p := o.given[a]
		if p == 0 && a != WaterC {
			continue // tells nothing of the insect: for whether fish feed
		}
		if a == WaterC {
			p = 0
			if in.useC {
				p = 1
			}
		}
		if w.rng.Float64() >= p {
			continue
		}
		if a != Month && a != WaterC && w.rng.Float64() < o.unsure {
			e.Unsure[a] = true
			continue
		}
		w.look(o, in, a, &e)
	}
	return e
}

func mustColour(hex string) colorful.Color {
	c, err := colorful.Hex(hex)
	if err != nil {
		panic(err)
	}
	return c
}
