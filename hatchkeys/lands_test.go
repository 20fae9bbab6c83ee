package hatchkeys_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"dampstone/hatchkeys"
)

// New Zealand and Patagonia share no water: whatever is seen in the one, no
// hatch of the other answers, and together they hold what "south" does.
func TestOneLandNeverAnswersForTheOther(t *testing.T) {
	whole, err := hatchkeys.ForRegion("south")
	if err != nil {
		t.Fatal(err)
	}
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, seed))
	held := map[string]int{}
	for _, land := range hatchkeys.Lands {
		key, err := hatchkeys.ForRegion(land)
		if err != nil {
			t.Fatal(err)
		}
		if len(key.Pack.Hatches) < 15 || key.Pack.ID != land {
			t.Errorf("%s: %d hatches, id %q", land, len(key.Pack.Hatches), key.Pack.ID)
		}
		if here, there := mustHome(t, land), mustHome(t, "south"); here != there {
			t.Errorf("%s lies at %v, its seasons hold at %v", land, here, there)
		}
		for i := range key.Pack.Hatches {
			held[key.Pack.Hatches[i].ID]++
			if own := key.Pack.Hatches[i].Land; own != "" && own != land {
				t.Errorf("%s holds %s of %s", land, key.Pack.Hatches[i].ID, own)
			}
		}
		for range 500 {
			e := hatchkeys.Evidence{Month: 1 + rng.IntN(12), LengthMM: 3 + 40*rng.Float64()}
			for _, trait := range []hatchkeys.Trait{hatchkeys.Wings, hatchkeys.Looks, hatchkeys.Where, hatchkeys.Water} {
				if values := trait.Values(); rng.IntN(2) == 0 {
					if e.Choices[trait], err = hatchkeys.OneOf(trait, values[rng.IntN(len(values))]); err != nil {
						t.Fatal(err)
					}
				}
			}
			for _, r := range key.Read(e).Ranked {
				if own := r.Hatch.Land; own != "" && own != land {
					t.Fatalf("seed %d: %s answers in %s", seed, r.Hatch.ID, land)
				}
			}
		}
	}
	for i := range whole.Pack.Hatches {
		h := &whole.Pack.Hatches[i]
		want := 1
		if h.Land == "" {
			want = len(hatchkeys.Lands)
		}
		if held[h.ID] != want {
			t.Errorf("%s is in %d lands, want %d", h.ID, held[h.ID], want)
		}
	}
}

func TestALandIsWithinTheSouth(t *testing.T) {
	for _, c := range []struct {
		part, region string
		want         bool
	}{
		{"patagonia", "south", true}, {"new-zealand", "south", true}, {"europe", "europe", true}, {"south", "south", true},
		{"south", "patagonia", false}, {"patagonia", "new-zealand", false}, {"europe", "south", false}, {"", "south", false}, {"north", "north", true},
	} {
		if got := hatchkeys.Within(c.part, c.region); got != c.want {
			t.Errorf("%q within %q: %t", c.part, c.region, got)
		}
	}
}

func TestTheSouthIsOfferedToThoseWhoHaveIt(t *testing.T) {
	for chosen, want := range map[string]bool{"south": true, "patagonia": false, "west-na": false, "": false} {
		got := hatchkeys.Offered(chosen)
		if slices.Contains(got, "south") != want || !slices.Contains(got, "patagonia") || !slices.Contains(got, "new-zealand") || !slices.Contains(got, "west-na") {
			t.Errorf("with %q chosen: %v", chosen, got)
		}
	}
	if !slices.Contains(hatchkeys.Regions(), "south") {
		t.Error("what was written before cannot be read")
	}
}

func mustHome(t *testing.T, region string) hatchkeys.Place {
	t.Helper()
	p, ok := hatchkeys.Home(region)
	if !ok {
		t.Fatalf("%s has no home", region)
	}
	return p
}
