package draw

import (
	"math"
	"strconv"
)

// Neutral fills, for colours that the data lack.
const (
	neutralBody = "#9a917f"
	neutralWing = "#c9c3b4"
	neutralDark = "#5b5345"
)

// hex gives a colour as it may stand in an attribute: # and three or six
// hexadecimal digits. Anything else becomes the neutral.
func hex(color, neutral string) string {
	if len(color) != 4 && len(color) != 7 || color[0] != '#' {
		return neutral
	}
	for _, c := range []byte(color[1:]) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') && (c < 'A' || c > 'F') {
			return neutral
		}
	}
	return color
}

// ink is the colour of lines on an opaque fill: dark on a light one and light
// on a dark one, whatever the ground of the page.
func ink(fill string) string {
	if luminance(fill) > 0.12 {
		return "#20282b"
	}
	return "#f3efe6"
}

// luminance is the relative luminance of a valid colour, 0 to 1 (WCAG 2.2,
// definition of relative luminance; from memory).
func luminance(color string) float64 {
	digits := color[1:]
	if len(digits) == 3 {
		digits = string([]byte{digits[0], digits[0], digits[1], digits[1], digits[2], digits[2]})
	}
	var sum float64
	for i, share := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(digits[2*i:2*i+2], 16, 8)
		if err != nil {
			return 0
		}
		c := float64(v) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += share * c
	}
	return sum
}
