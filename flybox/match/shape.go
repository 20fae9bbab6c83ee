package match

import (
	"dampstone/flybox"
	"dampstone/hatchkeys"
)

// Which styles stand for which insect. Common practice, no source: the
// numbers say how readily an angler would tie the style on, 1 being the first
// choice. What is not listed counts as shapeElse.

const shapeElse = 0.08

type styleScores map[flybox.Style]float64

// shapeKey is a group and stage of the key. Wings is set only where stubs
// make it another insect to imitate.
type shapeKey struct {
	group hatchkeys.Group
	stage hatchkeys.Stage
	wings flybox.Posture
}

var shapes = func() map[shapeKey]styleScores {
	m := map[shapeKey]styleScores{}
	set := func(scores styleScores, group hatchkeys.Group, stages ...hatchkeys.Stage) {
		for _, stage := range stages {
			m[shapeKey{group, stage, ""}] = scores
		}
	}

	set(styleScores{flybox.StoneflyNymph: 1, flybox.MayflyNymph: 0.5, flybox.CaddisLarva: 0.25, flybox.DamselNymph: 0.2, flybox.Streamer: 0.2},
		hatchkeys.Stonefly, hatchkeys.NymphAshore, hatchkeys.Nymph, hatchkeys.Emerger, hatchkeys.Pupa)
	set(styleScores{flybox.StoneflyNymph: 0.9, flybox.ShortWingStone: 0.8, flybox.FoamStone: 0.7, flybox.HairWingStone: 0.6},
		hatchkeys.Stonefly, hatchkeys.Shuck)
	set(styleScores{flybox.FoamStone: 1, flybox.HairWingStone: 0.95, flybox.ShortWingStone: 0.8, flybox.SpentStone: 0.7, flybox.HairWingCaddis: 0.6, flybox.DownWingCaddis: 0.5, flybox.BushyDry: 0.5, flybox.Hopper: 0.5},
		hatchkeys.Stonefly, hatchkeys.Adult, hatchkeys.Dun)
	set(styleScores{flybox.FoamStone: 1, flybox.HairWingStone: 0.95, flybox.SpentStone: 0.85, flybox.ShortWingStone: 0.6, flybox.HairWingCaddis: 0.6, flybox.DownWingCaddis: 0.5, flybox.BushyDry: 0.55, flybox.Hopper: 0.45},
		hatchkeys.Stonefly, hatchkeys.EggLayer)
	set(styleScores{flybox.SpentStone: 1, flybox.FoamStone: 0.75, flybox.HairWingStone: 0.7, flybox.DownWingCaddis: 0.5, flybox.ShortWingStone: 0.5},
		hatchkeys.Stonefly, hatchkeys.Spent)
	for _, w := range []flybox.Posture{flybox.ShortWing, flybox.NoWing} {
		m[shapeKey{hatchkeys.Stonefly, hatchkeys.Adult, w}] = styleScores{flybox.ShortWingStone: 1, flybox.FoamStone: 0.85, flybox.HairWingStone: 0.7, flybox.StoneflyNymph: 0.5, flybox.Hopper: 0.4, flybox.DownWingCaddis: 0.3}
	}

	set(styleScores{flybox.MayflyNymph: 1, flybox.SoftHackle: 0.6, flybox.StoneflyNymph: 0.4, flybox.Emerger: 0.35, flybox.MidgePupa: 0.35, flybox.CaddisLarva: 0.3, flybox.Scud: 0.25},
		hatchkeys.Mayfly, hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa)
	set(styleScores{flybox.Emerger: 1, flybox.TrappedEmerger: 1, flybox.SoftHackle: 0.8, flybox.HairFanDun: 0.7, flybox.ParachuteDun: 0.65, flybox.UprightDun: 0.45, flybox.MayflyNymph: 0.45},
		hatchkeys.Mayfly, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.ParachuteDun: 1, flybox.UprightDun: 1, flybox.HairFanDun: 1, flybox.LongDrake: 0.95, flybox.TrappedEmerger: 0.7, flybox.Emerger: 0.65, flybox.BushyDry: 0.6, flybox.SpentSpinner: 0.35},
		hatchkeys.Mayfly, hatchkeys.Dun)
	set(styleScores{flybox.SpentSpinner: 0.9, flybox.UprightDun: 0.8, flybox.ParachuteDun: 0.7, flybox.HairFanDun: 0.5, flybox.BushyDry: 0.4},
		hatchkeys.Mayfly, hatchkeys.Adult, hatchkeys.EggLayer)
	set(styleScores{flybox.SpentSpinner: 1, flybox.ParachuteDun: 0.5, flybox.HairFanDun: 0.45, flybox.SoftHackle: 0.35, flybox.UprightDun: 0.35},
		hatchkeys.Mayfly, hatchkeys.Spent)

	set(styleScores{flybox.CaddisLarva: 1, flybox.MayflyNymph: 0.5, flybox.Scud: 0.3, flybox.CaddisPupa: 0.5},
		hatchkeys.Caddis, hatchkeys.Nymph, hatchkeys.NymphAshore)
	set(styleScores{flybox.CaddisPupa: 1, flybox.SoftHackle: 0.9, flybox.Emerger: 0.5, flybox.MayflyNymph: 0.4},
		hatchkeys.Caddis, hatchkeys.Pupa)
	set(styleScores{flybox.CaddisPupa: 0.85, flybox.Emerger: 0.8, flybox.TrappedEmerger: 0.8, flybox.SoftHackle: 0.8, flybox.DownWingCaddis: 0.7, flybox.HairWingCaddis: 0.5},
		hatchkeys.Caddis, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.HairWingCaddis: 1, flybox.DownWingCaddis: 1, flybox.BushyDry: 0.5, flybox.HairWingStone: 0.45, flybox.ParachuteDun: 0.35},
		hatchkeys.Caddis, hatchkeys.Adult, hatchkeys.Dun)
	set(styleScores{flybox.HairWingCaddis: 1, flybox.DownWingCaddis: 0.9, flybox.SoftHackle: 0.7, flybox.BushyDry: 0.5, flybox.HairWingStone: 0.4},
		hatchkeys.Caddis, hatchkeys.EggLayer)
	set(styleScores{flybox.DownWingCaddis: 1, flybox.SpentSpinner: 0.6, flybox.HairWingCaddis: 0.6, flybox.SoftHackle: 0.4},
		hatchkeys.Caddis, hatchkeys.Spent)

	set(styleScores{flybox.MidgePupa: 0.8, flybox.MayflyNymph: 0.5, flybox.CaddisLarva: 0.4},
		hatchkeys.Midge, hatchkeys.Nymph, hatchkeys.NymphAshore)
	set(styleScores{flybox.MidgePupa: 1, flybox.SoftHackle: 0.5, flybox.Emerger: 0.5, flybox.MayflyNymph: 0.4},
		hatchkeys.Midge, hatchkeys.Pupa)
	set(styleScores{flybox.MidgePupa: 0.85, flybox.Emerger: 0.85, flybox.TrappedEmerger: 0.85, flybox.ParachuteDun: 0.5, flybox.SoftHackle: 0.5},
		hatchkeys.Midge, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.MidgeAdult: 1, flybox.ParachuteDun: 0.6, flybox.UprightDun: 0.5, flybox.SpentSpinner: 0.45, flybox.BushyDry: 0.4},
		hatchkeys.Midge, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer)
	set(styleScores{flybox.MidgeAdult: 0.85, flybox.SpentSpinner: 0.75, flybox.ParachuteDun: 0.4},
		hatchkeys.Midge, hatchkeys.Spent)

	set(styleScores{flybox.CaddisLarva: 0.6, flybox.StoneflyNymph: 0.3, flybox.Streamer: 0.3},
		hatchkeys.Cranefly, hatchkeys.Nymph, hatchkeys.NymphAshore)
	set(styleScores{flybox.SoftHackle: 0.7, flybox.Emerger: 0.6, flybox.CaddisPupa: 0.5, flybox.CaddisLarva: 0.4},
		hatchkeys.Cranefly, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.CraneflyDry: 1, flybox.SpentStone: 0.5, flybox.SpentSpinner: 0.45, flybox.BushyDry: 0.4, flybox.Hopper: 0.3},
		hatchkeys.Cranefly, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent)
	set(styleScores{flybox.DamselNymph: 1, flybox.MayflyNymph: 0.5, flybox.StoneflyNymph: 0.4, flybox.Streamer: 0.4},
		hatchkeys.Damsel, hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.DamselAdult: 1, flybox.CraneflyDry: 0.4, flybox.SpentStone: 0.3},
		hatchkeys.Damsel, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent)
	set(styleScores{flybox.Streamer: 0.6, flybox.StoneflyNymph: 0.6, flybox.DamselNymph: 0.5},
		hatchkeys.Dragonfly, hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.DamselAdult: 0.6, flybox.FoamStone: 0.4, flybox.Hopper: 0.4},
		hatchkeys.Dragonfly, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent)
	set(styleScores{flybox.MayflyNymph: 0.6, flybox.StoneflyNymph: 0.5, flybox.CaddisLarva: 0.5, flybox.SoftHackle: 0.5},
		hatchkeys.Alderfly, hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck)
	set(styleScores{flybox.DownWingCaddis: 1, flybox.HairWingCaddis: 0.9, flybox.SoftHackle: 0.5, flybox.BushyDry: 0.4},
		hatchkeys.Alderfly, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent)
	set(styleScores{flybox.Hopper: 0.6, flybox.Beetle: 0.6, flybox.Ant: 0.6, flybox.StoutFly: 0.6, flybox.BushyDry: 0.5, flybox.FoamStone: 0.4, flybox.HairWingStone: 0.35, flybox.CraneflyDry: 0.3},
		hatchkeys.Terrestrial, hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent)
	set(styleScores{flybox.Grub: 0.9, flybox.Worm: 0.4, flybox.CaddisLarva: 0.5},
		hatchkeys.Terrestrial, hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck)
	return m
}()

