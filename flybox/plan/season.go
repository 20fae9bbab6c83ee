package plan

import (
	"cmp"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
)

const (
	// growthC is the water temperature in degrees Celsius above which the
	// thermal sum counts. Assumed: published thresholds differ by species.
	growthC = 4.0
	// widestGap is the most days without a reading that are filled in by a
	// straight line.
	widestGap = 10
	// leastDays is how many days of this year and of an earlier one must
	// cover the same dates before the sums are compared.
	leastDays = 14
	// freshDays is how old the last reading may be when the trip begins.
	freshDays = 45
)

// Ahead is how many days the trip's season runs ahead of the earlier years of
// the same water, negative if it is behind: the thermal sum of the water this
// year was reached that much later in the mean of the earlier ones. ok is
// false where the readings do not say. A thermal sum is only compared with
// others of the same water, since sums differ by species and river.
func Ahead(temps []flybox.DayTemp, from time.Time) (days float64, ok bool) {
	years := map[int]map[int]float64{} // degree days by day of the year
	for year, list := range byYear(temps) {
		years[year] = fillIn(list)
	}
	year := from.Year()
	this := years[year]
	last := -1
	for day := range this {
		if day <= from.YearDay() {
			last = max(last, day)
		}
	}
	if last < 0 || from.YearDay()-last > freshDays {
		return 0, false
	}
	n := 0
	for other, sums := range years {
		if other >= year {
			continue
		}
		if d, good := lag(this, sums, last); good {
			days += d
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	return max(-hatchkeys.MaxAhead, min(hatchkeys.MaxAhead, days/float64(n))), true
}

func byYear(temps []flybox.DayTemp) map[int][]flybox.DayTemp {
	out := map[int][]flybox.DayTemp{}
	for _, t := range temps {
		if day, err := time.Parse(time.DateOnly, t.Date); err == nil {
			out[day.Year()] = append(out[day.Year()], t)
		}
	}
	return out
}

// fillIn is the degree days of each day of the year from the first reading to
// the last, without gaps; what lies before a gap that is too wide is left out.
func fillIn(list []flybox.DayTemp) map[int]float64 {
	sortby.Stable(list, func(a, b *flybox.DayTemp) int { return cmp.Compare(a.Date, b.Date) })
	out := map[int]float64{}
	was, before := 0, flybox.DayTemp{}
	for _, t := range list {
		at, _ := time.Parse(time.DateOnly, t.Date)
		day := at.YearDay()
		switch gap := day - was; {
		case was > 0 && gap > widestGap:
			clear(out)
		case was > 0:
			for i := 1; i < gap; i++ {
				share := float64(i) / float64(gap)
				out[was+i] = hatchkeys.DegreeDays(before.Min+share*(t.Min-before.Min), before.Max+share*(t.Max-before.Max), growthC)
			}
		}
		out[day] = hatchkeys.DegreeDays(t.Min, t.Max, growthC)
		was, before = day, t
	}
	return out
}

// lag is how many days after last another year had the sum that this year has
// on last, both counted from the first day that both have.
func lag(this, other map[int]float64, last int) (days float64, ok bool) {
	first := last
	for first > 1 {
		_, a := this[first-1]
		_, b := other[first-1]
		if !a || !b {
			break
		}
		first--
	}
	if last-first+1 < leastDays {
		return 0, false
	}
	var want, sum float64
	for day := first; day <= last; day++ {
		want += this[day]
	}
	if want == 0 {
		return 0, false
	}
	for day := first; ; day++ {
		warmth, have := other[day]
		if !have {
			return 0, false // that year's readings end before it was as warm
		}
		if sum+warmth >= want {
			part := 1.0
			if warmth > 0 {
				part = (want - sum) / warmth
			}
			return float64(day-last) - 1 + part, true
		}
		sum += warmth
	}
}
