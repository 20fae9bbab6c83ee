package match

import (
	"math/rand/v2"
	"sync"
	"testing"
)

func TestTableSaysWhatUtilitySays(t *testing.T) {
	const seed = 11
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	flies, quarries := randomFlies(rng, 20), randomQuarries(rng, 20)
	table := NewTable(flies, quarries)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for j := range quarries {
				for i := range table.Len() {
					if got, want := table.Utility(i, j), Utility(&flies[i], &quarries[j]); got != want {
						t.Errorf("fly %d, quarry %d: %v, want %v", i, j, got, want)
					}
				}
			}
		})
	}
	wg.Wait()
	if NewTable(nil, quarries).Len() != 0 {
		t.Error("a table of no flies has flies")
	}
}
