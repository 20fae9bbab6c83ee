package match

import (
	"math"

	"dampstone/flybox"
	"dampstone/hatchkeys/colour"
)

// Codes of a Change.
const (
	TrimLength  = "trim-length"  // MM to take off, LeftMM
	TrimTail    = "trim-tail"    // the same of a tail
	TrimWing    = "trim-wing"    // cut the wing to stubs
	TrimHackle  = "trim-hackle"  // cut the hackle flat beneath, so that it sits in the film
	DarkenBody  = "darken-body"  // Colour
	ColourUnder = "colour-under" // Colour
	Grease      = "grease"       // so that it stands higher on the surface
	Degrease    = "degrease"     // rub the floatant off, so that it sinks into the film
	AddShot     = "add-shot"     // weight on the leader, so that it gets to the bottom
	ClipAbove   = "clip-above"   // cut the hackle flat above and below: what is left lies spent
	BehindDry   = "behind-dry"   // hang it behind a floating fly, which keeps it beneath the surface
	SinkIt      = "sink"         // wet it and pinch on the smallest shot: it drifts beneath the surface
)

// Change is something that scissors or a pen can do to a fly at the water.
type Change struct {
	Code   string
	MM     float64 // to take off the length
	LeftMM float64 // of the length, once that is off
	Colour string  // to make it, #rrggbb
}

// What scissors and a pen can do. Judgement, no source.
const (
	maxTrim   = 0.20 // share of the length that can come off before the fly falls apart
	leastTrim = 0.05 // less than this share is not worth it
	penDeltaE = 6.0  // how near a pen gets to the colour wanted
	penWorth  = 10.0 // colours nearer than this are left alone
	penLeast  = 0.5  // what a colour has to count to be worth a pen
	worthIt   = 0.02 // a change that adds less to the score is not proposed
	alsoWorth = 0.04 // the same once the fly fits
)

// mend looks for the changes that make the fly fit, the most useful first,
// and for what else is clearly worth it while the scissors are out. ok is
// false if nothing makes it fit.
func (c *CompiledQuarry) mend(f CompiledFly) (changes []Change, after float64, ok bool) {
	if c.hopeless(&f) {
		return nil, 0, false
	}
	part := c.parts(&f)
	now := c.score(&part)
	least := worthIt
	if c.fits(now, &part) {
		ok, least = true, alsoWorth
	}
	for {
		best, bestScore, bestChange := f, now, Change{}
		for _, try := range []func(CompiledFly) (CompiledFly, Change, bool){c.trimLength, c.trimWing, c.trimHackle, c.clipAbove, c.hang, c.grease, c.sink, c.pen} {
			g, change, can := try(f)
			if !can {
				continue
			}
			p := c.parts(&g)
			if s := c.score(&p); s > bestScore+1e-12 {
				best, bestScore, bestChange = g, s, change
			}
		}
		if bestScore < now+least {
			if ok {
				return changes, now, true
			}
			return nil, 0, false
		}
		f, now = best, bestScore
		changes = append(changes, bestChange)
		part = c.parts(&f)
		if c.fits(now, &part) {
			ok, least = true, alsoWorth
		}
	}
}

// hopeless tells by a few comparisons that nothing makes the fly fit: of
// hundreds of flies few are near an insect, and colours cost most.
func (c *CompiledQuarry) hopeless(f *CompiledFly) bool {
	if c.counts[partShape] && (f.style < 0 || c.shape[f.style] < FitPart) {
		stubs := c.Quarry.Wings == flybox.ShortWing || c.Quarry.Wings == flybox.NoWing
		if !stubs || f.Fly.Style != flybox.FoamStone && f.Fly.Style != flybox.HairWingStone {
			if !c.clips(f) {
				return true // no scissors make another silhouette of it
			}
		}
	}
	if c.counts[partLength] && f.mm > 0 {
		if z := c.beyond(f.lnMM); z*z > farthestFit && (z < 0 || !builds[f.Fly.Style].trims) {
			return true // nothing makes it grow
		}
	}
	return c.counts[partFloats] && f.floats >= 0 && max(f.floats-c.floats, c.floats-f.floats) > 1
}

func (c *CompiledQuarry) trimLength(f CompiledFly) (CompiledFly, Change, bool) {
	want := c.Quarry.Length.To
	if !c.counts[partLength] || f.mm == 0 || !builds[f.Fly.Style].trims || f.mm <= want*(1+leastTrim) {
		return f, Change{}, false
	}
	full, _ := LengthMM(f.Fly.Pattern)
	least := full * (1 - maxTrim)
	if f.Fly.Hook != 0 {
		// What is on the hook stays.
		least = max(least, ShankMM(f.Fly.Hook, f.Fly.Shank))
	}
	to := max(want, least)
	if to > f.mm*(1-leastTrim) {
		return f, Change{}, false
	}
	// Half a millimetre is as fine as scissors go.
	to = math.Ceil(to*2) / 2
	off := f.mm - to
	if off < 0.5 {
		return f, Change{}, false
	}
	f.mm, f.lnMM = to, math.Log(to)
	code := TrimLength
	switch f.Fly.Style {
	case flybox.TrappedEmerger, flybox.DamselNymph, flybox.Worm, flybox.Leech, flybox.SmallFish, flybox.Streamer, flybox.Crayfish, flybox.Mouse:
		code = TrimTail
	}
	return f, Change{Code: code, MM: off, LeftMM: to}, true
}

