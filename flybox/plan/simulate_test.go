package plan

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
)

const trips = 10000

// Each line of a plan promises not to run out with a chance. Trips are drawn
// as the planner says that they go: a rate from the gamma distribution, then
// Poisson losses. The draws are gonum's, apart from the planner's sums.
func TestSimulatedTripsKeepThePromisedLevel(t *testing.T) {
	const seed = 41
	t.Logf("seed %d", seed)
	src := rand.NewPCG(seed, 2)
	for _, level := range []float64{0.8, 0.9, 0.95} {
		p := Make(demoRequest(t, func(b *flybox.Trip) { b.Level = level }))
		lines, stands := 0, 0
		for _, l := range p.Lines {
			if l.New != nil || l.Demand.Mean < 0.3 {
				continue
			}
			lines++
			enough, ready := 0, 0
			for range trips {
				rate := distuv.Gamma{Alpha: l.Demand.Size, Beta: l.Demand.Size / l.Demand.Mean, Src: src}.Rand()
				// Halfway, when a stage is met, a working number is left.
				if (distuv.Poisson{Lambda: max(rate/2, 1e-12), Src: src}).Rand() <= float64(l.Need-working(l)) {
					ready++
				}
				if (distuv.Poisson{Lambda: rate, Src: src}).Rand() <= float64(l.Need) {
					enough++
				}
			}
			got, want := float64(enough)/trips, l.Demand.AtMost(l.Need)
			if r := float64(ready) / trips; l.AtHand > 0 && l.Need >= l.AtHand {
				stands++
				if r < level-4*math.Sqrt(level*(1-level)/trips) {
					t.Errorf("level %g, %s: a working number was left on %.4f of trips", level, l.Fly.Name, r)
				}
			}
			// Four standard errors of a share among 10,000: one line in 16,000
			// is further out by chance.
			if se := math.Sqrt(want * (1 - want) / trips); math.Abs(got-want) > 4*se || got < level-4*se {
				t.Errorf("level %g, %s: %.4f of trips had enough, promised %.4f (error %.4f)", level, l.Fly.Name, got, want, se)
			}
		}
		if lines < 5 || stands < 3 {
			t.Errorf("level %g: only %d lines to look at, %d that nobody wants to stand without", level, lines, stands)
		}
	}
}

// The same against the finer story that the planner sums up in one
// distribution: hatches are on or off by day, mostly for the trip as a whole,
// the flies of each day fall to the hatches that are on, and those of a hatch
// to the flies that stand for it.
func TestSimulatedHatchesKeepThePromisedLevelNearly(t *testing.T) {
	const seed, level = 43, 0.9
	t.Logf("seed %d", seed)
	src := rand.NewPCG(seed, 3)
	rng := rand.New(src)
	p := Make(demoRequest(t, func(b *flybox.Trip) { b.Level = level }))
	perDay := p.RodDays / float64(len(p.Days)) * (1 - p.Blind)
	pace := p.GoneBy
	for way := range pace {
		pace[way] /= p.Rate.Mean() // a party of mixed skill
	}
	enough, ready := make([]int, len(p.Lines)), make([]int, len(p.Lines))
	sum, all := 0.0, 0
	for range trips {
		rate := distuv.Gamma{Alpha: p.Rate.Shape, Beta: p.Rate.Days, Src: src}.Rand()
		days := make([]float64, len(p.Hatches)) // rod days that fall to each hatch
		whole := make([]float64, len(p.Hatches))
		for h := range whole {
			whole[h] = rng.Float64()
		}
		asWhole := make([][]bool, len(p.Hatches))
		for h := range asWhole {
			asWhole[h] = make([]bool, len(p.Days))
			for d := range asWhole[h] {
				// Two days are as one with chance lasting.
				asWhole[h][d] = rng.Float64() < math.Sqrt(lasting)
			}
		}
		for d := range p.Days {
			var chances float64
			for _, o := range p.Hatches {
				chances += o.Chance[d] * o.pull
			}
			for h, o := range p.Hatches {
				u := rng.Float64()
				if asWhole[h][d] {
					u = whole[h]
				}
				if u < o.Chance[d] {
					days[h] += o.pull * perDay / chances
				}
			}
		}
		for i, l := range p.Lines {
			var exposed float64
			for _, u := range l.Uses {
				if u.Blind != "" {
					exposed += u.rodDays // on every day
					continue
				}
				exposed += days[u.index] * u.rodDays / p.Hatches[u.index].rodDays
			}
			n := distuv.Poisson{Lambda: max(rate*exposed*pace[l.Way], 1e-12), Src: src}.Rand()
			if n <= float64(l.Need) {
				enough[i]++
			}
			// Halfway, when a stage is met, a working number is left.
			if before := (distuv.Binomial{N: n, P: 0.5, Src: src}); float64(l.Need)-before.Rand() >= float64(working(l)) {
				ready[i]++
			}
			if l.New == nil {
				sum += n
			}
		}
		all++
	}
	worst, mean, lines := 0.0, 0.0, 0
	var expected float64
	for i, l := range p.Lines {
		if l.New == nil {
			expected += l.Demand.Mean
		}
		if got := float64(ready[i]) / trips; l.AtHand > 0 && l.Need >= l.AtHand && got < level-0.03 {
			t.Errorf("%s: a working number was left when it was wanted on %.4f of trips, wished %g", l.Fly.Name, got, level)
		}
		if l.New != nil || l.Demand.Mean < 0.3 {
			continue
		}
		lines++
		got := float64(enough[i]) / trips
		mean += got
		worst = max(worst, math.Abs(got-l.Demand.AtMost(l.Need)))
		// One distribution for a mixture that is not quite of its kind: the
		// promise may be off by three points in a hundred.
		if got < level-0.03 {
			t.Errorf("%s: %.4f of trips had enough, wished %g", l.Fly.Name, got, level)
		}
	}
	t.Logf("%d lines: on average %.4f of trips had enough; furthest from what was promised %.4f", lines, mean/float64(lines), worst)
	if got := sum / float64(all); math.Abs(got/expected-1) > 0.05 {
		t.Errorf("%.2f flies a trip, expected %.2f", got, expected)
	}
}

// working is the number that nobody wants to stand without.
func working(l Line) (n int) {
	for _, s := range l.Stands {
		n = max(n, s.Number)
	}
	return n
}

// demoRequest is a plan for four rods in August over the invented season.
func demoRequest(t testing.TB, change func(*flybox.Trip)) Request {
	t.Helper()
	s := demoState(t)
	trip := flybox.Trip{ID: "t", Name: "Canyon float", From: "2026-08-13", To: "2026-08-15", Rods: 4, Waters: []flybox.TripWater{{Name: "Sorrel River", Type: "tailwater"}}, Boxes: []journal.ID{demo.ID("boat-box")}}
	if change != nil {
		change(&trip)
	}
	key, quarries := regionOf(t, "west-na")
	return Request{Trip: trip, Today: time.Date(2026, 8, 10, 20, 0, 0, 0, time.UTC), Key: key, Quarries: quarries,
		Flies: match.CompileFlies(s), Slots: 48, Rate: AssumedRate}
}
