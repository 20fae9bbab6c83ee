package screen

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"

	"github.com/gorilla/mux"
)

// Button is a form that is one button, with what it sends; each has an id of its
// own, so that a double tap counts once.
func (a *Host) Button(action, label string, fields ...[2]string) views.PostForm {
	return views.PostForm{Action: action, Label: label, Fields: append(fields, [2]string{"form", string(a.NewID())})}
}

// CodeNotNumber is the code of a Problem for text where a number belongs.
const CodeNotNumber = "not-a-number"

// WholeNumber reads a whole number; what is wrong is added to bad.
func WholeNumber(f url.Values, name string, bad *journal.Problems) int {
	x, err := measure.Parse(f.Get(name))
	switch {
	case strings.TrimSpace(f.Get(name)) == "":
		*bad = append(*bad, journal.Problem{Field: name, Code: journal.CodeRequired})
	case err != nil || x != float64(int(x)):
		*bad = append(*bad, journal.Problem{Field: name, Code: CodeNotNumber, Detail: journal.Detail{Got: journal.Of(Clip(f.Get(name)))}})
	}
	return int(x)
}

// OptionalNumber is WholeNumber for a field that may be left empty.
func OptionalNumber(f url.Values, name string, bad *journal.Problems) int {
	if strings.TrimSpace(f.Get(name)) == "" {
		return 0
	}
	return WholeNumber(f, name, bad)
}

// InRange adds a problem if x is outside min to max and the field had none.
func InRange(name string, x, min, max int, bad *journal.Problems) {
	if bad.Field(name) == nil && (x < min || x > max) {
		*bad = append(*bad, journal.Problem{Field: name, Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(min), Max: journal.Of(max), Got: journal.Of(x)}})
	}
}

// Merge adds problems of fields that have none yet.
func Merge(bad, more journal.Problems) journal.Problems {
	for _, p := range more {
		if bad.Field(p.Field) == nil {
			bad = append(bad, p)
		}
	}
	return bad
}

// FormField is a field of a form about a thing; ids are field.THING.NAME.
func FormField(page views.Page, thing, name, value string, bad journal.Problems) views.Field {
	f := views.Field{Name: name, Label: page.T.S("field." + thing + "." + name), Value: value}
	if id := "field." + thing + "." + name + ".hint"; page.T.Has(id) {
		f.Hint = page.T.S(id)
	}
	if p := bad.Field(name); p != nil {
		f.Error = ProblemText(page, p)
	}
	return f
}

// ProblemText says what to do about one problem.
func ProblemText(page views.Page, p *journal.Problem) string {
	id := "bad." + p.Code
	if !page.T.Has(id) {
		id = "bad.other"
	}
	return page.T.F(id, catalog.Data{"Value": valueText(page, p.Field, p.Got), "Min": valueText(page, p.Field, p.Min), "Max": valueText(page, p.Field, p.Max)})
}

// valueText is a value in the reader's unit, if its field has one.
func valueText(page views.Page, field string, v journal.Value) string {
	x, ok := v.Number()
	if !ok {
		return v.String()
	}
	switch strings.TrimRight(field, "0123456789") {
	case "length_mm":
		return page.U.Length(x)
	case "water_c":
		return page.U.Temperature(x)
	case "alt":
		return page.U.HeightNumber(x) + "\u00a0" + page.U.HeightUnit()
	}
	return page.U.Number(x, 2)
}

// ProblemList sums up a form's problems, with the label of each field.
func ProblemList(page views.Page, thing string, bad journal.Problems) []string {
	var out []string
	for i := range bad {
		text := ProblemText(page, &bad[i])
		// Fields of the waters of a trip have a number after their name.
		if id := "field." + thing + "." + strings.TrimRight(bad[i].Field, "0123456789"); page.T.Has(id) {
			text = page.T.S(id) + ": " + text
		}
		out = append(out, text)
	}
	return out
}

// FormID keeps the id of a form that is shown again, or makes a new one.
func (a *Host) FormID(typed url.Values) string {
	if id := typed.Get("form"); id != "" && len(id) <= maxFormID {
		return id
	}
	return string(a.NewID())
}

// maxFormID bounds the id of a form, in bytes.
const maxFormID = 64

// PathID is the id of a thing in the path of a request. It may be of nothing.
func PathID(r *http.Request, name string) journal.ID { return journal.ID(mux.Vars(r)[name]) }

// IDIn is the id of a thing in what was typed or chosen. It may be of nothing,
// or no id at all, which a body that holds it is refused for.
func IDIn(typed url.Values, name string) journal.ID { return journal.ID(typed.Get(name)) }

// IDsIn are the ids of things that were ticked.
func IDsIn(typed url.Values, name string) (ids []journal.ID) {
	for _, id := range typed[name] {
		ids = append(ids, journal.ID(id))
	}
	return ids
}

// Sent is a form that a request brought.
type Sent struct {
	flybox.Form
	random func() journal.ID
	things int
}

// Form is the form of a posted request. One without an id, or with one that
// this program does not make, is recorded each time that it comes.
func (a *Host) Form(r *http.Request) *Sent {
	f := &Sent{random: a.NewID}
	if f.ID = r.PostForm.Get("form"); len(f.ID) > maxFormID {
		f.ID = ""
	}
	if f.ID != "" {
		f.Content = r.URL.Path + "?" + r.PostForm.Encode()
	}
	return f
}

// NewID names a thing that the form makes: the same however often it is sent.
func (f *Sent) NewID() journal.ID {
	if f.ID == "" {
		return f.random()
	}
	f.things++
	return f.Thing(f.things - 1)
}

// Record does what a form asks for, once however often it comes: a double tap
// with cold thumbs, a repeat after a lost reply, here or on another device.
// plan says what to record after a look at the state. What is shown afterwards
// must not come from plan, which is not asked the second time.
func (a *Host) Record(r *http.Request, f *Sent, plan func(*flybox.State) ([]flybox.Body, error)) error {
	_, err := a.Ledger.RecordForm(r.Context(), f.Form, plan)
	return err
}

// Remove takes away a thing that is known, and leads on to another screen.
func (a *Host) Remove(r *http.Request, id journal.ID, to string, known func(*flybox.State) bool) (Result, error) {
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		if !known(s) {
			return nil, ErrNotFound
		}
		return []flybox.Body{flybox.Deleted{Target: id}}, nil
	})
	if err != nil {
		return Result{}, err
	}
	return GoTo(to, "removed", 0), nil
}

// AsProblems finds the problems in an error of the ledger.
func AsProblems(err error) (journal.Problems, bool) {
	var bad journal.Problems
	return bad, errors.As(err, &bad)
}

// OptionalDecimal reads a number that may be left empty.
func OptionalDecimal(f url.Values, name string, parse func(string) (float64, error), bad *journal.Problems) (x float64, given bool) {
	text := strings.TrimSpace(f.Get(name))
	if text == "" {
		return 0, false
	}
	x, err := parse(text)
	if err != nil {
		*bad = append(*bad, journal.Problem{Field: name, Code: CodeNotNumber, Detail: journal.Detail{Got: journal.Of(Clip(text))}})
		return 0, false
	}
	return x, true
}

// DecimalIn adds a problem if x is outside least to most and the field had
// none.
func DecimalIn(name string, x, least, most float64, bad *journal.Problems) {
	if bad.Field(name) == nil && !(x >= least && x <= most) {
		*bad = append(*bad, journal.Problem{Field: name, Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(least), Max: journal.Of(most), Got: journal.Of(x)}})
	}
}
