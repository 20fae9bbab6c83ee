package journal

import (
	"strconv"
	"strings"
)

// Codes of a Problem. A view translates them, with its Detail.
const (
	CodeRequired   = "required"          // nothing given
	CodeTooLong    = "too-long"          // Detail: max, got (characters, or bytes for a whole entry)
	CodeControl    = "control-character" // text that cannot be shown
	CodeRange      = "out-of-range"      // Detail: min, max, got
	CodeUnknown    = "unknown-value"     // Detail: got
	CodeNotColour  = "not-a-colour"      // Detail: got; wants #rrggbb
	CodeNotDate    = "not-a-date"        // Detail: got; wants 2006-01-02
	CodeNotTime    = "not-a-time"        // Detail: got; wants 2006-01-02T15:04:05Z07:00
	CodeBackwards  = "ends-before-start" // a span that ends before it starts
	CodeNotID      = "not-an-id"         // Detail: got
	CodeIDTaken    = "id-taken"          // another record is known under the id
	CodeNotStamp   = "not-a-stamp"       // Detail: got
	CodeNotJSON    = "not-json"          // Detail: got, what the reader of JSON says
	CodeNotUTF8    = "not-utf8"          //
	CodeNotObject  = "not-an-object"     // JSON that is not an object
	CodeNewFormat  = "newer-format"      // Detail: got; kept, but not understood here
	CodeNewKind    = "unknown-kind"      // Detail: got; kept, but not understood here
	CodeInconsist  = "does-not-add-up"   // parts that contradict one another
	CodeUnreadable = "unreadable"        // a stored record that cannot be read any more
)

// Problem says what is wrong with one field. It is an error, but its text is
// for logs: what a person reads is made from Field, Code and the Detail.
type Problem struct {
	Field string // JSON name of the field
	Code  string // one of the Code constants
	Detail
}

// Detail is what a Problem tells besides; which parts, its code says.
type Detail struct{ Got, Min, Max Value }

// Value is a text or a number. The zero Value is neither.
type Value struct {
	text   string
	number float64
	kind   valueKind
}

type valueKind uint8

const (
	noValue valueKind = iota
	aText
	aNumber
)

// Of makes a Value. Counts are text: only a float64 is in the unit of its
// field, which a reader may want in another.
func Of[T string | int | float64](x T) Value {
	switch x := any(x).(type) {
	case int:
		return Value{text: strconv.Itoa(x), kind: aText}
	case float64:
		return Value{number: x, kind: aNumber}
	case string:
		return Value{text: x, kind: aText}
	}
	return Value{} // there is no other type
}

// Number is the number of a Value that is one.
func (v Value) Number() (x float64, ok bool) { return v.number, v.kind == aNumber }

// String is the text, or the number as Go writes it; empty for the zero Value.
func (v Value) String() string {
	if v.kind == aNumber {
		return strconv.FormatFloat(v.number, 'g', -1, 64)
	}
	return v.text
}

func (p *Problem) Error() string {
	text := p.Field + ": " + p.Code
	for _, d := range []struct {
		name string
		Value
	}{{"got", p.Got}, {"max", p.Max}, {"min", p.Min}} {
		if d.kind != noValue {
			text += " " + d.name + "=" + d.String()
		}
	}
	return text
}

// Problems are all that is wrong with a body. It is an error if not empty;
// use Err to turn an empty list into a nil error.
type Problems []Problem

func (p Problems) Error() string {
	parts := make([]string, len(p))
	for i := range p {
		parts[i] = p[i].Error()
	}
	return strings.Join(parts, "; ")
}

// Unwrap lets errors.As find a single *Problem.
func (p Problems) Unwrap() []error {
	errs := make([]error, len(p))
	for i := range p {
		errs[i] = &p[i]
	}
	return errs
}

// Err is p as an error, or nil if there is no problem.
func (p Problems) Err() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

// Field is the first problem with the named field, or nil.
func (p Problems) Field(name string) *Problem {
	for i := range p {
		if p[i].Field == name {
			return &p[i]
		}
	}
	return nil
}

// Add adds a problem.
func (p *Problems) Add(field, code string, d Detail) {
	*p = append(*p, Problem{Field: field, Code: code, Detail: d})
}
