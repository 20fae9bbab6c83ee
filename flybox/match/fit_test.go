package match

import (
	"math/rand/v2"
	"testing"

	"dampstone/flybox"
)

// Fit is what Rank says, without its reasons.
func TestFitAgreesWithRank(t *testing.T) {
	const seed = 7
	rng := rand.New(rand.NewPCG(seed, 1))
	hex := func() string { return []string{"#a98545", "#2b2825", "#d9b93f", ""}[rng.IntN(4)] }
	var flies []CompiledFly
	for range 300 {
		p := flybox.Pattern{Name: "x", Style: flybox.Styles[rng.IntN(len(flybox.Styles))], Hook: rng.IntN(20), Body: hex(), Length: float64(rng.IntN(30))}
		flies = append(flies, CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}, Left: 1}))
	}
	fitting := 0
	for range 40 {
		q := CompileQuarry(Quarry{Group: "stonefly", Stage: "adult", Length: exactly(float64(rng.IntN(30))), Colours: []string{"#a98545", "#b8924c"}})
		for i := range flies {
			m := matchOne(&flies[i], &q)
			score, fits := Fit(&flies[i], &q)
			if fits != m.Fits || fits && score != m.Score {
				t.Fatalf("seed %d: fit %v %.4f, rank %v %.4f: %+v for %+v", seed, fits, score, m.Fits, m.Score, flies[i].Fly, q.Quarry)
			}
			if fits {
				fitting++
			}
		}
	}
	if fitting == 0 {
		t.Error("no fly fits, so nothing was compared")
	}
}
