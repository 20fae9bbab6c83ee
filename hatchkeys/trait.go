package hatchkeys

import (
	"fmt"
	"slices"
)

// Trait is one thing an angler may answer with a choice from a closed list.
type Trait int

// The traits, in the order in which they are asked when nothing else decides.
const (
	Trend    Trait = iota // water level over the last hours
	Shucks                // where empty shucks are found
	Wings                 // how the wings are held, or what there is of them
	Tails                 // number of tails
	Doing                 // what the insect is doing
	Where                 // part of the water or bank
	Gills                 // tufts of gills between the tails of a nymph or shuck
	Fish                  // what the fish are doing
	Wind                  // wind along the river
	Water                 // kind of water
	Looks                 // what the insect looks like at a glance
	Clarity               // how clear the water is
	Light                 // the sky
	LengthTo              // how far along the insect its length was measured
	traitCount
)

// Traits lists every trait.
var Traits = []Trait{Trend, Shucks, Wings, Tails, Doing, Where, Gills, Fish, Wind, Water, Looks, Clarity, Light, LengthTo}

var traitKeys = [traitCount]string{"trend", "shucks", "wings", "tails", "doing", "where", "gills", "fish", "wind", "water", "looks", "clarity", "light", "length_to"}

// traitValues are the codes used in pack files, in queries and in the JSON
// interface. Their order is fixed: likelihood tables are indexed by it.
var traitValues = [traitCount][]string{
	Trend:    {"dropping", "falling", "steady", "rising"},
	Shucks:   {"none", "damp-stones", "dry-rocks", "film"},
	Wings:    {"upright", "flat", "roof", "short", "none", "clear-pair", "spread"},
	Tails:    {"0", "2", "3"},
	Doing:    {"crawling-ashore", "swimming-ashore", "drifting", "fluttering", "dipping-eggs", "skating", "hopping", "swarming", "resting", "blown-in"},
	Where:    {"riffle", "seam", "flat", "pocket", "edge", "bank-plants", "still"},
	Gills:    {"yes", "no"},
	Fish:     {"none", "sipping", "splashing", "bulging", "edge"},
	Wind:     {"calm", "upstream", "downstream", "across"},
	Looks:    {"stonefly", "mayfly", "caddis", "fly", "damsel", "hopper", "beetle", "ant", "other"},
	Water:    {"freestone", "tailwater", "spring-creek", "stillwater"},
	Clarity:  {"clear", "coloured", "muddy"},
	Light:    {"bright", "overcast", "rain"},
	LengthTo: {"body", "wing-tips"},
}

// maxValues bounds the number of values of any trait.
const maxValues = 10

// String is the code of the trait, as in pack files and queries.
func (t Trait) String() string { return traitKeys[t] }

// Values lists the codes that t may take. The caller must not change it.
func (t Trait) Values() []string { return traitValues[t] }

// Index is the place of value in t.Values(), or -1.
func (t Trait) Index(value string) int { return slices.Index(traitValues[t], value) }

// ParseTrait finds a trait by its code.
func ParseTrait(key string) (Trait, error) {
	if i := slices.Index(traitKeys[:], key); i >= 0 {
		return Trait(i), nil
	}
	return 0, fmt.Errorf("unknown trait %q", key)
}

// Group is the kind of insect.
type Group string

// The groups.
const (
	Stonefly    Group = "stonefly"
	Mayfly      Group = "mayfly"
	Caddis      Group = "caddis"
	Midge       Group = "midge"
	Cranefly    Group = "cranefly"
	Damsel      Group = "damsel"
	Dragonfly   Group = "dragonfly"
	Alderfly    Group = "alderfly"
	Terrestrial Group = "terrestrial"
	OtherGroup  Group = "other"
)

// Groups lists every group.
var Groups = []Group{Stonefly, Mayfly, Caddis, Midge, Cranefly, Damsel, Dragonfly, Alderfly, Terrestrial, OtherGroup}

// Stage is the life stage of a form, as an angler meets it.
type Stage string

// The stages.
const (
	NymphAshore Stage = "nymph-ashore" // a full-grown nymph moving to the bank to hatch
	Nymph       Stage = "nymph"        // a nymph or larva adrift or swimming
	Pupa        Stage = "pupa"         // a pupa on its way up
	Emerger     Stage = "emerger"      // hatching in the surface film
	Shuck       Stage = "shuck"        // the empty skin left behind
	Dun         Stage = "dun"          // a winged mayfly before its last moult
	Adult       Stage = "adult"        // a winged (or short-winged) adult
	EggLayer    Stage = "egg-layer"    // a female back at the water
	Spent       Stage = "spent"        // dead or dying on the water
)

// Stages lists every stage.
var Stages = []Stage{NymphAshore, Nymph, Pupa, Emerger, Shuck, Dun, Adult, EggLayer, Spent}
