package flybox

// Which styles stand for which insect. Common practice, no source: the
// numbers say how readily an angler would tie the style on, 1 being the first
// choice. What is not listed counts as shapeElse.

const shapeElse = 0.08

type styleScores map[Style]float64

// shapeKey is a group and stage of the key. Wings is set only where stubs
// make it another insect to imitate.
type shapeKey struct {
	group, stage string
	wings        Posture
}

var shapes = func() map[shapeKey]styleScores {
	m := map[shapeKey]styleScores{}
	set := func(scores styleScores, group string, stages ...string) {
		for _, stage := range stages {
			m[shapeKey{group, stage, ""}] = scores
		}
	}

	set(styleScores{StoneflyNymph: 1, MayflyNymph: 0.5, CaddisLarva: 0.25, DamselNymph: 0.2, Streamer: 0.2},
		"stonefly", "nymph-ashore", "nymph", "emerger", "pupa")
	set(styleScores{StoneflyNymph: 0.9, ShortWingStone: 0.8, FoamStone: 0.7, HairWingStone: 0.6},
		"stonefly", "shuck")
	set(styleScores{FoamStone: 1, HairWingStone: 0.95, ShortWingStone: 0.8, SpentStone: 0.7, HairWingCaddis: 0.6, DownWingCaddis: 0.5, BushyDry: 0.5, Hopper: 0.5},
		"stonefly", "adult", "dun")
	set(styleScores{FoamStone: 1, HairWingStone: 0.95, SpentStone: 0.85, ShortWingStone: 0.6, HairWingCaddis: 0.6, DownWingCaddis: 0.5, BushyDry: 0.55, Hopper: 0.45},
		"stonefly", "egg-layer")
	set(styleScores{SpentStone: 1, FoamStone: 0.75, HairWingStone: 0.7, DownWingCaddis: 0.5, ShortWingStone: 0.5},
		"stonefly", "spent")
	for _, w := range []Posture{ShortWing, NoWing} {
		m[shapeKey{"stonefly", "adult", w}] = styleScores{ShortWingStone: 1, FoamStone: 0.85, HairWingStone: 0.7, StoneflyNymph: 0.5, Hopper: 0.4, DownWingCaddis: 0.3}
	}

	set(styleScores{MayflyNymph: 1, SoftHackle: 0.6, StoneflyNymph: 0.4, Emerger: 0.35, MidgePupa: 0.35, CaddisLarva: 0.3, Scud: 0.25},
		"mayfly", "nymph", "nymph-ashore", "pupa")
	set(styleScores{Emerger: 1, TrappedEmerger: 1, SoftHackle: 0.8, HairFanDun: 0.7, ParachuteDun: 0.65, UprightDun: 0.45, MayflyNymph: 0.45},
		"mayfly", "emerger", "shuck")
	set(styleScores{ParachuteDun: 1, UprightDun: 1, HairFanDun: 1, TrappedEmerger: 0.7, Emerger: 0.65, BushyDry: 0.6, SpentSpinner: 0.35},
		"mayfly", "dun")
	set(styleScores{SpentSpinner: 0.9, UprightDun: 0.8, ParachuteDun: 0.7, HairFanDun: 0.5, BushyDry: 0.4},
		"mayfly", "adult", "egg-layer")
	set(styleScores{SpentSpinner: 1, ParachuteDun: 0.5, HairFanDun: 0.45, SoftHackle: 0.35, UprightDun: 0.35},
		"mayfly", "spent")

	set(styleScores{CaddisLarva: 1, MayflyNymph: 0.5, Scud: 0.3, CaddisPupa: 0.5},
		"caddis", "nymph", "nymph-ashore")
	set(styleScores{CaddisPupa: 1, SoftHackle: 0.9, Emerger: 0.5, MayflyNymph: 0.4},
		"caddis", "pupa")
	set(styleScores{CaddisPupa: 0.85, Emerger: 0.8, TrappedEmerger: 0.8, SoftHackle: 0.8, DownWingCaddis: 0.7, HairWingCaddis: 0.5},
		"caddis", "emerger", "shuck")
	set(styleScores{HairWingCaddis: 1, DownWingCaddis: 1, BushyDry: 0.5, HairWingStone: 0.45, ParachuteDun: 0.35},
		"caddis", "adult", "dun")
	set(styleScores{HairWingCaddis: 1, DownWingCaddis: 0.9, SoftHackle: 0.7, BushyDry: 0.5, HairWingStone: 0.4},
		"caddis", "egg-layer")
	set(styleScores{DownWingCaddis: 1, SpentSpinner: 0.6, HairWingCaddis: 0.6, SoftHackle: 0.4},
		"caddis", "spent")

	set(styleScores{MidgePupa: 0.8, MayflyNymph: 0.5, CaddisLarva: 0.4},
		"midge", "nymph", "nymph-ashore")
	set(styleScores{MidgePupa: 1, SoftHackle: 0.5, Emerger: 0.5, MayflyNymph: 0.4},
		"midge", "pupa")
	set(styleScores{MidgePupa: 0.85, Emerger: 0.85, TrappedEmerger: 0.85, ParachuteDun: 0.5, SoftHackle: 0.5},
		"midge", "emerger", "shuck")
	set(styleScores{MidgeAdult: 1, ParachuteDun: 0.6, UprightDun: 0.5, SpentSpinner: 0.45, BushyDry: 0.4},
		"midge", "adult", "dun", "egg-layer")
	set(styleScores{MidgeAdult: 0.85, SpentSpinner: 0.75, ParachuteDun: 0.4},
		"midge", "spent")

	set(styleScores{CaddisLarva: 0.6, StoneflyNymph: 0.3, Streamer: 0.3},
		"cranefly", "nymph", "nymph-ashore")
	set(styleScores{SoftHackle: 0.7, Emerger: 0.6, CaddisPupa: 0.5, CaddisLarva: 0.4},
		"cranefly", "pupa", "emerger", "shuck")
	set(styleScores{CraneflyDry: 1, SpentStone: 0.5, SpentSpinner: 0.45, BushyDry: 0.4, Hopper: 0.3},
		"cranefly", "adult", "dun", "egg-layer", "spent")
	set(styleScores{DamselNymph: 1, MayflyNymph: 0.5, StoneflyNymph: 0.4, Streamer: 0.4},
		"damsel", "nymph", "nymph-ashore", "pupa", "emerger", "shuck")
	set(styleScores{DamselAdult: 1, CraneflyDry: 0.4, SpentStone: 0.3},
		"damsel", "adult", "dun", "egg-layer", "spent")
	set(styleScores{Streamer: 0.6, StoneflyNymph: 0.6, DamselNymph: 0.5},
		"dragonfly", "nymph", "nymph-ashore", "pupa", "emerger", "shuck")
	set(styleScores{DamselAdult: 0.6, FoamStone: 0.4, Hopper: 0.4},
		"dragonfly", "adult", "dun", "egg-layer", "spent")
	set(styleScores{MayflyNymph: 0.6, StoneflyNymph: 0.5, CaddisLarva: 0.5, SoftHackle: 0.5},
		"alderfly", "nymph", "nymph-ashore", "pupa", "emerger", "shuck")
	set(styleScores{DownWingCaddis: 1, HairWingCaddis: 0.9, SoftHackle: 0.5, BushyDry: 0.4},
		"alderfly", "adult", "dun", "egg-layer", "spent")
	set(styleScores{Hopper: 0.7, Beetle: 0.7, Ant: 0.7, BushyDry: 0.5, FoamStone: 0.4, HairWingStone: 0.35, CraneflyDry: 0.3},
		"terrestrial", "adult", "dun", "egg-layer", "spent", "nymph", "nymph-ashore", "pupa", "emerger", "shuck")
	return m
}()

