package hatchkeys_test

import (
	"errors"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"dampstone/hatchkeys"
)

func TestBadEvidenceIsRefusedByName(t *testing.T) {
	rows := []struct{ name, line, wants string }{
		{"not JSON", `{"region":`, "JSON"},
		{"an array", `[1]`, "JSON object"},
		{"null", `null`, "JSON object"},
		{"two objects", `{"region":"west-na"} {"month":1}`, "one JSON object"},
		{"no region", `{"month":9}`, "region is missing"},
		{"region is a number", `{"region":9}`, "region"},
		{"text in a number", `{"region":"west-na","length_mm":"big"}`, "length_mm"},
		{"negative length", `{"region":"west-na","length_mm":-3}`, "outside"},
		{"huge length", `{"region":"west-na","length_mm":1e9}`, "outside"},
		{"month 13", `{"region":"west-na","month":13}`, "outside"},
		{"month 8.5", `{"region":"west-na","month":8.5}`, "month"},
		{"hour 25", `{"region":"west-na","hour":25}`, "outside"},
		{"boiling water", `{"region":"west-na","water_c":100}`, "outside"},
		{"unknown wing state", `{"region":"west-na","wings":"purple"}`, "upright"},
		{"a colour name", `{"region":"west-na","colour":"brown"}`, "#a98545"},
		{"unknown field", `{"region":"west-na","colur":"#a98545"}`, "colur"},
		{"an object for a choice", `{"region":"west-na","wings":{"short":1}}`, "wings"},
	}
	for _, row := range rows {
		_, _, err := hatchkeys.ParseJSON([]byte(row.line))
		if err == nil || !strings.Contains(err.Error(), row.wants) {
			t.Errorf("%s: error %v, want one with %q", row.name, err, row.wants)
		}
	}
	if _, err := hatchkeys.ForRegion("atlantis"); !errors.Is(err, hatchkeys.ErrUnknownRegion) {
		t.Errorf("unknown region: %v", err)
	}
}

func TestGoodEvidence(t *testing.T) {
	_, e, err := hatchkeys.ParseJSON([]byte(`{"region":"west-na","tails":2,"wings":["short","none"],"colour":"#A98545","hour":0,"month":null}`))
	if err != nil {
		t.Fatal(err)
	}
	if !e.Choices[hatchkeys.Tails].Only(hatchkeys.Tails, "2") || !e.Choices[hatchkeys.Wings].Has(hatchkeys.Wings, "none") ||
		e.Colour != "#a98545" || e.Hour == nil || *e.Hour != 0 || e.Month != 0 {
		t.Errorf("%+v", e)
	}
}

func FuzzParseJSON(f *testing.F) {
	f.Add([]byte(fullEvidence))
	f.Add([]byte(`{"region":"west-na","wings":["short","unsure"]}`))
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		_, e, err := hatchkeys.ParseJSON(line)
		if err != nil {
			return
		}
		r := k.Read(e)
		if p := r.Ranked[0].Probability; !(p > 0 && p < 1) {
			t.Errorf("probability %v", p)
		}
	})
}

func TestEvidenceSurvivesARoundTrip(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 2))
	for range 500 {
		e := randomEvidence(rng)
		e.Unsure[hatchkeys.Length] = e.LengthMM == 0
		if rng.IntN(3) == 0 {
			e.Place = &hatchkeys.Place{Latitude: 40, Altitude: 900}
		}
		raw, err := e.JSON("west-na")
		if err != nil {
			t.Fatal(err)
		}
		region, back, err := hatchkeys.ParseJSON(raw)
		if err != nil || region != "west-na" || !reflect.DeepEqual(e, back) {
			t.Fatalf("%s: %v\n%+v\n%+v", raw, err, e, back)
		}
	}
}
