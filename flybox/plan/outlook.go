package plan

import (
	"cmp"
	"math"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
)

const (
	// leastChance is the greatest chance, on any day, below which a hatch is
	// left out, unless nothing is likelier.
	leastChance = 0.05
	// mostHatches and fewestHatches bound how many are planned for.
	mostHatches, fewestHatches = 40, 3
	// lasting is the share of days on which a hatch is as it is on any other
	// day of the trip, rather than by itself: seasons are early or late as a
	// whole. Assumed.
	lasting = 0.7
	// MaxDays bounds a trip.
	MaxDays = 366
)

// Outlook is one hatch over the days of a trip.
type Outlook struct {
	Hatch  *hatchkeys.Hatch
	Chance []float64 // of meeting it, by day
	// Best is the index of the day with the greatest chance.
	Best int
	// Share is the part of the trip's flies that this hatch uses up.
	Share float64

	pull    float64 // how much of the fishing it draws, against other hatches
	rodDays float64 // that it uses up, expected
	spread  float64 // their variance
}

// outlooks are the hatches worth planning for, those first that use up most.
func outlooks(key *hatchkeys.Key, trip flybox.Trip, ahead float64, perDay float64) []Outlook {
	first, _, n := trip.Days()
	n = min(n, MaxDays)
	all := make([]Outlook, len(key.Pack.Hatches))
	for i := range all {
		all[i] = Outlook{Hatch: &key.Pack.Hatches[i], Chance: make([]float64, n), pull: pull(&key.Pack.Hatches[i])}
	}
	waters := trip.AllWaters()
	var chances []float64
	for d := range n {
		for _, w := range waters {
			chances = key.Chances(hatchkeys.Outlook{Day: first.AddDate(0, 0, d), Water: w.Type, Place: placeOf(w, key.Pack.ID), Ahead: ahead}, chances[:0])
			for i, c := range chances {
				all[i].Chance[d] += c / float64(len(waters))
			}
		}
	}
	for i := range all {
		for d, c := range all[i].Chance {
			if c > all[i].Chance[all[i].Best] {
				all[i].Best = d
			}
		}
	}
	best := func(o Outlook) float64 {
		if n == 0 {
			return 0
		}
		return o.Chance[o.Best]
	}
	sortby.Stable(all, func(a, b *Outlook) int { return cmp.Compare(best(*b), best(*a)) })
	keep := 0
	for keep < min(len(all), mostHatches) && (keep < fewestHatches || best(all[keep]) >= leastChance) {
		keep++
	}
	all = all[:keep]
	use(all, n, perDay)
	sortby.Stable(all, func(a, b *Outlook) int { return cmp.Compare(b.rodDays, a.rodDays) })
	return all
}

// pull is how much of the fishing a hatch draws where it is met: fish and
// people go for what is fed on, and for a mouthful. Assumed, no source.
func pull(h *hatchkeys.Hatch) float64 {
	fed, mm := 0.0, 0.0
	for i := range h.Forms {
		f := &h.Forms[i]
		fed = max(fed, f.Fed)
		mm = max(mm, (f.Length.From+f.Length.To)/2)
	}
	return max(fed, 0.05) * math.Sqrt(mm)
}

// use divides each day's rod days among the hatches by their chances and what
// they draw, and works out how uncertain each share is: a hatch is on or off, and mostly for
// the trip as a whole.
func use(all []Outlook, days int, perDay float64) {
	scale := make([]float64, days) // rod days for each unit of chance and pull
	for d := range scale {
		var sum float64
		for i := range all {
			sum += all[i].Chance[d] * all[i].pull
		}
		if sum > 0 {
			scale[d] = perDay / sum
		}
	}
	var whole float64
	for i := range all {
		o := &all[i]
		for d, c := range o.Chance {
			o.rodDays += scale[d] * o.pull * c
			o.spread += scale[d] * scale[d] * c * (1 - c)
			for e, other := range o.Chance[:d] {
				o.spread += 2 * scale[d] * scale[e] * lasting * (min(c, other) - c*other)
			}
		}
		o.spread *= o.pull * o.pull
		whole += o.rodDays
	}
	for i := range all {
		if whole > 0 {
			all[i].Share = all[i].rodDays / whole
		}
	}
}

// placeOf is where a water lies; what is not said is as at the pack's home.
func placeOf(w flybox.TripWater, region string) *hatchkeys.Place {
	if w.Altitude == nil && w.Latitude == nil {
		return nil
	}
	p, _ := hatchkeys.Home(region)
	if w.Altitude != nil {
		p.Altitude = max(hatchkeys.MinAltitude, min(hatchkeys.MaxAltitude, *w.Altitude))
	}
	if w.Latitude != nil {
		p.Latitude = min(hatchkeys.MaxLatitude, math.Abs(*w.Latitude))
	}
	return &p
}

// RodDays is how many rod days the trip has, and on each day, in days of
// AssumedHours for a party of mixed skill.
func RodDays(trip flybox.Trip) (all, perDay float64) {
	hours := trip.Hours
	if hours == 0 {
		hours = AssumedHours
	}
	perDay = float64(trip.Rods) * hours / AssumedHours * skillFactor(string(trip.Skill))
	_, _, n := trip.Days()
	return perDay * float64(min(n, MaxDays)), perDay
}

// evenings are the evenings left for tying, from today until the day before
// the trip.
func evenings(trip flybox.Trip, today time.Time) int {
	first, _, _ := trip.Days()
	day := time.Date(today.Year(), today.Month(), today.Day(), 0, 0, 0, 0, time.UTC)
	left := max(int(math.Round(first.Sub(day).Hours()/24)), 0)
	if trip.Evenings != nil {
		return min(*trip.Evenings, left)
	}
	return left
}
