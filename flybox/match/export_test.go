package match

// Rank ranks flies for a quarry, for tests.
func Rank(flies []CompiledFly, q *CompiledQuarry) Ranking { return RankBy(flies, q, nil) }
