package hatchkeys

import (
	"fmt"
	"math"
	"time"
)

const yearDays = 366 // a leap year, so that 02-29 has a place

// dayOf turns "07-20" into a day of the leap year, 0 to 365.
func dayOf(monthDay string) (int, error) {
	t, err := time.Parse("2006-01-02", "2000-"+monthDay)
	if err != nil {
		return 0, fmt.Errorf("month and day %q: %w", monthDay, err)
	}
	return t.YearDay() - 1, nil
}

// seasonFade is what is left of a hatch so many days outside its spell: a
// normal curve with seasonSD.
var seasonFade = func() (fade [yearDays/2 + 1]float64) {
	for d := range fade {
		z := float64(d) / seasonSD
		fade[d] = math.Exp(-z * z / 2)
	}
	return fade
}()

// presence is how far a hatch is in season on each day, from seasonFloor to 1.
// Outside a spell it fades, see seasonFade.
func presence(spells []Season) (days [yearDays]float64, err error) {
	for i := range days {
		days[i] = seasonFloor
	}
	for _, s := range spells {
		from, err := dayOf(s.From)
		if err != nil {
			return days, err
		}
		to, err := dayOf(s.To)
		if err != nil {
			return days, err
		}
		for d := range days {
			days[d] = max(days[d], s.Weight*seasonFade[daysOutside(d, from, to)])
		}
	}
	return days, nil
}

// daysOutside is how many days d lies outside from..to on the circle of the
// year, 0 inside.
func daysOutside(d, from, to int) int {
	wrap := func(x int) int { return ((x % yearDays) + yearDays) % yearDays }
	if wrap(d-from) <= wrap(to-from) {
		return 0
	}
	return min(wrap(from-d), wrap(d-to))
}

// monthDays are the first day of each month and the end of the year.
var monthDays = func() (first [13]int) {
	for m := 1; m <= 12; m++ {
		first[m-1] = time.Date(2000, time.Month(m), 1, 0, 0, 0, 0, time.UTC).YearDay() - 1
	}
	first[12] = yearDays
	return first
}()

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
