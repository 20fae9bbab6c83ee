// Package plan works out which flies to take on a trip and how many: the
// chance of each hatch by day, the flies that will be lost or given away, the
// numbers that keep the chance of running out below what was wished within
// the slots of the boxes that go along, and what is left to tie before.
//
// It does no I/O; the day and the ledger's state are handed in. What it
// assumes where nothing was said or learned is in the constants Assumed….
package plan

// What is assumed where nothing is said or learned. No figure was found in
// print for any of these, so a plan that rests on one says so.
const (
	// AssumedLost and AssumedLostDays are the losses that the planner starts
	// from: as if so many flies had been lost or given on so many rod days.
	AssumedLost, AssumedLostDays = 2.0, 1.0
	// AssumedMinutes is how long one fly takes to tie.
	AssumedMinutes = 12.0
	// AssumedEveningHours of tying in an evening.
	AssumedEveningHours = 2.0
	// AssumedHours on the water are one rod day.
	AssumedHours = 8.0
	// AssumedPerSlot flies go into a slot.
	AssumedPerSlot = 8
	// AssumedLevel is the chance wished of not running out of a fly.
	AssumedLevel = 0.9
)

// skillFactor is how many flies a party loses against one of mixed skill.
// Assumed.
func skillFactor(s string) float64 {
	switch s {
	case "novice":
		return 1.5
	case "practised":
		return 0.7
	}
	return 1
}
