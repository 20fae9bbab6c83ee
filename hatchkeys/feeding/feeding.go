// Package feeding answers "are the fish on it yet?" from a reading of the key.
// That an insect is about and that fish feed on it are two things: adults in
// the bushes feed nobody. All of it is common practice, no source; the
// probabilities are assumed, and only their order reaches a reader, who is
// told yes, maybe, not yet, or that too little was seen to say.
package feeding

import "dampstone/hatchkeys"

// Judgement is the answer, over all forms that may be about by their odds.
type Judgement struct {
	// Probability that fish feed on what is about now.
	Probability float64
	Verdict     Verdict
	Reason      Reason
	// Seen tells that the reason was answered; otherwise it is what would be
	// expected of the insect that the answers point to.
	Seen bool
	// Look is what to look at, where the verdict is not known yet.
	Look hatchkeys.Question
}

// On tells whether the verdict is yes.
func (j Judgement) On() bool { return j.Verdict == Yes }

// Verdict is what a reader is told.
type Verdict string

// The verdicts.
const (
	Yes      Verdict = "yes"
	Maybe    Verdict = "maybe"
	NotYet   Verdict = "no"
	NotKnown Verdict = "not-known" // too little was seen
)

const (
	yesFrom = 0.6  // probability from which it is a yes
	noTo    = 0.35 // and up to which it is not yet
)

// Reason is the code of a sentence.
type Reason string

// The reasons.
const (
	FishTaking     Reason = "fish-taking"          // fish are seen to feed as they feed on it
	FishElsewhere  Reason = "fish-elsewhere"       // they feed otherwise than they would on it
	TakenBelow     Reason = "taken-below"          // they take it, or its young, beneath the surface
	EggLayersBack  Reason = "egg-layers-back"      // females back at the water
	EdgeAfterDrop  Reason = "edge-after-drop"      // shucks on damp stones, the level fell
	ShortWingsEdge Reason = "short-wings-edge"     // flightless males at the edge
	NymphsMoving   Reason = "nymphs-moving"        // full-grown nymphs heading ashore
	HatchDrifting  Reason = "hatch-drifting"       // on the water, or in it on the way up
	SpentOnWater   Reason = "spent-on-water"       // spent insects on the water
	Swarming       Reason = "swarming"             // in the air, before the fall
	LandInsects    Reason = "blown-in-food"        // land insects falling in
	Masked         Reason = "masked"               // the big insect is seen, a small one is eaten
	BlownIn        Reason = "blown-in"             // adults far from where they hatched
	NoRises        Reason = "not-keyed-yet"        // about, and no rises
	AdultsResting  Reason = "adults-resting"       // in the bushes
	ShucksOnly     Reason = "shucks-only"          // it has hatched; nothing seen now
	HighWater      Reason = "high-water"           // the river rises or is coloured
	NotSure        Reason = "feeding-not-sure"     // too little is known
	UnknownInsect  Reason = "feeding-unknown-kind" // not in this key
)

// Reasons lists the reasons.
var Reasons = []Reason{
	FishTaking, FishElsewhere, TakenBelow, EggLayersBack, EdgeAfterDrop, ShortWingsEdge, NymphsMoving, HatchDrifting, SpentOnWater,
	Swarming, LandInsects, Masked, BlownIn, NoRises, AdultsResting, ShucksOnly, HighWater, NotSure, UnknownInsect,
}

// of is the judgement of one form. enough tells whether what was seen lets one
// say anything at all.
type of struct {
	p      float64
	reason Reason
	seen   bool
	enough bool
}

// Judge judges a reading.
func Judge(r *hatchkeys.Reading) Judgement {
	e := &r.Evidence
	if r.Leader() == nil {
		return Judgement{Probability: 0.5, Verdict: NotKnown, Reason: UnknownInsect, Look: look(e)}
	}
	if !e.Any() {
		return Judgement{Probability: 0.5, Verdict: NotKnown, Reason: NotSure, Look: look(e)}
	}
	var p, known, enough float64
	byReason := map[Reason][2]float64{} // odds of the forms for which it is given; of those for which it was seen
	each := func(do func(odds float64, one of)) {
		for _, f := range r.Forms(leastForm, mostForms) {
			h, form := r.FormAt(f.Index)
			do(f.Probability, judge(e, h, form))
		}
	}
	each(func(odds float64, one of) {
		known += odds
		p += odds * one.p
		if one.enough {
			enough += odds
		}
	})
	j := Judgement{Probability: p / known, Look: look(e)}
	switch {
	case enough < known/2:
		j.Verdict = NotKnown
	case j.Probability >= yesFrom:
		j.Verdict = Yes
	case j.Probability <= noTo:
		j.Verdict = NotYet
	default:
		j.Verdict = Maybe
	}
	// The reason is one that speaks for the verdict, where there is such a one.
	each(func(odds float64, one of) {
		side := 0.25
		switch {
		case j.Verdict == NotKnown, one.p >= yesFrom && j.Verdict == Yes, one.p <= noTo && j.Verdict == NotYet, j.Verdict == Maybe && one.p > noTo && one.p < yesFrom:
			side = 1
		}
		sums := byReason[one.reason]
		sums[0] += odds * side
		if one.seen {
			sums[1] += odds * side
		}
		byReason[one.reason] = sums
	})
	best := 0.0
	for _, reason := range Reasons { // in a fixed order
		if sums := byReason[reason]; sums[0] > best+1e-12 {
			best = sums[0]
			j.Reason, j.Seen = reason, sums[1] > sums[0]/2
		}
	}
	return j
}

// Bounds of the forms that are looked at: less likely ones change no verdict.
const (
	leastForm = 0.005
	mostForms = 40
)

// look is what to look at first: the fish, else the insects.
func look(e *hatchkeys.Evidence) hatchkeys.Question {
	if !e.Given(hatchkeys.Question(hatchkeys.Fish)) && !e.Unsure[hatchkeys.Fish] {
		return hatchkeys.Question(hatchkeys.Fish)
	}
	return hatchkeys.Question(hatchkeys.Doing)
}
