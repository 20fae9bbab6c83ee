package main

import (
	"image"
	"image/color"
	"math"
	"testing"
)

// TestStoneStaysInTheSafeZone: a mask may cut all that lies beyond a circle
// of radius 40 % of the icon's size (W3C Web Application Manifest, icon masks
// and safe zone).
func TestStoneStaysInTheSafeZone(t *testing.T) {
	f := iconFile{size: 128, full: true}
	img := f.draw()
	seen := 0
	for y := range f.size {
		for x := range f.size {
			if img.At(x, y) != color.Color(slate) {
				continue
			}
			seen++
			if r := math.Hypot(float64(x)+0.5-64, float64(y)+0.5-64); r > 0.4*128 {
				t.Fatalf("stone at %d,%d, %.1f px from the middle; the safe zone ends at %.1f", x, y, r, 0.4*128)
			}
		}
	}
	if share := float64(seen) / (128 * 128); share < 0.1 {
		t.Errorf("the stone covers %.0f %% of the icon, want a mark that can be seen", 100*share)
	}
}

func TestOnlyTheMaskableIconFillsItsCorners(t *testing.T) {
	for _, tc := range []struct {
		full bool
		want uint8
	}{{false, 0}, {true, 255}} {
		img := iconFile{size: 64, full: tc.full}.draw()
		for _, at := range [][2]int{{0, 0}, {63, 0}, {0, 63}, {63, 63}} {
			if _, _, _, a := img.At(at[0], at[1]).RGBA(); uint8(a>>8) != tc.want {
				t.Errorf("full %v: corner %v has alpha %d, want %d", tc.full, at, a>>8, tc.want)
			}
		}
	}
}

// TestThePaletteHasRoom draws every icon again with a palette: the same pixels.
func TestThePaletteHasRoom(t *testing.T) {
	for _, f := range icons {
		img := f.draw()
		got, err := indexed(img)
		if err != nil {
			t.Fatalf("%s: %v", f.name, err)
		}
		for y := 0; y < f.size; y += 3 {
			for x := range f.size {
				if got.At(x, y) != img.At(x, y) {
					t.Fatalf("%s: %d,%d is %v, want %v", f.name, x, y, got.At(x, y), img.At(x, y))
				}
			}
		}
	}
	many := image.NewNRGBA(image.Rect(0, 0, 257, 1))
	for x := range 257 {
		many.Set(x, 0, color.NRGBA{uint8(x), uint8(x >> 8), 0, 0xff})
	}
	if _, err := indexed(many); err == nil {
		t.Error("257 colours were taken")
	}
}
