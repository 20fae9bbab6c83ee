package journal

import (
	"time"
	"unicode"
	"unicode/utf8"

	"dampstone/hatchkeys/colour"
)

// oneLine is the length up to which a text is one line, such as a name; longer
// ones may have several.
const oneLine = 120

// Text checks a string of at most most characters.
func (p *Problems) Text(field, s string, most int, required bool) {
	if s == "" {
		if required {
			p.Add(field, CodeRequired, Detail{})
		}
		return
	}
	if n := utf8.RuneCountInString(s); n > most {
		p.Add(field, CodeTooLong, Detail{Max: Of(most), Got: Of(n)})
	}
	multiline := most > oneLine
	for _, r := range s {
		if unicode.IsControl(r) && !(multiline && (r == '\n' || r == '\t')) {
			p.Add(field, CodeControl, Detail{})
			return
		}
	}
}

// Integer checks a whole number.
func (p *Problems) Integer(field string, got, low, high int) {
	if got < low || got > high {
		p.Add(field, CodeRange, Detail{Min: Of(low), Max: Of(high), Got: Of(got)})
	}
}

// Number checks a number; NaN is out of every range.
func (p *Problems) Number(field string, got, low, high float64) {
	if !(got >= low && got <= high) { // also catches NaN
		p.Add(field, CodeRange, Detail{Min: Of(low), Max: Of(high), Got: Of(got)})
	}
}

// ID checks an id.
func (p *Problems) ID(field string, got ID, required bool) {
	switch {
	case got == "" && required:
		p.Add(field, CodeRequired, Detail{})
	case got != "" && !IsID(got):
		p.Add(field, CodeNotID, Detail{Got: Of(Clip(got))})
	}
}

// Colour checks a colour, if there is one.
func (p *Problems) Colour(field, got string) {
	if got != "" && !colour.Valid(got) {
		p.Add(field, CodeNotColour, Detail{Got: Of(Clip(got))})
	}
}

// Moment reads an RFC 3339 time; ok is false if there is none or it is bad.
func (p *Problems) Moment(field, got string, required bool) (t time.Time, ok bool) {
	if got == "" {
		if required {
			p.Add(field, CodeRequired, Detail{})
		}
		return t, false
	}
	t, err := time.Parse(time.RFC3339, got)
	if err != nil {
		p.Add(field, CodeNotTime, Detail{Got: Of(Clip(got))})
	}
	return t, err == nil
}

func (p *Problems) Day(field, got string, required bool) (t time.Time, ok bool) {
	if got == "" {
		if required {
			p.Add(field, CodeRequired, Detail{})
		}
		return t, false
	}
	t, err := time.Parse(time.DateOnly, got)
	if err != nil {
		p.Add(field, CodeNotDate, Detail{Got: Of(Clip(got))})
	}
	return t, err == nil
}
