package results

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func TestBetaDistribution(t *testing.T) {
	// scipy 1.10.1: scipy.stats.beta.cdf(x, a, b).
	for _, c := range []struct{ a, b, x, want float64 }{
		{2, 5, 0.1, 0.11426500000000002},
		{0.5, 0.5, 0.3, 0.36901011956554536},
		{5.4, 18.6, 0.223, 0.5267284509570779},
		{438, 544, 0.446, 0.5002047246253145},
		{1.2, 0.8, 0.01, 0.0031069413249894336},
		{3, 4.5, 0.9, 0.9995233261712003},
		{120.5, 3.25, 0.98, 0.61478429745273},
	} {
		if got := (Beta{c.a, c.b}).CDF(c.x); !near(got, c.want, 1e-12) {
			t.Errorf("CDF(%v; %v, %v) = %.15g, want %.15g", c.x, c.a, c.b, got, c.want)
		}
	}
	// scipy 1.10.1: scipy.stats.beta.ppf(p, a, b). The first two are also the
	// interval printed for 437 girls of 980 births in Gelman and others,
	// Bayesian Data Analysis, section 2.4: 0.415 to 0.477 (from memory).
	for _, c := range []struct{ a, b, p, want float64 }{
		{438, 544, 0.025, 0.4150654924550014},
		{438, 544, 0.975, 0.4771997706294425},
		{5.4, 18.6, 0.05, 0.10172620457529663},
		{0.5, 3.5, 0.05, 0.0006029985422092987},
		{1.2, 0.8, 0.95, 0.9805140161120316},
		{1, 1, 0.9, 0.9},
		{3, 0.5, 0.5, 0.920967232923827},
		{0.25, 2, 0.05, 2.56000524289745e-06},
		{40, 2.5, 0.95, 0.9860412613377442},
	} {
		if got := (Beta{c.a, c.b}).Quantile(c.p); !near(got/c.want, 1, 1e-9) {
			t.Errorf("Quantile(%v; %v, %v) = %.15g, want %.15g", c.p, c.a, c.b, got, c.want)
		}
	}
}

func TestCDFAgreesWithAReferenceLibrary(t *testing.T) {
	for _, a := range []float64{0.1, 0.7, 1, 2.35, 9, 60.5, 900} {
		for _, b := range []float64{0.1, 0.7, 1, 2.35, 9, 60.5, 900} {
			for _, x := range []float64{0, 1e-9, 0.001, 0.2, 0.5, 0.77, 0.999, 1} {
				// gonum.org/v1/gonum/mathext.RegIncBeta
				if got, want := (Beta{a, b}).CDF(x), mathext.RegIncBeta(a, b, x); !near(got, want, 1e-10) {
					t.Errorf("CDF(%v; %v, %v) = %.15g, want %.15g", x, a, b, got, want)
				}
			}
		}
	}
}

func TestMeanAndSpread(t *testing.T) {
	// Gelman and others, Bayesian Data Analysis, section 5.1: 4 of 14 rats with
	// a Beta(1.4, 8.6) prior give a mean of 0.223 and a standard deviation of
	// 0.083 (from memory).
	b := Beta{1.4 + 4, 8.6 + 10}
	if !near(b.Mean(), 0.225, 0.003) || !near(b.SD(), 0.083, 0.001) {
		t.Errorf("mean %.4f, sd %.4f", b.Mean(), b.SD())
	}
}

