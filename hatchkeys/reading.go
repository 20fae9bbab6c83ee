package hatchkeys

import (
	"math"
	"sort"

	"dampstone/hatchkeys/colour"
)

// Reading is what the evidence says about every hatch of a pack.
type Reading struct {
	Evidence Evidence
	// Ranked hatches, the likeliest first; probabilities and Unknown sum to 1.
	Ranked []Ranked
	// Unknown is the probability of something this key does not hold.
	Unknown float64

	key   *Key
	post  []float64 // by form, normalised together with Unknown
	given []Question
	// like[i][f] is P(given[i] | form f); the last column is the background.
	like [][]float64
}

// Ranked is one hatch with its probability.
type Ranked struct {
	Hatch       *Hatch
	Form        *Form   // the likeliest form of the hatch
	Probability float64 // of the hatch
	FormShare   float64 // of the likeliest form within the hatch
	index       int     // of the hatch in the pack
}

// Leader is the likeliest hatch, or nil if something unknown leads.
func (r *Reading) Leader() *Ranked {
	if len(r.Ranked) == 0 || r.Ranked[0].Probability < r.Unknown {
		return nil
	}
	return &r.Ranked[0]
}

// Read weighs the evidence. Answers that Evidence.Check would refuse are an
// error of the caller; Read gives finite probabilities all the same, none of
// them zero or one.
func (k *Key) Read(e Evidence) *Reading {
	n := len(k.forms)
	r := &Reading{Evidence: e, key: k, post: make([]float64, n+1)}
	for f := range k.forms {
		t := &k.forms[f]
		r.post[f] = k.Pack.Hatches[t.hatch].Abundance * t.share
	}
	r.post[n] = k.unknownPrior
	for a := range answerCount {
		if !e.Given(a) {
			k.applyMissing(a, r.post)
			continue
		}
		like := k.likelihood(a, &e)
		r.given = append(r.given, a)
		r.like = append(r.like, like)
		for f := range r.post {
			r.post[f] *= like[f]
		}
	}
	normalise(r.post)
	r.Unknown = r.post[n]
	r.rank()
	return r
}

// tiny keeps every probability over zero.
const tiny = 1e-12

func normalise(p []float64) {
	var sum float64
	for _, x := range p {
		sum += x
	}
	if !(sum > 0) || math.IsInf(sum, 0) { // cannot happen with the floors; stay finite
		for i := range p {
			p[i] = 1 / float64(len(p))
		}
		return
	}
	floor := 1 + tiny*float64(len(p))
	for i := range p {
		p[i] = (p[i]/sum + tiny) / floor
	}
}

// applyMissing gives hatches their average where the month or the kind of
// water is not known.
func (k *Key) applyMissing(a Question, post []float64) {
	switch a {
	case Month:
		for f := range k.forms {
			post[f] *= k.hatches[k.forms[f].hatch].year
		}
	case Question(Water):
		for f := range k.forms {
			post[f] *= k.hatches[k.forms[f].hatch].anyWater
		}
	}
}

// likelihood of the given answer a under each form and the background.
func (k *Key) likelihood(a Question, e *Evidence) []float64 {
	n := len(k.forms)
	like := make([]float64, n+1)
	switch a {
	case Month:
		for f := range k.forms {
			like[f] = k.onDate(&k.hatches[k.forms[f].hatch], e)
		}
		like[n] = 1
	case Length:
		x := math.Log(e.LengthMM)
		tips := e.Choices[LengthTo].Only(LengthTo, "wing-tips")
		for f := range k.forms {
			t := &k.forms[f]
			at := x
			if tips {
				at += math.Log(BodyShare(k.FormAt(f)))
			}
			like[f] = (1-lengthSlip)*normal(at, t.lnMean, t.lnSD) + lengthSlip*anyLength(at)
		}
		like[n] = anyLength(x)
	case Colour:
		c, ok := colour.Parse(e.Colour)
		if !ok {
			fill(like, 1)
			break
		}
		kernel := k.colourKernel(c)
		for f := range k.forms {
			like[f] = k.forms[f].colourLikelihood(kernel)
		}
		like[n] = 1
	case Hour:
		i := int(*e.Hour*2) % 48
		for f := range k.forms {
			like[f] = k.forms[f].hours[i]
		}
		like[n] = 1
	case WaterC:
		for f := range k.forms {
			like[f] = warmth(k.Pack.Hatches[k.forms[f].hatch].WaterC, *e.WaterC)
		}
		like[n] = 1
	case Question(Water):
		c := e.Choices[Water]
		for f := range k.forms {
			like[f] = weigh(&c, &k.hatches[k.forms[f].hatch].water)
		}
		like[n] = 1
	default:
		c := e.Choices[a]
		for f := range k.forms {
			like[f] = weigh(&c, &k.forms[f].traits[a])
		}
		like[n] = weigh(&c, &k.unknown.traits[a])
	}
	return like
}

