package flybox

import (
	"math"

	"github.com/lucasb-eyer/go-colorful"
)

// Lab is a colour in CIELAB, D65, 2 degree observer: L 0 to 100, A and B
// about -128 to 128.
type Lab struct{ L, A, B float64 }

// white is the white of the sRGB primaries with the chromaticity (0.3127,
// 0.3290) that IEC 61966-2-1 gives (from memory): the sums of the rows of the
// matrix from linear sRGB to XYZ. The colour library's own D65 is rounded
// otherwise and tints greys by 0.014 in b.
var white = func() [3]float64 {
	x, y, z := colorful.LinearRgbToXyz(1, 1, 1)
	return [3]float64{x, y, z}
}()

// ParseColour reads #rrggbb as sRGB. ok is false for anything else.
func ParseColour(hex string) (c Lab, ok bool) {
	if !isHexColour(hex) {
		return Lab{}, false
	}
	rgb, err := colorful.Hex(hex)
	if err != nil {
		return Lab{}, false
	}
	l, a, b := rgb.LabWhiteRef(white)
	return Lab{100 * l, 100 * a, 100 * b}, true
}

// hueNoise is the margin in degrees within which two hues count as exactly
// opposite.
const hueNoise = 1e-9

// DeltaE is the CIEDE2000 colour difference with kL = kC = kH = 1. About 1 is
// just seen side by side. DeltaE(x, y) equals DeltaE(y, x).
//
// Source: Sharma, Wu, Dalal (2005), "The CIEDE2000 color-difference formula",
// Color Research & Application 30(1):21-30.
//
// The colour library has this formula too. Here it starts from Lab, so that a
// few hundred flies need not be converted for every pair, and it holds hues
// that are opposite but for rounding (|h1-h2| = 180 and a noise of 1e-13) to
// the branch that the paper's table takes; the library takes the other one in
// pair 10 of that table.
func DeltaE(x, y Lab) float64 {
	const rad = math.Pi / 180
	cMean := (math.Hypot(x.A, x.B) + math.Hypot(y.A, y.B)) / 2
	g := 0.5 * (1 - math.Sqrt(ratio7(cMean)))
	a1, a2 := (1+g)*x.A, (1+g)*y.A
	c1, c2 := math.Hypot(a1, x.B), math.Hypot(a2, y.B)
	h1, h2 := hue(a1, x.B), hue(a2, y.B)

	dL, dC := y.L-x.L, c2-c1
	var dh float64
	hMean := h1 + h2 // a neutral colour has no hue: the other one's counts
	if c1*c2 != 0 {
		dh = h2 - h1
		hMean /= 2
		if math.Abs(dh) > 180+hueNoise {
			if h1+h2 < 360 {
				hMean += 180
			} else {
				hMean -= 180
			}
			dh -= math.Copysign(360, dh)
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*rad)

	l := (x.L+y.L)/2 - 50
	c := (c1 + c2) / 2
	t := 1 - 0.17*math.Cos((hMean-30)*rad) + 0.24*math.Cos(2*hMean*rad) +
		0.32*math.Cos((3*hMean+6)*rad) - 0.20*math.Cos((4*hMean-63)*rad)
	turn := (hMean - 275) / 25
	rT := -math.Sin(60*math.Exp(-turn*turn)*rad) * 2 * math.Sqrt(ratio7(c))
	eL := dL / (1 + 0.015*l*l/math.Sqrt(20+l*l))
	eC := dC / (1 + 0.045*c)
	eH := dH / (1 + 0.015*c*t)
	return math.Sqrt(max(eL*eL+eC*eC+eH*eH+rT*eC*eH, 0))
}

// ratio7 is c^7 / (c^7 + 25^7).
func ratio7(c float64) float64 {
	const p = 25 * 25 * 25 * 25 * 25 * 25 * 25
	c7 := c * c * c
	c7 = c7 * c7 * c
	return c7 / (c7 + p)
}

// hue in degrees, 0 to 360; 0 for a neutral colour.
func hue(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}
