package plan

import (
	"cmp"
	"math"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
)

const (
	// mostStandIns is how many patterns share what one form uses up.
	mostStandIns = 3
	// sharpness is the power of the score by which they share. Assumed.
	sharpness = 6
	// noneLeft lowers the score of a pattern of which none is left, so that
	// what is in the boxes is used before something is tied. Assumed.
	noneLeft = 0.9
	// leastNeed is the fewest flies expected of a form that nothing fits for
	// which a new pattern is proposed.
	leastNeed = 0.25
	// mostNew bounds the new patterns that are proposed.
	mostNew = 24
)

// kind is a fly that may go along: an own one, or one that is yet to be made.
type kind struct {
	fly     *match.CompiledFly
	tying   *match.Tying // of one yet to be made
	uses    []Use
	rodDays float64
	spread  float64
}

// Use is what a fly goes along for.
type Use struct {
	Blind Blind // for what blind fishing; "" for a hatch
	Hatch *hatchkeys.Hatch
	Form  *hatchkeys.Form // the form of the hatch that it does most for
	Flies float64         // expected to be used up on it
	Score float64         // how well it stands for the form, 0 to 1

	index   int     // of the outlook
	rodDays float64 // of the hatch that fall to the fly
	most    float64 // the part for Form
}

// fished is how much of a hatch's flies a form uses up: how much of the hatch
// it is, and how readily fish take it. Empty shucks are fished by nobody.
func fished(h *hatchkeys.Hatch, skill flybox.Skill) []float64 {
	weights := make([]float64, len(h.Forms))
	var sum float64
	for pass := range 2 { // a hatch of which no form says that fish feed
		for i := range h.Forms {
			f := &h.Forms[i]
			if f.Stage == hatchkeys.Shuck {
				continue
			}
			weights[i] = f.Share
			if pass == 0 {
				weights[i] *= f.Fed
			}
			if sunkForm(f) {
				weights[i] *= deeper(skill)
			}
			sum += weights[i]
		}
		if sum > 0 {
			break
		}
	}
	for i := range weights {
		if sum > 0 {
			weights[i] /= sum
		}
	}
	return weights
}

// need is what a form of a hatch uses up.
type need struct {
	index   int // of the outlook
	form    *hatchkeys.Form
	quarry  *match.CompiledQuarry
	rodDays float64
}

// standIns divides what the hatches use up among the flies that stand for
// them. Where no own fly will do, new ones are proposed, as few as will do for
// all such forms. The first len(flies) kinds are the flies in their order.
func standIns(all []Outlook, key *hatchkeys.Key, quarries []match.CompiledQuarry, flies []match.CompiledFly, seen *fits, skill flybox.Skill, rate float64) []kind {
	kinds := make([]kind, len(flies))
	for i := range flies {
		kinds[i].fly = &flies[i]
	}
	var missing []need
	forms := map[*hatchkeys.Form]int{}
	for i := range key.FormCount() {
		_, f := key.FormAt(i)
		forms[f] = i
	}
	for i := range all {
		h := all[i].Hatch
		for j, weight := range fished(h, skill) {
			f := &h.Forms[j]
			at, known := forms[f]
			if weight == 0 || !known {
				continue
			}
			n := need{i, f, &quarries[at], all[i].rodDays * weight}
			if !n.share(kinds[:len(flies)], 0, seen, all) {
				missing = append(missing, n)
			}
		}
	}
	sortby.Stable(missing, func(a, b *need) int { return cmp.Compare(b.rodDays, a.rodDays) })
	for _, n := range missing {
		if n.share(kinds[len(flies):], len(flies), seen, all) || n.rodDays*rate < leastNeed || len(kinds)-len(flies) >= mostNew {
			continue
		}
		tying, ok := match.SuggestTying(n.quarry)
		if !ok {
			continue
		}
		fly := match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: tying.Pattern()}})
		score, _ := match.Fit(&fly, n.quarry)
		kinds = append(kinds, kind{fly: &fly, tying: &tying})
		kinds[len(kinds)-1].take(n, all, 1, score)
	}
	return kinds
}

// sum adds up what each kind is for.
func sum(kinds []kind, all []Outlook) {
	for i := range kinds {
		k := &kinds[i]
		for _, u := range k.uses {
			k.rodDays += u.rodDays
			if u.index < 0 {
				continue // blind fishing goes on every day
			}
			o := &all[u.index]
			part := u.rodDays / o.rodDays
			k.spread += part * part * o.spread
		}
	}
}

// fits remembers how kinds fit quarries: three needs ask for it, and colours
// are costly to compare.
type fits struct {
	quarries map[*match.CompiledQuarry][]fit
}

type fit struct {
	known, fits bool
	score       float64
}

func (m *fits) of(q *match.CompiledQuarry, kind int, f *match.CompiledFly) (score float64, ok bool) {
	row := m.quarries[q]
	if len(row) <= kind {
		row = append(row, make([]fit, kind+1+mostNew-len(row))...)
		m.quarries[q] = row
	}
	if !row[kind].known {
		score, ok := match.Fit(f, q)
		row[kind] = fit{true, ok, score}
	}
	return row[kind].score, row[kind].fits
}

// share divides a need among the kinds that will do; false if none will. The
// kinds are numbered from first.
func (n need) share(kinds []kind, first int, seen *fits, all []Outlook) bool {
	type candidate struct {
		kind         *kind
		score, worth float64
	}
	var best [mostStandIns]candidate
	for i := range kinds {
		score, fits := seen.of(n.quarry, first+i, kinds[i].fly)
		if !fits || score < wellEnough {
			continue
		}
		c := candidate{&kinds[i], score, score}
		if kinds[i].tying == nil && kinds[i].fly.Fly.Left <= 0 {
			c.worth *= noneLeft
		}
		for at := range best {
			if best[at].kind == nil || c.worth > best[at].worth {
				c, best[at] = best[at], c
				if c.kind == nil {
					break
				}
			}
		}
	}
	var sum float64
	for _, c := range best {
		sum += math.Pow(c.worth, sharpness)
	}
	if sum == 0 {
		return false
	}
	for _, c := range best {
		if c.kind != nil {
			c.kind.take(n, all, math.Pow(c.worth, sharpness)/sum, c.score)
		}
	}
	return true
}

// take lets the kind stand for a part of a need.
func (k *kind) take(n need, all []Outlook, part, score float64) {
	got := n.rodDays * part
	for i := range k.uses {
		if u := &k.uses[i]; u.index == n.index {
			u.rodDays += got
			if got > u.most {
				u.Form, u.most, u.Score = n.form, got, score
			}
			return
		}
	}
	k.uses = append(k.uses, Use{Hatch: all[n.index].Hatch, Form: n.form, Score: score, index: n.index, rodDays: got, most: got})
}