// scores of the styles for a quarry, and false where nothing is known of such
// an insect's shape.
func (q Quarry) scores() (styleScores, bool) {
	if s, ok := shapes[shapeKey{q.Group, q.Stage, q.Wings}]; ok {
		return s, true
	}
	s, ok := shapes[shapeKey{q.Group, q.Stage, ""}]
	return s, ok
}

// shapeScore is how well a style stands for the quarry, 0 to 1.
func (q Quarry) shapeScore(s styleScores, style Style) float64 {
	score := s[style]
	if q.Like != "" {
		// Tied as one style: what is good in general is second choice.
		score *= 0.6
		if style == q.Like {
			score = 1
		}
	}
	return max(score, shapeElse)
}

// floatScore is how well a fly that floats as the row says does for an insect
// that floats as the column says, in the order of Floats. Common practice, no
// source.
var floatScore = [4][4]float64{
	{1, 0.7, 0.25, 0.08},
	{0.8, 1, 0.5, 0.15},
	{0.25, 0.55, 1, 0.6},
	{0.08, 0.15, 0.6, 1},
}

// wingScore is how well a fly with the wings of the row does for an insect
// with the wings of the column, in the order of Postures. Common practice, no
// source.
var wingScore = [7][7]float64{
	//        upright flat  roof  short none  pair  spread
	0: {1, 0.35, 0.5, 0.4, 0.35, 0.6, 0.4},   // upright
	1: {0.4, 1, 0.75, 0.55, 0.4, 0.75, 0.5},  // flat
	2: {0.5, 0.7, 1, 0.5, 0.4, 0.75, 0.45},   // roof
	3: {0.5, 0.6, 0.5, 1, 0.85, 0.65, 0.5},   // short
	4: {0.45, 0.5, 0.5, 0.85, 1, 0.65, 0.55}, // none
	5: {0.5, 0.7, 0.7, 0.5, 0.5, 1, 0.85},    // clear pair
	6: {0.6, 0.6, 0.45, 0.5, 0.5, 0.8, 1},    // spread
}

