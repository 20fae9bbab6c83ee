package match

import (
	"math"

	"dampstone/flybox"
)

// No standard for the sizes of fly hooks was found, and none is believed to
// exist; the model here is nominal, within about 20 %, and a measured length
// always overrides it. It was invented for this project from memory of
// typical hooks.

// ShankMM is the nominal shank of a hook in mm; shank is the multiple of the
// standard shank (0 means 1, see XLong).
func ShankMM(size int, shank float64) float64 {
	if shank == 0 {
		shank = 1
	}
	return 9.7 * math.Pow(1.10, float64(12-size)) * shank
}

// GapeMM is the nominal gape of a hook in mm.
func GapeMM(size int) float64 { return 0.52 * ShankMM(size, 1) }

// WireMM is the nominal diameter of the wire in mm.
func WireMM(size int) float64 { return 0.48 * math.Pow(1.055, float64(12-size)) }

// XLong is the shank multiple of an "n X long" hook: the shank of a hook n
// single sizes larger. Some count even sizes instead (common practice, the
// two readings conflict).
func XLong(n int) float64 { return math.Pow(1.10, float64(n)) }

// LengthMM is the overall length of a fly in mm without tails, and whether
// it is only an estimate from its hook and style rather than measured. It is
// 0 if neither is known.
func LengthMM(b flybox.Pattern) (mm float64, estimated bool) {
	if b.Length > 0 {
		return b.Length, false
	}
	if b.Hook == 0 {
		return 0, true
	}
	return ShankMM(b.Hook, b.Shank) * builds[b.Style].over, true
}
