package app

import (
	"strconv"
	"time"

	"dampstone/views"
	"dampstone/views/catalog"
)

func itoa(n int) string { return strconv.Itoa(n) }

// atoi reads digits that were checked before; anything else is 0.
func atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// dayTime writes a moment on the person's clock.
func dayTime(page views.Page, at time.Time) string {
	return page.T.F("date.time", catalog.Data{"Day": at.Day(), "Month": page.T.S("month." + itoa(int(at.Month()))), "Year": at.Year(), "Clock": at.Format("15:04")})
}
