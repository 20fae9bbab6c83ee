package trip_test

import (
	"fmt"
	"strings"
	"testing"

	"dampstone/server/app/trip"
)

// What a guide would pack. Common practice, no source; written down before
// the planner was asked (two rows said besides that a big foam fly stays at
// home, which the night stoneflies and hoppers of their days speak against). A fly is "id style hook body left", with long shanks
// given behind the hook as in 10x2.
var guidePacks = []struct {
	name  string
	trip  string // without braces
	flies []string
	least map[string]int // of a fly, at least so many go along
	none  []string       // flies that stay at home
	sunk  float64        // the least share of what goes along that is fished sunk; 0 for any
	most  int            // of all that goes along; 0 for any
}{
	{"September on a tailwater of the west, two rods", `"region":"west-na","from":"2026-09-10","to":"2026-09-12","rods":2,"waters":[{"type":"tailwater"}]`,
		[]string{"stub short-wing-stone 8x2 #a98545 12"}, map[string]int{"stub": 4}, nil, 0, 12},
	{"the mayfly fortnight on a spring creek", `"region":"europe","from":"2026-05-25","to":"2026-05-31","rods":2,"waters":[{"type":"spring-creek"}]`,
		[]string{"dun long-drake 10x2 #d8cc98 12", "spent spent-spinner 10x2 #e0dcc8 12"}, map[string]int{"dun": 4, "spent": 4}, nil, 0, 24},
	{"novices, five July days on a tailwater", `"region":"west-na","from":"2026-07-06","to":"2026-07-10","rods":2,"skill":"novice","waters":[{"type":"tailwater"}]`,
		[]string{"nymph16 nymph 16 #5a4632 20", "dun16 parachute-dun 16 #d0bd68 20", "sedge14 hair-wing-caddis 14 #b09a6a 20", "midge20 midge-pupa 20 #3a3a32 20", "scud16 scud 16 #a09070 20", "hopper8 hopper 8x2 #c8b060 20", "pupa14 caddis-pupa 14 #a08a5a 20", "worm12 worm 12 #a04040 20"},
		map[string]int{"nymph16": 8, "scud16": 4, "worm12": 3, "dun16": 3}, nil, 0.6, 0},
	{"practised hands on a spring creek in July", `"region":"west-na","from":"2026-07-06","to":"2026-07-08","rods":1,"skill":"practised","waters":[{"type":"spring-creek"}]`,
		[]string{"dun16 parachute-dun 16 #d0bd68 12", "rust16 spent-spinner 16 #a8643c 12", "nymph16 nymph 16 #5a4632 12"}, map[string]int{"dun16": 2, "rust16": 2, "nymph16": 2}, nil, 0, 0},
	{"January on a tailwater", `"region":"west-na","from":"2026-01-16","to":"2026-01-17","rods":1,"waters":[{"type":"tailwater"}]`,
		[]string{"pupa22 midge-pupa 22 #3a3a32 12", "midge22 midge-adult 22 #3a3a34 12", "scud16 scud 16 #a09070 12", "worm12 worm 12 #a04040 12", "nymph18 nymph 18 #5a4632 12", "hopper8 hopper 8x2 #c8b060 12", "orange2 foam-stone 2x2 #a8552a 12"},
		map[string]int{"pupa22": 2, "scud16": 1, "worm12": 1, "nymph18": 2}, []string{"orange2"}, 0.5, 0},
	{"the salmonfly week", `"region":"west-na","from":"2026-06-08","to":"2026-06-11","rods":2,"waters":[{"type":"freestone"}]`,
		[]string{"orange2 foam-stone 2x2 #b0602e 12", "black4 stonefly-nymph 4x2 #2e2620 12", "olive20 parachute-dun 20 #7a7a50 12"}, map[string]int{"orange2": 4, "black4": 4}, nil, 0, 0},
	{"hoppers and ants in August", `"region":"west-na","from":"2026-08-14","to":"2026-08-16","rods":2,"waters":[{"type":"freestone"}]`,
		[]string{"hopper8 hopper 8x2 #c8b060 12", "ant16 ant 16 #2a2724 12", "beetle14 beetle 14 #2a2724 12"}, map[string]int{"hopper8": 5, "ant16": 3, "beetle14": 3}, nil, 0, 0},
	{"trico mornings", `"region":"west-na","from":"2026-08-20","to":"2026-08-22","rods":1,"waters":[{"type":"tailwater"}]`,
		[]string{"trico22 spent-spinner 22 #2a2724 12", "orange2 foam-stone 2x2 #b0602e 12"}, map[string]int{"trico22": 3}, nil, 0, 0},
	{"yellow duns and their spinners in May", `"region":"east-na","from":"2026-05-22","to":"2026-05-24","rods":2,"waters":[{"type":"freestone"}]`,
		[]string{"yellow16 parachute-dun 16 #d8b850 12", "rust16 spent-spinner 16 #a0602e 12"}, map[string]int{"yellow16": 4, "rust16": 4}, nil, 0, 0},
	{"hawthorn time", `"region":"europe","from":"2026-04-24","to":"2026-04-28","rods":2,"waters":[{"type":"freestone"}]`,
		[]string{"black12 stout-fly 12 #1e1c1a 12", "olive14 parachute-dun 14 #6a6a44 12"}, map[string]int{"black12": 4, "olive14": 4}, nil, 0, 0},
	{"a southern summer with cicadas", `"region":"south","from":"2026-01-20","to":"2026-01-23","rods":2,"waters":[{"type":"freestone"}]`,
		[]string{"cicada8 clear-wing-bug 8x2 #3a4a2a 12", "dark14 parachute-dun 14 #5a4a3a 12", "nymph14 nymph 14 #3a3028 12"}, map[string]int{"cicada8": 4, "dark14": 4, "nymph14": 4}, nil, 0, 0},
	{"a lake in June", `"region":"west-na","from":"2026-06-12","to":"2026-06-14","rods":2,"waters":[{"type":"stillwater"}]`,
		[]string{"damsel10 damsel-nymph 10x1 #7a8048 12", "leech8 leech 8x2 #3a3028 12", "pupa14 midge-pupa 14 #3a2a24 12", "stone6 foam-stone 6x2 #b08a45 12"}, map[string]int{"damsel10": 3, "leech8": 3, "pupa14": 3}, nil, 0.85, 0},
	{"two slots for a great deal", `"region":"west-na","from":"2026-07-06","to":"2026-07-10","rods":2,"slots":2,"waters":[{"type":"tailwater"}]`,
		[]string{"nymph16 nymph 16 #5a4632 20", "dun16 parachute-dun 16 #d0bd68 20", "sedge14 hair-wing-caddis 14 #b09a6a 20"}, nil, nil, 0, 16},
	{"one rod for a day", `"region":"west-na","from":"2026-07-06","to":"2026-07-06","rods":1,"waters":[{"type":"tailwater"}]`,
		[]string{"dun16 parachute-dun 16 #d0bd68 40", "nymph16 nymph 16 #5a4632 40"}, map[string]int{"dun16": 2, "nymph16": 2}, nil, 0, 24},
	{"a fortnight with six rods", `"region":"west-na","from":"2026-07-06","to":"2026-07-19","rods":6,"waters":[{"type":"freestone"},{"type":"tailwater"}]`,
		[]string{"dun16 parachute-dun 16 #d0bd68 200", "nymph16 nymph 16 #5a4632 200", "sedge14 hair-wing-caddis 14 #b09a6a 200"}, map[string]int{"dun16": 18, "nymph16": 40, "sedge14": 18}, nil, 0, 0},
}

