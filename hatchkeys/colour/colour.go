// Package colour reads colours and says how far apart two look. It is the one
// place for both, for insects as for flies.
package colour

import (
	"math"
	"strconv"
	"sync"

	"github.com/lucasb-eyer/go-colorful"
)

// Valid tells whether s is a colour such as #a98545, the only form that packs,
// evidence and ledgers hold.
func Valid(s string) bool {
	if len(s) != 7 || s[0] != '#' {
		return false
	}
	for i := 1; i < 7; i++ {
		if c := s[i]; !('0' <= c && c <= '9' || 'a' <= c && c <= 'f' || 'A' <= c && c <= 'F') {
			return false
		}
	}
	return true
}

// Lab is a colour in CIELAB, D65, 2 degree observer: L 0 to 100, A and B
// about -128 to 128.
type Lab struct {
	L, A, B float64

	// rgb is the same for the library, which starts from there; made anew for
	// a colour that was not read.
	rgb  colorful.Color
	code uint32 // as rrggbb
	read bool
}

func (c Lab) color() colorful.Color {
	if c.read {
		return c.rgb
	}
	return colorful.Lab(c.L/100, c.A/100, c.B/100)
}

// white is the white of the sRGB primaries with the chromaticity (0.3127,
// 0.3290) that IEC 61966-2-1 gives (from memory): the sums of the rows of the
// matrix from linear sRGB to XYZ. The library's own D65 is rounded otherwise
// and tints greys by 0.014 in b.
var white = func() [3]float64 {
	x, y, z := colorful.LinearRgbToXyz(1, 1, 1)
	return [3]float64{x, y, z}
}()

// Parse reads #rrggbb as sRGB. ok is false for anything else.
func Parse(hex string) (c Lab, ok bool) {
	if !Valid(hex) {
		return Lab{}, false
	}
	rgb, err := colorful.Hex(hex)
	if err != nil {
		return Lab{}, false
	}
	code, err := strconv.ParseUint(hex[1:], 16, 32)
	if err != nil {
		return Lab{}, false
	}
	l, a, b := rgb.LabWhiteRef(white)
	return Lab{100 * l, 100 * a, 100 * b, rgb, uint32(code), true}, true
}

// DeltaE is the CIEDE2000 colour difference with kL = kC = kH = 1. About 1 is
// just seen side by side. DeltaE(x, y) equals DeltaE(y, x).
//
// Source: Sharma, Wu, Dalal (2005), "The CIEDE2000 color-difference formula",
// Color Research & Application 30(1):21-30. The formula is the library's.
func DeltaE(x, y Lab) float64 {
	if x == y {
		return 0
	}
	if !x.read || !y.read {
		return deltaE(x, y)
	}
	if x.code > y.code {
		x, y = y, x
	}
	return known.of(uint64(x.code)<<32|uint64(y.code), func() float64 { return deltaE(x, y) })
}

// known are differences that were worked out before. A box and a key have some
// hundred colours between them, and every tap on an answer asks for the same
// differences again, which were a third of what a tap takes.
var known = memory{most: 1 << 14}

// memory is a function's results, forgotten where they become too many.
type memory struct {
	lock    sync.RWMutex
	results map[uint64]float64
	most    int
}

func (m *memory) of(key uint64, work func() float64) float64 {
	m.lock.RLock()
	result, found := m.results[key]
	m.lock.RUnlock()
	if found {
		return result
	}
	result = work()
	m.lock.Lock()
	defer m.lock.Unlock()
	if m.results == nil || len(m.results) >= m.most {
		m.results = map[uint64]float64{}
	}
	m.results[key] = result
	return result
}

func deltaE(x, y Lab) float64 {
	x, y = apart(x, y)
	return 100 * x.color().DistanceCIEDE2000(y.color())
}

// hair is the angle in radians within which two hues count as opposite, and by
// which one is then turned.
const hair = 1e-9

// apart turns one of two colours whose hues are opposite, but for rounding, a
// hair towards the other. Where the hues are 180 degrees apart the paper takes
// their plain mean, as where they are closer; the library decides by the last
// bits, and takes the other branch in pair 10 of the paper's table.
func apart(x, y Lab) (Lab, Lab) {
	cx, cy := math.Hypot(x.A, x.B), math.Hypot(y.A, y.B)
	if x.A*y.A+x.B*y.B >= 0 || math.Abs(x.A*y.B-x.B*y.A) > hair*cx*cy {
		return x, y
	}
	// The greater hue is the one in the lower half of the plane: it is made
	// smaller, so that less than 180 degrees lie between them.
	if below(x) {
		return turned(x, -2*hair), y
	}
	return x, turned(y, -2*hair)
}

// below tells whether a hue, from 0 to 360 degrees, is the greater of two that
// are opposite.
func below(c Lab) bool { return c.B < 0 || c.B == 0 && c.A < 0 }

func turned(c Lab, angle float64) Lab {
	sin, cos := math.Sincos(angle)
	return Lab{L: c.L, A: c.A*cos - c.B*sin, B: c.A*sin + c.B*cos}
}
