package draw

// sketch draws the insect as an angler meets it: what lies flat from above,
// what stands from the side.
func (in Insect) sketch(s *sketch) {
	wings := in.posture()
	switch in.Stage {
	case "nymph", "nymph-ashore", "crawling-nymph":
		in.above(s, in.young(), "none")
	case "larva":
		in.above(s, in.grub(), "none")
	case "pupa":
		in.pupa(s)
	case "shuck":
		in.shuck(s)
	case "emerger":
		in.emerger(s)
	default:
		in.winged(s, wings)
	}
}

// posture is how the wings are held, or what is usual for the group.
func (in Insect) posture() string {
	switch in.Wings {
	case "upright", "flat", "roof", "short", "none", "clear-pair", "spread":
		return in.Wings
	}
	if in.Stage == "spent" {
		return "spread"
	}
	switch in.Group {
	case "mayfly", "damsel":
		return "upright"
	case "caddis", "alderfly":
		return "roof"
	case "midge", "cranefly":
		return "clear-pair"
	case "dragonfly":
		return "spread"
	case "ant":
		return "none"
	}
	return "flat"
}

func (in Insect) winged(s *sketch, wings string) {
	switch in.Group {
	case "mayfly":
		if wings == "upright" || wings == "roof" || wings == "flat" {
			in.beside(s, &mayflySide, "upright")
			return
		}
	case "caddis", "alderfly":
		if wings == "roof" || wings == "flat" || wings == "upright" {
			p := caddisSide
			if in.Group == "alderfly" {
				p.feelers = join(curve(3, -5.6, -14, -15, -38, -18), curve(2.4, -4.6, -15, -10, -40, -10))
			}
			in.beside(s, &p, wings)
			return
		}
	case "midge":
		if wings != "spread" && wings != "short" {
			in.beside(s, &midgeSide, wings)
			return
		}
	case "damsel":
		if wings == "upright" || wings == "flat" || wings == "roof" {
			in.beside(s, &damselSide, wings)
			return
		}
	}
	in.above(s, in.grown(), wings)
}

// grown is the build of the adult from above.
func (in Insect) grown() *plan {
	switch in.Group {
	case "stonefly":
		return stonefly
	case "mayfly":
		return mayflyAbove
	case "caddis", "alderfly", "moth":
		return caddisAbove
	case "midge":
		return midgeAbove
	case "cranefly":
		return cranefly
	case "damsel":
		return damselAbove
	case "dragonfly":
		return dragonfly
	case "hopper":
		return hopper
	case "ant":
		return ant
	case "beetle", "boatman", "crayfish":
		return beetle
	}
	return other
}

// young is the build of a nymph.
func (in Insect) young() *plan {
	switch in.Group {
	case "stonefly":
		return stoneflyNymph
	case "mayfly":
		return mayflyNymph
	case "damsel":
		return damselNymph
	case "dragonfly":
		return dragonflyNymph
	case "hopper", "ant", "beetle", "boatman", "crayfish":
		return in.grown()
	}
	return in.grub()
}

// grub is the build of a larva.
func (in Insect) grub() *plan {
	switch in.Group {
	case "midge", "cranefly":
		return larva
	case "alderfly":
		return alderflyLarva
	case "stonefly", "mayfly", "damsel", "dragonfly":
		return in.young()
	}
	return caddisLarva
}
