package hatchkeys

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

// unsettled is the probability of the leader below which its name is worth a
// question though no answer would change the fly. A guide still asks for the
// colour and the rise at odds of a third (common practice, no source).
const unsettled = 0.6

// NextForName is the question that would best settle the name, for a reading
// of which the choice of fly is settled and the name is not. ok is false where
// nothing was seen yet, or no answer would tell much.
func (r *Reading) NextForName() (look Look, ok bool) {
	if !r.Evidence.Any() || len(r.Ranked) == 0 || r.Ranked[0].Probability >= unsettled {
		return Look{}, false
	}
	return r.NextByEntropy()
}
