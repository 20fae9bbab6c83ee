package app

import (
	"errors"
	"net/url"
	"strconv"
	"strings"

	"dampstone/hatchkeys"
	"dampstone/views/measure"
)

// evidenceForm is the evidence of a query together with what was typed, so that a
// bad answer stays in its field.
type evidenceForm struct {
	evidence hatchkeys.Evidence
	typed    url.Values
	bad      map[string]*hatchkeys.BadAnswer // by field name
}

const unsure = "unsure"

// maxQuery bounds what the key reads from an address.
const maxQuery = 4096

// readAnswers reads the key's form. Lengths are in the unit that the form
// names; a bad answer counts as not given.
func readAnswers(q url.Values, u measure.Units) evidenceForm {
	a := evidenceForm{typed: q, bad: map[string]*hatchkeys.BadAnswer{}}
	for _, t := range hatchkeys.Traits {
		var values []string
		for _, v := range q[t.String()] {
			switch v {
			case "":
			case unsure:
				a.evidence.Unsure[t] = true
			default:
				values = append(values, v)
			}
		}
		c, err := hatchkeys.OneOf(t, values...)
		a.note(t.String(), err)
		if err == nil {
			a.evidence.Choices[t] = c
		}
	}
	a.readLength(q, u)
	a.number(q, "month", func(x float64) { a.evidence.Month = int(x) }, measure.Parse)
	a.number(q, "day", func(x float64) { a.evidence.Day = int(x) }, measure.Parse)
	a.number(q, "hour", func(x float64) { a.evidence.Hour = &x }, parseHour)
	a.number(q, "water_c", func(x float64) { a.evidence.WaterC = &x }, u.ParseTemperature)
	if c := q.Get("colour"); c == unsure {
		a.evidence.Unsure[hatchkeys.Colour] = true
	} else {
		a.evidence.Colour = strings.ToLower(c)
	}
	for _, b := range a.evidence.Check() {
		a.bad[b.Field] = b
		a.drop(b.Field)
	}
	return a
}

// drop forgets an answer that cannot be used.
func (a *evidenceForm) drop(field string) {
	e := &a.evidence
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

func (a *evidenceForm) note(field string, err error) {
	var bad *hatchkeys.BadAnswer
	if errors.As(err, &bad) {
		a.bad[field] = bad
	}
}

// readLength takes "length" in "unit" (mm or in), or "length_mm".
func (a *evidenceForm) readLength(q url.Values, u measure.Units) {
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
		if v == unsure {
			a.evidence.Unsure[hatchkeys.Length] = true
			continue
		}
		if strings.TrimSpace(v) == "" {
			continue
		}
		mm, err := parse(v)
		switch {
		case err != nil:
			a.bad["length_mm"] = &hatchkeys.BadAnswer{Field: "length_mm", Value: v, Code: "not-a-number"}
		case mm == 0:
			a.bad["length_mm"] = &hatchkeys.BadAnswer{Field: "length_mm", Value: v, Code: "out-of-range", Min: hatchkeys.MinLengthMM, Max: hatchkeys.MaxLengthMM}
		default:
			a.evidence.LengthMM = mm
		}
	}
}

func (a *evidenceForm) number(q url.Values, field string, set func(float64), parse func(string) (float64, error)) {
	v := strings.TrimSpace(q.Get(field))
	if v == "" {
		return
	}
	x, err := parse(v)
	if err != nil || (field == "month" || field == "day") && x != float64(int(x)) {
		a.bad[field] = &hatchkeys.BadAnswer{Field: field, Value: v, Code: "not-a-number"}
		return
	}
	set(x)
}

// parseHour reads "6", "6.5", "06:30" or "6h30".
func parseHour(s string) (float64, error) {
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

// query is the address part that carries the answers on to another page.
func (a *evidenceForm) query() string {
	out := url.Values{}
	for k, vs := range a.typed {
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
