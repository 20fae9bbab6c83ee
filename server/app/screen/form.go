package screen

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"

	"dampstone/flybox"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

func (a *Host) Button(action, label string, fields ...[2]string) views.PostForm {
	return views.PostForm{Action: action, Label: label, Fields: append(fields, [2]string{"form", a.NewID()})}
}

// codeNotNumber is the code of a Problem for text where a number belongs.
const CodeNotNumber = "not-a-number"

// wholeNumber reads a whole number; what is wrong is added to bad.
func WholeNumber(f url.Values, name string, bad *flybox.Problems) int {
	x, err := measure.Parse(f.Get(name))
	switch {
	case strings.TrimSpace(f.Get(name)) == "":
		*bad = append(*bad, flybox.Problem{Field: name, Code: flybox.CodeRequired})
	case err != nil || x != float64(int(x)):
		*bad = append(*bad, flybox.Problem{Field: name, Code: CodeNotNumber, Data: map[string]any{"got": Clip(f.Get(name))}})
	}
	return int(x)
}

// optionalNumber is wholeNumber for a field that may be left empty.
func OptionalNumber(f url.Values, name string, bad *flybox.Problems) int {
	if strings.TrimSpace(f.Get(name)) == "" {
		return 0
	}
	return WholeNumber(f, name, bad)
}

// inRange adds a problem if x is outside min to max and the field had none.
func InRange(name string, x, min, max int, bad *flybox.Problems) {
	if bad.Field(name) == nil && (x < min || x > max) {
		*bad = append(*bad, flybox.Problem{Field: name, Code: flybox.CodeRange, Data: map[string]any{"min": min, "max": max, "got": x}})
	}
}

// merge adds problems of fields that have none yet.
func Merge(bad, more flybox.Problems) flybox.Problems {
	for _, p := range more {
		if bad.Field(p.Field) == nil {
			bad = append(bad, p)
		}
	}
	return bad
}

// formField is a field of a form about a thing; ids are field.THING.NAME.
func FormField(page views.Page, thing, name, value string, bad flybox.Problems) views.Field {
	f := views.Field{Name: name, Label: page.T.S("field." + thing + "." + name), Value: value}
	if id := "field." + thing + "." + name + ".hint"; page.T.Has(id) {
		f.Hint = page.T.S(id)
	}
	if p := bad.Field(name); p != nil {
		f.Error = ProblemText(page, p)
	}
	return f
}

// problemText says what to do about one problem.
func ProblemText(page views.Page, p *flybox.Problem) string {
	id := "bad." + p.Code
	if !page.T.Has(id) {
		id = "bad.other"
	}
	d := catalog.Data{"Value": "", "Min": "", "Max": ""}
	number := func(x any) any {
		switch x := x.(type) {
		case float64:
			switch strings.TrimRight(p.Field, "0123456789") {
			case "length_mm":
				return page.U.Length(x)
			case "water_c":
				return page.U.Temperature(x)
			case "alt":
				return page.U.HeightNumber(x) + "\u00a0" + page.U.HeightUnit()
			}
			return page.U.Number(x, 2)
		}
		return x
	}
	for from, to := range map[string]string{"got": "Value", "min": "Min", "max": "Max"} {
		if x, ok := p.Data[from]; ok {
			d[to] = number(x)
		}
	}
	return page.T.F(id, d)
}

// problemList sums up a form's problems, with the label of each field.
func ProblemList(page views.Page, thing string, bad flybox.Problems) []string {
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

// formID keeps the id of a form that is shown again, or makes a new one.
func (a *Host) FormID(typed url.Values) string {
	if id := typed.Get("form"); id != "" && len(id) <= 64 {
		return id
	}
	return a.NewID()
}

// once does what a form asks for unless the same form was done before: a
// double tap with cold thumbs counts once. A form without an id is done.
func (a *Host) Once(r *http.Request, do func() error) error {
	id := r.PostForm.Get("form")
	if id == "" {
		return do()
	}
	if !a.forms.begin(id) {
		return nil
	}
	err := do()
	a.forms.end(id, err == nil)
	return err
}

// recordOnce is once for what plan says after a look at the state, see
// flybox.Ledger.RecordWith.
func (a *Host) RecordOnce(r *http.Request, plan func(*flybox.State) ([]flybox.Body, error)) error {
	return a.Once(r, func() error {
		_, err := a.Ledger.RecordWith(r.Context(), plan)
		return err
	})
}

// removeOnce takes away a thing that is known, and leads on to another screen.
func (a *Host) RemoveOnce(r *http.Request, id, to string, known func(*flybox.State) bool) (Result, error) {
	err := a.RecordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
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

// doneForms remembers the forms that were done lately.
type doneForms struct {
	mu   sync.Mutex
	cond *sync.Cond
	ids  []string // oldest first
	busy map[string]bool
}

const rememberForms = 512

// begin tells whether the form is to be done now. While the same form is being
// done it waits for the outcome.
func (d *doneForms) begin(id string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.cond == nil {
		d.cond, d.busy = sync.NewCond(&d.mu), map[string]bool{}
	}
	for d.busy[id] {
		d.cond.Wait()
	}
	if slices.Contains(d.ids, id) {
		return false
	}
	d.busy[id] = true
	return true
}

func (d *doneForms) end(id string, done bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	delete(d.busy, id)
	if done {
		d.ids = append(d.ids, id)
		if len(d.ids) > rememberForms {
			d.ids = slices.Delete(d.ids, 0, len(d.ids)-rememberForms)
		}
	}
	d.cond.Broadcast()
}

// asProblems finds the problems in an error of the ledger.
func AsProblems(err error) (flybox.Problems, bool) {
	var bad flybox.Problems
	return bad, errors.As(err, &bad)
}

// optionalDecimal reads a number that may be left empty.
func OptionalDecimal(f url.Values, name string, parse func(string) (float64, error), bad *flybox.Problems) (x float64, given bool) {
	text := strings.TrimSpace(f.Get(name))
	if text == "" {
		return 0, false
	}
	x, err := parse(text)
	if err != nil {
		*bad = append(*bad, flybox.Problem{Field: name, Code: CodeNotNumber, Data: map[string]any{"got": Clip(text)}})
		return 0, false
	}
	return x, true
}

// decimalIn adds a problem if x is outside least to most and the field had
// none.
func DecimalIn(name string, x, least, most float64, bad *flybox.Problems) {
	if bad.Field(name) == nil && !(x >= least && x <= most) {
		*bad = append(*bad, flybox.Problem{Field: name, Code: flybox.CodeRange, Data: map[string]any{"min": least, "max": most, "got": x}})
	}
}
