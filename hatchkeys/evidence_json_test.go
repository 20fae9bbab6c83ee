package hatchkeys_test

import (
	"strings"
	"testing"

	"dampstone/hatchkeys"
)

func TestParseJSONTakesWholeLines(t *testing.T) {
	for _, row := range []struct {
		name, line, want string // part of the error; empty: none
	}{
		{"one object", `{"region":"west-na","month":9,"day":3}`, ""},
		{"white space around it", "  {\"region\":\"west-na\"} \r", ""},
		{"a brace too many", `{"region":"west-na"}}`, "not a JSON object"},
		{"a bracket too many", `{"region":"west-na"}]`, "not a JSON object"},
		{"two objects", `{"region":"west-na"}{"region":"west-na"}`, "not a JSON object"},
		{"text behind it", `{"region":"west-na"} x`, "not a JSON object"},
		{"a list", `["west-na"]`, "not a JSON object"},
		{"nothing", `null`, "want one JSON object"},
		{"half a day", `{"region":"west-na","month":9,"day":3.9}`, "day"},
		{"half a month", `{"region":"west-na","month":8.5}`, "month"},
		{"a day written as a decimal", `{"region":"west-na","month":9,"day":3.0}`, ""},
		{"day 0", `{"region":"west-na","month":9,"day":0}`, "day"},
		{"day 32", `{"region":"west-na","month":9,"day":32}`, "day"},
		{"a day that is text", `{"region":"west-na","month":9,"day":"3"}`, "day"},
		{"no region", `{"month":9}`, "region is missing"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, _, err := hatchkeys.ParseJSON([]byte(row.line))
			if row.want == "" && err != nil || row.want != "" && (err == nil || !strings.Contains(err.Error(), row.want)) {
				t.Errorf("error %v, want one with %q", err, row.want)
			}
		})
	}
	// null is "not given", whatever the field.
	for _, field := range []string{"day", "month", "length_mm", "hour", "water_c", "colour", "wings", "latitude", "altitude_m", "gills"} {
		_, e, err := hatchkeys.ParseJSON([]byte(`{"region":"west-na","month":9,"` + field + `":null}`))
		if err != nil || e.Day != 0 || e.LengthMM != 0 || e.Hour != nil || e.WaterC != nil {
			t.Errorf("%s null: %+v, %v", field, e, err)
		}
	}
}
