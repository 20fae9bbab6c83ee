package plan

import (
	"cmp"
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
)

// Material is something that the tying work needs.
type Material struct {
	Code   string  // "hook", "foam", "dubbing", "hackle", "hair", "feather", "legs", "thread"
	Hook   int     // size, for hooks; 0 if not known
	Shank  float64 // shank as a multiple of the standard, for hooks; 0 for 1
	Colour string  // #rrggbb; empty if it does not matter or is not known
	Flies  int     // that it is for; as many hooks
}

// Codes of materials.
var Materials = []string{"hook", "foam", "dubbing", "hackle", "hair", "feather", "legs", "thread"}

// part is a material of a style and which colour of the pattern it has.
type part struct {
	code string
	wing bool // of the wing, not of the body
}

// made says what each style is made of besides hook and thread. Common
// practice, no source; a recipe of one's own may differ.
var made = map[flybox.Style][]part{
	flybox.FoamStone:      {{"foam", false}, {"hair", true}, {"legs", false}},
	flybox.ShortWingStone: {{"foam", false}, {"hair", true}, {"legs", false}},
	flybox.HairWingStone:  {{"dubbing", false}, {"hackle", false}, {"hair", true}},
	flybox.SpentStone:     {{"foam", false}, {"feather", true}, {"legs", false}},
	flybox.StoneflyNymph:  {{"dubbing", false}, {"feather", true}, {"legs", false}},
	flybox.ParachuteDun:   {{"dubbing", false}, {"hackle", false}, {"hair", true}},
	flybox.UprightDun:     {{"dubbing", false}, {"hackle", false}, {"feather", true}},
	flybox.HairFanDun:     {{"dubbing", false}, {"hair", true}},
	flybox.Emerger:        {{"dubbing", false}, {"feather", true}},
	flybox.TrappedEmerger: {{"dubbing", false}, {"feather", true}},
	flybox.SoftHackle:     {{"dubbing", false}, {"feather", false}},
	flybox.SpentSpinner:   {{"dubbing", false}, {"feather", true}},
	flybox.MayflyNymph:    {{"dubbing", false}, {"feather", false}},
	flybox.HairWingCaddis: {{"dubbing", false}, {"hackle", false}, {"hair", true}},
	flybox.DownWingCaddis: {{"dubbing", false}, {"feather", true}},
	flybox.CaddisPupa:     {{"dubbing", false}, {"feather", true}},
	flybox.CaddisLarva:    {{"dubbing", false}},
	flybox.MidgePupa:      {{"feather", true}},
	flybox.MidgeAdult:     {{"hackle", false}, {"feather", true}},
	flybox.BushyDry:       {{"dubbing", false}, {"hackle", false}, {"hair", true}},
	flybox.Hopper:         {{"foam", false}, {"hair", true}, {"legs", false}},
	flybox.Beetle:         {{"foam", false}, {"legs", false}},
	flybox.Ant:            {{"foam", false}, {"hackle", false}},
	flybox.CraneflyDry:    {{"dubbing", false}, {"legs", false}, {"feather", true}},
	flybox.DamselNymph:    {{"dubbing", false}, {"feather", false}},
	flybox.DamselAdult:    {{"foam", false}, {"feather", true}},
	flybox.Scud:           {{"dubbing", false}},
	flybox.Streamer:       {{"hair", false}, {"feather", false}},
	flybox.LongDrake:      {{"dubbing", false}, {"hackle", false}, {"hair", true}},
	flybox.StoutFly:       {{"dubbing", false}, {"feather", true}, {"hackle", false}},
	flybox.ClearWingBug:   {{"foam", false}, {"feather", true}, {"legs", false}},
	flybox.Moth:           {{"dubbing", false}, {"hair", true}},
	flybox.Grub:           {{"dubbing", false}},
	flybox.Worm:           {{"dubbing", false}},
	flybox.Egg:            {{"dubbing", false}},
	flybox.WaterBoatman:   {{"dubbing", false}, {"legs", false}, {"feather", true}},
	flybox.SmallFish:      {{"hair", false}, {"feather", true}},
	flybox.Leech:          {{"feather", false}},
	flybox.Crayfish:       {{"dubbing", false}, {"feather", false}, {"legs", false}},
	flybox.Mouse:          {{"foam", false}, {"hair", false}},
}

// Needs lists the materials for the flies that are to be tied, those of one
// kind and colour together.
func (p Plan) Needs() []Material {
	flies := map[Material]int{}
	for _, l := range p.Lines {
		if l.Tie == 0 {
			continue
		}
		b := l.Fly.Pattern
		if l.New != nil {
			b = l.New.Pattern()
		}
		flies[Material{Code: "hook", Hook: b.Hook, Shank: b.Shank}] += l.Tie
		flies[Material{Code: "thread"}] += l.Tie
		for _, m := range made[b.Style] {
			colour := b.Body
			if m.wing {
				colour = b.Wing
			}
			flies[Material{Code: m.code, Colour: colour}] += l.Tie
		}
	}
	out := make([]Material, 0, len(flies))
	for m, n := range flies {
		m.Flies = n
		out = append(out, m)
	}
	sortby.Stable(out, func(a, b *Material) int {
		return cmp.Or(cmp.Compare(slices.Index(Materials, a.Code), slices.Index(Materials, b.Code)), cmp.Compare(a.Hook, b.Hook), cmp.Compare(a.Shank, b.Shank), cmp.Compare(a.Colour, b.Colour))
	})
	return out
}

// OfFoam tells whether flies of a style have a body of foam.
func OfFoam(s flybox.Style) bool {
	return slices.ContainsFunc(made[s], func(p part) bool { return p.code == "foam" })
}

// Usual lists the codes of what flies of a style are usually made of besides
// the hook, thread first.
func Usual(s flybox.Style) []string {
	out := []string{"thread"}
	for _, p := range made[s] {
		if !slices.Contains(out, p.code) {
			out = append(out, p.code)
		}
	}
	return out
}
