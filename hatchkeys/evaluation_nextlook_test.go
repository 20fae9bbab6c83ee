package hatchkeys

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// genericBox is a box of flies, each tied for one form of a pack: of its
// length, its commonest body colour and its silhouette.
type genericBox struct {
	models []int // form that each fly is tied for
	worth  [][]float64
}

func (b *genericBox) Len() int                      { return len(b.models) }
func (b *genericBox) Utility(fly, form int) float64 { return b.worth[fly][form] }

// silhouette of a form, as a fly would show it. Common practice, no source.
func silhouette(h *Hatch, f *Form) string {
	switch {
	case f.Stage == Nymph || f.Stage == NymphAshore || f.Stage == Shuck:
		return "nymph " + string(h.Group)
	case f.Stage == Pupa || f.Stage == Emerger:
		return "rising"
	case f.Wings != nil && f.Wings.Of["short"] > f.Wings.Of["flat"]:
		return "short-winged"
	case f.Stage == Spent || h.Group == Mayfly && (f.Stage == EggLayer || f.Stage == Adult):
		return "spent"
	}
	return "winged " + string(h.Group) + h.Like
}

// imitation is how well a fly tied for form a stands for form b: 1 for a
// perfect copy. How much a fish forgives is assumed.
func imitation(k *Key, a, b int) float64 {
	ha, fa := k.FormAt(a)
	hb, fb := k.FormAt(b)
	shape := 1.0
	if silhouette(ha, fa) != silhouette(hb, fb) {
		shape = 0.15
	}
	middle := func(r Range) float64 { return (math.Log(r.From) + math.Log(r.To)) / 2 }
	z := (middle(fa.Length) - middle(fb.Length)) / 0.18
	nearest := math.Inf(1)
	for _, hex := range fb.Colour.Body {
		nearest = min(nearest, mustColour(fa.Colour.Body[0]).DistanceCIEDE2000(mustColour(hex))*100)
	}
	c := nearest / 18
	return shape * math.Exp(-z*z/2) * math.Exp(-c*c/4)
}

// newGenericBox fills a box of n flies, each time with the fly that helps most
// over the year.
func newGenericBox(k *Key, n int) *genericBox {
	forms := len(k.forms)
	all := make([][]float64, forms)
	for a := range all {
		all[a] = make([]float64, forms)
		for b := range forms {
			all[a][b] = imitation(k, a, b)
		}
	}
	box := &genericBox{}
	have := make([]float64, forms)
	for range n {
		best, most := 0, -1.0
		for a := range all {
			var gain float64
			for b, u := range all[a] {
				t := &k.forms[b]
				gain += k.Pack.Hatches[t.hatch].Abundance * k.hatches[t.hatch].year * t.share * max(u-have[b], 0)
			}
			if gain > most {
				best, most = a, gain
			}
		}
		box.models = append(box.models, best)
		box.worth = append(box.worth, all[best])
		for b, u := range all[best] {
			have[b] = max(have[b], u)
		}
	}
	return box
}

// choose is the fly that the posterior expects most of.
func choose(r *Reading, box FlyChoice) int {
	best, most := 0, -1.0
	for j := range box.Len() {
		var u float64
		for f := range r.key.FormCount() {
			u += r.FormProbability(f) * box.Utility(j, f)
		}
		if u > most {
			best, most = j, u
		}
	}
	return best
}

// asked are the questions that may be asked, in the order of a plain key:
// what is plainest to see first. Common practice, no source.
var asked = []Question{
	Length, Question(Wings), Question(Looks), Colour, Question(Tails), Question(Doing), Question(Where),
	Question(Shucks), Question(Water), Question(Trend), Question(Fish), Question(Wind), Question(Gills),
}

// reveal puts the drawn answer to a into e.
func reveal(e *Evidence, from *Evidence, a Question) {
	switch {
	case !from.Given(a):
		e.Unsure[a] = true
	case a == Length:
		e.LengthMM = from.LengthMM
	case a == Colour:
		e.Colour = from.Colour
	default:
		e.Choices[a] = from.Choices[a]
	}
}

// policy asks the next question.
type policy struct {
	name string
	next func(r *Reading, box FlyChoice) (Look, bool)
}

var policies = []policy{
	{"value of information", func(r *Reading, box FlyChoice) (Look, bool) { return r.NextLook(box) }},
	{"entropy", func(r *Reading, _ FlyChoice) (Look, bool) { return r.NextByEntropy() }},
	{"fixed order", func(*Reading, FlyChoice) (Look, bool) { return Look{}, false }},
}

const shownSteps = 6

