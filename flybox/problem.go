package flybox

import (
	"fmt"
	"slices"
	"strings"
)

// Codes of a Problem. A view translates them, with the Problem's data.
const (
	CodeRequired   = "required"          // nothing given
	CodeTooLong    = "too-long"          // Data: max, got (characters, or bytes for a whole entry)
	CodeControl    = "control-character" // text that cannot be shown
	CodeRange      = "out-of-range"      // Data: min, max, got
	CodeUnknown    = "unknown-value"     // Data: got
	CodeNotColour  = "not-a-colour"      // Data: got; wants #rrggbb
	CodeNotDate    = "not-a-date"        // Data: got; wants 2006-01-02
	CodeNotTime    = "not-a-time"        // Data: got; wants 2006-01-02T15:04:05Z07:00
	CodeBackwards  = "ends-before-start" // a span that ends before it starts
	CodeNotID      = "not-an-id"         // Data: got
	CodeIDTaken    = "id-taken"          // another record is known under the id
	CodeNotStamp   = "not-a-stamp"       // Data: got
	CodeNotJSON    = "not-json"          // Data: detail
	CodeNotUTF8    = "not-utf8"          //
	CodeNotObject  = "not-an-object"     // JSON that is not an object
	CodeNewFormat  = "newer-format"      // Data: got; kept, but not understood here
	CodeNewKind    = "unknown-kind"      // Data: got; kept, but not understood here
	CodeInconsist  = "does-not-add-up"   // parts that contradict one another
	CodeUnreadable = "unreadable"        // a stored record that cannot be read any more
)

// Problem says what is wrong with one field. It is an error, but its text is
// for logs: what a person reads is made from Field, Code and Data.
type Problem struct {
	Field string // JSON name of the field
	Code  string // one of the Code constants
	Data  map[string]any
}

func (p *Problem) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", p.Field, p.Code)
	keys := make([]string, 0, len(p.Data))
	for k := range p.Data {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		fmt.Fprintf(&b, " %s=%v", k, p.Data[k])
	}
	return b.String()
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

func (p *Problems) add(field, code string, data map[string]any) {
	*p = append(*p, Problem{Field: field, Code: code, Data: data})
}
