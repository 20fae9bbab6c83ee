package hatchkeys

import (
	"math"
	"testing"
)

// weatherKey is the 14-row weather table as a key without observer error: two
// "hatches" (play yes, play no) of one form each, four traits.
//
// Rows: Quinlan 1986, Induction of Decision Trees, Machine Learning 1:81-106,
// as reproduced on a university course page from Mitchell 1997 ch. 3.
// Outlook (sunny, overcast, rain) is Tails, temperature (hot, mild, cool) the
// first three values of Wind, humidity (high, normal) Gills, and wind (weak,
// strong) the first two values of Fish.
func weatherKey(smooth float64) *Key {
	type counts struct {
		n       float64
		outlook [3]float64
		temp    [3]float64
		humid   [2]float64
		wind    [2]float64
	}
	classes := []counts{
		{9, [3]float64{2, 4, 3}, [3]float64{2, 4, 3}, [2]float64{3, 6}, [2]float64{6, 3}},
		{5, [3]float64{3, 0, 2}, [3]float64{2, 2, 1}, [2]float64{4, 1}, [2]float64{2, 3}},
	}
	k := &Key{Pack: &Pack{}}
	for i, c := range classes {
		k.Pack.Hatches = append(k.Pack.Hatches, Hatch{ID: []string{"yes", "no"}[i], Abundance: c.n / 14, Forms: []Form{{ID: "x"}}})
		k.hatches = append(k.hatches, hatchTable{year: 1, anyWater: 1, first: i, n: 1})
		f := formTable{hatch: i, share: 1}
		set := func(t Trait, of []float64) {
			for v, x := range of {
				f.traits[t][v] = (x + smooth) / (c.n + smooth*float64(len(of)))
			}
		}
		set(Tails, c.outlook[:])
		set(Wind, c.temp[:])
		set(Gills, c.humid[:])
		set(Fish, c.wind[:])
		k.forms = append(k.forms, f)
	}
	return k
}

func TestPosteriorOfTheWeatherTable(t *testing.T) {
	// The query (sunny, cool, high, strong). Unsmoothed: Witten and Frank, Data
	// Mining, naive Bayes section, prints 20.5 % yes (from memory). The
	// eight digits were computed by hand arithmetic, scikit-learn 1.2.1
	// CategoricalNB and R 4.2.2 e1071, which agree.
	rows := []struct {
		name   string
		smooth float64
		yes    float64
	}{
		{"no smoothing", 0, 0.20458265},
		{"add one", 1, 0.27993335},
	}
	for _, row := range rows {
		var e Evidence
		for tr, v := range map[Trait]string{Tails: "0", Wind: "downstream", Gills: "yes", Fish: "sipping"} {
			c, err := OneOf(tr, v)
			if err != nil {
				t.Fatal(err)
			}
			e.Choices[tr] = c
		}
		r := weatherKey(row.smooth).Read(e)
		if got := r.Find("yes").Probability; math.Abs(got-row.yes) > 5e-9 {
			t.Errorf("%s: P(yes) = %.10f, want %.8f", row.name, got, row.yes)
		}
	}
}

func TestInformationGain(t *testing.T) {
	// Prior (0.5, 0.3, 0.2), P(yes | class) = (0.9, 0.2, 0.5): expected gain
	// 0.313723 bits. By hand: H(prior) 1.485475; P(yes) 0.61.
	k := &Key{Pack: &Pack{}}
	for i, c := range []struct{ prior, yes float64 }{{0.5, 0.9}, {0.3, 0.2}, {0.2, 0.5}} {
		k.Pack.Hatches = append(k.Pack.Hatches, Hatch{ID: string(rune('a' + i)), Abundance: c.prior, Forms: []Form{{ID: "x"}}})
		k.hatches = append(k.hatches, hatchTable{year: 1, anyWater: 1, water: [maxValues]float64{1, 1, 1, 1}, first: i, n: 1})
		f := formTable{hatch: i, share: 1, lnMean: math.Log(10), lnSD: LengthError}
		for _, tr := range Traits {
			for v := range tr.Values() {
				f.traits[tr][v] = 1 / float64(len(tr.Values()))
			}
		}
		f.traits[Gills] = [maxValues]float64{c.yes, 1 - c.yes}
		k.forms = append(k.forms, f)
	}
	look, ok := k.Read(Evidence{}).NextByEntropy()
	if !ok || look.Question != Question(Gills) || math.Abs(look.Gain-0.313723) > 5e-7 {
		t.Errorf("got %v, gain %.6f, want gills, 0.313723", look.Question, look.Gain)
	}
}

func TestObserversTellSomethingButRuleNothingOut(t *testing.T) {
	for _, tr := range Traits {
		n := len(tr.Values())
		for i, truth := range tr.Values() {
			var p [maxValues]float64
			p[i] = 1
			got := observe(tr, p)
			var sum float64
			for j, x := range got {
				sum += x
				if j < n && x <= 0 {
					t.Errorf("%s: truth %s never answered as %s", tr, truth, tr.Values()[j])
				}
				if j < n && j != i && x >= got[i] {
					t.Errorf("%s: truth %s is answered as %s as often as rightly", tr, truth, tr.Values()[j])
				}
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Errorf("%s: answers to %s sum to %v", tr, truth, sum)
			}
		}
	}
}

func TestSeasonsFadeAndWrapOverTheNewYear(t *testing.T) {
	day := func(s string) int {
		d, err := dayOf(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	days, err := presence([]Season{{From: "11-15", To: "02-15", Weight: 1}})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []string{"11-15", "12-31", "01-01", "02-15"} {
		if days[day(d)] != 1 {
			t.Errorf("%s: presence %v, want 1", d, days[day(d)])
		}
	}
	// One standard deviation outside: exp(-1/2), by hand.
	if got := days[day("02-15")+int(seasonSD)]; math.Abs(got-math.Exp(-0.5)) > 1e-9 {
		t.Errorf("%v days after the end: %v, want %v", seasonSD, got, math.Exp(-0.5))
	}
	if got := days[day("07-01")]; got != seasonFloor {
		t.Errorf("midsummer: %v, want the floor %v", got, seasonFloor)
	}
	if _, err := presence([]Season{{From: "13-01", To: "02-15"}}); err == nil {
		t.Error("month 13 is accepted")
	}
}
