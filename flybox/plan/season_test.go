package plan

import (
	"math"
	"testing"
	"time"

	"dampstone/flybox"
)

// year of readings from January to June: a straight rise of a tenth of a
// degree a day, shifted by some days.
func year(y, later, days int) (out []flybox.DayTemp) {
	for d := range days {
		at := time.Date(y, 1, 1+d, 0, 0, 0, 0, time.UTC)
		c := 4 + 0.1*float64(d-later)
		out = append(out, flybox.DayTemp{Date: at.Format(time.DateOnly), Min: c, Max: c})
	}
	return out
}

func TestAheadComparesThermalSumsOfOneWater(t *testing.T) {
	trip := time.Date(2026, 5, 20, 0, 0, 0, 0, time.UTC)
	join := func(lists ...[]flybox.DayTemp) (all []flybox.DayTemp) {
		for _, l := range lists {
			all = append(all, l...)
		}
		return all
	}
	holes := func(list []flybox.DayTemp, every int) (out []flybox.DayTemp) {
		for i, t := range list {
			if i%every == 0 {
				out = append(out, t)
			}
		}
		return out
	}
	for _, c := range []struct {
		name  string
		temps []flybox.DayTemp
		want  float64
		ok    bool
	}{
		{"no readings", nil, 0, false},
		{"this year alone", year(2026, 0, 130), 0, false},
		{"earlier years alone", year(2025, 0, 180), 0, false},
		{"as ever", join(year(2026, 0, 130), year(2025, 0, 180)), 0, true},
		// By hand: both sums start where the first year passes 4 degrees; a
		// rise that begins ten days later reaches the same sum ten days later.
		{"ten days ahead", join(year(2026, 0, 130), year(2025, 10, 180)), 10, true},
		{"ten days behind", join(year(2026, 10, 130), year(2025, 0, 180)), -10, true},
		{"mean of two years", join(year(2026, 0, 130), year(2025, 10, 180), year(2024, 4, 180)), 7, true},
		{"a reading every fourth day", join(holes(year(2026, 0, 130), 4), holes(year(2025, 10, 180), 3)), 10, true},
		{"a reading every third week", join(holes(year(2026, 0, 130), 21), year(2025, 10, 180)), 0, false},
		{"readings that end in winter", join(year(2026, 0, 40), year(2025, 10, 180)), 0, false},
		{"an earlier year that ends too soon", join(year(2026, 0, 130), year(2025, 10, 120)), 0, false},
		{"far ahead is bounded", join(year(2026, 0, 130), year(2025, 60, 250)), 30, true},
		{"a date that is none", []flybox.DayTemp{{Date: "soon", Min: 1, Max: 2}}, 0, false},
	} {
		got, ok := Ahead(c.temps, trip)
		if ok != c.ok || math.Abs(got-c.want) > 0.3 {
			t.Errorf("%s: %.2f %v, want %g %v", c.name, got, ok, c.want, c.ok)
		}
	}
}
