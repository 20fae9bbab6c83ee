package level

import (
	"math"
	"testing"
	"time"
)

func near(got, want, by float64) bool { return math.Abs(got-want) <= by }

func steps(n int, by float64) (x []float64) {
	for i := range n {
		x = append(x, float64(i)*by)
	}
	return x
}

func TestTheilSen(t *testing.T) {
	for _, c := range []struct {
		name                string
		x, y                []float64
		slope               float64
		low, high, limitsBy float64 // limitsBy 0: not compared
	}{
		// Sen 1968, J. Am. Stat. Assoc. 63:1379-1389, worked example (from memory);
		// limits as scipy.stats.theilslopes 1.x gives them.
		{"Sen", []float64{1, 2, 3, 4, 10, 12, 18}, []float64{9, 15, 19, 20, 45, 55, 78}, 4, 3.7143, 4.375, 5e-5},
		// Helsel et al. 2020, USGS Techniques and Methods 4-A3, chapter 10,
		// illustration (from memory): least squares gives 1.71.
		{"Helsel", steps(7, 1), []float64{1, 2, 3, 4, 5, 16, 7}, 1, 0, 0, 0},
		// Computed with scipy.stats.theilslopes: a river that rises, in feet.
		{"rise", steps(8, .25), []float64{3.10, 3.12, 3.11, 3.15, 3.21, 3.30, 3.42, 3.60}, .246667, .11, .42, 5e-7},
		{"one bad reading", steps(7, .25), []float64{4.10, 4.02, 3.95, 9.99, 3.80, 3.72, 3.66}, -.30, 0, 0, 0},
		{"all equal", steps(6, 1), []float64{2.4, 2.4, 2.4, 2.4, 2.4, 2.4}, 0, 0, 0, 1e-12},
	} {
		s, ok := TheilSen(c.x, c.y)
		if !ok || !near(s.Mid, c.slope, 5e-7) {
			t.Errorf("%s: slope %v, want %v", c.name, s.Mid, c.slope)
		}
		if c.limitsBy > 0 && !(near(s.Low, c.low, c.limitsBy) && near(s.High, c.high, c.limitsBy)) {
			t.Errorf("%s: limits %v and %v, want %v and %v", c.name, s.Low, s.High, c.low, c.high)
		}
	}
	for _, x := range [][]float64{nil, {1}, {2, 2, 2}} {
		if s, ok := TheilSen(x, make([]float64, len(x))); ok {
			t.Errorf("%v has the slope %+v", x, s)
		}
	}
}

func TestMannKendall(t *testing.T) {
	for _, c := range []struct {
		name    string
		y       []float64
		s       int
		v, z, p float64
		pBy     float64
	}{
		// EPA QA/G-9S 2006, p. 109, with ties (read second-hand).
		{"EPA", []float64{10, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15}, 22, 155.3333, 1.68495, .0920, 5e-5},
		{"rise", []float64{3.10, 3.12, 3.11, 3.15, 3.21, 3.30, 3.42, 3.60}, 26, 65.3333, 3.0929, .000396825, 5e-10},
		{"Sen", []float64{9, 15, 19, 20, 45, 55, 78}, 21, 44.3333, 3.00376, 2.0 / 5040, 1e-12}, // all rise: 2 orders of 7!
		{"one bad reading", []float64{4.10, 4.02, 3.95, 9.99, 3.80, 3.72, 3.66}, -15, 44.3333, -2.10263, .0301587, 5e-7},
		{"all equal", []float64{2.4, 2.4, 2.4, 2.4, 2.4, 2.4}, 0, 0, 0, 1, 0},
	} {
		k := MannKendall(c.y)
		if k.S != c.s || !near(k.Var, c.v, 5e-5) || !near(k.Z, c.z, 5e-5) || !near(k.P, c.p, c.pBy) {
			t.Errorf("%s: %+v, want S %d Var %v Z %v P %v", c.name, k, c.s, c.v, c.z, c.p)
		}
	}
	if k := MannKendall(nil); k.P != 1 || k.S != 0 {
		t.Errorf("no values: %+v", k)
	}
}

