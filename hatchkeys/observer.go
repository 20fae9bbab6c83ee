package hatchkeys

import "math"

// The error model of a human observer. None of these numbers was measured;
// they are assumed, and written down so that they can be argued with. What
// they must do is tested: no answer may rule a hatch in or out by itself.
const (
	// LengthError is the spread of judged body length, as a share of the true
	// one: people misjudge size by about 15 to 20 %.
	LengthError = 0.16
	// lengthSlip is the chance that a length is of something else (tails or
	// wings counted in, another insect).
	lengthSlip = 0.02
	// ColourError is the spread of a named colour about the true one, in CIEDE2000
	// units: poor light, wet or fresh-hatched insects, a screen in the sun.
	ColourError = 11.0
	// colourSlip is the chance that the colour tells nothing.
	colourSlip = 0.12
	// hourSlip is the chance that a form is met outside its hours.
	hourSlip = 0.10
	// seasonSD is the shoulder of a season in days: rivers, heights and years
	// differ by some weeks.
	seasonSD = 18.0
	// seasonFloor is the chance, relative to full season, that a hatch is met
	// far out of its season.
	seasonFloor = 0.002
	// waterFloor is the least weight of a kind of water.
	waterFloor = 0.03
	// tempSD is how far outside its usual range, in degrees, a hatch fades.
	tempSD    = 3.0
	tempFloor = 0.08
)

// slip is the chance of an answer picked at random, by trait.
var slip = [traitCount]float64{
	Trend: 0.10, Shucks: 0.06, Wings: 0.04, Tails: 0.04, Doing: 0.10,
	Where: 0.10, Gills: 0.08, Fish: 0.15, Wind: 0.20, Water: 0.05, Looks: 0.05,
	Clarity: 0.10, Light: 0.10, LengthTo: 0.10,
}

// confusion is the chance that an observer gives answer for truth, on top of
// slip. Assumed; the reasons stand beside the rows.
var confusion = []struct {
	trait         Trait
	truth, answer string
	p             float64
}{
	{Trend, "dropping", "falling", 0.25}, // how fast is fast
	{Trend, "falling", "dropping", 0.12},
	{Trend, "falling", "steady", 0.15},
	{Trend, "steady", "falling", 0.05},
	{Trend, "steady", "rising", 0.03},
	{Trend, "rising", "steady", 0.12},
	{Shucks, "damp-stones", "none", 0.15}, // nobody turned a stone
	{Shucks, "dry-rocks", "none", 0.12},
	{Shucks, "film", "none", 0.35},
	{Shucks, "damp-stones", "dry-rocks", 0.08}, // stones dry within the hour
	{Shucks, "dry-rocks", "damp-stones", 0.06},
	{Wings, "flat", "roof", 0.06},
	{Wings, "roof", "flat", 0.06},
	{Wings, "short", "none", 0.06},
	{Wings, "short", "flat", 0.03},
	{Wings, "flat", "short", 0.01},
	{Wings, "none", "short", 0.04}, // dark wing pads of a ripe nymph
	{Wings, "clear-pair", "upright", 0.10},
	{Wings, "upright", "clear-pair", 0.03},
	{Wings, "upright", "roof", 0.03},
	{Wings, "spread", "clear-pair", 0.10},
	{Wings, "spread", "flat", 0.05},
	{Tails, "3", "2", 0.12}, // tails break off
	{Tails, "2", "3", 0.04},
	{Tails, "2", "0", 0.06},
	{Tails, "3", "0", 0.04},
	{Tails, "0", "2", 0.03}, // antennae taken for tails
	{Gills, "yes", "no", 0.15},
	{Doing, "dipping-eggs", "fluttering", 0.12},
	{Doing, "fluttering", "dipping-eggs", 0.05},
	{Doing, "crawling-ashore", "resting", 0.08},
	{Doing, "swimming-ashore", "skating", 0.08},
	{Doing, "resting", "blown-in", 0.03},
	{Looks, "stonefly", "caddis", 0.05}, // wings flat or like a roof
	{Looks, "caddis", "stonefly", 0.04},
	{Looks, "caddis", "other", 0.06}, // a moth
	{Looks, "mayfly", "damsel", 0.02},
	{Looks, "mayfly", "fly", 0.04}, // small ones
	{Looks, "fly", "mayfly", 0.05},
	{Looks, "fly", "other", 0.05},
	{Looks, "beetle", "other", 0.08},
	{Looks, "ant", "fly", 0.06}, // winged ones
	{Looks, "hopper", "other", 0.03},
	{Where, "riffle", "pocket", 0.06},
	{Where, "seam", "flat", 0.06},
	{Where, "edge", "bank-plants", 0.06},
}

// trendBase is how often each trend is met on a river with no regard to
// hatches, in the order of Trend.Values(). Assumed.
var trendBase = [maxValues]float64{0.08, 0.22, 0.55, 0.15}

// waterBase is how often each kind of water is fished, in the order of
// Water.Values(). Assumed.
var waterBase = [maxValues]float64{0.45, 0.27, 0.15, 0.13}

// BodyShare is the length of the body as a share of the length to the wing
// tips, where folded wings reach beyond it. Assumed, from memory: sedges and
// alder flies about three quarters, stoneflies four fifths.
func BodyShare(h *Hatch, f *Form) float64 {
	switch f.Stage {
	case Adult, EggLayer:
	default:
		return 1
	}
	switch h.Group {
	case Caddis, Alderfly:
		return 0.75
	case Stonefly:
		if w := f.Wings; w != nil && w.Of["short"] > w.Of["flat"] {
			return 1
		}
		return 0.8
	}
	return 1
}

// observe turns the true distribution of a trait into that of the answers.
func observe(t Trait, truth [maxValues]float64) (answer [maxValues]float64) {
	k := len(t.Values())
	stay := truth
	for _, c := range confusion {
		if c.trait == t {
			from, to := t.Index(c.truth), t.Index(c.answer)
			move := truth[from] * c.p
			stay[from] -= move
			answer[to] += move
		}
	}
	for i := range k {
		answer[i] = (1-slip[t])*(answer[i]+stay[i]) + slip[t]/float64(k)
	}
	return answer
}

// normal is the density of a normal distribution.
func normal(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	return math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi))
}

// anyLength is the density, over ln mm, of the length of an insect about
// which nothing is known: most are from 5 to 25 mm.
func anyLength(lnMM float64) float64 { return normal(lnMM, math.Log(11), 0.75) }
