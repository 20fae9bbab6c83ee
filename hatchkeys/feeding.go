package hatchkeys

// Feeding answers "are the fish on it yet?" about the leading hatch. Presence
// and being fed on are separate: adults in the bushes feed nobody.
type Feeding struct {
	// Probability that fish feed on the leading form now.
	Probability float64
	// Reason is a code; the view has the sentence.
	Reason FeedingReason
}

// On tells whether it is likelier than not.
func (f Feeding) On() bool { return f.Probability > 0.5 }

// FeedingReason is the code of a sentence.
type FeedingReason string

// The reasons. All are common practice, no source, unless noted.
const (
	FishTaking     FeedingReason = "fish-taking"          // the angler sees them feed on it
	EggLayersBack  FeedingReason = "egg-layers-back"      // females back at the water
	EdgeAfterDrop  FeedingReason = "edge-after-drop"      // shucks on damp stones, level fell
	ShortWingsEdge FeedingReason = "short-wings-edge"     // flightless males at the edge
	NymphsMoving   FeedingReason = "nymphs-moving"        // full-grown nymphs heading ashore
	HatchDrifting  FeedingReason = "hatch-drifting"       // duns, emergers or pupae on the water
	SpentOnWater   FeedingReason = "spent-on-water"       // spent insects on the water
	BlownInWater   FeedingReason = "blown-in-food"        // land insects falling in
	Masked         FeedingReason = "masked"               // the big insect is seen, a small one is eaten
	BlownIn        FeedingReason = "blown-in"             // adults far from where they hatched
	NotKeyedYet    FeedingReason = "not-keyed-yet"        // many adults, no rises
	AdultsResting  FeedingReason = "adults-resting"       // adults in the bushes
	ShucksOnly     FeedingReason = "shucks-only"          // it has hatched; nothing seen now
	NotSure        FeedingReason = "feeding-not-sure"     // too little is known
	UnknownInsect  FeedingReason = "feeding-unknown-kind" // not in this key
)

// Feeding judges the leading hatch.
func (r *Reading) Feeding() Feeding {
	lead := r.Leader()
	if lead == nil {
		return Feeding{Probability: 0.5, Reason: UnknownInsect}
	}
	if !r.Evidence.Any() {
		return Feeding{Probability: 0.5, Reason: NotSure}
	}
	f := r.ruleFor(lead)
	return r.withFish(f)
}

// ruleFor judges from the insect alone. The probabilities are assumed; only
// their order matters to the reader, who is shown yes, maybe or not yet.
func (r *Reading) ruleFor(lead *Ranked) Feeding {
	e := &r.Evidence
	h, form := lead.Hatch, lead.Form
	has := func(t Trait, v string) bool { return e.Choices[t].Has(t, v) }
	only := func(t Trait, v string) bool { return e.Choices[t].Only(t, v) }
	after := has(Trend, "dropping") || has(Trend, "falling")
	short := form.Wings != nil && form.Wings.Of["short"] > form.Wings.Of["flat"] && has(Wings, "short")

	switch {
	case form.Stage == EggLayer || has(Doing, "dipping-eggs"):
		return Feeding{max(form.Fed, 0.85), EggLayersBack}
	case h.Group == Terrestrial:
		if has(Doing, "resting") || only(Where, "bank-plants") && !has(Doing, "blown-in") {
			return Feeding{0.4, AdultsResting}
		}
		return Feeding{max(form.Fed, 0.55), BlownInWater}
	case r.blownIn(h, form):
		return Feeding{0.1, BlownIn}
	case (short || form.Stage == NymphAshore || form.Stage == Shuck) && has(Shucks, "damp-stones") && after:
		return Feeding{0.8, EdgeAfterDrop}
	case short:
		return Feeding{0.65, ShortWingsEdge}
	case form.Stage == Spent:
		return Feeding{max(form.Fed, 0.6), SpentOnWater}
	case form.Stage == NymphAshore:
		return Feeding{max(form.Fed, 0.6), NymphsMoving}
	case form.Stage == Emerger || form.Stage == Dun || form.Stage == Pupa || form.Stage == Nymph:
		if only(Doing, "resting") {
			return Feeding{0.35, AdultsResting}
		}
		return Feeding{max(form.Fed, 0.55), HatchDrifting}
	case form.Stage == Shuck:
		return Feeding{0.4, ShucksOnly}
	case has(Doing, "drifting") || has(Doing, "skating") || has(Doing, "fluttering") && !only(Where, "bank-plants"):
		return Feeding{max(form.Fed, 0.55), HatchDrifting}
	case has(Doing, "resting") || has(Where, "bank-plants"):
		return Feeding{0.3, AdultsResting}
	}
	return Feeding{form.Fed, NotSure}
}

// blownIn: winged adults of a kind that travels, with no fresh shucks and a
// wind up the river, or seen to be blown.
func (r *Reading) blownIn(h *Hatch, form *Form) bool {
	if form.Stage != Adult || form.Wings != nil && form.Wings.Of["short"] > form.Wings.Of["flat"] {
		return false
	}
	e := &r.Evidence
	if e.Choices[Doing].Has(Doing, "blown-in") {
		return true
	}
	noShucks := e.Choices[Shucks].Only(Shucks, "none")
	return noShucks && (h.Travels || h.Group == Stonefly) && e.Choices[Wind].Has(Wind, "upstream")
}

// bigMM is the length from which an insect is not sipped down quietly.
const bigMM = 15.0

// masked: quiet sips while big insects are about, none of them spent on the
// water, are nearly always for something small. Common practice, no source.
func (r *Reading) masked(f Feeding, c Choice) bool {
	lead := r.Leader()
	return c.Only(Fish, "sipping") && lead.Form.Length.From >= bigMM && f.Reason != SpentOnWater
}

// smallMM is the length up to which an insect can go unseen among big ones.
const smallMM = 9.0

// Small is the small hatch that is likeliest on the water by date and kind of
// water alone, for a reading whose leader masks it; nil if there is none.
func (r *Reading) Small() *Ranked {
	by := r.key.Read(Evidence{Month: r.Evidence.Month, Day: r.Evidence.Day, Place: r.Evidence.Place, Hour: r.Evidence.Hour, WaterC: r.Evidence.WaterC})
	for i := range by.Ranked {
		if h := &by.Ranked[i]; h.Form.Length.To <= smallMM {
			return h
		}
	}
	return nil
}

// withFish lets what the fish do speak last.
func (r *Reading) withFish(f Feeding) Feeding {
	c := r.Evidence.Choices[Fish]
	switch {
	case !c.given:
		return f
	case c.Only(Fish, "none"):
		f.Probability *= 0.35
		if f.Reason != BlownIn {
			f.Reason = NotKeyedYet
		}
	case r.masked(f, c):
		f.Probability, f.Reason = 0.25, Masked
	case f.Reason == BlownIn: // they rise, but to something else, or to these at last
		f.Probability = 0.4
	default:
		f.Probability = max(f.Probability, 0.85)
		if f.Reason == NotSure || f.Reason == AdultsResting || f.Reason == ShucksOnly {
			f.Reason = FishTaking
		}
	}
	return f
}
