package hatchkeys

import (
	"math"

	"dampstone/hatchkeys/colour"
)

// FlyChoice is the choice that an angler has: one of Len flies, each worth
// Utility (0 to 1) if the form is what the fish eat. Form indexes are those
// of Key.FormAt.
type FlyChoice interface {
	Len() int
	Utility(fly, form int) float64
}

// Look is a question and what its answer is worth.
type Look struct {
	Question Question
	// Gain is the expected rise of the utility of the best fly (0 to 1), or
	// bits for NextByEntropy.
	Gain float64
}

// Swatch is a named body colour to pick from.
type Swatch struct{ Name, Hex string }

// Swatches are the body colours offered to an angler, from pale to dark.
// Assumed to span the insects of the packs.
var Swatches = []Swatch{
	{"cream", "#e8dcb5"}, {"yellow", "#d9b93f"}, {"golden", "#b08d45"},
	{"orange", "#c46a22"}, {"rust", "#8a4526"}, {"green", "#7f9440"},
	{"olive", "#6b6a35"}, {"tan", "#a08a68"}, {"brown", "#5f4630"},
	{"grey", "#84827b"}, {"black", "#2b2825"},
}

// skip holds what is never asked: the clock and the calendar know the hour
// and the month, a thermometer reading moves dates rather than names.
func skip(a Question) bool { return a == Hour || a == WaterC || a == Month }

// worthAsking is the least gain of expected utility for which a question is
// put: half a hundredth of the way from a useless fly to a perfect one.
const worthAsking = 0.005

// minFormWeight: forms less likely than this do not decide what to ask.
const minFormWeight = 5e-4

// NextLook is the unanswered question whose answer is worth most for the
// choice of fly (value of information: expected utility of the best fly after
// the answer, less that of the best fly now). ok is false when no answer would
// change the choice enough to notice.
func (r *Reading) NextLook(flies FlyChoice) (look Look, ok bool) {
	forms := r.likelyForms()
	if len(forms) == 0 || flies.Len() == 0 {
		return Look{}, false
	}
	// worth[i] are the expected utilities of each fly for one form.
	worth := make([]float64, len(forms)*flies.Len())
	for i, f := range forms {
		for j := range flies.Len() {
			worth[i*flies.Len()+j] = flies.Utility(j, f)
		}
	}
	expected := make([]float64, flies.Len())
	best := func(weight []float64) float64 {
		clear(expected)
		for i, w := range weight {
			if w == 0 {
				continue
			}
			for j, u := range worth[i*len(expected) : (i+1)*len(expected)] {
				expected[j] += w * u
			}
		}
		var top float64
		for _, x := range expected {
			top = max(top, x)
		}
		return top
	}
	now := make([]float64, len(forms))
	for i, f := range forms {
		now[i] = r.post[f]
	}
	base := best(now)
	look.Gain = math.Inf(-1)
	for _, a := range Questions {
		if skip(a) || r.Evidence.Given(a) || r.Evidence.Unsure[a] {
			continue
		}
		var after float64
		r.eachAnswer(a, forms, func(weight []float64, _ float64) { after += best(weight) })
		if gain := after - base; gain > look.Gain {
			look = Look{Question: a, Gain: gain}
		}
	}
	return look, look.Gain > worthAsking
}

func plogp(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return -p * math.Log2(p)
}

func (r *Reading) likelyForms() []int {
	forms := make([]int, 0, 64)
	for f := range r.key.forms {
		if r.post[f] >= minFormWeight {
			forms = append(forms, f)
		}
	}
	return forms
}

// lengthBins are the middles of the bins, in ln mm, in which a length answer
// is imagined: 2.5 to 60 mm in steps of about the observer's error.
var lengthBins = func() (mid []float64) {
	for x := math.Log(2.5); x < math.Log(60); x += 2 * LengthError {
		mid = append(mid, x)
	}
	return mid
}()

// eachAnswer calls do with the joint weight of each form (and of the
// background) with each possible answer to a.
func (r *Reading) eachAnswer(a Question, forms []int, do func(weight []float64, rest float64)) {
	k := r.key
	weight := make([]float64, len(forms))
	switch a {
	case Length:
		for _, x := range lengthBins {
			slip := lengthSlip * anyLength(x)
			for i, f := range forms {
				t := &k.forms[f]
				weight[i] = r.post[f] * ((1-lengthSlip)*normal(x, t.lnMean, t.lnSD) + slip) * 2 * LengthError
			}
			do(weight, r.Unknown*anyLength(x)*2*LengthError)
		}
	case Colour:
		table := k.swatchTable()
		for s := range Swatches {
			for i, f := range forms {
				weight[i] = r.post[f] * table[f][s]
			}
			do(weight, r.Unknown/float64(len(Swatches)))
		}
	case Question(Water):
		// The kind of water weighs hatches; as an answer it is as likely as
		// that water is fished.
		for v := range Water.Values() {
			for i, f := range forms {
				t := &k.hatches[k.forms[f].hatch]
				weight[i] = r.post[f] * waterBase[v] * t.water[v] / t.anyWater
			}
			do(weight, r.Unknown*waterBase[v])
		}
	default:
		for v := range Trait(a).Values() {
			for i, f := range forms {
				weight[i] = r.post[f] * k.forms[f].traits[a][v]
			}
			do(weight, r.Unknown*k.unknown.traits[a][v])
		}
	}
}

// swatchTable is P(swatch | form), made on first use.
func (k *Key) swatchTable() [][]float64 {
	k.swatchOnce.Do(func() {
		kernels := make([]kernel, len(Swatches))
		for s, w := range Swatches {
			c, ok := colour.Parse(w.Hex)
			if !ok {
				panic("swatch " + w.Hex) // a constant of this file
			}
			kernels[s] = k.colourKernel(c)
		}
		k.swatches = make([][]float64, len(k.forms))
		for f := range k.forms {
			row := make([]float64, len(Swatches))
			var sum float64
			for s := range row {
				row[s] = k.forms[f].colourLikelihood(kernels[s]) * max(kernels[s].mean, leastMean)
				sum += row[s]
			}
			for s := range row {
				row[s] /= sum
			}
			k.swatches[f] = row
		}
	})
	return k.swatches
}
