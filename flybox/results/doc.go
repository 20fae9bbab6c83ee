// Package results says what a person's own takes and refusals tell about
// their flies: how often each is taken and how sure that is, which of two is
// better, what to try next, and what the refusals point to.
//
// It does no I/O. What is judgement stands in the constants here: no source
// was found for any of them.
//
// # How a fish counts
//
// A take counts as a take and a refusal as a refusal. A fish that was hooked
// and lost counts as a take: it ate the fly, and what went wrong came later.
// (A foul-hooked one did not, but from the bank the two are hard to tell
// apart.) A fish that followed and turned away counts as half a refusal: it
// looked and did not eat, yet it came for the fly. Common practice differs,
// no source.
package results

const (
	// FollowAsRefusal is how much of a refusal a follow is.
	FollowAsRefusal = 0.5
	// PoolFish and PoolTakes are the rate that everything starts from: as if
	// that many fish had seen flies of this kind, and so many of them had
	// taken. With these it is the uniform prior of Bayes and Laplace.
	PoolFish, PoolTakes = 2.0, 1.0
	// PriorFish is how many fish the rate of all other flies counts for in the
	// rate of one: weak, so that a handful of own fish outweighs it.
	PriorFish = 2.0
	// Borrow is how much of a fish that its parent was shown counts for a
	// revision, and again for each generation before. No more than BorrowMost
	// fish are borrowed in all.
	Borrow, BorrowMost = 0.35, 4.0
	// FitWeight turns the fit of a fly to the insect into odds: a fly that
	// scores 0.25 more is expected to have e times the odds of a take.
	FitWeight = 4.0
	// Level is the probability that an interval holds.
	Level = 0.90
)
