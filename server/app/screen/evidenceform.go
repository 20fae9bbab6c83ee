package screen

import (
	"errors"
	"net/url"
	"strconv"
	"strings"

	"dampstone/hatchkeys"
	"dampstone/views/measure"
)

// EvidenceForm is the evidence of a query together with what was typed, so that a
// bad answer stays in its field.
type EvidenceForm struct {
	Evidence hatchkeys.Evidence
	Typed    url.Values
	Bad      map[string]*hatchkeys.BadAnswer // by field name
}

const Unsure = "unsure"

// MaxQuery bounds what the key reads from an address.
const MaxQuery = 4096

// readAnswers reads the key's form. Lengths are in the unit that the form
// names; a bad answer counts as not given.
func readAnswers(q url.Values, u measure.Units) EvidenceForm {
	a := EvidenceForm{Typed: q, Bad: map[string]*hatchkeys.BadAnswer{}}
	for _, t := range hatchkeys.Traits {
		var values []string
		for _, v := range q[t.String()] {
			switch v {
			case "":
			case Unsure:
				a.Evidence.Unsure[t] = true
			default:
				values = append(values, v)
			}
		}
		c, err := hatchkeys.OneOf(t, values...)
		a.note(t.String(), err)
		if err == nil {
			a.Evidence.Choices[t] = c
		}
	}
	a.readLength(q, u)
	a.number(q, "month", func(x float64) { a.Evidence.Month = int(x) }, measure.Parse)
	a.number(q, "day", func(x float64) { a.Evidence.Day = int(x) }, measure.Parse)
	a.number(q, "hour", func(x float64) { a.Evidence.Hour = &x }, ParseHour)
	a.number(q, "water_c", func(x float64) { a.Evidence.WaterC = &x }, u.ParseTemperature)
	if c := q.Get("colour"); c == Unsure {
		a.Evidence.Unsure[hatchkeys.Colour] = true
	} else {
		a.Evidence.Colour = strings.ToLower(c)
	}
	for _, b := range a.Evidence.Check() {
		a.Bad[b.Field] = b
		a.drop(b.Field)
	}
	return a
}

// drop forgets an answer that cannot be used.
func (a *EvidenceForm) drop(field string) {
	e := &a.Evidence
	switch field {
	case "month":
		e.Month = 0
	case "length_mm":
		e.LengthMM = 0
	case "hour":
		e.Hour = nil
	case "water_c":
		e.WaterC = nil
	case "colour":
		e.Colour = ""
	}
}

func (a *EvidenceForm) note(field string, err error) {
	var bad *hatchkeys.BadAnswer
	if errors.As(err, &bad) {
		a.Bad[field] = bad
	}
}

// readLength takes "length" in "unit" (mm or in), or "length_mm".
func (a *EvidenceForm) readLength(q url.Values, u measure.Units) {
	parse := u.ParseLength
	switch q.Get("unit") {
	case "mm":
		parse = measure.Units{}.ParseLength
	case "in":
		parse = measure.Units{Inches: true}.ParseLength
	}
	values := q["length"]
	if v := q.Get("length_mm"); v != "" {
		values, parse = []string{v}, measure.Units{}.ParseLength
	}
	for _, v := range values {
		if v == Unsure {
			a.Evidence.Unsure[hatchkeys.Length] = true
			continue
		}
		if strings.TrimSpace(v) == "" {
			continue
		}
		mm, err := parse(v)
		switch {
		case err != nil:
			a.Bad["length_mm"] = &hatchkeys.BadAnswer{Field: "length_mm", Value: v, Code: "not-a-number"}
		case mm == 0:
			a.Bad["length_mm"] = &hatchkeys.BadAnswer{Field: "length_mm", Value: v, Code: "out-of-range", Min: hatchkeys.MinLengthMM, Max: hatchkeys.MaxLengthMM}
		default:
			a.Evidence.LengthMM = mm
		}
	}
}

func (a *EvidenceForm) number(q url.Values, field string, set func(float64), parse func(string) (float64, error)) {
	v := strings.TrimSpace(q.Get(field))
	if v == "" {
		return
	}
	x, err := parse(v)
	if err != nil || (field == "month" || field == "day") && x != float64(int(x)) {
		a.Bad[field] = &hatchkeys.BadAnswer{Field: field, Value: v, Code: "not-a-number"}
		return
	}
	set(x)
}

// ParseHour reads "6", "6.5", "06:30" or "6h30".
func ParseHour(s string) (float64, error) {
	s = strings.ReplaceAll(s, "h", ":")
	h, m, found := strings.Cut(s, ":")
	if !found {
		return measure.Parse(s)
	}
	hour, err := measure.Parse(h)
	if err != nil {
		return 0, err
	}
	if m == "" {
		return hour, nil
	}
	min, err := strconv.Atoi(m)
	if err != nil || min < 0 || min > 59 {
		return 0, measure.ErrNotNumber
	}
	return hour + float64(min)/60, nil
}

// Query is the address part that carries the answers on to another page.
func (a *EvidenceForm) Query() string {
	out := url.Values{}
	for k, vs := range a.Typed {
		if k == "unit" || known[k] {
			for _, v := range vs {
				if v != "" && len(v) <= 64 {
					out.Add(k, v)
				}
			}
		}
	}
	if !out.Has("length") {
		out.Del("unit")
	}
	return out.Encode()
}

// known are the fields of the key's form.
var known = func() map[string]bool {
	m := map[string]bool{"length": true, "day": true}
	for _, a := range hatchkeys.Questions {
		m[a.String()] = true
	}
	return m
}()
