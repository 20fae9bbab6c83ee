package hatchkeys

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"dampstone/hatchkeys/colour"
)

// unsure is the answer "I cannot tell" in JSON and in queries.
const unsure = "unsure"

// ParseJSON reads one JSON object of evidence, for example
//
//	{"region":"west-na","month":9,"wings":["short","none"],"length_mm":22}
//
// Every field but region is optional. A trait takes a value, a list of values
// that are all possible, or "unsure". The error names the field and what it
// may hold.
func ParseJSON(line []byte) (region string, e Evidence, err error) {
	region, e, _, err = ParseJSONWith(line)
	return region, e, err
}

// ParseJSONWith is ParseJSON for lines that may carry more than evidence: the
// fields named are returned as they are, and are no evidence.
func ParseJSONWith(line []byte, more ...string) (region string, e Evidence, rest map[string]json.RawMessage, err error) {
	rest = map[string]json.RawMessage{}
	region, e, err = parseJSON(line, more, rest)
	return region, e, rest, err
}

func parseJSON(line []byte, more []string, rest map[string]json.RawMessage) (region string, e Evidence, err error) {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(line, &raw); err != nil {
		return "", e, fmt.Errorf("not a JSON object: %w", err)
	}
	if raw == nil {
		return "", e, fmt.Errorf("want one JSON object on the line")
	}
	for key, v := range raw {
		if slices.Contains(more, key) {
			rest[key] = v
			continue
		}
		switch key {
		case "region":
			if err := json.Unmarshal(v, &region); err != nil {
				return "", e, fmt.Errorf("region: want a text such as \"west-na\"")
			}
		case "latitude", "altitude_m":
			// Read together below: each is nothing without the other.
		case "day":
			if err := whole(key, v, 1, 31, &e.Day); err != nil {
				return "", e, err
			}
		default:
			if err := e.setJSON(key, v); err != nil {
				return "", e, err
			}
		}
	}
	if err := e.placeJSON(raw, region); err != nil {
		return "", e, err
	}
	if region == "" {
		return "", e, fmt.Errorf("region is missing; use one of %v", Regions())
	}
	return region, e, nil
}

func (e *Evidence) setJSON(key string, v json.RawMessage) error {
	if isNull(v) {
		return nil
	}
	var text string
	if json.Unmarshal(v, &text) == nil && text == unsure {
		for _, a := range Questions {
			if a.String() == key {
				e.Unsure[a] = true
				return nil
			}
		}
	}
	switch key {
	case "month":
		return whole(key, v, 1, 12, &e.Month)
	case "length_mm":
		return number(key, v, MinLengthMM, MaxLengthMM, &e.LengthMM)
	case "hour":
		e.Hour = new(float64)
		return number(key, v, 0, 24, e.Hour)
	case "water_c":
		e.WaterC = new(float64)
		return number(key, v, MinWaterC, MaxWaterC, e.WaterC)
	case "colour":
		if json.Unmarshal(v, &text) != nil || !colour.Valid(text) {
			return &BadAnswer{Field: key, Value: string(v), Code: "not-a-colour"}
		}
		e.Colour = strings.ToLower(text)
	default:
		t, err := ParseTrait(key)
		if err != nil {
			return fmt.Errorf("field %q is not known; fields are region, day, latitude, altitude_m, %s", key, answerKeys())
		}
		values, err := texts(v)
		if err != nil {
			return fmt.Errorf("%s: want a value, a list of values or \"unsure\"; values are %v", key, t.Values())
		}
		if e.Choices[t], err = OneOf(t, values...); err != nil {
			return err
		}
	}
	return nil
}

// placeJSON reads latitude (degrees, the sign does not matter) and altitude_m.
// The one that is missing is that of the pack's home.
func (e *Evidence) placeJSON(raw map[string]json.RawMessage, region string) error {
	p := homes[packOf(region)]
	for _, f := range []struct {
		key      string
		min, max float64
		into     *float64
	}{
		{"latitude", -MaxLatitude, MaxLatitude, &p.Latitude},
		{"altitude_m", MinAltitude, MaxAltitude, &p.Altitude},
	} {
		v, ok := raw[f.key]
		if !ok || isNull(v) {
			continue
		}
		if err := number(f.key, v, f.min, f.max, f.into); err != nil {
			return err
		}
		e.Place = &p
	}
	p.Latitude = math.Abs(p.Latitude)
	return nil
}

func isNull(v json.RawMessage) bool { return string(bytes.TrimSpace(v)) == "null" }

func number(key string, v json.RawMessage, min, max float64, into *float64) error {
	if err := json.Unmarshal(v, into); err != nil {
		return &BadAnswer{Field: key, Value: string(v), Code: "not-a-number"}
	}
	if !(*into >= min && *into <= max) {
		return &BadAnswer{Field: key, Value: string(v), Code: "out-of-range", Min: min, Max: max}
	}
	return nil
}

// whole is number for one without a fraction; null is not given.
func whole(key string, v json.RawMessage, min, max float64, into *int) error {
	if isNull(v) {
		return nil
	}
	var x float64
	if err := number(key, v, min, max, &x); err != nil {
		return err
	}
	if x != math.Trunc(x) {
		return &BadAnswer{Field: key, Value: string(v), Code: "not-a-number"}
	}
	*into = int(x)
	return nil
}

// texts reads a text, a number, or a list of them.
func texts(v json.RawMessage) ([]string, error) {
	var one any
	if err := json.Unmarshal(v, &one); err != nil {
		return nil, err
	}
	list, ok := one.([]any)
	if !ok {
		list = []any{one}
	}
	var out []string
	for _, x := range list {
		switch x := x.(type) {
		case string:
			out = append(out, x)
		case float64:
			out = append(out, strconv.FormatFloat(x, 'g', -1, 64))
		default:
			return nil, fmt.Errorf("not a text: %v", x)
		}
	}
	return out, nil
}

func answerKeys() string {
	var keys []string
	for _, a := range Questions {
		keys = append(keys, a.String())
	}
	return strings.Join(keys, ", ")
}

// JSON writes evidence so that ParseJSON reads it back, for a note of what was
// seen.
func (e *Evidence) JSON(region string) ([]byte, error) {
	out := map[string]any{"region": region}
	for _, a := range Questions {
		switch {
		case e.Unsure[a] && !e.Given(a):
			out[a.String()] = unsure
		case !e.Given(a):
		case a == Month:
			out["month"] = e.Month
		case a == Length:
			out["length_mm"] = e.LengthMM
		case a == Colour:
			out["colour"] = e.Colour
		case a == Hour:
			out["hour"] = *e.Hour
		case a == WaterC:
			out["water_c"] = *e.WaterC
		default:
			t := Trait(a)
			var values []string
			for _, v := range t.Values() {
				if e.Choices[t].Has(t, v) {
					values = append(values, v)
				}
			}
			out[a.String()] = values
		}
	}
	if e.Day != 0 {
		out["day"] = e.Day
	}
	if e.Place != nil {
		out["latitude"], out["altitude_m"] = e.Place.Latitude, e.Place.Altitude
	}
	return json.Marshal(out)
}