// likes are the same for what looks like something that its group and stage do
// not tell, by the key's code: what is in the air or on the water, and what is
// not grown.
var likes = map[string]struct{ grown, young styleScores }{
	"hopper": {grown: styleScores{flybox.Hopper: 1, flybox.FoamStone: 0.55, flybox.HairWingStone: 0.4, flybox.BushyDry: 0.4, flybox.Beetle: 0.2}},
	"ant":    {grown: styleScores{flybox.Ant: 1, flybox.Beetle: 0.4, flybox.StoutFly: 0.35, flybox.BushyDry: 0.3, flybox.MidgeAdult: 0.3}},
	"beetle": {grown: styleScores{flybox.Beetle: 1, flybox.StoutFly: 0.45, flybox.ClearWingBug: 0.45, flybox.Ant: 0.4, flybox.BushyDry: 0.35},
		young: styleScores{flybox.Grub: 1, flybox.CaddisLarva: 0.5}},
	"cicada":      {grown: styleScores{flybox.ClearWingBug: 1, flybox.Hopper: 0.55, flybox.Beetle: 0.5, flybox.FoamStone: 0.55, flybox.BushyDry: 0.35}},
	"bug":         {grown: styleScores{flybox.ClearWingBug: 1, flybox.Beetle: 0.3, flybox.DownWingCaddis: 0.3, flybox.StoutFly: 0.3, flybox.Ant: 0.2}},
	"fly":         {grown: styleScores{flybox.StoutFly: 1, flybox.BushyDry: 0.6, flybox.MidgeAdult: 0.5, flybox.Ant: 0.45, flybox.UprightDun: 0.4, flybox.ParachuteDun: 0.4, flybox.Beetle: 0.3}},
	"moth":        {grown: styleScores{flybox.Moth: 1, flybox.HairWingCaddis: 0.75, flybox.DownWingCaddis: 0.65, flybox.BushyDry: 0.4}, young: styleScores{flybox.Grub: 1, flybox.Worm: 0.4}},
	"caterpillar": {grown: styleScores{flybox.StoutFly: 0.8, flybox.BushyDry: 0.5, flybox.DownWingCaddis: 0.5}, young: styleScores{flybox.Grub: 1, flybox.Worm: 0.45, flybox.CaddisLarva: 0.5}},
	"dobsonfly": {grown: styleScores{flybox.SpentStone: 0.7, flybox.FoamStone: 0.7, flybox.HairWingStone: 0.7},
		young: styleScores{flybox.StoneflyNymph: 1, flybox.Leech: 0.8, flybox.Streamer: 0.5, flybox.DamselNymph: 0.4}},
	"blackfly": {grown: styleScores{flybox.MidgeAdult: 1, flybox.StoutFly: 0.9, flybox.Ant: 0.5, flybox.ParachuteDun: 0.45},
		young: styleScores{flybox.MidgePupa: 1, flybox.SoftHackle: 0.6, flybox.CaddisLarva: 0.4}},
	"boatman":  {grown: styleScores{flybox.WaterBoatman: 1, flybox.Beetle: 0.3}, young: styleScores{flybox.WaterBoatman: 1}},
	"scud":     {grown: styleScores{flybox.Scud: 1, flybox.MayflyNymph: 0.4, flybox.CaddisLarva: 0.4}, young: styleScores{flybox.Scud: 1, flybox.MayflyNymph: 0.4, flybox.CaddisLarva: 0.4}},
	"crayfish": {grown: styleScores{flybox.Crayfish: 1, flybox.Streamer: 0.6, flybox.Leech: 0.5}, young: styleScores{flybox.Crayfish: 1, flybox.Streamer: 0.6, flybox.Leech: 0.5}},
}

