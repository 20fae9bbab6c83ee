package e2e

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"
)

// rgba is a colour in sRGB, each part from 0 to 1.
type rgba struct{ r, g, b, a float64 }

var colourText = regexp.MustCompile(`^(rgba?|color)\((?:srgb )?([\d.e-]+)[, ]+([\d.e-]+)[, ]+([\d.e-]+)(?:[, /]+([\d.e-]+))?\)$`)

// parseColour reads a computed colour (W3C CSS Color Module Level 4, section
// 15.2: rgb() and rgba() for sRGB).
func parseColour(s string) (rgba, error) {
	m := colourText.FindStringSubmatch(s)
	if m == nil {
		return rgba{}, fmt.Errorf("colour %q is not understood", s)
	}
	part := [4]float64{3: 1}
	for i, text := range m[2:6] {
		if text == "" {
			continue
		}
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return rgba{}, fmt.Errorf("colour %q: %w", s, err)
		}
		if i < 3 && m[1] != "color" {
			x /= 255
		}
		part[i] = x
	}
	return rgba{part[0], part[1], part[2], part[3]}, nil
}

// over lays a colour over an opaque one.
func (c rgba) over(under rgba) rgba {
	mix := func(top, below float64) float64 { return top*c.a + below*(1-c.a) }
	return rgba{mix(c.r, under.r), mix(c.g, under.g), mix(c.b, under.b), 1}
}

// luminance is the relative luminance of WCAG 2.2.
func (c rgba) luminance() float64 {
	linear := func(x float64) float64 {
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.r) + 0.7152*linear(c.g) + 0.0722*linear(c.b)
}

// contrast is the contrast ratio of WCAG 2.2, from 1 to 21.
func contrast(a, b rgba) float64 {
	la, lb := a.luminance(), b.luminance()
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// TestContrast checks the ratio against published pairs.
func TestContrast(t *testing.T) {
	for _, c := range []struct {
		name, a, b string
		want       float64
	}{
		// WCAG 2.2, definition of contrast ratio: "can range from 1 to 21".
		{"black on white", "rgb(0, 0, 0)", "rgb(255, 255, 255)", 21},
		{"white on white", "rgb(255, 255, 255)", "rgb(255, 255, 255)", 1},
		// Common examples from teaching material, from memory: #767676 is the
		// lightest grey that reaches 4.5:1 on white, #595959 the lightest that
		// reaches 7:1, and pure red on white is 4.00:1 (3.998).
		{"grey 767676 on white", "rgb(118, 118, 118)", "rgb(255, 255, 255)", 4.54},
		{"grey 595959 on white", "rgb(89, 89, 89)", "rgba(255, 255, 255, 1)", 7.00},
		{"red on white", "rgb(255, 0, 0)", "rgb(255, 255, 255)", 4.00},
		{"half black over white is grey", "rgba(0, 0, 0, 0.5)", "rgb(255, 255, 255)", 3.98}, // by hand: (1+.05)/(((.5+.055)/1.055)^2.4+.05)
	} {
		a, err := parseColour(c.a)
		if err != nil {
			t.Fatal(err)
		}
		b, err := parseColour(c.b)
		if err != nil {
			t.Fatal(err)
		}
		if got := contrast(a.over(b), b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s: %.3f, want %.2f", c.name, got, c.want)
		}
	}
	for _, bad := range []string{"", "red", "rgb(1, 2)", "url(#a)"} {
		if c, err := parseColour(bad); err == nil {
			t.Errorf("colour %q is read as %v", bad, c)
		}
	}
}
