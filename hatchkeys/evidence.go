package hatchkeys

import (
	"fmt"
	"strconv"

	"dampstone/hatchkeys/colour"
)

// Question numbers everything that may be answered: first the traits, then what
// is answered with a number, a date or a colour.
type Question int

// The answers beyond the traits.
const (
	Month  Question = Question(traitCount) + iota // month 1 to 12
	Length                                        // body length in mm without tails
	Colour                                        // body colour, sRGB
	Hour                                          // local clock, 0 to 24
	WaterC                                        // water temperature, degrees Celsius
	answerCount
)

// Questions lists everything that may be answered.
var Questions = func() (all []Question) {
	for a := range answerCount {
		all = append(all, a)
	}
	return all
}()

// String is the answer's key in queries and in the JSON interface.
func (a Question) String() string {
	switch a {
	case Month:
		return "month"
	case Length:
		return "length_mm"
	case Colour:
		return "colour"
	case Hour:
		return "hour"
	case WaterC:
		return "water_c"
	}
	return Trait(a).String()
}

// Choice is an answer from a closed list: a weight for each value, so that an
// angler may say "short or none". The zero Choice is no answer.
type Choice struct {
	w     [maxValues]float64
	given bool
}

// OneOf is the answer that one of values is true, none likelier than another.
// A value that the trait does not have is an error.
func OneOf(t Trait, values ...string) (Choice, error) {
	var c Choice
	for _, v := range values {
		i := t.Index(v)
		if i < 0 {
			return Choice{}, &BadAnswer{Field: t.String(), Value: v, Code: "unknown-value", Allowed: t.Values()}
		}
		c.w[i], c.given = 1, true
	}
	return c, nil
}

// Has tells whether value is among those given for t.
func (c Choice) Has(t Trait, value string) bool {
	i := t.Index(value)
	return c.given && i >= 0 && c.w[i] > 0
}

// Only tells whether value is the one value given for t.
func (c Choice) Only(t Trait, value string) bool {
	if !c.Has(t, value) {
		return false
	}
	n := 0
	for _, w := range c.w {
		if w > 0 {
			n++
		}
	}
	return n == 1
}

// Evidence is what an angler could see. Every part is optional.
type Evidence struct {
	Choices [traitCount]Choice
	// Month is 1 to 12, 0 if not given. Day refines it: 1 to 31, 0 if not given.
	Month, Day int
	// LengthMM is the body length in mm without tails, 0 if not given.
	LengthMM float64
	// Colour is the body colour as "#rrggbb", empty if not given.
	Colour string
	// Hour on the local clock, 0 to 24, nil if not given.
	Hour *float64
	// WaterC is the water temperature in degrees Celsius, nil if not given.
	WaterC *float64
	// Place of the water shifts the calendar; nil if not given.
	Place *Place
	// Unsure marks what the angler was asked and cannot tell. It leaves the
	// odds unchanged and is not asked again.
	Unsure [answerCount]bool
}

// Given tells whether a has an answer that bears on the odds.
func (e *Evidence) Given(a Question) bool {
	switch a {
	case Month:
		return e.Month != 0
	case Length:
		return e.LengthMM != 0
	case Colour:
		return e.Colour != ""
	case Hour:
		return e.Hour != nil
	case WaterC:
		return e.WaterC != nil
	}
	return e.Choices[a].given
}

// Any tells whether anything beyond the month is given.
func (e *Evidence) Any() bool {
	for a := range answerCount {
		if a != Month && e.Given(a) {
			return true
		}
	}
	return false
}

// Bounds of the numbers that are taken as answers. Outside them a number is a
// slip of the thumb.
const (
	MinLengthMM, MaxLengthMM = 0.5, 120.0
	MinWaterC, MaxWaterC     = -2.0, 40.0
)

// BadAnswer is an answer that cannot be used. A view translates Code.
type BadAnswer struct {
	Field   string   // key of the answer
	Value   string   // as given
	Code    string   // "unknown-value", "not-a-number", "out-of-range", "not-a-colour"
	Min     float64  // for "out-of-range"
	Max     float64  // for "out-of-range"
	Allowed []string // for "unknown-value"
}

func (b *BadAnswer) Error() string {
	switch b.Code {
	case "unknown-value":
		return fmt.Sprintf("%s: %q is not known; use one of %v", b.Field, b.Value, b.Allowed)
	case "not-a-number":
		return fmt.Sprintf("%s: %q is not a number", b.Field, b.Value)
	case "out-of-range":
		return fmt.Sprintf("%s: %s is outside %g to %g", b.Field, b.Value, b.Min, b.Max)
	case "not-a-colour":
		return fmt.Sprintf("%s: %q is not a colour such as #a98545", b.Field, b.Value)
	}
	return b.Field + ": " + b.Code
}

// Check says what in e cannot be used, one BadAnswer each.
func (e *Evidence) Check() []*BadAnswer {
	var bad []*BadAnswer
	number := func(a Question, x, min, max float64) {
		if !(x >= min && x <= max) { // also catches NaN
			bad = append(bad, &BadAnswer{Field: a.String(), Value: strconv.FormatFloat(x, 'g', -1, 64), Code: "out-of-range", Min: min, Max: max})
		}
	}
	if e.Month != 0 {
		number(Month, float64(e.Month), 1, 12)
	}
	if e.LengthMM != 0 {
		number(Length, e.LengthMM, MinLengthMM, MaxLengthMM)
	}
	if e.Hour != nil {
		number(Hour, *e.Hour, 0, 24)
	}
	if e.WaterC != nil {
		number(WaterC, *e.WaterC, MinWaterC, MaxWaterC)
	}
	if e.Place != nil {
		place := func(field string, x, min, max float64) {
			if !(x >= min && x <= max) {
				bad = append(bad, &BadAnswer{Field: field, Value: strconv.FormatFloat(x, 'g', -1, 64), Code: "out-of-range", Min: min, Max: max})
			}
		}
		place("latitude", e.Place.Latitude, MinLatitude, MaxLatitude)
		place("altitude_m", e.Place.Altitude, MinAltitude, MaxAltitude)
	}
	if e.Colour != "" && !colour.Valid(e.Colour) {
		bad = append(bad, &BadAnswer{Field: Colour.String(), Value: e.Colour, Code: "not-a-colour"})
	}
	return bad
}
