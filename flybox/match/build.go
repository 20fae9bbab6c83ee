package match

import "dampstone/flybox"

// build is what a style is like unless a pattern says otherwise: common
// practice, no source.
type build struct {
	floats flybox.Float
	wings  flybox.Posture
	// over is overall length as a multiple of the shank, where the body runs
	// on past the bend.
	over float64
	// trims tells whether scissors can shorten it: foam, hair or a tail of
	// fibres runs on past the bend.
	trims bool
	// xl is the long shank that is usual for the style, in single sizes.
	xl int
}

var builds = map[flybox.Style]build{
	flybox.FoamStone:      {flybox.High, flybox.Flat, 1.2, true, 2},
	flybox.ShortWingStone: {flybox.High, flybox.ShortWing, 1.15, true, 2},
	flybox.HairWingStone:  {flybox.High, flybox.Flat, 1.1, true, 2},
	flybox.SpentStone:     {flybox.Film, flybox.Spread, 1.15, true, 2},
	flybox.StoneflyNymph:  {flybox.Deep, flybox.NoWing, 1, false, 2},
	flybox.ParachuteDun:   {flybox.Film, flybox.Upright, 1, false, 0},
	flybox.UprightDun:     {flybox.High, flybox.Upright, 1, false, 0},
	flybox.HairFanDun:     {flybox.Film, flybox.Upright, 1, false, 0},
	flybox.Emerger:        {flybox.Film, flybox.ShortWing, 1, false, 0},
	flybox.TrappedEmerger: {flybox.Film, flybox.ShortWing, 1.1, true, 0},
	flybox.SoftHackle:     {flybox.Under, flybox.NoWing, 1, false, 0},
	flybox.SpentSpinner:   {flybox.Film, flybox.Spread, 1, false, 0},
	flybox.MayflyNymph:    {flybox.Deep, flybox.NoWing, 1, false, 1},
	flybox.HairWingCaddis: {flybox.High, flybox.Roof, 1, true, 0},
	flybox.DownWingCaddis: {flybox.Film, flybox.Roof, 1, true, 0},
	flybox.CaddisPupa:     {flybox.Under, flybox.NoWing, 1, false, 0},
	flybox.CaddisLarva:    {flybox.Deep, flybox.NoWing, 1, false, 0},
	flybox.MidgePupa:      {flybox.Under, flybox.NoWing, 1, false, 0},
	flybox.MidgeAdult:     {flybox.High, flybox.ClearPair, 1, false, 0},
	flybox.BushyDry:       {flybox.High, flybox.Upright, 1, false, 0},
	flybox.Hopper:         {flybox.High, flybox.Flat, 1.2, true, 2},
	flybox.Beetle:         {flybox.Film, flybox.NoWing, 1, true, 0},
	flybox.Ant:            {flybox.Film, flybox.NoWing, 1, false, 0},
	flybox.CraneflyDry:    {flybox.Film, flybox.ClearPair, 1.1, true, 1},
	flybox.DamselNymph:    {flybox.Under, flybox.NoWing, 1.4, true, 1},
	flybox.DamselAdult:    {flybox.High, flybox.ClearPair, 1.6, true, 0},
	flybox.Scud:           {flybox.Deep, flybox.NoWing, 1, false, 0},
	flybox.Streamer:       {flybox.Under, flybox.NoWing, 1.5, true, 3},
}

// floatsOf is how a fly floats: as the pattern says, or as its style does.
func floatsOf(b flybox.Pattern) flybox.Float {
	if b.Floats != "" {
		return b.Floats
	}
	return builds[b.Style].floats
}

// wingsOf is how a fly holds its wings, likewise.
func wingsOf(b flybox.Pattern) flybox.Posture {
	if b.Wings != "" {
		return b.Wings
	}
	return builds[b.Style].wings
}
