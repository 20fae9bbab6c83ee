package flybox

// build is what a style is like unless a pattern says otherwise: common
// practice, no source.
type build struct {
	floats Float
	wings  Posture
	// over is overall length as a multiple of the shank, where the body runs
	// on past the bend.
	over float64
	// trims tells whether scissors can shorten it: foam, hair or a tail of
	// fibres runs on past the bend.
	trims bool
	// xl is the long shank that is usual for the style, in single sizes.
	xl int
}

var builds = map[Style]build{
	FoamStone:      {High, Flat, 1.2, true, 2},
	ShortWingStone: {High, ShortWing, 1.15, true, 2},
	HairWingStone:  {High, Flat, 1.1, true, 2},
	SpentStone:     {Film, Spread, 1.15, true, 2},
	StoneflyNymph:  {Deep, NoWing, 1, false, 2},
	ParachuteDun:   {Film, Upright, 1, false, 0},
	UprightDun:     {High, Upright, 1, false, 0},
	HairFanDun:     {Film, Upright, 1, false, 0},
	Emerger:        {Film, ShortWing, 1, false, 0},
	TrappedEmerger: {Film, ShortWing, 1.1, true, 0},
	SoftHackle:     {Under, NoWing, 1, false, 0},
	SpentSpinner:   {Film, Spread, 1, false, 0},
	MayflyNymph:    {Deep, NoWing, 1, false, 1},
	HairWingCaddis: {High, Roof, 1, true, 0},
	DownWingCaddis: {Film, Roof, 1, true, 0},
	CaddisPupa:     {Under, NoWing, 1, false, 0},
	CaddisLarva:    {Deep, NoWing, 1, false, 0},
	MidgePupa:      {Under, NoWing, 1, false, 0},
	MidgeAdult:     {High, ClearPair, 1, false, 0},
	BushyDry:       {High, Upright, 1, false, 0},
	Hopper:         {High, Flat, 1.2, true, 2},
	Beetle:         {Film, NoWing, 1, true, 0},
	Ant:            {Film, NoWing, 1, false, 0},
	CraneflyDry:    {Film, ClearPair, 1.1, true, 1},
	DamselNymph:    {Under, NoWing, 1.4, true, 1},
	DamselAdult:    {High, ClearPair, 1.6, true, 0},
	Scud:           {Deep, NoWing, 1, false, 0},
	Streamer:       {Under, NoWing, 1.5, true, 3},
}

// floatsOf is how a fly floats: as the pattern says, or as its style does.
func floatsOf(b Pattern) Float {
	if b.Floats != "" {
		return b.Floats
	}
	return builds[b.Style].floats
}

// wingsOf is how a fly holds its wings, likewise.
func wingsOf(b Pattern) Posture {
	if b.Wings != "" {
		return b.Wings
	}
	return builds[b.Style].wings
}