// course is what came of one insect under one policy.
type course struct {
	needed int                     // questions until the right fly, len(asked)+1 if never
	worth  [shownSteps + 1]float64 // of the fly chosen after so many questions, 1 is the best in the box
}

// follow asks until nothing is left to ask. Where the policy has nothing worth
// asking, the plain order goes on, so that all policies end alike.
func follow(k *Key, box FlyChoice, p policy, start, answers Evidence, truth int) course {
	var best float64
	for j := range box.Len() {
		best = max(best, box.Utility(j, truth))
	}
	c := course{needed: len(asked) + 1}
	e := start
	for n := 0; ; n++ {
		r := k.Read(e)
		u := box.Utility(choose(r, box), truth) / best
		if n <= shownSteps {
			c.worth[n] = u
		}
		if u >= 0.95 && n < c.needed {
			c.needed = n
		}
		if n == len(asked) || n >= shownSteps && c.needed <= len(asked) {
			return c
		}
		look, ok := p.next(r, box)
		for i := 0; !ok; i++ {
			if a := asked[i]; !e.Given(a) && !e.Unsure[a] {
				look, ok = Look{Question: a}, true
			}
		}
		reveal(&e, &answers, look.Question)
	}
}

// TestEvaluationOfTheNextLook compares the question with the greatest value of
// information over the choice of fly against the greatest expected loss of
// entropy over the name, and against a fixed order. All see the same insects
// and get the same answers, so differences are compared case by case.
func TestEvaluationOfTheNextLook(t *testing.T) {
	const cases, flies = 300, 30
	all := careful
	all.given = map[Question]float64{}
	for _, a := range asked {
		all.given[a] = 1
	}
	var total [3][]course
	report := func(name string, by [3][]course) {
		var b strings.Builder
		fmt.Fprintf(&b, "%s: %d cases, %d flies, seed %d\n  %-22s needed   right within 3   worth of the fly after 0, 1, 2 ... questions\n", name, len(by[0]), flies, evaluationSeed, "")
		for i, p := range policies {
			n := float64(len(by[i]))
			var needed, within float64
			var worth [shownSteps + 1]float64
			for _, c := range by[i] {
				needed += float64(c.needed) / n
				if c.needed <= 3 {
					within += 1 / n
				}
				for s := range worth {
					worth[s] += c.worth[s] / n
				}
			}
			fmt.Fprintf(&b, "  %-22s %6.2f   %10.1f %%    ", p.name, needed, 100*within)
			for _, w := range worth {
				fmt.Fprintf(&b, " %.3f", w)
			}
			b.WriteString("\n")
		}
		t.Log(b.String())
	}
	for _, region := range Regions() {
		key, err := ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		box := newGenericBox(key, flies)
		w := &world{key, rand.New(rand.NewPCG(evaluationSeed, 6))}
		var by [3][]course
		for len(by[0]) < cases {
			in := w.draw(0)
			if in.form == none { // no fly is right for what nobody knows
				continue
			}
			var start Evidence
			w.look(&all, in, Month, &start)
			w.look(&all, in, Hour, &start)
			answers := w.evidence(&all, in)
			for i, p := range policies {
				by[i] = append(by[i], follow(key, box, p, start, answers, in.form))
			}
		}
		report(region, by)
		for i := range by {
			total[i] = append(total[i], by[i]...)
		}
	}
	report("all regions", total)
	for i, other := range policies[1:] {
		needed, se := difference(total[0], total[i+1], func(c course) float64 { return float64(c.needed) })
		worth, seWorth := difference(total[0], total[i+1], func(c course) float64 { return (c.worth[1] + c.worth[2] + c.worth[3]) / 3 })
		t.Logf("against %s: %+.3f questions (standard error %.3f), %+.4f worth of the fly over questions 1 to 3 (%.4f)", other.name, needed, se, worth, seWorth)
		limit := 0.0 // the fixed order must not need fewer at all
		if other.name == "entropy" {
			limit = 2 * se
		}
		if needed > limit {
			t.Errorf("value of information needs %.3f questions more than %s (standard error %.3f)", needed, other.name, se)
		}
		if worth < -2*seWorth {
			t.Errorf("value of information chooses worse flies than %s by %.4f (standard error %.4f)", other.name, -worth, seWorth)
		}
	}
}

// difference is the mean of what a has over b, case by case, with its standard
// error.
func difference(a, b []course, of func(course) float64) (mean, se float64) {
	n := float64(len(a))
	for i := range a {
		mean += (of(a[i]) - of(b[i])) / n
	}
	for i := range a {
		d := of(a[i]) - of(b[i]) - mean
		se += d * d
	}
	return mean, math.Sqrt(se / (n - 1) / n)
}
