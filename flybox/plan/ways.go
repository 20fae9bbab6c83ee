package plan

import (
	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
)

// Way is a way of fishing, as far as flies go with it: how fast they are lost.
type Way int

// The ways.
const (
	Dry Way = iota // on top or in the film
	Sunk
	StreamerWay
	ways
)

// wayOf is the way in which a fly is fished.
func wayOf(f *match.CompiledFly) Way {
	switch f.Fly.Style {
	case flybox.Streamer, flybox.SmallFish, flybox.Leech, flybox.Crayfish, flybox.Mouse:
		return StreamerWay
	}
	switch match.FloatsOf(f.Fly.Pattern) {
	case flybox.Under, flybox.Deep:
		return Sunk
	}
	return Dry
}

// pace is how fast flies go in each way, against the rate of all fishing.
// Assumed, no source: what is bounced along the bottom hangs up there, the more
// so in new hands. Together with skillFactor a new party loses some five times
// the nymphs that a practised one loses of dry flies.
func pace(skill flybox.Skill) [ways]float64 {
	switch skill {
	case "novice":
		return [ways]float64{Dry: 0.8, Sunk: 1.6, StreamerWay: 1.1}
	case "practised":
		return [ways]float64{Dry: 0.75, Sunk: 1.25, StreamerWay: 0.9}
	}
	return [ways]float64{Dry: 0.75, Sunk: 1.35, StreamerWay: 1}
}

// paces are those of a trip. Over all its fishing they come to the rate, which
// is what a party as a whole loses. Rates that the person gave take the place
// of what is assumed, and hold for the party as it is.
func paces(trip flybox.Trip, rate Rate, kinds []kind) [ways]float64 {
	out := pace(trip.Skill)
	var paced, days float64
	for i := range kinds {
		paced += kinds[i].rodDays * out[wayOf(kinds[i].fly)]
		days += kinds[i].rodDays
	}
	if paced > 0 {
		for way := range out {
			out[way] *= days / paced
		}
	}
	if trip.Rates == nil {
		return out
	}
	for way, given := range [ways]float64{trip.Rates.Dry, trip.Rates.Sunk, trip.Rates.Streamer} {
		if given > 0 {
			out[way] = given / (rate.Mean() * skillFactor(string(trip.Skill)))
		}
	}
	return out
}

// deeper is how much more than others a party fishes beneath the surface
// where a hatch gives it the choice: a bobber and a nymph is what guides put
// on for somebody new. Assumed.
func deeper(skill flybox.Skill) float64 {
	switch skill {
	case "novice":
		return 2.2
	case "practised":
		return 0.9
	}
	return 1.2
}

// sunkForm tells whether a form is fished beneath the surface.
func sunkForm(f *hatchkeys.Form) bool {
	switch f.Stage {
	case hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa:
		return true
	}
	return false
}
