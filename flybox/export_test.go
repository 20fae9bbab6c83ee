package flybox

// Fold is the state of a set of entries, for tests.
func Fold(entries []Entry) *State {
	s := NewState()
	s.Apply(entries...)
	return s
}
