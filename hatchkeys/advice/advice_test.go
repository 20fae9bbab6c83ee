package advice_test

import (
	"slices"
	"testing"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/advice"
)

// Nothing that is wrong of an insect is said of it, for every form of every
// hatch. Biology of the orders, textbook knowledge from memory: mayflies,
// stoneflies, damsels and dragonflies have no pupa; burrowers and insects of
// still waters do not live in riffles.
func TestNothingIsSaidThatCannotBe(t *testing.T) {
	for _, region := range hatchkeys.Regions() {
		key, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		for i := range key.FormCount() {
			h, f := key.FormAt(i)
			got := advice.For(h, f)
			at := region + " " + h.ID + " " + f.ID
			has := func(c advice.Code) bool { return slices.Contains(got, c) }
			if len(got) == 0 && f.Stage != hatchkeys.Shuck {
				t.Errorf("%s: nothing is said", at)
			}
			for n, c := range got {
				if !slices.Contains(advice.Codes, c) || slices.Contains(got[:n], c) {
					t.Errorf("%s: %q is no code, or stands twice", at, c)
				}
			}
			noPupa := h.Group == hatchkeys.Mayfly || h.Group == hatchkeys.Stonefly || h.Group == hatchkeys.Damsel || h.Group == hatchkeys.Dragonfly
			if noPupa && has(advice.CluePupa) || noPupa && (slices.Contains(f.Tactics, "lift-pupa") || slices.Contains(f.Tactics, "swing-pupa")) {
				t.Errorf("%s: a pupa, which it has not", at)
			}
			burrows := slices.Contains([]string{"ephemera-simulans", "ephemera-guttulata", "ephemera-varia", "ephemera-danica", "ephemera-vulgata", "litobrancha", "hexagenia", "ephoron", "ephoron-leukon", "ichthybotus"}, h.ID)
			slow := burrows || slices.Contains([]string{"tricorythodes", "caenis", "callibaetis", "cloeon-dipterum", "leptophlebia"}, h.ID)
			if slow && f.Stage == hatchkeys.Nymph && (has(advice.DriftDeep) || slices.Contains(f.Tactics, "deep-nymph-riffle")) {
				t.Errorf("%s: bounced along a riffle, in which it does not live", at)
			}
			if h.Waters.Of["stillwater"] == 1 && h.Waters.Of["freestone"] < 0.3 && (has(advice.SwingDown) || has(advice.DriftDeep)) {
				t.Errorf("%s: fished in a current, and lives in still water: %v", at, got)
			}
			if f.Stage == hatchkeys.Spent && (has(advice.SkateDry) || has(advice.TwitchDry)) {
				t.Errorf("%s: spent, and moved", at)
			}
			if f.Length.From >= 14 && (f.Stage == hatchkeys.Dun || f.Stage == hatchkeys.Adult) && has(advice.TakeQuiet) {
				t.Errorf("%s: a mouthful, and struck at as if sipped", at)
			}
			dry := f.Stage == hatchkeys.Dun || f.Stage == hatchkeys.Adult || f.Stage == hatchkeys.EggLayer || f.Stage == hatchkeys.Spent
			if dry != has(advice.DragFirst) && f.Stage != hatchkeys.Emerger {
				t.Errorf("%s: drag is not the first cause of refusals, or of one beneath: %v", at, got)
			}
		}
	}
}

// The usual rule, hook size divided by three or four. Common practice, no
// source.
func TestTippet(t *testing.T) {
	for hook, want := range map[int][2]int{4: {1, 1}, 8: {2, 3}, 12: {3, 4}, 16: {4, 5}, 18: {5, 6}, 20: {5, 7}, 24: {6, 8}, 0: {0, 0}} {
		if from, to := advice.Tippet(hook); from != want[0] || to != want[1] {
			t.Errorf("hook %d: %dX to %dX, want %v", hook, from, to, want)
		}
	}
}