// weigh is the probability of a soft answer: the mean over the values that
// the angler holds possible.
func weigh(c *Choice, p *[maxValues]float64) float64 {
	var sum, total float64
	for i, w := range c.w {
		sum += w * p[i]
		total += w
	}
	return sum / total
}

func fill(x []float64, v float64) {
	for i := range x {
		x[i] = v
	}
}

// warmth is how far a water temperature suits a hatch, from tempFloor to 1.
func warmth(usual *Range, c float64) float64 {
	if usual == nil {
		return 1
	}
	z := max(usual.From-c, c-usual.To, 0) / tempSD
	return max(math.Exp(-z*z/2), tempFloor)
}

func (r *Reading) rank() {
	k := r.key
	r.Ranked = make([]Ranked, len(k.hatches))
	for i := range k.hatches {
		t := &k.hatches[i]
		h := &k.Pack.Hatches[i]
		best, sum := t.first, 0.0
		for f := t.first; f < t.first+t.n; f++ {
			sum += r.post[f]
			if r.post[f] > r.post[best] {
				best = f
			}
		}
		r.Ranked[i] = Ranked{Hatch: h, Form: &h.Forms[best-t.first], Probability: sum, FormShare: r.post[best] / sum, index: i}
	}
	// The sorts of package sort are compiled once, those of slices for every type
	// anew, which the phone's engine has to carry.
	sort.SliceStable(r.Ranked, func(i, j int) bool { return r.Ranked[i].Probability > r.Ranked[j].Probability })
}

// FormOdds is a form, by its index in the key, with its probability.
type FormOdds struct {
	Index       int
	Probability float64
}

// Forms are the forms that are at least as likely as least, the likeliest
// first; at most most of them.
func (r *Reading) Forms(least float64, most int) []FormOdds {
	var out []FormOdds
	for f := range r.key.forms {
		if r.post[f] >= least {
			out = append(out, FormOdds{f, r.post[f]})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Probability > out[j].Probability })
	return out[:min(len(out), most)]
}

// FormsOf are the forms of one hatch.
func (r *Reading) FormsOf(h *Ranked) []FormOdds {
	var out []FormOdds
	t := &r.key.hatches[h.index]
	for f := t.first; f < t.first+t.n; f++ {
		out = append(out, FormOdds{f, r.post[f]})
	}
	return out
}

// FormAt is the hatch and form with an index of the key.
func (r *Reading) FormAt(i int) (*Hatch, *Form) { return r.key.FormAt(i) }

// Key is the key that was read.
func (r *Reading) Key() *Key { return r.key }

// FormCount is the number of forms over all hatches of the key. Form indexes
// run from 0 in the order of the pack.
func (k *Key) FormCount() int { return len(k.forms) }

// FormAt is the hatch and form with index i.
func (k *Key) FormAt(i int) (*Hatch, *Form) {
	t := &k.forms[i]
	h := &k.Pack.Hatches[t.hatch]
	return h, &h.Forms[i-k.hatches[t.hatch].first]
}

// Hatch finds a hatch of the pack by id, or nil.
func (k *Key) Hatch(id string) *Hatch {
	for i := range k.Pack.Hatches {
		if k.Pack.Hatches[i].ID == id {
			return &k.Pack.Hatches[i]
		}
	}
	return nil
}

// Find is the ranked entry of a hatch, or nil.
func (r *Reading) Find(id string) *Ranked {
	for i := range r.Ranked {
		if r.Ranked[i].Hatch.ID == id {
			return &r.Ranked[i]
		}
	}
	return nil
}

// Months is how far a hatch of the pack is in season in each month, 0 to 1.
func (k *Key) Months(h *Hatch) [12]float64 {
	for i := range k.Pack.Hatches {
		if &k.Pack.Hatches[i] == h {
			return k.hatches[i].month
		}
	}
	return [12]float64{}
}
