package hatchkeys

import (
	"math"
	"testing"
	"time"
)

// Source of all rows: UC Statewide IPM's method. The first is printed in the
// documentation of TrenchR, which follows it (0.47); the others were computed
// from the formula and confirmed by numerical integration to six decimals.
func TestDegreeDaysAgreeWithPublishedCases(t *testing.T) {
	for _, c := range []struct{ least, most, lower, want, tolerance float64 }{
		{7, 14, 12, 0.47, 0.005},
		{7, 14, 12, 0.468059, 1e-6},
		{46, 82, 50, 14.572409, 1e-6},
		{40, 60, 50, 3.183099, 1e-6},
		{45, 75, 50, 10.881608, 1e-6},
		{60, 80, 50, 20, 1e-9},
		{30, 45, 50, 0, 0},
		{2, 12, 4, 3.387738, 1e-6},
		{0, 8, 4, 1.273240, 1e-6},
		{9, 3, 4, 0, 0},
		{math.NaN(), 3, 4, 0, 0},
	} {
		if got := DegreeDays(c.least, c.most, c.lower); !(math.Abs(got-c.want) <= c.tolerance) {
			t.Errorf("DegreeDays(%g, %g, %g) = %.6f, want %g", c.least, c.most, c.lower, got, c.want)
		}
	}
}

func TestChancesFollowSeasonWaterPlaceAndWarmth(t *testing.T) {
	k, err := ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	at := -1
	for i := range k.Pack.Hatches {
		if k.Pack.Hatches[i].ID == "claassenia" {
			at = i
		}
	}
	chance := func(o Outlook) float64 {
		c := k.Chances(o, nil)
		for i, p := range c {
			if !(p >= 0 && p <= 1) {
				t.Fatalf("%s has chance %g", k.Pack.Hatches[i].ID, p)
			}
		}
		return c[at]
	}
	day := func(month time.Month, d int) time.Time { return time.Date(2026, month, d, 0, 0, 0, 0, time.UTC) }
	cold, right := 3.0, 14.0
	in := Outlook{Day: day(8, 20), Water: "freestone"}
	height := chance(in)
	// Abundance 0.8 in this pack, so a little below metAtHeight.
	if want := 1 - math.Pow(1-metAtHeight, 0.8); math.Abs(height-want) > 1e-9 {
		t.Errorf("at its height %.4f, want %.4f", height, want)
	}
	for name, o := range map[string]Outlook{
		"out of season":   {Day: day(1, 20), Water: "freestone"},
		"on still water":  {Day: day(8, 20), Water: "stillwater"},
		"in cold water":   {Day: day(8, 20), Water: "freestone", WaterC: &cold},
		"a month too far": {Day: day(9, 28), Water: "freestone", Ahead: 30},
	} {
		if got := chance(o); got >= height*0.6 {
			t.Errorf("%s: %.3f, not well below %.3f", name, got, height)
		}
	}
	if got := chance(Outlook{Day: day(8, 20), Water: "freestone", WaterC: &right}); got != height {
		t.Errorf("in water that suits it %.4f, want %.4f", got, height)
	}
	// High up the short season ends earlier.
	high := Place{45, 2400}
	if got := chance(Outlook{Day: day(10, 8), Water: "freestone", Place: &high}); got >= chance(Outlook{Day: day(10, 8), Water: "freestone"}) {
		t.Errorf("high up in autumn %.3f, not lower than at home", got)
	}
	// Own sightings raise it.
	own := k.WithSightings([]Seen{{"claassenia", 7, 25}, {"claassenia", 7, 26}, {"claassenia", 7, 27}})
	if before, after := chance(Outlook{Day: day(7, 26)}), own.Chances(Outlook{Day: day(7, 26)}, nil)[at]; after <= before {
		t.Errorf("seen on three days: %.3f, before %.3f", after, before)
	}
	if got := chance(Outlook{Day: day(8, 20), Water: "freestone", Ahead: math.NaN()}); got != height {
		t.Errorf("ahead by no number: %.3f, want %.3f", got, height)
	}
}
