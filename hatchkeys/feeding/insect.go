package feeding

import "dampstone/hatchkeys"

// answers are the evidence as the rules ask for it.
type answers struct{ *hatchkeys.Evidence }

// any tells whether one of the values was among those given.
func (a answers) any(t hatchkeys.Trait, values ...string) bool {
	for _, v := range values {
		if a.Choices[t].Has(t, v) {
			return true
		}
	}
	return false
}

// only tells whether a value is the one that was given.
func (a answers) only(t hatchkeys.Trait, v string) bool { return a.Choices[t].Only(t, v) }

func (a answers) given(t hatchkeys.Trait) bool { return a.Given(hatchkeys.Question(t)) }

// inBushes: they sit there, and nothing says that they are on the water too.
func (a answers) inBushes() bool {
	if a.any(hatchkeys.Doing, "drifting", "dipping-eggs", "skating", "blown-in", "swimming-ashore") {
		return false
	}
	return a.only(hatchkeys.Doing, "resting") || a.only(hatchkeys.Where, "bank-plants")
}

func (a answers) fell() bool { return a.any(hatchkeys.Trend, "dropping", "falling") }

func (a answers) wind() bool {
	return a.given(hatchkeys.Wind) && !a.any(hatchkeys.Wind, "calm")
}

// judge judges one form.
func judge(e *hatchkeys.Evidence, h *hatchkeys.Hatch, form *hatchkeys.Form) of {
	a := answers{e}
	one := insect(a, h, form)
	one = water(a, form, one)
	return fish(a, h, form, one)
}

func shortWinged(form *hatchkeys.Form) bool {
	return form.Wings != nil && form.Wings.Of["short"] > form.Wings.Of["flat"]
}

// insect judges from what the insect is and does.
func insect(a answers, h *hatchkeys.Hatch, form *hatchkeys.Form) of {
	land := h.Group == hatchkeys.Terrestrial
	short := shortWinged(form) && a.any(hatchkeys.Wings, "short")
	damp := a.any(hatchkeys.Shucks, "damp-stones")
	switch {
	case a.only(hatchkeys.Doing, "swarming") && land:
		return of{0.45, Swarming, true, true} // ants come down sooner or later
	case a.only(hatchkeys.Doing, "swarming") && form.Stage != hatchkeys.NymphAshore && form.Stage != hatchkeys.Nymph:
		return of{0.15, Swarming, true, true}
	case land:
		return landInsect(a, form)
	case a.any(hatchkeys.Doing, "dipping-eggs"):
		return of{max(form.Fed, 0.85), EggLayersBack, true, true}
	case blownIn(a, h, form):
		return of{0.1, BlownIn, a.any(hatchkeys.Doing, "blown-in"), true}
	case (short || form.Stage == hatchkeys.NymphAshore || form.Stage == hatchkeys.Shuck) && damp && a.fell():
		return of{0.8, EdgeAfterDrop, true, true}
	case short:
		active := a.any(hatchkeys.Doing, "crawling-ashore", "swimming-ashore", "skating", "drifting")
		return of{0.65, ShortWingsEdge, active, active || a.any(hatchkeys.Where, "edge") || damp}
	}
	switch form.Stage {
	case hatchkeys.EggLayer:
		if a.inBushes() {
			return of{0.25, AdultsResting, true, true}
		}
		return of{max(form.Fed, 0.7), EggLayersBack, false, a.any(hatchkeys.Doing, "skating", "drifting", "fluttering")}
	case hatchkeys.Spent:
		lying := a.any(hatchkeys.Wings, "spread") || a.any(hatchkeys.Doing, "drifting")
		return of{max(form.Fed, 0.7), SpentOnWater, lying, lying}
	case hatchkeys.NymphAshore:
		moving := a.any(hatchkeys.Doing, "crawling-ashore", "swimming-ashore")
		return of{max(form.Fed, 0.65), NymphsMoving, moving, moving || damp}
	case hatchkeys.Shuck:
		return of{0.3, ShucksOnly, a.any(hatchkeys.Shucks, "damp-stones", "dry-rocks", "film"), a.given(hatchkeys.Shucks)}
	}
	if a.inBushes() && form.Stage != hatchkeys.Nymph && form.Stage != hatchkeys.Pupa {
		return of{0.2, AdultsResting, true, true}
	}
	switch form.Stage {
	case hatchkeys.Emerger, hatchkeys.Dun, hatchkeys.Pupa, hatchkeys.Nymph:
		p := max(form.Fed, 0.65)
		if a.any(hatchkeys.Doing, "drifting", "fluttering") {
			return of{p, HatchDrifting, true, true}
		}
		film := a.any(hatchkeys.Shucks, "film") // they came out of them just now
		return of{p, HatchDrifting, false, film}
	}
	if a.any(hatchkeys.Doing, "drifting", "skating", "fluttering") {
		return of{max(form.Fed, 0.62), HatchDrifting, true, true}
	}
	return of{form.Fed, NotSure, false, false}
}

// landInsect: food only where it gets onto the water.
func landInsect(a answers, form *hatchkeys.Form) of {
	switch {
	case a.any(hatchkeys.Doing, "blown-in", "drifting"):
		return of{max(form.Fed, 0.75), LandInsects, true, true}
	case a.inBushes() && a.wind():
		return of{0.45, LandInsects, false, true}
	case a.inBushes():
		return of{0.25, AdultsResting, true, true}
	case a.wind():
		return of{0.65, LandInsects, false, true}
	case a.any(hatchkeys.Doing, "hopping", "fluttering", "resting"):
		return of{0.4, LandInsects, false, true}
	}
	return of{0.5, LandInsects, false, false}
}

// blownIn: winged adults of a kind that travels, with no fresh shucks and a
// wind up the river, or seen to be blown.
func blownIn(a answers, h *hatchkeys.Hatch, form *hatchkeys.Form) bool {
	if form.Stage != hatchkeys.Adult || shortWinged(form) {
		return false
	}
	if a.any(hatchkeys.Doing, "blown-in") {
		return true
	}
	return a.only(hatchkeys.Shucks, "none") && (h.Travels || h.Group == hatchkeys.Stonefly) && a.any(hatchkeys.Wind, "upstream") && !a.any(hatchkeys.Doing, "dipping-eggs", "skating")
}

// below tells whether a form is met beneath the surface.
func below(form *hatchkeys.Form) bool {
	switch form.Stage {
	case hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Emerger:
		return true
	}
	return false
}

// water lowers the odds where the river rises or is too coloured to see a fly
// on top. It tells nothing by itself.
func water(a answers, form *hatchkeys.Form, one of) of {
	share := 1.0
	if a.only(hatchkeys.Trend, "rising") {
		share *= 0.8
	}
	switch {
	case a.only(hatchkeys.Clarity, "muddy"):
		share *= 0.45
	case a.only(hatchkeys.Clarity, "coloured"):
		share *= 0.75
	}
	if below(form) || one.reason == EdgeAfterDrop {
		share = (1 + share) / 2
	}
	if one.p >= noTo && one.p*share < one.p-0.1 {
		one.reason, one.seen = HighWater, true
	}
	one.p *= share
	return one
}