func TestBetter(t *testing.T) {
	// scipy 1.10.1: scipy.integrate.quad(lambda x: beta.pdf(x, a, b) *
	// beta.cdf(x, c, d), 0, 1, epsabs=1e-13, epsrel=1e-12, limit=500).
	for _, c := range []struct{ a, b, c, d, want float64 }{
		{4, 8, 2, 30, 0.9874310541833002},
		{2, 3, 3, 2, 0.24285714285714277},
		{5, 2, 1, 4, 0.9761904761904759},
		{3.5, 2.25, 1.75, 4.1, 0.8773224029950087},
		{1.2, 3.7, 2.4, 2.6, 0.19290074555622397},
		{12.3, 8.1, 9.9, 9.7, 0.7380349901163088},
		{200, 150, 180, 170, 0.9357307091709247},
		{1.3, 1.9, 1.3, 1.9, 0.5},
		{0.7, 0.6, 0.5, 2.5, 0.8234622531190499},
	} {
		a, b := Beta{c.a, c.b}, Beta{c.c, c.d}
		if got := Better(a, b); !near(got, c.want, 2e-8) {
			t.Errorf("Better(%v, %v) = %.12f, want %.12f", a, b, got, c.want)
		}
		if got := Better(b, a); !near(got, 1-c.want, 2e-8) {
			t.Errorf("Better(%v, %v) = %.12f, want %.12f", b, a, got, 1-c.want)
		}
		if got := Best([]Beta{a, b})[0]; !near(got, c.want, 2e-6) {
			t.Errorf("by quadrature %v against %v: %.12f, want %.12f", a, b, got, c.want)
		}
	}
}

// A whole count anywhere gives the exact sum, which must be the same from all
// four sides.
func TestBetterIsTheSameFromAllSides(t *testing.T) {
	for _, c := range [][4]float64{{3, 5, 2, 7}, {1, 1, 1, 1}, {40, 12, 33, 9}, {2, 6, 1, 90}} {
		a, b := Beta{c[0], c[1]}, Beta{c[2], c[3]}
		want := greater(a.A, a.B, b.A, b.B)
		for side, got := range map[string]float64{
			"takes of the other": 1 - greater(b.A, b.B, a.A, a.B), "refusals of the other": greater(b.B, b.A, a.B, a.A),
			"own refusals": 1 - greater(a.B, a.A, b.B, b.A),
		} {
			if !near(got, want, 1e-10) {
				t.Errorf("%v against %v by %s: %.12f, want %.12f", a, b, side, got, want)
			}
		}
	}
}

// The lady tasting tea, 3 of 4 and 1 of 4: Fisher's one-sided P is 17/70. By
// Altham (1969), "Exact Bayesian analysis of a 2 x 2 contingency table", it is
// also the probability that the first rate is the smaller one when each
// starts from the prior that speaks against the difference, Beta(0, 1) and
// Beta(1, 0) (from memory; scipy.stats.fisher_exact([[3, 1], [1, 3]],
// alternative="greater") gives 0.242857).
func TestBetterIsFishersExactTest(t *testing.T) {
	first, second := Beta{3, 1 + 1}, Beta{1 + 1, 3}
	if got := Better(second, first); !near(got, 17.0/70, 1e-12) {
		t.Errorf("%.12f, want 17/70 = %.12f", got, 17.0/70)
	}
}

func TestBest(t *testing.T) {
	// scipy 1.10.1: quad of beta.pdf(x, *p[i]) * product of beta.cdf(x, *p[j]),
	// epsabs=1e-13, limit=500.
	got := Best([]Beta{{5.2, 3.1}, {2.5, 2.5}, {1.4, 1.1}})
	for i, want := range []float64{0.42418042770491016, 0.1998954864207203, 0.37592408587340337} {
		if !near(got[i], want, 1e-7) {
			t.Errorf("%d: %.10f, want %.10f", i, got[i], want)
		}
	}
	if n := len(Best(nil)); n != 0 {
		t.Errorf("%d of none", n)
	}
	if got := Best([]Beta{{2.5, 1}}); !near(got[0], 1, 1e-12) {
		t.Errorf("the only one: %v", got)
	}
	big := Best([]Beta{{6000.5, 4000.5}, {5900.5, 4100.5}})
	if !near(big[0]+big[1], 1, 1e-9) || big[0] < 0.9 || math.IsNaN(big[0]) {
		t.Errorf("ten thousand fish each: %v", big)
	}
}

// The standard deviation is that of gonum's beta distribution.
func TestDeviation(t *testing.T) {
	for _, b := range []Beta{{1, 1}, {0.5, 3}, {20, 7}, {400, 2}} {
		if want := (distuv.Beta{Alpha: b.A, Beta: b.B}).StdDev(); math.Abs(b.Deviation()-want) > 1e-12 {
			t.Errorf("%v: %v, want %v", b, b.Deviation(), want)
		}
	}
}
