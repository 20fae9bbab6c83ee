package hatchkeys

import (
	"math"
	"time"
)

// metAtHeight is the chance of meeting a common hatch (abundance 1) on a day
// at its height, on the kind of water that suits it best. Assumed.
const metAtHeight = 0.6

// Outlook is what is known of a day to come.
type Outlook struct {
	Day time.Time
	// Water is a kind of water, a value of Water; empty if not known.
	Water string
	// Place shifts the calendar; nil if not known.
	Place *Place
	// WaterC is the water temperature expected, in degrees Celsius; nil if not
	// known.
	WaterC *float64
	// Ahead is how many days the season runs ahead of its usual dates, up to
	// MaxAhead, negative if it is late.
	Ahead float64
}

// MaxAhead bounds Outlook.Ahead, in days.
const MaxAhead = 30.0

// Chances is the chance of meeting each hatch of the pack on a day, 0 to 1, in
// the order of Pack.Hatches.
//
// A hatch is met as a Poisson event whose rate is its abundance times how far
// it is in season, how far the water suits it and how far the temperature
// does; the unit of the rate is such that a common hatch at its height is met
// with chance metAtHeight. The result is appended to out.
func (k *Key) Chances(o Outlook, out []float64) []float64 {
	day := o.Day
	if ahead := max(-MaxAhead, min(MaxAhead, o.Ahead)); ahead == ahead {
		day = day.AddDate(0, 0, int(math.Round(ahead)))
	}
	e := Evidence{Month: int(day.Month()), Day: day.Day(), Place: o.Place}
	water := Water.Index(o.Water)
	unit := -math.Log(1 - metAtHeight)
	for i := range k.hatches {
		t, h := &k.hatches[i], &k.Pack.Hatches[i]
		rate := h.Abundance * k.onDate(t, &e)
		if water >= 0 {
			rate *= t.water[water]
		} else {
			rate *= t.anyWater
		}
		if o.WaterC != nil {
			rate *= warmth(h.WaterC, *o.WaterC)
		}
		out = append(out, -math.Expm1(-unit*rate))
	}
	return out
}
