// Package level says what the water did: whether a series of readings rises or
// falls, how fast and how surely, and whether it jumped, as below a dam that
// releases water.
//
// Readings are few, uneven in time, and now and then wrong, so that lines are
// fitted by the median of slopes (Theil 1950, Sen 1968) and the question "is
// there any trend" is put to ranks (Mann 1945, Kendall 1975). Nothing here says
// that water is safe: no published limit was found for how fast a rise is
// dangerous to somebody who wades.
package level

import "time"

// Reading is a level in metres above the zero of a staff, at a moment.
type Reading struct {
	At time.Time
	M  float64
}
