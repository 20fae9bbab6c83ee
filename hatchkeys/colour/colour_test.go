package colour

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"sync"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
)

// pairs reads testdata/ciede2000-pairs.csv: Sharma, Wu, Dalal (2005), Color
// Research & Application 30(1):21-30, table 1, from two open-source test files
// that cite the paper and agree digit for digit; the paper was not opened.
func pairs(t *testing.T) (rows []struct {
	n    int
	x, y Lab
	want float64
}) {
	t.Helper()
	file, err := os.Open("testdata/ciede2000-pairs.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range records[1:] {
		var v [8]float64
		for i, s := range rec {
			if v[i], err = strconv.ParseFloat(s, 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, struct {
			n    int
			x, y Lab
			want float64
		}{int(v[0]), lab(v[1], v[2], v[3]), lab(v[4], v[5], v[6]), v[7]})
	}
	if len(rows) != 34 {
		t.Fatalf("%d pairs, want 34", len(rows))
	}
	return rows
}

// The table is printed with four decimals.
const pairTolerance = 5e-5

func TestDeltaEAgreesWithThePublishedPairs(t *testing.T) {
	for _, r := range pairs(t) {
		if got := DeltaE(r.x, r.y); math.Abs(got-r.want) > pairTolerance {
			t.Errorf("pair %d: got %.6f, want %.4f", r.n, got, r.want)
		}
		if got := DeltaE(r.y, r.x); math.Abs(got-r.want) > pairTolerance {
			t.Errorf("pair %d swapped: got %.6f, want %.4f", r.n, got, r.want)
		}
	}
}

// Keeps the reason for apart true: should the library ever agree on all pairs,
// this fails and apart can go.
func TestLibraryAloneMissesOnlyThePairWithOppositeHues(t *testing.T) {
	for _, r := range pairs(t) {
		x := colorful.Lab(r.x.L/100, r.x.A/100, r.x.B/100)
		y := colorful.Lab(r.y.L/100, r.y.A/100, r.y.B/100)
		agrees := math.Abs(100*x.DistanceCIEDE2000(y)-r.want) <= pairTolerance
		if agrees != (r.n != 10) {
			t.Errorf("pair %d: library agrees %v", r.n, agrees)
		}
	}
}

func TestDeltaEIsADistance(t *testing.T) {
	const seed = 20261125
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	for range 2000 {
		random := func() Lab {
			l, a, b := colorful.Color{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}.Lab()
			return lab(100*l, 100*a, 100*b)
		}
		x, y := random(), random()
		if got := DeltaE(x, y) - DeltaE(y, x); math.Abs(got) > 1e-9 {
			t.Fatalf("%v %v: differs by %v when swapped", x, y, got)
		}
		if got := DeltaE(x, x); got != 0 {
			t.Fatalf("%v: %v from itself", x, got)
		}
		if got := DeltaE(x, y); !(got > 0) {
			t.Fatalf("%v %v: %v", x, y, got)
		}
	}
}

// Colours that are opposite in hue, but for rounding, must not fall now on one
// branch of the mean hue and now on the other: a pair turned a hair inwards,
// where the branch is certain, must be as far apart.
func TestDeltaETakesOneBranchForOppositeHues(t *testing.T) {
	const seed, hair = 5, 1e-6 * math.Pi / 180
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	for range 2000 {
		angle, chroma := 2*math.Pi*rng.Float64(), 1+4*rng.Float64()
		colour := func(angle float64) Lab { return lab(50, chroma*math.Cos(angle), chroma*math.Sin(angle)) }
		x, y := colour(angle), colour(angle)
		y.A, y.B = -y.A, -y.B
		h1, h2 := hue(x.A, x.B), hue(y.A, y.B)
		inwards := colour(angle + math.Pi - hair)
		if h1 > h2 {
			inwards = colour(angle + math.Pi + hair)
		}
		if got, want := DeltaE(x, y), DeltaE(x, inwards); math.Abs(got-want) > 1e-5 {
			t.Fatalf("hues %.3f and %.3f: %.6f, a hair inwards %.6f", h1, h2, got, want)
		}
	}
}

// Figures computed with the matrix derived from the primaries and white of
// IEC 61966-2-1 (0.64,0.33)(0.30,0.60)(0.15,0.06) and (0.3127,0.3290), and
// CIE 15's L*a*b*; sound implementations agree within 0.025.
func TestParse(t *testing.T) {
	tests := []struct {
		hex  string
		want Lab
	}{
		{"#FFFFFF", lab(100, 0, 0)},
		{"#808080", lab(53.5850, 0, 0)},
		{"#FF0000", lab(53.2371, 80.0901, 67.2033)},
		{"#00FF00", lab(87.7355, -86.1816, 83.1866)},
		{"#0000FF", lab(32.3009, 79.1953, -107.8555)},
		{"#6B5A2E", lab(38.9599, 0.8071, 27.7285)},
		{"#3C3A1E", lab(23.9359, -4.0542, 17.6680)},
		{"#F2E6A0", lab(90.7843, -6.0544, 35.6302)},
		{"#0A0A0A", lab(2.7417, 0, 0)},
	}
	for _, tc := range tests {
		got, ok := Parse(tc.hex)
		if !ok {
			t.Errorf("%s: not read", tc.hex)
		}
		for _, d := range []float64{got.L - tc.want.L, got.A - tc.want.A, got.B - tc.want.B} {
			if math.Abs(d) > 0.025 {
				t.Errorf("%s: got %.4f, want %.4f", tc.hex, [3]float64{got.L, got.A, got.B}, [3]float64{tc.want.L, tc.want.A, tc.want.B})
			}
		}
		if tc.want.A == 0 && (math.Abs(got.A) > 0.01 || math.Abs(got.B) > 0.01) {
			t.Errorf("%s: a grey is tinted: %.5f", tc.hex, [3]float64{got.L, got.A, got.B})
		}
	}
	for _, bad := range []string{"", "#fff", "ffffff", "#ffffffff", "#gggggg", "#12345é"} {
		if c, ok := Parse(bad); ok {
			t.Errorf("%q read as %v", bad, c)
		}
	}
}

func lab(l, a, b float64) Lab { return Lab{L: l, A: a, B: b} }

// hue in degrees, 0 to 360.
func hue(a, b float64) float64 {
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

// TestKnownDifferences asks for many more differences than are remembered, twice
// and from both sides, by several at once: all are as worked out anew.
func TestKnownDifferences(t *testing.T) {
	random := rand.New(rand.NewPCG(14, 2))
	colours := make([]Lab, 300) // 44,850 pairs
	last := 0
	for i := range colours {
		// Every other is as near to the one before as two can be, in one of the
		// three parts.
		if i%2 == 0 {
			last = random.IntN(1 << 24)
		} else {
			last ^= 1 << (8 * random.IntN(3))
		}
		c, ok := Parse(fmt.Sprintf("#%06x", last))
		if !ok {
			t.Fatal("no colour")
		}
		colours[i] = c
	}
	var all sync.WaitGroup
	for range 3 {
		all.Go(func() {
			for i, x := range colours {
				for j, y := range colours[:i] {
					want := deltaE(x, y)
					if x.code > y.code {
						want = deltaE(y, x)
					}
					if a, b := DeltaE(x, y), DeltaE(y, x); a != want || b != want {
						t.Errorf("%d and %d: %v and %v, want %v", i, j, a, b, want)
						return
					}
				}
			}
		})
	}
	all.Wait()
	if n := len(known.results); n == 0 || n > known.most {
		t.Errorf("%d results are remembered, at most %d should be", n, known.most)
	}
}
