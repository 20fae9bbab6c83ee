package flybox

// What tests alone use.

// Rank ranks flies for a quarry.
func Rank(flies []CompiledFly, q *CompiledQuarry) Ranking { return RankBy(flies, q, nil) }

// Fold is the state of a set of entries.
func Fold(entries []Entry) *State {
	s := NewState()
	s.Apply(entries...)
	return s
}
