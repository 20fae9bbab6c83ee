package plan

import (
	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
)

// Stand is a stage of a hatch that is likely to be met, and that nobody wants
// to meet without flies for it.
type Stand struct {
	Hatch  *hatchkeys.Hatch
	Form   *hatchkeys.Form
	Chance float64 // of meeting the hatch on the trip
	Number int     // flies that are wanted for it at hand
	Have   int     // of what goes along, flies that fit it

	quarry *match.CompiledQuarry
	kind   int // that stands for it; -1 where there is none
}

// Assumed, common practice, no source.
const (
	// AssumedWorking is how many flies of a kind a rod wants at hand when fish
	// are on it: one on, one to lose, one to lend.
	AssumedWorking = 3
	// likelyMet is the chance from which a hatch is likely to be met.
	likelyMet = 0.35
	// stageShare is the part of a hatch's fishing from which a stage of it is
	// one that fish are on.
	stageShare = 0.15
	// dearly is the chance from which flies are tied that nobody has, and
	// plain the part of all flies from which a hatch is worth that.
	dearly, plain = 0.5, 0.025
	// wellEnough is the fit from which a fly goes along for an insect: one that
	// barely fits is for the day when nothing else is left.
	wellEnough = 0.72
)

// stands are the stages that are likely to be met, the likeliest first as the
// outlooks are.
func stands(all []Outlook, key *hatchkeys.Key, quarries []match.CompiledQuarry, trip flybox.Trip) []Stand {
	working := trip.Working
	if working == 0 {
		working = AssumedWorking
	}
	var out []Stand
	for i := range all {
		o := &all[i]
		met := o.met()
		if met < likelyMet {
			continue
		}
		for j, share := range fished(o.Hatch, trip.Skill) {
			f := &o.Hatch.Forms[j]
			if share < stageShare {
				continue
			}
			for at := range key.FormCount() {
				if _, form := key.FormAt(at); form == f {
					out = append(out, Stand{Hatch: o.Hatch, Form: f, Chance: met, Number: working * max(trip.Rods, 1), quarry: &quarries[at], kind: -1})
				}
			}
		}
	}
	return out
}

// met is the chance of meeting a hatch on a trip: days go together, mostly.
func (o *Outlook) met() float64 {
	if len(o.Chance) == 0 {
		return 0
	}
	missed := 1 - o.Chance[o.Best]
	for d, c := range o.Chance {
		if d != o.Best {
			missed *= 1 - (1-lasting)*c
		}
	}
	return 1 - missed
}

// assign finds the fly that stands for each stage: the one that fits best of
// those at hand, then of those used up, then of those yet to be made. Where
// there is none and the stage is likely enough one is proposed.
func assign(list []Stand, kinds []kind, own int, all []Outlook, seen *fits) []kind {
	share := map[*hatchkeys.Hatch]float64{}
	for i := range all {
		share[all[i].Hatch] = all[i].Share
	}
	for s := range list {
		best := 0.0
		for i := range kinds {
			score, fits := seen.of(list[s].quarry, i, kinds[i].fly)
			if !fits || score < wellEnough {
				continue
			}
			switch {
			case i >= own:
				score *= 0.5
			case kinds[i].fly.Fly.Left <= 0:
				score *= 0.7
			}
			if score > best {
				best, list[s].kind = score, i
			}
		}
		if list[s].kind >= 0 || list[s].Chance < dearly || share[list[s].Hatch] < plain || len(kinds)-own >= mostNew {
			continue
		}
		tying, ok := match.SuggestTying(list[s].quarry)
		if !ok {
			continue
		}
		fly := match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: tying.Pattern()}})
		kinds = append(kinds, kind{fly: &fly, tying: &tying})
		list[s].kind = len(kinds) - 1
	}
	return kinds
}

// counted fills in how many flies that go along fit each stage.
func counted(list []Stand, kinds []kind, seen *fits, take func(kind int) int) {
	for s := range list {
		for i := range kinds {
			n := take(i)
			if n == 0 {
				continue
			}
			if _, fits := seen.of(list[s].quarry, i, kinds[i].fly); fits {
				list[s].Have += n
			}
		}
	}
}
