package match

import "dampstone/flybox"

// build is what a style is like unless a pattern says otherwise: common
// practice, no source.
type build struct {
	floats flybox.Float
	wings  flybox.Posture
	// over is the overall length without tails as a multiple of the shank: the
	// eye and the head reach beyond it in front, in many a style the body
	// behind, past the bend.
	over float64
	// trims tells whether scissors can shorten it: foam, hair or a tail of
	// fibres runs on past the bend.
	trims bool
	// xl is the long shank that is usual for the style, in single sizes.
	xl int
	// largest and smallest are the hooks on which the style is tied.
	largest, smallest int
}

var builds = map[flybox.Style]build{
	flybox.FoamStone:      {flybox.High, flybox.Flat, 1.2, true, 2, 2, 14},
	flybox.ShortWingStone: {flybox.High, flybox.ShortWing, 1.15, true, 2, 4, 12},
	flybox.HairWingStone:  {flybox.High, flybox.Flat, 1.2, true, 2, 2, 16},
	flybox.SpentStone:     {flybox.Film, flybox.Spread, 1.2, true, 2, 2, 14},
	flybox.StoneflyNymph:  {flybox.Deep, flybox.NoWing, 1.1, false, 2, 2, 18},
	flybox.ParachuteDun:   {flybox.Film, flybox.Upright, 1.1, false, 0, 8, 24},
	flybox.UprightDun:     {flybox.High, flybox.Upright, 1.1, false, 0, 8, 26},
	flybox.HairFanDun:     {flybox.Film, flybox.Upright, 1.1, false, 0, 10, 24},
	flybox.LongDrake:      {flybox.Film, flybox.Upright, 1.1, false, 2, 4, 12},
	flybox.Emerger:        {flybox.Film, flybox.ShortWing, 1.05, false, 0, 8, 26},
	flybox.TrappedEmerger: {flybox.Film, flybox.ShortWing, 1.1, true, 0, 8, 26},
	flybox.SoftHackle:     {flybox.Under, flybox.NoWing, 1, false, 0, 8, 20},
	flybox.SpentSpinner:   {flybox.Film, flybox.Spread, 1.1, false, 0, 8, 26},
	flybox.MayflyNymph:    {flybox.Deep, flybox.NoWing, 1.1, false, 1, 8, 24},
	flybox.HairWingCaddis: {flybox.High, flybox.Roof, 1, true, 0, 6, 22},
	flybox.DownWingCaddis: {flybox.Film, flybox.Roof, 1, true, 0, 8, 22},
	flybox.CaddisPupa:     {flybox.Under, flybox.NoWing, 1, false, 0, 6, 20},
	flybox.CaddisLarva:    {flybox.Deep, flybox.NoWing, 1, false, 0, 6, 20},
	flybox.MidgePupa:      {flybox.Under, flybox.NoWing, 1, false, 0, 8, 28},
	flybox.MidgeAdult:     {flybox.High, flybox.ClearPair, 1, false, 0, 12, 28},
	flybox.BushyDry:       {flybox.High, flybox.Upright, 1, false, 0, 6, 20},
	flybox.Hopper:         {flybox.High, flybox.Flat, 1.2, true, 2, 4, 14},
	flybox.Beetle:         {flybox.Film, flybox.NoWing, 1, true, 0, 6, 20},
	flybox.Ant:            {flybox.Film, flybox.NoWing, 1, false, 0, 8, 24},
	flybox.StoutFly:       {flybox.High, flybox.Flat, 1, false, 0, 8, 22},
	flybox.ClearWingBug:   {flybox.High, flybox.Roof, 1.05, true, 0, 4, 18},
	flybox.Moth:           {flybox.High, flybox.Roof, 1.05, true, 0, 8, 18},
	flybox.Grub:           {flybox.Film, flybox.NoWing, 1, true, 0, 8, 20},
	flybox.CraneflyDry:    {flybox.Film, flybox.ClearPair, 1.1, true, 2, 8, 16},
	flybox.DamselNymph:    {flybox.Under, flybox.NoWing, 1.4, true, 1, 6, 14},
	flybox.DamselAdult:    {flybox.High, flybox.ClearPair, 2.3, true, 0, 8, 14},
	flybox.WaterBoatman:   {flybox.Under, flybox.NoWing, 1, false, 0, 10, 18},
	flybox.Scud:           {flybox.Deep, flybox.NoWing, 1, false, 0, 8, 22},
	flybox.Worm:           {flybox.Deep, flybox.NoWing, 2.2, true, 0, 8, 16},
	flybox.Egg:            {flybox.Deep, flybox.NoWing, 0.6, false, 0, 6, 20},
	flybox.Leech:          {flybox.Under, flybox.NoWing, 1.7, true, 2, 4, 14},
	flybox.SmallFish:      {flybox.Under, flybox.NoWing, 1.4, true, 3, 2, 12},
	flybox.Crayfish:       {flybox.Deep, flybox.NoWing, 1.4, true, 3, 2, 10},
	flybox.Streamer:       {flybox.Under, flybox.NoWing, 1.5, true, 3, 2, 14},
	flybox.Mouse:          {flybox.High, flybox.NoWing, 1.6, true, 2, 2, 6},
}

// FloatsOf is how a fly floats: as the pattern says, or as its style does. A
// bead of metal or turns of wire take a fly down, what floats by itself to
// beneath the surface and all else to the bottom (common practice, no source).
func FloatsOf(b flybox.Pattern) flybox.Float {
	usual := builds[b.Style].floats
	switch {
	case b.Floats != "":
		return b.Floats
	case !b.Wire && b.Bead != "brass" && b.Bead != "tungsten", usual == "":
		return usual
	case usual == flybox.High:
		return flybox.Under
	}
	return flybox.Deep
}

// wingsOf is how a fly holds its wings, likewise.
func wingsOf(b flybox.Pattern) flybox.Posture {
	if b.Wings != "" {
		return b.Wings
	}
	return builds[b.Style].wings
}
