package flybox

import "dampstone/flybox/journal"

// Fold is the state of a set of entries, for tests.
func Fold(entries []journal.Entry) *State {
	s := NewState()
	s.Apply(entries...)
	return s
}
