package match

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"dampstone/flybox/kept"
)

// What the examples leave open stays as it was: flies and insects of all
// kinds against one another.
func TestMatchesAreAsKept(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261126, 1))
	flies, quarries := randomFlies(rng, 14), randomQuarries(rng, 18)
	var got []any
	for j := range quarries {
		if j%3 == 0 {
			q := quarries[j].Quarry.As(Observation{LengthMM: 4 + float64(j), Colour: "#8a7a50", Water: waters[j%len(waters)]})
			quarries[j] = CompileQuarry(q)
		}
		q := &quarries[j]
		r := RankBy(flies, q, nil)
		row := []any{r.NothingFits, r.NoneLeft, r.Tie}
		for _, m := range r.Matches {
			row = append(row, fmt.Sprintf("%s %.7f %.7f %v %d", m.Fly.ID, m.Score, m.After, m.Fits, m.Left), m.Changes, m.Parts)
		}
		for i := range flies {
			row = append(row, Differ(&flies[i], q))
		}
		got = append(got, row)
	}
	kept.Same(t, "matches.jsonl", got...)
}

// A season's box against a whole reading: what a tap on the bank costs.
func BenchmarkRankOver200x40(b *testing.B) {
	rng := rand.New(rand.NewPCG(7, 7))
	flies, quarries := randomFlies(rng, 200), randomQuarries(rng, 40)
	var chances []Chance
	for i := range quarries {
		chances = append(chances, Chance{Quarry: &quarries[i], Odds: 1 / float64(i+1)})
	}
	for b.Loop() {
		RankOver(flies, chances, nil)
	}
}
