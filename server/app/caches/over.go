package caches

import (
	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
	"dampstone/hatchkeys"
)

// Bounds of what flies are held against in a reading: what is less likely
// changes no choice.
const (
	leastForm = 0.004
	mostForms = 40
)

// SeenOf is what a reading's evidence says of one form that a fly can be held
// against.
func SeenOf(e *hatchkeys.Evidence, h *hatchkeys.Hatch, f *hatchkeys.Form) match.Observation {
	return bodyOf(observed(e), e, h, f)
}

// observed is what a reading's evidence says that a fly can be held against.
func observed(e *hatchkeys.Evidence) match.Observation {
	o := match.Observation{LengthMM: e.LengthMM, Colour: e.Colour}
	for _, water := range hatchkeys.Water.Values() {
		if e.Choices[hatchkeys.Water].Only(hatchkeys.Water, water) {
			o.Water = water
		}
	}
	return o
}

// Over is what the flies are held against in a reading.
type Over struct {
	Chances []match.Chance
	forms   []int // of the key, by chance
	key     *hatchkeys.Key
}

// At is the hatch and form of a chance.
func (o *Over) At(i int) (*hatchkeys.Hatch, *hatchkeys.Form) { return o.key.FormAt(o.forms[i]) }

// Whole is a reading as chances: every form that is likely enough, by its odds
// and by how readily fish feed on it, as it was seen.
func Whole(key *hatchkeys.Key, r *hatchkeys.Reading) Over {
	return over(key, r, r.Forms(leastForm, mostForms))
}

// Part is one hatch of a reading as chances.
func Part(key *hatchkeys.Key, r *hatchkeys.Reading, h *hatchkeys.Ranked) Over {
	return over(key, r, r.FormsOf(h))
}

func over(key *hatchkeys.Key, r *hatchkeys.Reading, forms []hatchkeys.FormOdds) Over {
	out := Over{key: key}
	seen := observed(&r.Evidence)
	for _, odds := range forms {
		h, f := key.FormAt(odds.Index)
		q := match.CompileQuarry(match.Of(h, f).As(bodyOf(seen, &r.Evidence, h, f)))
		out.Chances = append(out.Chances, match.Chance{Quarry: &q, Odds: odds.Probability * max(f.Fed, leastFed)})
		out.forms = append(out.forms, odds.Index)
	}
	return out
}

// bodyOf takes off what the wings add to a length, where it was measured to
// their tips.
func bodyOf(seen match.Observation, e *hatchkeys.Evidence, h *hatchkeys.Hatch, f *hatchkeys.Form) match.Observation {
	if e.Choices[hatchkeys.LengthTo].Only(hatchkeys.LengthTo, "wing-tips") {
		seen.LengthMM *= hatchkeys.BodyShare(h, f)
	}
	return seen
}

// leastFed keeps a form that fish seldom take in the reckoning. Judgement.
const leastFed = 0.05

// Rank ranks the reader's own flies over a reading, by what fish did to them
// before as well.
func (b *BoxFlies) Rank(o *Over) []match.Expected {
	own := map[int]OwnResults{}
	return match.RankOver(b.Compiled, o.Chances, func(f *flybox.Fly, at int) float64 {
		if len(b.Results) == 0 {
			return 1
		}
		r, ok := own[at]
		if !ok {
			h, form := o.At(at)
			r = b.Own(results.Form{Hatch: h.ID, Form: form.ID})
			own[at] = r
		}
		return r.Weight(f)
	})
}