// clips tells whether cutting its hackle makes a spent fly of an upright one.
func (c *CompiledQuarry) clips(f *CompiledFly) bool {
	return c.Quarry.Wings == flybox.Spread && f.Fly.Style == flybox.UprightDun && FloatsOf(f.Fly.Pattern) == flybox.High
}

func (c *CompiledQuarry) clipAbove(f CompiledFly) (CompiledFly, Change, bool) {
	const film, spread = 1, 6
	if !c.clips(&f) || f.style == spentStyle {
		return f, Change{}, false
	}
	f.style, f.wings, f.floats = spentStyle, spread, film
	return f, Change{Code: ClipAbove}, true
}

// hang keeps a fly that goes to the bottom beneath the surface.
func (c *CompiledQuarry) hang(f CompiledFly) (CompiledFly, Change, bool) {
	const under, deep = 2, 3
	if c.floats != under || f.floats != deep || f.sunk {
		return f, Change{}, false
	}
	f.floats, f.sunk = under, true
	return f, Change{Code: BehindDry}, true
}

func (c *CompiledQuarry) trimWing(f CompiledFly) (CompiledFly, Change, bool) {
	if w := c.Quarry.Wings; w != flybox.ShortWing && w != flybox.NoWing {
		return f, Change{}, false
	}
	switch wingsOf(f.Fly.Pattern) {
	case flybox.Flat, flybox.Roof, flybox.Upright:
	default:
		return f, Change{}, false
	}
	const short = 3
	if f.wings == short {
		return f, Change{}, false
	}
	f.wings = short
	// A foam stonefly with its wing cut off is one with short wings.
	if f.Fly.Style == flybox.FoamStone || f.Fly.Style == flybox.HairWingStone {
		f.style = shortWingStyle
	}
	return f, Change{Code: TrimWing}, true
}

func (c *CompiledQuarry) trimHackle(f CompiledFly) (CompiledFly, Change, bool) {
	const high, film = 0, 1
	if c.floats != film || f.floats != high {
		return f, Change{}, false
	}
	if !f.trims() {
		return f, Change{}, false
	}
	f.floats = film
	return f, Change{Code: TrimHackle}, true
}

// grease makes a fly that lies low stand higher.
func (c *CompiledQuarry) grease(f CompiledFly) (CompiledFly, Change, bool) {
	const high, film = 0, 1
	if c.floats != high || f.floats != film || builds[f.Fly.Style].floats != flybox.Film {
		return f, Change{}, false
	}
	f.floats = high
	return f, Change{Code: Grease}, true
}

// sink takes a fly one step down: without floatant into the film, with a
// little weight beneath it, with shot to the bottom. What is buoyant by its
// foam or hair stays up.
func (c *CompiledQuarry) sink(f CompiledFly) (CompiledFly, Change, bool) {
	const high, film, under, deep = 0, 1, 2, 3
	switch f.Fly.Style {
	case flybox.FoamStone, flybox.ShortWingStone, flybox.SpentStone, flybox.Hopper, flybox.Beetle, flybox.ClearWingBug, flybox.DamselAdult, flybox.Mouse, flybox.BushyDry:
		return f, Change{}, false
	}
	switch {
	case f.sunk:
		return f, Change{}, false
	case f.floats == high && c.floats == film && !f.trims():
		f.floats, f.sunk = film, true
		return f, Change{Code: Degrease}, true
	case f.floats == film && c.floats == under:
		f.floats, f.sunk = under, true
		return f, Change{Code: SinkIt}, true
	case f.floats == under && c.floats == deep:
		f.floats, f.sunk = deep, true
		return f, Change{Code: AddShot}, true
	}
	return f, Change{}, false
}

// trims tells whether its hackle can be cut flat instead, see trimHackle.
func (f *CompiledFly) trims() bool {
	switch f.Fly.Style {
	case flybox.UprightDun, flybox.BushyDry, flybox.HairWingCaddis, flybox.MidgeAdult, flybox.HairWingStone:
		return true
	}
	return false
}

// pen colours what a fish sees. A pen makes nothing paler.
func (c *CompiledQuarry) pen(f CompiledFly) (CompiledFly, Change, bool) {
	if !c.counts[partColour] || !f.hasSeen || f.penned || c.deltaE(&f) <= penWorth {
		return f, Change{}, false
	}
	to, distance := "", math.Inf(1)
	for _, want := range c.colours {
		if want.lab.L > f.seen.L || want.worth < penLeast {
			continue
		}
		if d := colour.DeltaE(f.seen, want.lab); d < distance {
			to, distance = want.hex, d
		}
	}
	if to == "" {
		return f, Change{}, false
	}
	f.penned = true
	code := DarkenBody
	if fl := FloatsOf(f.Fly.Pattern); fl == flybox.High || fl == flybox.Film {
		code = ColourUnder
	}
	return f, Change{Code: code, Colour: to}, true
}
