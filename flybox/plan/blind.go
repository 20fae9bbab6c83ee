package plan

import (
	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
)

// Blind is a kind of fly that is fished where nothing is seen.
type Blind string

// The kinds of blind fishing. Common practice, no source.
const (
	BlindNymph    Blind = "nymph"    // nymphs and larvae along the bottom
	BlindScud     Blind = "scud"     // scuds and sowbugs
	BlindWorm     Blind = "worm"     //
	BlindEgg      Blind = "egg"      //
	BlindStreamer Blind = "streamer" // streamers, small fish, leeches
	BlindSearch   Blind = "search"   // a dry fly that carries a dropper
	BlindPupa     Blind = "pupa"     // midge pupae of still waters
)

// blindKind says which styles serve a kind of blind fishing, the usual ones
// first, and what to tie where there is none.
type blindKind struct {
	code   Blind
	styles []flybox.Style
	// largest and smallest are the hooks that serve; 0 for any.
	largest, smallest int
	hook              int // to tie on
	body              string
	share             [4]float64 // by kind of water: freestone, tailwater, spring creek, still water
}

// blindKinds share out the fishing with nothing seen. Assumed, no source.
var blindKinds = []blindKind{
	{BlindNymph, []flybox.Style{flybox.MayflyNymph, flybox.StoneflyNymph, flybox.CaddisLarva, flybox.CaddisPupa, flybox.SoftHackle}, 8, 20, 16, "#6b5438", [4]float64{0.42, 0.42, 0.38, 0.12}},
	{BlindScud, []flybox.Style{flybox.Scud}, 0, 0, 16, "#a09a72", [4]float64{0.02, 0.16, 0.22, 0.10}},
	{BlindWorm, []flybox.Style{flybox.Worm}, 0, 0, 12, "#a0483a", [4]float64{0.06, 0.10, 0.02, 0.04}},
	{BlindEgg, []flybox.Style{flybox.Egg}, 0, 0, 14, "#e0a060", [4]float64{0.03, 0.05, 0.02, 0.02}},
	{BlindStreamer, []flybox.Style{flybox.Streamer, flybox.SmallFish, flybox.Leech, flybox.Crayfish}, 0, 0, 8, "#5a5238", [4]float64{0.17, 0.13, 0.12, 0.34}},
	{BlindSearch, []flybox.Style{flybox.BushyDry, flybox.Hopper, flybox.FoamStone, flybox.HairWingCaddis, flybox.Beetle}, 8, 14, 12, "#8a7048", [4]float64{0.30, 0.12, 0.14, 0.04}},
	{BlindPupa, []flybox.Style{flybox.MidgePupa}, 0, 0, 16, "#3a2e28", [4]float64{0, 0.02, 0.10, 0.32}},
}

var waterKinds = []string{"freestone", "tailwater", "spring-creek", "stillwater"}

// blindShare is how much of the fishing goes on with nothing seen. Assumed.
func blindShare(trip flybox.Trip) float64 {
	if trip.Blind != nil {
		return *trip.Blind
	}
	byWater := [4]float64{0.40, 0.45, 0.30, 0.55}
	var sum float64
	waters := trip.AllWaters()
	for _, w := range waters {
		at := 0.42
		for i, kind := range waterKinds {
			if w.Type == kind {
				at = byWater[i]
			}
		}
		sum += at / float64(len(waters))
	}
	switch trip.Skill {
	case "novice":
		sum += 0.15
	case "practised":
		sum -= 0.08
	}
	return max(0, min(sum, 1))
}

// blindParts are the parts of the kinds of blind fishing over the waters of a
// trip, adding up to 1.
func blindParts(trip flybox.Trip) []float64 {
	out := make([]float64, len(blindKinds))
	waters := trip.AllWaters()
	var sum float64
	for k, b := range blindKinds {
		for _, w := range waters {
			at := 0
			for i, kind := range waterKinds {
				if w.Type == kind {
					at = i
				}
			}
			out[k] += b.share[at]
		}
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}

// leastBlind is the fewest flies expected of a kind of blind fishing for which
// no own fly serves, from which one is proposed. Assumed.
const leastBlind = 0.6

// blind gives the blind fishing to the flies that serve it: the usual style
// and what is at hand first. The first own kinds are the flies.
func blind(kinds []kind, own int, trip flybox.Trip, rodDays, rate float64) []kind {
	for k, part := range blindParts(trip) {
		b, days := &blindKinds[k], rodDays*part
		if days <= 0 {
			continue
		}
		type candidate struct {
			kind  int
			worth float64
		}
		var list []candidate
		for i := range kinds[:own] {
			for rank, style := range b.styles {
				f := &kinds[i].fly.Fly
				if f.Style != style || b.largest > 0 && f.Hook > 0 && (f.Hook < b.largest || f.Hook > b.smallest) {
					continue
				}
				worth := 1 / (1 + 0.35*float64(rank))
				if f.Left <= 0 {
					worth *= 0.3
				}
				list = append(list, candidate{i, worth})
			}
		}
		sortby.Stable(list, func(x, y *candidate) int {
			switch {
			case x.worth > y.worth:
				return -1
			case x.worth < y.worth:
				return 1
			}
			return 0
		})
		list = list[:min(len(list), mostStandIns)]
		if len(list) == 0 {
			if days*rate < leastBlind {
				continue
			}
			tying := match.Tying{Style: b.styles[0], Hook: b.hook, Shank: 1, Body: b.body}
			fly := match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: tying.Pattern()}})
			tying.LengthMM, _ = match.LengthMM(fly.Fly.Pattern)
			kinds = append(kinds, kind{fly: &fly, tying: &tying})
			list = append(list, candidate{len(kinds) - 1, 1})
		}
		var sum float64
		for _, c := range list {
			sum += c.worth
		}
		for _, c := range list {
			got := days * c.worth / sum
			kinds[c.kind].uses = append(kinds[c.kind].uses, Use{Blind: b.code, Score: c.worth, index: -1, rodDays: got, most: got})
		}
	}
	return kinds
}
