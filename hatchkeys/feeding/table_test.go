package feeding_test

import (
	"slices"
	"strings"
	"testing"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/feeding"
)

// What a guide would say about whether fish are on it. Common practice, no
// source; written down before the program was asked. verdicts and reasons are
// those that pass, with spaces between; no reasons: any.
var guideSays = []struct {
	name, evidence, verdicts, reasons string
}{
	// Too little was seen.
	{"a rising river alone", `"region":"west-na","month":7,"trend":"rising"`, "not-known", ""},
	{"a falling river alone", `"region":"west-na","month":7,"trend":"dropping"`, "not-known", ""},
	{"muddy water alone", `"region":"west-na","month":7,"clarity":"muddy"`, "not-known", ""},
	{"a bright sky alone", `"region":"west-na","month":7,"light":"bright"`, "not-known", ""},
	{"the month alone", `"region":"west-na","month":7`, "not-known", ""},
	{"size, wings and tails of a dun", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3`, "not-known", "hatch-drifting feeding-not-sure"},
	{"size and colour of a sedge", `"region":"west-na","month":5,"length_mm":10,"wings":"roof","looks":"caddis","colour":"#3a3a32"`, "not-known", ""},
	{"a big stonefly in the hand", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22"`, "not-known", ""},
	{"a hopper in the hand", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper"`, "not-known", ""},
	{"an ant in the hand", `"region":"west-na","month":8,"length_mm":6,"looks":"ant"`, "not-known", ""},
	{"short wings, nothing else", `"region":"west-na","month":9,"length_mm":21,"wings":"short"`, "not-known", "short-wings-edge"},
	{"a nymph in the net", `"region":"west-na","month":6,"length_mm":8,"wings":"none","tails":3,"looks":"mayfly"`, "not-known", ""},
	{"warm water alone", `"region":"west-na","month":8,"water_c":19`, "not-known", ""},
	{"fish rise, insect unknown", `"region":"west-na","month":1,"length_mm":60,"wings":"upright","fish":"sipping"`, "not-known", "feeding-unknown-kind"},
	// Stoneflies at the edge.
	{"fresh shucks on damp stones after a drop", `"region":"west-na","month":9,"trend":"dropping","shucks":"damp-stones","length_mm":22,"wings":"short"`, "yes", "edge-after-drop"},
	{"nymphs crawl out after a drop", `"region":"west-na","month":9,"trend":"dropping","shucks":"damp-stones","length_mm":26,"wings":"none","doing":"crawling-ashore"`, "yes", "edge-after-drop nymphs-moving"},
	{"flightless males run along the edge", `"region":"west-na","month":9,"length_mm":21,"wings":"short","doing":"swimming-ashore","where":"edge"`, "yes", "short-wings-edge"},
	{"nymphs swim for the bank", `"region":"west-na","month":6,"length_mm":40,"wings":"none","doing":"crawling-ashore","looks":"stonefly"`, "yes", "nymphs-moving"},
	{"and fish feed at the edge", `"region":"west-na","month":9,"length_mm":21,"wings":"short","where":"edge","fish":"edge"`, "yes", ""},
	{"old shucks on dry rocks, nothing else", `"region":"west-na","month":6,"length_mm":38,"shucks":"dry-rocks","wings":"none","looks":"stonefly","doing":"resting"`, "no maybe", "shucks-only nymphs-moving adults-resting"},
	// Big stoneflies in the air.
	{"in the bushes", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
	{"blown in", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"blown-in","shucks":"none"`, "no", "blown-in"},
	{"no shucks and a wind up the river", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","shucks":"none","wind":"upstream"`, "no", "blown-in"},
	{"blown in, and fish splash", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"blown-in","shucks":"none","fish":"splashing"`, "maybe no", ""},
	{"egg-layers on the riffle", `"region":"west-na","month":6,"length_mm":45,"wings":"flat","colour":"#c46a22","doing":"dipping-eggs","where":"riffle"`, "yes", "egg-layers-back"},
	{"egg-layers and splashes", `"region":"west-na","month":6,"length_mm":45,"wings":"flat","colour":"#c46a22","doing":"dipping-eggs","fish":"splashing"`, "yes", "egg-layers-back fish-taking"},
	{"egg-layers and no rises", `"region":"west-na","month":6,"length_mm":45,"wings":"flat","colour":"#c46a22","doing":"dipping-eggs","fish":"none"`, "no", "not-keyed-yet"},
	{"many adults over the water, no rises", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"fluttering","shucks":"dry-rocks","fish":"none"`, "no", "not-keyed-yet"},
	{"quiet sips among big stoneflies", `"region":"west-na","month":6,"length_mm":42,"wings":"flat","colour":"#c46a22","doing":"fluttering","fish":"sipping"`, "no", "masked"},
	{"little yellow stoneflies dip eggs", `"region":"west-na","month":7,"length_mm":9,"wings":"flat","colour":"#d9b93f","doing":"dipping-eggs","fish":"splashing"`, "yes", ""},
	{"little black stoneflies on the snow", `"region":"west-na","month":2,"length_mm":7,"wings":"flat","colour":"#2a2724","looks":"stonefly","doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
	// Mayflies.
	{"duns drift, fish sip", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting","fish":"sipping"`, "yes", "hatch-drifting fish-taking"},
	{"duns drift, nobody looked at the fish", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting"`, "yes", "hatch-drifting"},
	{"duns drift, no rises", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting","fish":"none"`, "no", "not-keyed-yet"},
	{"duns drift, fish bulge", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting","fish":"bulging"`, "yes maybe", ""},
	{"duns in the bushes", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
	{"duns drift in a rising river", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting","trend":"rising"`, "yes maybe", ""},
	{"duns drift in muddy water", `"region":"west-na","month":7,"length_mm":7,"wings":"upright","tails":3,"doing":"drifting","clarity":"muddy"`, "no maybe", "high-water hatch-drifting"},
	{"the great drake, quiet sips", `"region":"east-na","month":6,"length_mm":20,"wings":"upright","tails":3,"fish":"sipping"`, "yes", "fish-taking hatch-drifting"},
	{"the mayfly of chalk streams, quiet sips", `"region":"europe","month":5,"day":28,"length_mm":19,"wings":"upright","tails":3,"fish":"sipping"`, "yes", "fish-taking hatch-drifting"},
	{"giants at night, splashes", `"region":"east-na","month":6,"hour":22,"length_mm":26,"wings":"upright","fish":"splashing"`, "yes", ""},
	{"spinners swarm over the riffle", `"region":"west-na","month":8,"hour":8,"length_mm":4,"colour":"#2a2724","doing":"swarming"`, "no", "swarming"},
	{"spinners swarm and fish rise already", `"region":"west-na","month":8,"hour":8,"length_mm":4,"colour":"#2a2724","doing":"swarming","fish":"sipping"`, "no maybe", "swarming fish-elsewhere"},
	{"spinners lie spent", `"region":"west-na","month":8,"hour":9,"length_mm":4,"colour":"#2a2724","wings":"spread"`, "yes", "spent-on-water"},
	{"spent spinners and sips", `"region":"west-na","month":8,"hour":9,"length_mm":4,"colour":"#2a2724","wings":"spread","fish":"sipping"`, "yes", "spent-on-water fish-taking"},
	{"spent spinners and splashes", `"region":"west-na","month":8,"hour":9,"length_mm":4,"colour":"#2a2724","wings":"spread","fish":"splashing"`, "maybe no", "fish-elsewhere"},
	{"rusty spinners dip at dusk", `"region":"west-na","month":7,"hour":21,"length_mm":8,"colour":"#8a4526","tails":3,"doing":"dipping-eggs"`, "yes", "egg-layers-back"},
	{"olives on a grey day, sips", `"region":"west-na","month":10,"length_mm":6,"wings":"upright","tails":2,"light":"overcast","fish":"sipping"`, "yes", ""},
	{"swimming nymphs climb out", `"region":"west-na","month":7,"length_mm":14,"wings":"none","tails":3,"doing":"swimming-ashore","looks":"mayfly"`, "yes", "nymphs-moving"},
	// Sedges.
	{"sedges in the bushes", `"region":"west-na","month":5,"length_mm":10,"wings":"roof","looks":"caddis","doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
	{"sedges skate at dusk", `"region":"west-na","month":7,"hour":21,"length_mm":11,"wings":"roof","looks":"caddis","doing":"skating"`, "yes", "hatch-drifting egg-layers-back"},
	{"sedges skate and fish splash", `"region":"west-na","month":7,"hour":21,"length_mm":11,"wings":"roof","looks":"caddis","doing":"skating","fish":"splashing"`, "yes", ""},
	{"sedges fly upstream, no rises", `"region":"west-na","month":7,"hour":20,"length_mm":11,"wings":"roof","looks":"caddis","doing":"fluttering","fish":"none"`, "no", "not-keyed-yet"},
	{"pupae in the film, fish bulge", `"region":"west-na","month":7,"hour":20,"length_mm":11,"wings":"none","shucks":"film","looks":"caddis","fish":"bulging"`, "yes", ""},
	{"sedges dip their eggs", `"region":"west-na","month":7,"hour":21,"length_mm":11,"wings":"roof","looks":"caddis","doing":"dipping-eggs"`, "yes", "egg-layers-back"},
	// Midges.
	{"midges and sips", `"region":"west-na","month":1,"length_mm":4,"looks":"fly","wings":"clear-pair","fish":"sipping"`, "yes", ""},
	{"midges swarm over the bank", `"region":"west-na","month":2,"length_mm":4,"looks":"fly","wings":"clear-pair","doing":"swarming"`, "no", "swarming"},
	{"pupae hang in the film of a lake", `"region":"europe","month":4,"water":"stillwater","length_mm":12,"wings":"none","shucks":"film","looks":"fly","fish":"bulging"`, "yes", ""},
	// Land insects.
	{"hoppers, quiet sips along the bank", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","fish":"sipping"`, "yes", "fish-taking blown-in-food"},
	{"hoppers in the grass, no wind", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","doing":"resting","where":"bank-plants","wind":"calm"`, "no", "adults-resting"},
	{"hoppers and wind across", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","wind":"across"`, "yes", "blown-in-food"},
	{"hoppers blown in", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","doing":"blown-in"`, "yes", "blown-in-food"},
	{"hoppers hop on the bank", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","doing":"hopping"`, "maybe", "blown-in-food"},
	{"hoppers, no rises", `"region":"west-na","month":8,"length_mm":24,"looks":"hopper","wind":"across","fish":"none"`, "no", "not-keyed-yet"},
	{"flying ants swarm", `"region":"west-na","month":8,"length_mm":7,"looks":"ant","wings":"clear-pair","doing":"swarming"`, "maybe no", "swarming"},
	{"flying ants on the water, sips", `"region":"west-na","month":8,"length_mm":7,"looks":"ant","doing":"drifting","fish":"sipping"`, "yes", ""},
	{"beetles, fish at the edge", `"region":"west-na","month":7,"length_mm":9,"looks":"beetle","fish":"edge"`, "yes", ""},
	{"cicadas sing in the trees", `"region":"east-na","month":6,"length_mm":30,"looks":"other","wings":"roof","doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
	{"inchworms fall in", `"region":"east-na","month":6,"length_mm":15,"looks":"other","wings":"none","colour":"#9ab050","doing":"drifting"`, "yes", "blown-in-food"},
	{"hawthorn flies blown onto the water", `"region":"europe","month":4,"day":28,"length_mm":12,"looks":"fly","colour":"#1e1c1a","doing":"blown-in"`, "yes", "blown-in-food"},
	{"willow grubs, sips under the willow", `"region":"south","month":1,"length_mm":5,"wings":"none","looks":"other","colour":"#d0c060","fish":"sipping"`, "yes", ""},
	// Damsels.
	{"damsel nymphs swim to the reeds", `"region":"west-na","month":6,"water":"stillwater","length_mm":22,"wings":"none","doing":"swimming-ashore","looks":"damsel"`, "yes", "nymphs-moving"},
	{"blue damsels rest in the reeds", `"region":"west-na","month":7,"water":"stillwater","length_mm":30,"looks":"damsel","colour":"#4a80b0","doing":"resting","where":"bank-plants"`, "no", "adults-resting"},
}

func TestWhatAGuideWouldSay(t *testing.T) {
	if len(guideSays) < 60 {
		t.Errorf("%d rows", len(guideSays))
	}
	for _, row := range guideSays {
		region, e, err := hatchkeys.ParseJSON([]byte("{" + row.evidence + "}"))
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		key, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		r := key.Read(e)
		j := feeding.Judge(r)
		if !slices.Contains(strings.Fields(row.verdicts), string(j.Verdict)) || row.reasons != "" && !slices.Contains(strings.Fields(row.reasons), string(j.Reason)) {
			t.Errorf("%s: %s because %s (seen %v, %.2f), want %s because %s; read as %s %s at %.2f",
				row.name, j.Verdict, j.Reason, j.Seen, j.Probability, row.verdicts, row.reasons, r.Ranked[0].Hatch.ID, r.Ranked[0].Form.ID, r.Ranked[0].Probability)
		}
	}
}

// A reason is given as a fact only where it was answered: with no answer about
// what insects, shucks, wings, water or fish do there is none.
func TestNothingIsAFactThatNobodySaw(t *testing.T) {
	for _, region := range hatchkeys.Regions() {
		key, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		for month := 1; month <= 12; month++ {
			for _, mm := range []float64{4, 7, 12, 20, 30, 45} {
				for _, tails := range []string{"0", "2", "3"} {
					choice, err := hatchkeys.OneOf(hatchkeys.Tails, tails)
					if err != nil {
						t.Fatal(err)
					}
					e := hatchkeys.Evidence{Month: month, LengthMM: mm}
					e.Choices[hatchkeys.Tails] = choice
					j := feeding.Judge(key.Read(e))
					if j.Seen || j.Verdict != feeding.NotKnown || j.On() {
						t.Fatalf("%s, month %d, %g mm, %s tails: %+v", region, month, mm, tails, j)
					}
				}
			}
		}
	}
}