func packLine(tr string, flies []string) string {
	var list []string
	for _, f := range flies {
		w := strings.Fields(f)
		hook, xl, _ := strings.Cut(w[2], "x")
		shank := map[string]string{"": "1", "1": "1.1", "2": "1.21", "3": "1.331"}[xl]
		list = append(list, fmt.Sprintf(`{"id":%q,"name":%q,"style":%q,"hook":%s,"shank":%s,"body":%q,"left":%s}`, w[0], w[0], w[1], hook, shank, w[3], w[4]))
	}
	return "{" + tr + `,"evenings":0,"flies":[` + strings.Join(list, ",") + "]}"
}

func TestWhatAGuideWouldPack(t *testing.T) {
	for _, c := range guidePacks {
		got, err := trip.PlanTrip([]byte(packLine(c.trip, c.flies)), "en")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		take, sunk, all := map[string]int{}, 0, 0
		var said []string
		for _, l := range got.Lines {
			if l.ID == "" {
				continue
			}
			take[string(l.ID)] = l.Take
			all += l.Take
			if l.Way != "dry" {
				sunk += l.Take
			}
			said = append(said, fmt.Sprintf("%s %d (%s, %.1f used up, %d at hand)", l.ID, l.Take, l.Reason, l.Expected, l.AtHand))
		}
		for id, n := range c.least {
			if take[id] < n {
				t.Errorf("%s: %d %s, a guide takes %d at least; %s", c.name, take[id], id, n, strings.Join(said, "; "))
			}
		}
		for _, id := range c.none {
			if take[id] > 0 {
				t.Errorf("%s: %d %s, a guide leaves them at home; %s", c.name, take[id], id, strings.Join(said, "; "))
			}
		}
		if c.sunk > 0 && float64(sunk) < c.sunk*float64(all) {
			t.Errorf("%s: %d of %d are fished sunk, want %.0f %%; %s", c.name, sunk, all, 100*c.sunk, strings.Join(said, "; "))
		}
		if c.most > 0 && all > c.most {
			t.Errorf("%s: %d flies, at most %d; %s", c.name, all, c.most, strings.Join(said, "; "))
		}
		if got.Slots != nil && got.SlotsUsed > *got.Slots {
			t.Errorf("%s: %d of %d slots", c.name, got.SlotsUsed, *got.Slots)
		}
		if c.name == "two slots for a great deal" && len(got.GivenUp) == 0 {
			t.Errorf("%s: nothing is said of what is given up", c.name)
		}
	}
}
