// Package measure writes and reads quantities in the units a person chose.
package measure

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// Units are the units a person chose, and how their language writes decimals.
type Units struct {
	Inches     bool // lengths of insects and flies; else mm
	Fahrenheit bool // temperatures; else degrees Celsius
	Comma      bool // decimal comma
}

// Exact conversions. 1 in = 25.4 mm; 1 ft3/s = 0.028316846592 m3/s.
const (
	mmPerInch = 25.4
)

// ErrNotNumber says that a text is no number.
var ErrNotNumber = errors.New("not a number")

func (u Units) format(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	if u.Comma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// Number writes x with at most decimals places.
func (u Units) Number(x float64, decimals int) string { return u.format(x, decimals) }

// Length writes a length given in mm, with its unit.
func (u Units) Length(mm float64) string {
	return u.LengthNumber(mm) + "\u00a0" + u.LengthUnit()
}

// LengthNumber writes a length given in mm, without its unit: whole mm from
// 10 on, halves below, hundredths of an inch.
func (u Units) LengthNumber(mm float64) string {
	switch {
	case u.Inches:
		return u.format(mm/mmPerInch, 2)
	case mm >= 10:
		return u.format(math.Round(mm), 0)
	}
	return u.format(math.Round(mm*2)/2, 1)
}

// LengthRange writes a range of lengths given in mm.
func (u Units) LengthRange(from, to float64) string {
	a, b := u.LengthNumber(from), u.LengthNumber(to)
	if a == b {
		return a + "\u00a0" + u.LengthUnit()
	}
	return a + "–" + b + "\u00a0" + u.LengthUnit()
}

// LengthUnit is the symbol of the unit of length.
func (u Units) LengthUnit() string {
	if u.Inches {
		return "in"
	}
	return "mm"
}

// ParseLength reads a length in the chosen unit as mm.
func (u Units) ParseLength(s string) (mm float64, err error) {
	x, err := Parse(s)
	if u.Inches {
		x *= mmPerInch
	}
	return x, err
}

// FishLength writes the length of a fish, given in mm, with its unit: as fish
// are measured, in cm or inches, to the half.
func (u Units) FishLength(mm float64) string {
	return u.FishLengthNumber(mm) + "\u00a0" + u.FishLengthUnit()
}

// FishLengthNumber is FishLength without the unit.
func (u Units) FishLengthNumber(mm float64) string {
	return u.format(math.Round(mm/u.mmPerFishUnit()*2)/2, 1)
}

// FishLengthUnit is the symbol of the unit that fish are measured in.
func (u Units) FishLengthUnit() string {
	if u.Inches {
		return "in"
	}
	return "cm"
}

// ParseFishLength reads the length of a fish in the chosen unit as mm.
func (u Units) ParseFishLength(s string) (mm float64, err error) {
	x, err := Parse(s)
	return x * u.mmPerFishUnit(), err
}

func (u Units) mmPerFishUnit() float64 {
	if u.Inches {
		return mmPerInch
	}
	return 10
}

const metresPerFoot = 0.3048 // exactly

// Level writes a level of water given in metres: to the centimetre, or to the
// hundredth of a foot, as staffs are marked.
func (u Units) Level(m float64) string { return u.LevelNumber(m) + "\u00a0" + u.HeightUnit() }

// LevelNumber is Level without the unit.
func (u Units) LevelNumber(m float64) string {
	if u.Inches {
		m /= metresPerFoot
	}
	return u.format(m, 2)
}

// ParseLevel reads a level in the chosen unit as metres.
func (u Units) ParseLevel(s string) (m float64, err error) {
	x, err := Parse(s)
	if u.Inches {
		x *= metresPerFoot
	}
	return x, err
}

// Rise writes a change of level given in metres, in cm or inches.
func (u Units) Rise(m float64) string {
	if u.Inches {
		return u.format(m*1000/mmPerInch, 1) + "\u00a0in"
	}
	return u.format(m*100, 1) + "\u00a0cm"
}

// HeightNumber writes a height given in metres, whole metres or feet.
func (u Units) HeightNumber(m float64) string {
	if u.Inches {
		m /= metresPerFoot
	}
	return u.format(m, 0)
}

// HeightUnit is the symbol of the unit of height: feet go with inches.
func (u Units) HeightUnit() string {
	if u.Inches {
		return "ft"
	}
	return "m"
}

// ParseHeight reads a height in the chosen unit as metres.
func (u Units) ParseHeight(s string) (m float64, err error) {
	x, err := Parse(s)
	if u.Inches {
		x *= metresPerFoot
	}
	return x, err
}

// Temperature writes a temperature given in degrees Celsius.
func (u Units) Temperature(c float64) string {
	return u.TemperatureNumber(c) + "\u00a0" + u.TemperatureUnit()
}

// TemperatureNumber is Temperature without the unit, to half a degree Celsius
// or one Fahrenheit.
func (u Units) TemperatureNumber(c float64) string {
	if u.Fahrenheit {
		return u.format(c*9/5+32, 0)
	}
	return u.format(math.Round(c*2)/2, 1)
}

// TemperatureUnit is the symbol of the unit of temperature.
func (u Units) TemperatureUnit() string {
	if u.Fahrenheit {
		return "°F"
	}
	return "°C"
}

// ParseTemperature reads a temperature in the chosen unit as degrees Celsius.
func (u Units) ParseTemperature(s string) (c float64, err error) {
	x, err := Parse(s)
	if u.Fahrenheit {
		x = (x - 32) * 5 / 9
	}
	return x, err
}

// Parse reads a decimal number with a point or a comma. It refuses anything
// else, infinities, and grouped thousands (two marks). Error: ErrNotNumber.
func Parse(s string) (float64, error) {
	s = strings.TrimSpace(s)
	if len(s) > 40 || strings.Count(s, ".")+strings.Count(s, ",") > 1 || strings.ContainsAny(s, "xXpP_nNiI") {
		return 0, ErrNotNumber
	}
	x, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, ErrNotNumber
	}
	return x, nil
}
