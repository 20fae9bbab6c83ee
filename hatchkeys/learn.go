package hatchkeys

// Seen is a day on which the user saw a hatch on their own water.
type Seen struct {
	Hatch      string // id
	Month, Day int
}

const (
	// packWorth is what the pack's calendar counts for, in days of notes. It
	// keeps a few days of notes from drowning what is known of the region.
	packWorth = 20.0
	// bins of the calendar that notes are counted in: half months.
	bins = 24
	// maxLearn bounds how much notes raise or lower a half month.
	maxLearn = 200.0
)

// WithSightings is the key with its calendars sharpened by the user's own
// sightings.
//
// For each hatch, the share of its season that falls in each half month has a
// Dirichlet prior: the pack's shares times packWorth. Each distinct day on
// which the hatch was seen is one observation, half of it in its own half
// month and a quarter in each neighbour. The posterior mean share over the
// prior share is the factor by which presence in that half month changes, so
// that a season is moved and narrowed but not made longer or likelier as a
// whole. (Conjugate update of a multinomial; Gelman et al., Bayesian Data
// Analysis, section 3.4, from memory.)
//
// Sightings of hatches that the pack lacks are passed over.
func (k *Key) WithSightings(seen []Seen) *Key {
	days := map[string]map[int]bool{}
	for _, s := range seen {
		if k.Hatch(s.Hatch) == nil || s.Month < 1 || s.Month > 12 || s.Day < 1 || s.Day > 31 {
			continue
		}
		if days[s.Hatch] == nil {
			days[s.Hatch] = map[int]bool{}
		}
		first, end := monthDays[s.Month-1], monthDays[s.Month]
		days[s.Hatch][min(first+s.Day-1, end-1)] = true
	}
	if len(days) == 0 {
		return k
	}
	out := &Key{
		Pack: k.Pack, hatches: make([]hatchTable, len(k.hatches)), forms: k.forms, unknown: k.unknown,
		unknownPrior: k.unknownPrior, palette: k.palette, paletteWeigh: k.paletteWeigh,
	}
	copy(out.hatches, k.hatches)
	for i := range out.hatches {
		if on := days[k.Pack.Hatches[i].ID]; len(on) > 0 {
			out.hatches[i].learn(on)
		}
	}
	return out
}

// halfMonth is the half month of a day of the leap year.
func halfMonth(day int) int {
	for m := 11; ; m-- {
		if first := monthDays[m]; day >= first {
			half := 0
			if day-first >= 15 {
				half = 1
			}
			return 2*m + half
		}
	}
}

func (t *hatchTable) learn(on map[int]bool) {
	var presence, counts [bins]float64
	var total float64
	for d, p := range t.day {
		presence[halfMonth(d)] += p
		total += p
	}
	for d := range on {
		b := halfMonth(d)
		counts[b] += 0.5
		counts[(b+1)%bins] += 0.25
		counts[(b+bins-1)%bins] += 0.25
	}
	n := float64(len(on))
	var factor [bins]float64
	for b := range factor {
		prior := presence[b] / total
		posterior := (packWorth*prior + counts[b]) / (packWorth + n)
		factor[b] = min(max(posterior/prior, 1/maxLearn), maxLearn)
	}
	for d := range t.day {
		// Presence is a share of full season: it stays below 1 but may top it
		// a little where notes agree with the pack.
		t.day[d] = min(t.day[d]*factor[halfMonth(d)], 1.5)
	}
	for m := range t.month {
		t.month[m] = mean(t.day[monthDays[m]:monthDays[m+1]])
	}
	t.year = mean(t.day[:])
}
