// Package advice puts together how a form of a hatch is fished, from what it
// is and where it lives rather than from a text for each of hundreds. All of
// it is common practice, no source.
package advice

import (
	"math"

	"dampstone/hatchkeys"
)

// Code names a sentence that a view keeps in its language.
type Code string

// How it lies in the water and moves.
const (
	DriftDry   Code = "drift-dry"  // across and up, without drag, on the surface
	TwitchDry  Code = "twitch-dry" // as above, moved now and then
	SkateDry   Code = "skate-dry"  // drawn across the surface
	FlushDry   Code = "flush-dry"  // flat in the film, to single fish, from upstream or the side
	HangFilm   Code = "hang-film"  // beneath the film, dead
	DriftDeep  Code = "drift-deep" // near the bottom, dead, with weight
	DriftSlow  Code = "drift-slow" // near a soft or quiet bottom, slowly
	LiftRise   Code = "lift-rise"  // sunk, then let rise
	SwingDown  Code = "swing-down" // across and down, led on a tight line
	EdgeCrawl  Code = "edge-crawl" // along the bottom toward the bank
	DrawSlow   Code = "draw-slow"  // drawn in short pulls through still water
	PlopBank   Code = "plop-bank"  // dropped close to the bank
	CluePupa   Code = "dropper-pupa"
	ClueNymph  Code = "dropper-nymph"
	ClueEmerge Code = "dropper-emerger"
	ClueAlone  Code = "dropper-none"
	TakeQuiet  Code = "take-quiet"  // hard to see: lift slowly
	TakeBold   Code = "take-bold"   // wait until it has gone down
	TakeSunk   Code = "take-sunk"   // any stop of the line
	TakeTight  Code = "take-tight"  // let it tighten by itself
	DragFirst  Code = "drag-first"  // refused: look at drag before the fly
	ShotFirst  Code = "depth-first" // not taken: change the depth before the fly
)

// Codes lists the codes.
var Codes = []Code{
	DriftDry, TwitchDry, SkateDry, FlushDry, HangFilm, DriftDeep, DriftSlow, LiftRise, SwingDown, EdgeCrawl, DrawSlow, PlopBank,
	CluePupa, ClueNymph, ClueEmerge, ClueAlone, TakeQuiet, TakeBold, TakeSunk, TakeTight, DragFirst, ShotFirst,
}

// bigMM is the length from which a fly on top is taken boldly.
const bigMM = 14.0

// For is how a form is fished: how it moves, what goes on a dropper, how takes
// look and when to strike, and what to change first where it is refused.
func For(h *hatchkeys.Hatch, f *hatchkeys.Form) []Code {
	out := present(h, f)
	switch f.Stage {
	case hatchkeys.Nymph, hatchkeys.NymphAshore:
		return append(out, TakeSunk, ShotFirst)
	case hatchkeys.Pupa:
		return append(out, TakeTight, ShotFirst)
	case hatchkeys.Emerger:
		return append(out, TakeQuiet, DragFirst)
	case hatchkeys.Shuck:
		return out // nobody fishes an empty skin
	case hatchkeys.Spent:
		return append(out, ClueAlone, TakeQuiet, DragFirst)
	}
	out = append(out, dropper(h))
	if f.Length.From >= bigMM || h.Group == hatchkeys.Terrestrial && f.Length.To >= bigMM {
		return append(out, TakeBold, DragFirst)
	}
	return append(out, TakeQuiet, DragFirst)
}

// dropper is what hangs beneath a dry fly: what the same insect is on its way
// up. Only flies with a pupa have one.
func dropper(h *hatchkeys.Hatch) Code {
	switch h.Group {
	case hatchkeys.Caddis, hatchkeys.Midge, hatchkeys.Cranefly:
		return CluePupa
	case hatchkeys.Mayfly:
		return ClueEmerge
	}
	return ClueNymph
}

// quiet tells whether a young insect lives where no current runs over stones:
// in still water, in silt, or by its shape among weed.
func quiet(h *hatchkeys.Hatch, f *hatchkeys.Form) bool {
	for _, code := range f.Tactics {
		switch code {
		case "burrower-rise", "slow-water-nymph", "slow-draw-nymph":
			return true
		}
	}
	of := h.Waters.Of
	if of["stillwater"] >= 0.7 && of["stillwater"] >= of["freestone"] {
		return true
	}
	return h.Group == hatchkeys.Damsel || h.Group == hatchkeys.Dragonfly
}

func present(h *hatchkeys.Hatch, f *hatchkeys.Form) []Code {
	land := h.Group == hatchkeys.Terrestrial
	switch f.Stage {
	case hatchkeys.NymphAshore:
		if quiet(h, f) {
			return []Code{DrawSlow}
		}
		return []Code{EdgeCrawl}
	case hatchkeys.Nymph:
		switch {
		case land:
			return []Code{PlopBank}
		case h.Group == hatchkeys.Damsel || h.Group == hatchkeys.Dragonfly:
			return []Code{DrawSlow}
		case quiet(h, f):
			return []Code{DriftSlow, LiftRise}
		}
		return []Code{DriftDeep}
	case hatchkeys.Pupa:
		if h.Group == hatchkeys.Midge || quiet(h, f) {
			return []Code{HangFilm, LiftRise}
		}
		return []Code{LiftRise, SwingDown}
	case hatchkeys.Emerger:
		return []Code{HangFilm}
	case hatchkeys.Spent:
		return []Code{FlushDry}
	case hatchkeys.Shuck:
		return nil
	case hatchkeys.EggLayer:
		if h.Group == hatchkeys.Caddis || h.Group == hatchkeys.Stonefly {
			return []Code{DriftDry, SkateDry}
		}
		return []Code{DriftDry}
	}
	switch {
	case land:
		return []Code{PlopBank, DriftDry}
	case h.Group == hatchkeys.Stonefly, h.Group == hatchkeys.Damsel, h.Group == hatchkeys.Dragonfly:
		return []Code{TwitchDry}
	case h.Group == hatchkeys.Caddis:
		return []Code{DriftDry, TwitchDry}
	case f.Length.To <= 5:
		return []Code{FlushDry}
	}
	return []Code{DriftDry}
}

// Tippet is the X number of a tippet for a fly on a hook, from and to: the
// usual rule is the hook size divided by four to by three, for fine water the
// finer. 0 and 0 for no hook.
func Tippet(hook int) (from, to int) {
	if hook <= 0 {
		return 0, 0
	}
	from = int(math.Round(float64(hook) / 4))
	to = int(math.Round(float64(hook) / 3))
	return min(from, 8), min(max(to, from), 8)
}
