package hatchkeys

// looksAdult is what winged insects of a group are taken for, by somebody who
// knows the groups from pictures. Common practice, no source.
var looksAdult = map[Group]map[string]float64{
	Stonefly:   {"stonefly": 1},
	Mayfly:     {"mayfly": 1},
	Caddis:     {"caddis": 1},
	Midge:      {"fly": 1},
	Cranefly:   {"fly": 0.8, "other": 0.2},
	Damsel:     {"damsel": 1},
	Dragonfly:  {"damsel": 0.8, "other": 0.2},
	Alderfly:   {"caddis": 0.7, "other": 0.3},
	OtherGroup: {"other": 1},
}

// looksYoung is the same for nymphs, pupae and empty shucks.
var looksYoung = map[Group]map[string]float64{
	Stonefly:  {"stonefly": 0.85, "mayfly": 0.15},
	Mayfly:    {"mayfly": 0.75, "stonefly": 0.25},
	Caddis:    {"caddis": 0.6, "other": 0.4},
	Midge:     {"fly": 0.5, "other": 0.5},
	Damsel:    {"damsel": 0.7, "mayfly": 0.2, "other": 0.1},
	Dragonfly: {"damsel": 0.4, "beetle": 0.2, "other": 0.4},
}

// looksLike is the same for land and other insects, by Hatch.Like.
var looksLike = map[string]map[string]float64{
	"hopper":      {"hopper": 1},
	"ant":         {"ant": 1},
	"beetle":      {"beetle": 1},
	"cicada":      {"beetle": 0.3, "fly": 0.2, "other": 0.5},
	"caterpillar": {"other": 1},
	"bug":         {"beetle": 0.5, "other": 0.5},
	"fly":         {"fly": 1},
	"dobsonfly":   {"stonefly": 0.4, "other": 0.6},
	"blackfly":    {"fly": 1},
	"moth":        {"other": 0.6, "caddis": 0.4},
	"boatman":     {"beetle": 0.6, "other": 0.4},
	"scud":        {"other": 1},
	"crayfish":    {"other": 1},
}

// looks is what a form of a hatch is taken for at a glance.
func looks(h *Hatch, f *Form) *Weights {
	of := looksLike[h.Like]
	if of == nil {
		switch f.Stage {
		case NymphAshore, Nymph, Pupa, Shuck:
			of = looksYoung[h.Group]
		}
	}
	if of == nil {
		of = looksAdult[h.Group]
	}
	if of == nil {
		return nil
	}
	return &Weights{Of: of, Sourced: Sourced{Source: "common-practice"}}
}
