package measure

import (
	"errors"
	"math"
	"testing"
)

func TestTemperatureConversions(t *testing.T) {
	// Degrees Fahrenheit to Celsius, computed: (F-32)*5/9.
	for f, want := range map[string]float64{"60": 15.556, "65": 18.333, "68": 20, "73": 22.778, "77": 25} {
		got, err := Units{Fahrenheit: true}.ParseTemperature(f)
		if err != nil || math.Abs(got-want) > 5e-4 {
			t.Errorf("%s F = %v C (%v), want %v", f, got, err, want)
		}
	}
	if got := (Units{Fahrenheit: true}).Temperature(20); got != "68\u00a0°F" {
		t.Errorf("20 C shown as %q", got)
	}
}

func TestLengthsKeepTheirMeaning(t *testing.T) {
	// 1 in = 25.4 mm exactly (international yard and pound agreement, 1959; from memory).
	if mm, err := (Units{Inches: true}).ParseLength("0,87"); err != nil || math.Abs(mm-22.098) > 1e-9 {
		t.Errorf("0.87 in = %v mm (%v)", mm, err)
	}
	rows := []struct {
		u    Units
		mm   float64
		want string
	}{
		{Units{}, 22.2, "22\u00a0mm"},
		{Units{Comma: true}, 4.6, "4,5\u00a0mm"},
		{Units{Inches: true}, 22.2, "0.87\u00a0in"},
		{Units{Inches: true, Comma: true}, 25.4, "1\u00a0in"},
	}
	for _, r := range rows {
		if got := r.u.Length(r.mm); got != r.want {
			t.Errorf("Length(%v) with %+v = %q, want %q", r.mm, r.u, got, r.want)
		}
	}
}

func TestParseRefusesWhatIsNoNumber(t *testing.T) {
	for _, s := range []string{"", "abc", "1.2.3", "1,000.5", "NaN", "Inf", "0x10", "1e400", "12 mm", "١٢", "1_0"} {
		if x, err := Parse(s); !errors.Is(err, ErrNotNumber) {
			t.Errorf("Parse(%q) = %v, %v", s, x, err)
		}
	}
	for s, want := range map[string]float64{" 12 ": 12, "1,5": 1.5, "-2.5": -2.5, "1e1": 10} {
		if x, err := Parse(s); err != nil || x != want {
			t.Errorf("Parse(%q) = %v, %v; want %v", s, x, err, want)
		}
	}
}

func TestHeights(t *testing.T) {
	// 1 ft = 0.3048 m exactly.
	if got := (Units{Inches: true}).HeightNumber(1219.2); got != "4000" {
		t.Errorf("1219.2 m shown as %q ft", got)
	}
	if m, err := (Units{Inches: true}).ParseHeight("4000"); err != nil || math.Abs(m-1219.2) > 1e-9 {
		t.Errorf("4000 ft = %v m (%v)", m, err)
	}
}

func TestFishAreMeasuredInCentimetresOrInches(t *testing.T) {
	for _, r := range []struct {
		u          Units
		text, want string
		mm         float64
	}{
		{Units{}, "41.5", "41.5\u00a0cm", 415},
		{Units{Comma: true}, "41,4", "41,5\u00a0cm", 414},
		{Units{Inches: true}, "16", "16\u00a0in", 406.4}, // 1 in = 25.4 mm exactly
		{Units{Inches: true}, "16.6", "16.5\u00a0in", 421.64},
	} {
		mm, err := r.u.ParseFishLength(r.text)
		if err != nil || math.Abs(mm-r.mm) > 1e-9 || r.u.FishLength(mm) != r.want {
			t.Errorf("%q with %+v is %v mm (%v), shown as %q", r.text, r.u, mm, err, r.u.FishLength(mm))
		}
	}
}

func TestLevels(t *testing.T) {
	feet := Units{Inches: true}
	// 1 ft = 0.3048 m exactly: 4.40 ft are 1.34112 m; 10 ft are 3.048 m.
	if m, err := feet.ParseLevel("4.40"); err != nil || math.Abs(m-1.34112) > 1e-9 || feet.Level(m) != "4.4\u00a0ft" {
		t.Errorf("4.40 ft is %v m (%v), shown as %q", m, err, feet.Level(m))
	}
	if m, err := (Units{Comma: true}).ParseLevel("-0,25"); err != nil || m != -.25 || (Units{Comma: true}).Level(m) != "-0,25\u00a0m" {
		t.Errorf("-0,25 is %v (%v)", m, err)
	}
	// 1 in/h is 2.54 cm/h exactly.
	if got := feet.Rise(.0254); got != "1\u00a0in" {
		t.Errorf("2.54 cm shown as %q", got)
	}
	if got := (Units{}).Rise(.0254); got != "2.5\u00a0cm" {
		t.Errorf("2.54 cm shown as %q", got)
	}
}
