package feeding

import "dampstone/hatchkeys"

const (
	// bigMM is the length from which an insect that struggles or runs on the
	// water is not sipped down quietly.
	bigMM = 15.0
	// smallMM is the length up to which an insect can go unseen among big ones.
	smallMM = 9.0
)

// notSipped tells whether fish take a form with a splash or a swirl only:
// grown stoneflies, big sedges and damsels. Big mayflies, hoppers and what
// lies spent they do sip.
func notSipped(h *hatchkeys.Hatch, form *hatchkeys.Form) bool {
	if form.Length.From < bigMM {
		return false
	}
	switch h.Group {
	case hatchkeys.Stonefly, hatchkeys.Caddis, hatchkeys.Damsel, hatchkeys.Dragonfly, hatchkeys.OtherGroup:
		return form.Stage == hatchkeys.Adult || form.Stage == hatchkeys.EggLayer || form.Stage == hatchkeys.Shuck || form.Stage == hatchkeys.NymphAshore
	}
	return false
}

// fish lets what the fish do speak last.
func fish(a answers, h *hatchkeys.Hatch, form *hatchkeys.Form, one of) of {
	if !a.given(hatchkeys.Fish) {
		return one
	}
	one.enough = true
	if a.only(hatchkeys.Fish, "none") {
		one.p *= 0.35
		switch one.reason {
		case BlownIn, AdultsResting, Swarming, ShucksOnly, HighWater:
		default:
			one.reason, one.seen = NoRises, true
		}
		return one
	}
	if a.only(hatchkeys.Fish, "sipping") && notSipped(h, form) {
		return of{0.2, Masked, true, true}
	}
	switch one.reason {
	case BlownIn, Swarming, AdultsResting, ShucksOnly: // they rise, to something else most likely
		if suits(a, h, form) < 0.8 || one.reason == Swarming {
			return of{0.3, FishElsewhere, true, true}
		}
		return of{0.45, one.reason, one.seen, true}
	}
	switch s := suits(a, h, form); {
	case s >= 0.8:
		p := max(one.p, s)
		if one.reason == NotSure || !one.seen {
			return of{p, FishTaking, true, true}
		}
		return of{p, one.reason, one.seen, true}
	case a.any(hatchkeys.Fish, "bulging") && !below(form):
		return of{s, TakenBelow, true, true}
	default:
		return of{s, FishElsewhere, true, true}
	}
}

// suits is how well what the fish do goes with a form: the best of what was
// given.
func suits(a answers, h *hatchkeys.Hatch, form *hatchkeys.Form) (best float64) {
	land := h.Group == hatchkeys.Terrestrial
	quiet := form.Stage == hatchkeys.Spent || form.Stage == hatchkeys.Dun || form.Stage == hatchkeys.Emerger || h.Group == hatchkeys.Midge || land
	if a.any(hatchkeys.Fish, "sipping") {
		switch {
		case quiet:
			best = 0.88
		case h.Group == hatchkeys.Mayfly, form.Stage == hatchkeys.Pupa, form.Stage == hatchkeys.EggLayer:
			best = max(best, 0.8)
		case h.Group == hatchkeys.Caddis:
			best = max(best, 0.62)
		default:
			best = max(best, 0.5)
		}
	}
	if a.any(hatchkeys.Fish, "splashing") {
		switch {
		case form.Stage == hatchkeys.Spent, form.Length.To <= smallMM/1.5:
			best = max(best, 0.45)
		case h.Group == hatchkeys.Caddis, h.Group == hatchkeys.Stonefly, h.Group == hatchkeys.Damsel, h.Group == hatchkeys.Dragonfly, land, form.Stage == hatchkeys.EggLayer, form.Stage == hatchkeys.Pupa:
			best = max(best, 0.88)
		default:
			best = max(best, 0.8)
		}
	}
	if a.any(hatchkeys.Fish, "bulging") {
		switch {
		case below(form):
			best = max(best, 0.88)
		case form.Stage == hatchkeys.Dun, form.Stage == hatchkeys.Adult && (h.Group == hatchkeys.Caddis || h.Group == hatchkeys.Midge):
			best = max(best, 0.62) // its own young, on their way up
		default:
			best = max(best, 0.4)
		}
	}
	if a.any(hatchkeys.Fish, "edge") {
		switch {
		case h.Group == hatchkeys.Stonefly, h.Group == hatchkeys.Damsel, h.Group == hatchkeys.Dragonfly, land, form.Stage == hatchkeys.NymphAshore:
			best = max(best, 0.88)
		default:
			best = max(best, 0.62)
		}
	}
	return best
}

// Small is the small hatch that is likeliest on the water by date and kind of
// water alone, for a reading whose leader masks it; nil if there is none.
func Small(r *hatchkeys.Reading) *hatchkeys.Ranked {
	e := &r.Evidence
	by := r.Key().Read(hatchkeys.Evidence{Month: e.Month, Day: e.Day, Place: e.Place, Hour: e.Hour, WaterC: e.WaterC})
	for i := range by.Ranked {
		if h := &by.Ranked[i]; h.Form.Length.To <= smallMM {
			return h
		}
	}
	return nil
}
