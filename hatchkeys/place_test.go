package hatchkeys_test

import (
	"math"
	"testing"

	"dampstone/hatchkeys"
)

func probability(t *testing.T, line, id string) float64 {
	t.Helper()
	return read(t, line).Find(id).Probability
}

func TestSpringComesLaterUphillAndAutumnEarlier(t *testing.T) {
	rows := []struct {
		name, id    string
		month, day  int
		highIsMore  bool
		low, uphill string
	}{
		// Salmonflies: over by July at home, still on higher up.
		{"early summer hatch, late in its season", "salmonfly", 7, 12, true, `"altitude_m":1200`, `"altitude_m":2000`},
		{"early summer hatch, before its season", "salmonfly", 4, 25, false, `"altitude_m":1200`, `"altitude_m":2000`},
		{"toward the pole in spring", "skwala", 5, 15, true, `"latitude":45`, `"latitude":51`},
		// The large autumn caddis: begins in September at home, earlier higher up.
		{"autumn hatch, before its season", "dicosmoecus", 8, 20, true, `"altitude_m":1200`, `"altitude_m":2000`},
	}
	for _, row := range rows {
		date := `{"region":"west-na","month":` + itoa(row.month) + `,"day":` + itoa(row.day) + `,`
		low, high := probability(t, date+row.low+"}", row.id), probability(t, date+row.uphill+"}", row.id)
		if (high > low) != row.highIsMore {
			t.Errorf("%s: %s at home %.4f, uphill or north %.4f", row.name, row.id, low, high)
		}
	}
}

func itoa(n int) string {
	if n >= 10 {
		return itoa(n/10) + itoa(n%10)
	}
	return string(rune('0' + n))
}

func TestHomeShiftsNothing(t *testing.T) {
	at := probability(t, `{"region":"west-na","month":6,"latitude":45,"altitude_m":1200}`, "salmonfly")
	plain := probability(t, `{"region":"west-na","month":6}`, "salmonfly")
	if math.Abs(at-plain) > 1e-12 {
		t.Errorf("at home %v, without a place %v", at, plain)
	}
}

func TestSouthernSpringIsInOctober(t *testing.T) {
	// Higher ground lags in southern spring just as in the north.
	k, err := hatchkeys.ForRegion("south")
	if err != nil {
		t.Fatal(err)
	}
	late := func(month, day int, altitude float64) float64 {
		e := hatchkeys.Evidence{Month: month, Day: day, Place: &hatchkeys.Place{Latitude: 44, Altitude: altitude}}
		return k.Read(e).Find("pyronota").Probability
	}
	if low, high := late(10, 25, 350), late(10, 25, 1200); high >= low {
		t.Errorf("before its season: low %v, high %v; want less uphill", low, high)
	}
}

func TestPlacesAreChecked(t *testing.T) {
	for _, line := range []string{`{"region":"west-na","latitude":90}`, `{"region":"west-na","altitude_m":9000}`, `{"region":"west-na","altitude_m":"high"}`} {
		if _, _, err := hatchkeys.ParseJSON([]byte(line)); err == nil {
			t.Errorf("%s is accepted", line)
		}
	}
	if _, e, err := hatchkeys.ParseJSON([]byte(`{"region":"south","latitude":-45}`)); err != nil || e.Place.Latitude != 45 {
		t.Errorf("%+v, %v", e.Place, err)
	}
}