var now = time.Date(2026, 9, 12, 6, 30, 0, 0, time.UTC)

// every gives readings in metres, so many minutes apart, the last one now.
func every(minutes int, m ...float64) (out []Reading) {
	for i, level := range m {
		out = append(out, Reading{now.Add(time.Duration(i+1-len(m)) * time.Duration(minutes) * time.Minute), level})
	}
	return out
}

func TestTrends(t *testing.T) {
	verdicts := func(readings []Reading) (out []Verdict) {
		for _, trend := range Trends(readings, now) {
			out = append(out, trend.Verdict)
		}
		return out
	}
	for _, c := range []struct {
		name     string
		readings []Reading
		want     [4]Verdict // 2, 6, 24 and 72 hours
	}{
		{"none", nil, [4]Verdict{Few, Few, Few, Few}},
		{"four are too few", every(10, 1, 1.1, 1.2, 1.3), [4]Verdict{Few, Few, Few, Few}},
		{"five that rise", every(20, 1, 1.01, 1.03, 1.04, 1.06), [4]Verdict{Rising, Rising, Rising, Rising}},
		{"five that fall over a day", every(360, 1.5, 1.42, 1.4, 1.33, 1.3), [4]Verdict{Few, Few, Falling, Falling}},
		{"up and down", every(20, 1, 1.02, .99, 1.01, 1), [4]Verdict{Unclear, Unclear, Unclear, Unclear}},
		{"as it was", every(20, 1, 1, 1, 1, 1, 1), [4]Verdict{Unclear, Unclear, Unclear, Unclear}},
		{"of last week", every(24*60*2, 1, 2, 3, 4, 5, 6), [4]Verdict{Few, Few, Few, Few}},
	} {
		got := verdicts(c.readings)
		for i, want := range c.want {
			if got[i] != want {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
				break
			}
		}
	}
	rise := Trends(every(20, 1, 1.01, 1.03, 1.04, 1.06), now)[0]
	if rise.N != 5 || !near(rise.PerHour.Mid, .045, 1e-9) || rise.PerHour.Low > rise.PerHour.Mid || rise.PerHour.High < rise.PerHour.Mid {
		t.Errorf("%+v", rise)
	}
	future := append(every(20, 1, 1, 1, 1, 1), Reading{now.Add(time.Hour), 9})
	if n := Trends(future, now)[0].N; n != 5 {
		t.Errorf("%d readings, with one of the future", n)
	}
}

func TestJumps(t *testing.T) {
	release := every(30, 1, 1.01, 1, .99, 1, 1.01, 1, 1.41, 1.4, 1.4, 1.42, 1.41, 1.4, 1.4)
	if j, ok := LastJump(release, now); !ok || !near(j.Metres, .40, .011) || j.After.Sub(j.Before) != 30*time.Minute || !j.After.Equal(release[7].At) {
		t.Errorf("a release: %+v, %v", j, ok)
	}
	steady := every(30, 1, 1.03, 1.06, 1.09, 1.12, 1.15, 1.18, 1.21, 1.24, 1.27, 1.3, 1.33, 1.36, 1.39)
	waves := every(30, 1, 1.01, 1, .99, 1, 1.01, 1, 1.02, 1.03, 1.02, 1.03, 1.02, 1.03, 1.02)
	for name, readings := range map[string][]Reading{"none": nil, "steady": steady, "waves": waves, "few": release[5:8]} {
		if j, ok := LastJump(readings, now); ok {
			t.Errorf("%s: %+v", name, j)
		}
	}
}

func TestRose(t *testing.T) {
	for _, c := range []struct {
		name     string
		readings []Reading
		want     bool
	}{
		{"up by a hand", every(60, 1, 1.1), true},
		{"a bad look at the staff", every(60, 1, 1.005), false},
		{"down", every(60, 1.1, 1), false},
		{"one", every(60, 1), false},
		{"up since last week", every(7*24*60, 1, 1.5), false},
	} {
		if got := Rose(c.readings, now); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
