package match

import (
	"math"
	"testing"

	"dampstone/flybox"
)

// Consistency figures of the nominal model, not facts about hooks: it was
// invented for this project and no standard of hook sizes is known.
func TestHookModel(t *testing.T) {
	tests := []struct {
		size                          int
		shank, gape, wire, two, three float64
	}{
		{2, 25.2, 13.1, 0.82, 30.4, 33.5},
		{4, 20.8, 10.8, 0.74, 25.2, 27.7},
		{6, 17.2, 8.9, 0.66, 20.8, 22.9},
		{8, 14.2, 7.4, 0.59, 17.2, 18.9},
		{10, 11.7, 6.1, 0.53, 14.2, 15.6},
		{12, 9.7, 5.0, 0.48, 11.7, 12.9},
		{14, 8.0, 4.2, 0.43, 9.7, 10.7},
		{16, 6.6, 3.4, 0.39, 8.0, 8.8},
		{18, 5.5, 2.8, 0.35, 6.6, 7.3},
		{20, 4.5, 2.4, 0.31, 5.5, 6.0},
		{22, 3.7, 1.9, 0.28, 4.5, 5.0},
		{24, 3.1, 1.6, 0.25, 3.7, 4.1},
	}
	for _, tc := range tests {
		near := func(what string, got, want, step float64) {
			t.Helper()
			if math.Abs(got-want) > step/2+1e-9 {
				t.Errorf("size %d %s: got %.4f, want %g", tc.size, what, got, want)
			}
		}
		near("shank", ShankMM(tc.size, 0), tc.shank, 0.1)
		near("gape", GapeMM(tc.size), tc.gape, 0.1)
		near("wire", WireMM(tc.size), tc.wire, 0.01)
		near("2X long", ShankMM(tc.size, XLong(2)), tc.two, 0.1)
		near("3X long", ShankMM(tc.size, XLong(3)), tc.three, 0.1)
	}
}

// Common practice, from memory: the dry fly whose shank is nearest the body.
// Where two sizes are given either is right; the model itself is within 20 %.
func TestHookForABody(t *testing.T) {
	for mm, want := range map[float64][]int{4: {22, 24}, 5: {20}, 6.5: {18, 16}, 8: {14, 16}, 9: {14}, 10.5: {12}, 13: {10}, 15.5: {8}} {
		got, xl := hookFor(mm, flybox.ParachuteDun)
		ok := false
		for _, w := range want {
			ok = ok || got == w
		}
		if !ok || xl != 0 {
			t.Errorf("%g mm: size %d %dX long, want one of %v", mm, got, xl, want)
		}
	}
	if size, xl := hookFor(20, flybox.LongDrake); size != 8 || xl != 2 {
		t.Errorf("a drake of 20 mm: size %d %dX long, the trade sells 8 to 10 on long shanks", size, xl)
	}
	if size, xl := hookFor(45, flybox.FoamStone); size != flybox.MinHook || xl < 3 {
		t.Errorf("45 mm: size %d %dX long, want the largest hook with a longer shank", size, xl)
	}
	if size, _ := hookFor(0.5, flybox.MidgePupa); size != flybox.MaxHook {
		t.Errorf("0.5 mm: size %d, want the smallest hook", size)
	}
}

func TestMeasuredLengthOverridesTheModel(t *testing.T) {
	if mm, estimated := LengthMM(flybox.Pattern{Style: flybox.FoamStone, Hook: 8, Length: 22}); mm != 22 || estimated {
		t.Errorf("got %g, estimated %v", mm, estimated)
	}
	// by hand: shank 14.2, 1.2 times as long overall
	if mm, estimated := LengthMM(flybox.Pattern{Style: flybox.FoamStone, Hook: 8}); math.Abs(mm-17.04) > 0.05 || !estimated {
		t.Errorf("got %g, estimated %v", mm, estimated)
	}
	if mm, estimated := LengthMM(flybox.Pattern{Style: flybox.FoamStone}); mm != 0 || !estimated {
		t.Errorf("nothing known: got %g, estimated %v", mm, estimated)
	}
}
