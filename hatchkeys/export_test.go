package hatchkeys

// What tests alone use.

// NextByEntropy is the unanswered question that is expected to tell most about
// the name of the hatch, in bits: the usual baseline.
func (r *Reading) NextByEntropy() (look Look, ok bool) {
	forms := r.likelyForms()
	byHatch := make([]float64, len(r.key.hatches))
	entropy := func(weight []float64, rest float64) float64 {
		clear(byHatch)
		sum := rest
		for i, w := range weight {
			byHatch[r.key.forms[forms[i]].hatch] += w
			sum += w
		}
		if sum <= 0 {
			return 0
		}
		h := plogp(rest / sum)
		for _, w := range byHatch {
			h += plogp(w / sum)
		}
		return sum * h
	}
	now := make([]float64, len(forms))
	for i, f := range forms {
		now[i] = r.post[f]
	}
	base := entropy(now, r.Unknown)
	for _, a := range Questions {
		if skip(a) || r.Evidence.Given(a) || r.Evidence.Unsure[a] {
			continue
		}
		var after float64
		r.eachAnswer(a, forms, func(weight []float64, rest float64) { after += entropy(weight, rest) })
		if gain := base - after; gain > look.Gain {
			look = Look{Question: a, Gain: gain}
		}
	}
	return look, look.Gain > 1e-3
}

// FormProbability is the probability of the form with index i.
func (r *Reading) FormProbability(i int) float64 { return r.post[i] }

const MaxLearn = maxLearn
