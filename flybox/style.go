package flybox

// Style is a generic way to tie a fly.
type Style string

// The styles.
const (
	FoamStone      Style = "foam-stone"       // folded foam body, flat wing
	ShortWingStone Style = "short-wing-stone" // foam body with stub wings or none
	HairWingStone  Style = "hair-wing-stone"  // down wing of hair, large
	SpentStone     Style = "spent-stone"      // egg-layer with wings spread on the water
	ParachuteDun   Style = "parachute-dun"
	UprightDun     Style = "upright-dun"     // upright wings, hackle wound at the thorax
	HairFanDun     Style = "hair-fan-dun"    // no hackle, a fan of hair as wing
	Emerger        Style = "emerger"         // hangs in the film
	TrappedEmerger Style = "trapped-emerger" // emerger with the empty shuck trailing
	SoftHackle     Style = "soft-hackle"
	SpentSpinner   Style = "spent-spinner"
	HairWingCaddis Style = "hair-wing-caddis"
	DownWingCaddis Style = "down-wing-caddis" // low, no hackle
	CaddisPupa     Style = "caddis-pupa"
	CaddisLarva    Style = "caddis-larva"
	MayflyNymph    Style = "nymph"
	StoneflyNymph  Style = "stonefly-nymph"
	MidgePupa      Style = "midge-pupa"
	MidgeAdult     Style = "midge-adult"
	BushyDry       Style = "bushy-dry" // hackle-heavy dry for broken water, like nothing in particular
	Hopper         Style = "hopper"
	Beetle         Style = "beetle"
	Ant            Style = "ant"
	CraneflyDry    Style = "cranefly"
	DamselNymph    Style = "damsel-nymph"
	DamselAdult    Style = "damsel-adult"
	Scud           Style = "scud"
	Streamer       Style = "streamer"
)

// Styles lists the styles in the order in which they are offered.
var Styles = []Style{
	FoamStone, ShortWingStone, HairWingStone, SpentStone, StoneflyNymph,
	ParachuteDun, UprightDun, HairFanDun, Emerger, TrappedEmerger, SoftHackle, SpentSpinner, MayflyNymph,
	HairWingCaddis, DownWingCaddis, CaddisPupa, CaddisLarva,
	MidgePupa, MidgeAdult, BushyDry, Hopper, Beetle, Ant, CraneflyDry, DamselNymph, DamselAdult, Scud, Streamer,
}

// Float is how a fly floats or sinks.
type Float string

// The ways to float.
const (
	High  Float = "high"  // stands on the surface
	Film  Float = "film"  // lies in the surface film
	Under Float = "under" // drifts just beneath the surface
	Deep  Float = "deep"  // goes to the bottom
)

// Floats lists the ways to float, from the surface down.
var Floats = []Float{High, Film, Under, Deep}

// Posture is how wings are held. The codes are those of the key's answer for
// wings.
type Posture string

// The postures.
const (
	Upright   Posture = "upright"    // like a sail
	Flat      Posture = "flat"       // along the back
	Roof      Posture = "roof"       // like a roof
	ShortWing Posture = "short"      // stubs
	NoWing    Posture = "none"       // none yet
	ClearPair Posture = "clear-pair" // two clear wings, held out or back
	Spread    Posture = "spread"     // flat out on the water
)

// Postures lists the postures.
var Postures = []Posture{Upright, Flat, Roof, ShortWing, NoWing, ClearPair, Spread}

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

// Floats is how the fly floats: as the pattern says, or as its style does.
func (b Pattern) floats() Float {
	if b.Floats != "" {
		return b.Floats
	}
	return builds[b.Style].floats
}

func (b Pattern) wings() Posture {
	if b.Wings != "" {
		return b.Wings
	}
	return builds[b.Style].wings
}
