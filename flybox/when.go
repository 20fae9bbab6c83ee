package flybox

import (
	"time"

	"dampstone/flybox/journal"
)

// unixOf reads a moment or a day in Unix milliseconds, or takes the stamp's
// where there is none. Days count from their start in UTC.
func unixOf(when string, at journal.Stamp) int64 {
	if t, err := time.Parse(time.RFC3339, when); err == nil {
		return t.UnixMilli()
	}
	if t, err := time.Parse(time.DateOnly, when); err == nil {
		return t.UnixMilli()
	}
	return at.MS
}
