package journal

// MaxIDBytes bounds an id.
const MaxIDBytes = 64

// ID names an entry or a thing, such as a fly or a box: 1 to MaxIDBytes of
// letters, digits and ".", "_", ":", "-", usually a UUID. It is a type of its
// own so that what is meant for text, such as a clip for a narrow screen, is
// never applied to it.
type ID string

// IsID tells whether s may be an ID.
func IsID[S ~string](s S) bool {
	if len(s) == 0 || len(s) > MaxIDBytes {
		return false
	}
	for i := range len(s) {
		switch c := s[i]; {
		case 'a' <= c && c <= 'z', 'A' <= c && c <= 'Z', '0' <= c && c <= '9', c == '.', c == '_', c == ':', c == '-':
		default:
			return false
		}
	}
	return true
}
