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
	LongDrake      Style = "long-drake"     // upright wings on a long shank, for the largest mayflies
	StoutFly       Style = "stout-fly"      // short and thick, two wings: house flies, hawthorn flies
	ClearWingBug   Style = "clear-wing-bug" // broad body under clear wings: cicadas, leafhoppers
	Moth           Style = "moth"
	Grub           Style = "grub" // a caterpillar or the grub of a beetle or sawfly
	Worm           Style = "worm"
	Egg            Style = "egg" // of a fish
	WaterBoatman   Style = "water-boatman"
	SmallFish      Style = "small-fish"
	Leech          Style = "leech"
	Crayfish       Style = "crayfish"
	Mouse          Style = "mouse"
)

// Styles lists the styles in the order in which they are offered.
var Styles = []Style{
	FoamStone, ShortWingStone, HairWingStone, SpentStone, StoneflyNymph,
	ParachuteDun, UprightDun, HairFanDun, LongDrake, Emerger, TrappedEmerger, SoftHackle, SpentSpinner, MayflyNymph,
	HairWingCaddis, DownWingCaddis, CaddisPupa, CaddisLarva,
	MidgePupa, MidgeAdult, BushyDry, Hopper, Beetle, Ant, StoutFly, ClearWingBug, Moth, Grub, CraneflyDry, DamselNymph, DamselAdult,
	WaterBoatman, Scud, Worm, Egg, Leech, SmallFish, Crayfish, Streamer, Mouse,
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

// Bead is what the bead at the head of a fly is made of.
type Bead string

// Beads lists them, the lightest first.
var Beads = []Bead{"glass", "brass", "tungsten"}

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