// waters are the kinds of water of the key, in the order of waterScore.
var waters = []string{"freestone", "tailwater", "spring-creek", "stillwater"}

// waterScore is how a style does on a kind of water: what stands high shows
// in broken water and gives itself away on a flat. Styles not listed do alike
// everywhere. Common practice, no source.
var waterScore = map[Style][4]float64{
	BushyDry:       {1, 0.7, 0.4, 0.5},
	HairWingStone:  {1, 0.9, 0.6, 0.5},
	FoamStone:      {1, 1, 0.8, 0.7},
	HairWingCaddis: {1, 0.9, 0.7, 0.8},
	UprightDun:     {0.9, 1, 0.9, 0.9},
	ParachuteDun:   {1, 1, 0.9, 0.9},
	HairFanDun:     {0.8, 1, 1, 1},
	DownWingCaddis: {0.8, 1, 1, 1},
}

// usualFloat is how an insect of a stage lies in the water unless the quarry
// says otherwise.
func usualFloat(group, stage string) Float {
	switch stage {
	case "nymph", "nymph-ashore":
		return Deep
	case "pupa":
		return Under
	case "emerger", "shuck", "spent":
		return Film
	case "dun", "adult", "egg-layer":
		if group == "terrestrial" {
			return Film
		}
		return High
	}
	return ""
}

// usualWings are an insect's wings unless the quarry says otherwise.
func usualWings(group, stage string) Posture {
	switch stage {
	case "nymph", "nymph-ashore", "pupa":
		return NoWing
	case "emerger":
		return ShortWing
	case "dun":
		return Upright
	case "adult", "egg-layer":
		switch group {
		case "stonefly":
			return Flat
		case "caddis", "alderfly":
			return Roof
		case "midge", "cranefly", "damsel", "dragonfly":
			return ClearPair
		}
	case "spent":
		switch group {
		case "mayfly", "stonefly", "midge", "cranefly":
			return Spread
		}
	}
	return ""
}
