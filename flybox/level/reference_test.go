package level

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// TestReference holds slopes, limits and P to SciPy, for series that
// testdata/reference.py made, and the step to the year that is published for
// R's series of the Nile.
func TestReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		SciPy, R string
		Nile     []float64
		Cases    []struct {
			X, Y           []float64
			Mid, Low, High float64
			P              *float64
			Exact          bool
		}
	}
	if err := json.Unmarshal(raw, &ref); err != nil {
		t.Fatal(err)
	}
	t.Logf("SciPy %s, %s", ref.SciPy, ref.R)
	if len(ref.Cases) < 20 {
		t.Fatalf("%d cases", len(ref.Cases))
	}
	for i, c := range ref.Cases {
		s, ok := TheilSen(c.X, c.Y)
		if !ok || math.Abs(s.Mid-c.Mid) > 1e-12 || math.Abs(s.Low-c.Low) > 1e-12 || math.Abs(s.High-c.High) > 1e-12 {
			t.Errorf("case %d, %d values: %+v, SciPy %v (%v to %v)", i, len(c.X), s, c.Mid, c.Low, c.High)
		}
		if c.P == nil {
			continue
		}
		k := MannKendall(c.Y)
		got := k.P
		if !c.Exact {
			// SciPy's asymptotic P is without the continuity correction.
			got = math.Erfc(math.Abs(float64(k.S)) / math.Sqrt(k.Var) / math.Sqrt2)
		}
		if math.Abs(got-*c.P) > 1e-9 {
			t.Errorf("case %d, %d values: P %v, SciPy %v", i, len(c.X), got, *c.P)
		}
	}
	// Cobb 1978: the flow of the Nile changed after 1898, the 28th of the years
	// from 1871 (read second-hand: the help of the data set, and many texts).
	step, ok := Pettitt(ref.Nile)
	if year := 1871 + step.At - 1; !ok || len(ref.Nile) != 100 || year != 1898 || step.P > 1e-5 || step.Size > -150 {
		t.Errorf("the last year before the step is %d of %d years, %+v", year, len(ref.Nile), step)
	}
}
