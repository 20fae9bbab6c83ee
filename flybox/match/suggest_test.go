package match_test

import (
	"slices"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
)

// What to tie where the box is empty: nothing that a tyer would laugh at.
// Common practice, no source.
func TestSuggestionsToTieAreWhatATyerWouldTie(t *testing.T) {
	grubs := []flybox.Style{flybox.Grub}
	for _, tc := range []struct {
		region, hatch, form string
		styles              []flybox.Style // empty: nothing is suggested
		largest, smallest   int
	}{
		{"east-na", "inchworm", "nymph", grubs, 8, 16},
		{"south", "willow-grub", "nymph", grubs, 14, 20},
		{"south", "willow-sawfly", "nymph", grubs, 8, 16},
		{"europe", "bibio-marci", "adult-male", []flybox.Style{flybox.StoutFly}, 8, 14},
		{"south", "blowfly", "adult", []flybox.Style{flybox.StoutFly}, 8, 14},
		{"south", "stag-beetle", "adult-male", nil, 0, 0},
		{"europe", "ephemera-danica", "dun", []flybox.Style{flybox.LongDrake, flybox.ParachuteDun, flybox.UprightDun, flybox.HairFanDun}, 8, 10},
		{"east-na", "ephemera-guttulata", "dun-female", []flybox.Style{flybox.LongDrake, flybox.ParachuteDun, flybox.UprightDun, flybox.HairFanDun}, 8, 10},
		{"east-na", "hexagenia", "dun", []flybox.Style{flybox.LongDrake, flybox.ParachuteDun, flybox.UprightDun}, 4, 8},
		{"south", "scolypopa", "adult", []flybox.Style{flybox.ClearWingBug}, 14, 18},
		{"south", "cicada", "adult", []flybox.Style{flybox.ClearWingBug}, 4, 10},
		{"east-na", "cicada", "adult", []flybox.Style{flybox.ClearWingBug}, 4, 8},
		{"west-na", "chironomus", "pupa", []flybox.Style{flybox.MidgePupa}, 8, 16},
		{"west-na", "salmonfly", "adult-female", []flybox.Style{flybox.FoamStone, flybox.HairWingStone}, 2, 4},
		{"west-na", "claassenia", "adult-male", []flybox.Style{flybox.ShortWingStone}, 8, 10},
		{"west-na", "tricorythodes", "spent", []flybox.Style{flybox.SpentSpinner}, 20, 26},
		{"west-na", "enallagma", "nymph-ashore", []flybox.Style{flybox.DamselNymph}, 8, 12},
	} {
		key, err := hatchkeys.ForRegion(tc.region)
		if err != nil {
			t.Fatal(err)
		}
		h := key.Hatch(tc.hatch)
		if h == nil || h.Form(tc.form) == nil {
			t.Errorf("%s has no %s %s", tc.region, tc.hatch, tc.form)
			continue
		}
		f := h.Form(tc.form)
		q := match.CompileQuarry(match.Of(h, f))
		tie, ok := match.SuggestTying(&q)
		if len(tc.styles) == 0 {
			if ok {
				t.Errorf("%s %s: %s of %.0f mm on a #%d", tc.hatch, tc.form, tie.Style, tie.LengthMM, tie.Hook)
			}
			continue
		}
		if !ok || !slices.Contains(tc.styles, tie.Style) || tie.Hook < tc.largest || tie.Hook > tc.smallest {
			t.Errorf("%s %s (%g to %g mm): %s #%d %dXL of %.1f mm, want %v on #%d to #%d", tc.hatch, tc.form, f.Length.From, f.Length.To, tie.Style, tie.Hook, tie.XL, tie.LengthMM, tc.styles, tc.largest, tc.smallest)
		}
	}
}

// Whatever is suggested fits what it is suggested for, on a hook on which its
// style is sold, for every form of every region.
func TestWhatIsSuggestedFits(t *testing.T) {
	for _, region := range hatchkeys.Regions() {
		key, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		for i := range key.FormCount() {
			h, f := key.FormAt(i)
			q := match.CompileQuarry(match.Of(h, f))
			tie, ok := match.SuggestTying(&q)
			if !ok {
				t.Logf("%s %s %s: nothing", region, h.ID, f.ID)
				continue
			}
			p := tie.Pattern()
			p.ID, p.Name = "p", "p"
			fly := match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}, Left: 1})
			if score, fits := match.Fit(&fly, &q); !fits {
				t.Errorf("%s %s %s: %s #%d of %.1f mm for %g to %g mm scores %.2f", region, h.ID, f.ID, tie.Style, tie.Hook, tie.LengthMM, f.Length.From, f.Length.To, score)
			}
			if bad := p.Check(); len(bad) > 0 {
				t.Errorf("%s %s %s: %v", region, h.ID, f.ID, bad)
			}
		}
	}
}
