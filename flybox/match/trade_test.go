package match_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
)

// tradeRow is a line of testdata/trade-sizes.csv: the hooks that the trade
// sells for a hatch. Common practice, no source.
type tradeRow struct {
	region, insect string
	hatches        []string
	stages         []string
	sizes          []int
	xl             []int // long shanks, in single sizes
}

func tradeRows(t *testing.T) (rows []tradeRow) {
	t.Helper()
	f, err := os.Open("testdata/trade-sizes.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, rec := range records[1:] {
		row := tradeRow{region: rec[0], insect: rec[1], hatches: strings.Fields(rec[2]), stages: strings.Split(rec[3], " and ")}
		for n := number(rec[4]); n <= number(rec[5]); n += 2 {
			row.sizes = append(row.sizes, n)
		}
		for _, x := range strings.Split(rec[6], "-") {
			if x == "std" {
				row.xl = append(row.xl, 0)
				continue
			}
			row.xl = append(row.xl, number(strings.TrimSuffix(x, "XL")))
		}
		rows = append(rows, row)
	}
	return rows
}

// usualStyles are the styles in which the trade ties a form. Common practice,
// no source.
func usualStyles(h *hatchkeys.Hatch, f *hatchkeys.Form, xl int) []flybox.Style {
	switch h.Like {
	case "hopper":
		return []flybox.Style{flybox.Hopper}
	case "ant":
		return []flybox.Style{flybox.Ant}
	case "beetle":
		return []flybox.Style{flybox.Beetle}
	case "cicada":
		return []flybox.Style{flybox.ClearWingBug}
	case "fly":
		return []flybox.Style{flybox.StoutFly}
	case "caterpillar":
		return []flybox.Style{flybox.Grub}
	}
	switch {
	case f.Stage == "nymph-ashore" && h.Group == "stonefly":
		return []flybox.Style{flybox.StoneflyNymph}
	case f.Stage == "nymph" || f.Stage == "nymph-ashore":
		return []flybox.Style{flybox.MayflyNymph}
	case f.Stage == "spent":
		return []flybox.Style{flybox.SpentSpinner}
	case f.Stage == "dun" && xl > 0:
		return []flybox.Style{flybox.LongDrake, flybox.ParachuteDun, flybox.UprightDun}
	case f.Stage == "dun":
		return []flybox.Style{flybox.ParachuteDun, flybox.UprightDun}
	case f.Stage == "pupa":
		return []flybox.Style{flybox.MidgePupa}
	}
	switch h.Group {
	case "stonefly":
		if f.Wings.Likeliest(hatchkeys.Wings) == "short" {
			return []flybox.Style{flybox.ShortWingStone}
		}
		return []flybox.Style{flybox.FoamStone, flybox.HairWingStone}
	case "caddis", "alderfly":
		return []flybox.Style{flybox.HairWingCaddis, flybox.DownWingCaddis}
	case "midge":
		return []flybox.Style{flybox.MidgeAdult}
	case "cranefly":
		return []flybox.Style{flybox.CraneflyDry}
	case "damsel":
		return []flybox.Style{flybox.DamselAdult}
	}
	return nil
}

// wanted tells whether a row is about a form. An angler's spinner is spent.
func (r tradeRow) wanted(f *hatchkeys.Form, stage string) bool {
	switch {
	case strings.Contains(r.insect, "female"):
		return f.Stage == "adult" && f.Sex == "female"
	case strings.Contains(r.insect, "male"):
		return f.Stage == "adult" && f.Sex == "male"
	case stage == "spinner":
		return f.Stage == "spent"
	case stage == "nymph":
		return f.Stage == "nymph" || f.Stage == "nymph-ashore"
	}
	return string(f.Stage) == stage
}

// A fly in the usual style and colour on any hook that the trade sells for an
// insect fits it: one of its sexes at least, where they differ in size, and in
// a row for several insects of like size each of them.
func TestFliesOfTheTradeFitTheirInsect(t *testing.T) {
	for _, row := range tradeRows(t) {
		key, err := hatchkeys.ForRegion(row.region)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range row.hatches {
			h := key.Hatch(id)
			if h == nil {
				t.Errorf("%s: no hatch %q", row.insect, id)
				continue
			}
			for _, stage := range row.stages {
				var forms []*hatchkeys.Form
				for i := range h.Forms {
					if row.wanted(&h.Forms[i], stage) {
						forms = append(forms, &h.Forms[i])
					}
				}
				if len(forms) == 0 {
					t.Errorf("%s %s: no form for %s", row.insect, id, stage)
				}
				for _, size := range row.sizes {
					for _, xl := range row.xl {
						for _, style := range stylesOf(h, forms, xl) {
							fitsOne(t, row, h, forms, flybox.Pattern{Style: style, Hook: size, Shank: match.XLong(xl)})
						}
					}
				}
			}
		}
	}
}

func stylesOf(h *hatchkeys.Hatch, forms []*hatchkeys.Form, xl int) (out []flybox.Style) {
	for _, f := range forms {
		for _, style := range usualStyles(h, f, xl) {
			if !slices.Contains(out, style) {
				out = append(out, style)
			}
		}
	}
	return out
}

func fitsOne(t *testing.T, row tradeRow, h *hatchkeys.Hatch, forms []*hatchkeys.Form, p flybox.Pattern) {
	t.Helper()
	var said []string
	for _, f := range forms {
		p.Body, p.Wing = f.Colour.Body[0], f.Colour.Wing
		fly := match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}, Left: 3})
		for _, water := range hatchkeys.Water.Values() {
			if h.Waters.Of[water] < 0.2 {
				continue // nobody fishes it there
			}
			q := match.CompileQuarry(match.Of(h, f).As(match.Observation{Water: water}))
			score, fits := match.Fit(&fly, &q)
			if fits {
				return
			}
			said = append(said, fmt.Sprintf("%s (%g to %g mm) on %s %.2f", f.ID, f.Length.From, f.Length.To, water, score))
		}
	}
	mm, _ := match.LengthMM(p)
	t.Errorf("%s, %s: %s #%d of %.1f mm: %s", row.region, h.ID, p.Style, p.Hook, mm, strings.Join(said, "; "))
}
