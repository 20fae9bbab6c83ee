package hatchkeys

import (
	"math/rand/v2"
	"testing"
)

// TestEvaluationEveryHatchCanLead draws full evidence from the forms of each
// hatch, as careful observers would give it: a hatch that leads for none of
// its own insects could never be shown.
func TestEvaluationEveryHatchCanLead(t *testing.T) {
	const tries = 400 // at most, for each hatch
	all := careful
	all.given = map[Question]float64{
		Month: 1, Length: 1, Colour: 1, Hour: 1, Question(Water): 1, Question(Wings): 1,
		Question(Tails): 1, Question(Doing): 1, Question(Where): 1, Question(Shucks): 1, Question(Trend): 0.5,
	}
	all.unsure, all.soft = 0, 0
	for _, region := range Regions() {
		key, err := ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		w := &world{key, rand.New(rand.NewPCG(evaluationSeed, 3))}
		hardest, most := "", 0
		for h := range key.hatches {
			id := key.Pack.Hatches[h].ID
			n, led := 0, false
			for ; n < tries && !led; n++ {
				table := &key.hatches[h]
				f := table.first + w.pick(func(i int) float64 { return key.forms[table.first+i].share }, table.n)
				lead := key.Read(w.evidence(&all, w.drawForm(f))).Leader()
				led = lead != nil && lead.index == h
			}
			if !led {
				t.Errorf("%s: %s never leads in %d tries", region, id, tries)
			}
			if n > most {
				hardest, most = id, n
			}
		}
		t.Logf("%s: all %d hatches tried, hardest %s after %d tries, seed %d", region, len(key.hatches), hardest, most, evaluationSeed)
	}
}
