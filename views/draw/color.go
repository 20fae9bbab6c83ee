package draw

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