// scores of the styles for a quarry, and false where nothing is known of such
// an insect's shape.
func (q Quarry) scores() (styleScores, bool) {
	if like, ok := likes[q.Like]; ok {
		switch q.Stage {
		case hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa, hatchkeys.Shuck, hatchkeys.Emerger:
			return like.young, like.young != nil
		}
		return like.grown, true
	}
	if s, ok := shapes[shapeKey{q.Group, q.Stage, q.Wings}]; ok {
		return s, true
	}
	s, ok := shapes[shapeKey{q.Group, q.Stage, ""}]
	return s, ok
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
var waters = hatchkeys.Water.Values()

// waterScore is how a style does on a kind of water: what stands high shows
// in broken water and gives itself away on a flat. Styles not listed do alike
// everywhere. Common practice, no source.
var waterScore = map[flybox.Style][4]float64{
	flybox.BushyDry:       {1, 0.7, 0.4, 0.5},
	flybox.HairWingStone:  {1, 0.9, 0.6, 0.5},
	flybox.FoamStone:      {1, 1, 0.8, 0.7},
	flybox.HairWingCaddis: {1, 0.9, 0.7, 0.8},
	flybox.UprightDun:     {0.9, 1, 0.9, 0.9},
	flybox.ParachuteDun:   {1, 1, 0.9, 0.9},
	flybox.HairFanDun:     {0.8, 1, 1, 1},
	flybox.DownWingCaddis: {0.8, 1, 1, 1},
	flybox.Hopper:         {1, 1, 0.85, 0.7},
	flybox.Mouse:          {1, 0.9, 0.8, 0.6},
}

// usualFloat is how an insect of a stage lies in the water unless the quarry
// says otherwise.
func usualFloat(group hatchkeys.Group, stage hatchkeys.Stage) flybox.Float {
	switch stage {
	case hatchkeys.Nymph, hatchkeys.NymphAshore:
		if group == hatchkeys.Terrestrial {
			return flybox.Film // it falls in, and drifts where it fell
		}
		return flybox.Deep
	case hatchkeys.Pupa:
		return flybox.Under
	case hatchkeys.Emerger, hatchkeys.Shuck, hatchkeys.Spent:
		return flybox.Film
	case hatchkeys.Dun, hatchkeys.Adult, hatchkeys.EggLayer:
		if group == hatchkeys.Terrestrial {
			return flybox.Film
		}
		return flybox.High
	}
	return ""
}

// usualWings are an insect's wings unless the quarry says otherwise.
func usualWings(group hatchkeys.Group, stage hatchkeys.Stage) flybox.Posture {
	switch stage {
	case hatchkeys.Nymph, hatchkeys.NymphAshore, hatchkeys.Pupa:
		return flybox.NoWing
	case hatchkeys.Emerger:
		return flybox.ShortWing
	case hatchkeys.Dun:
		return flybox.Upright
	case hatchkeys.Adult, hatchkeys.EggLayer:
		switch group {
		case hatchkeys.Stonefly:
			return flybox.Flat
		case hatchkeys.Caddis, hatchkeys.Alderfly:
			return flybox.Roof
		case hatchkeys.Midge, hatchkeys.Cranefly, hatchkeys.Damsel, hatchkeys.Dragonfly:
			return flybox.ClearPair
		}
	case hatchkeys.Spent:
		switch group {
		case hatchkeys.Mayfly, hatchkeys.Stonefly, hatchkeys.Midge, hatchkeys.Cranefly:
			return flybox.Spread
		}
	}
	return ""
}
