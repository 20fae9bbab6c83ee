package words

import (
	"time"

	"dampstone/server/app/screen"
	"dampstone/views/catalog"
)

func DateText(t *catalog.Text, day time.Time) string {
	return t.F("trip.date", catalog.Data{"Day": day.Day(), "Month": t.S("month." + screen.Itoa(int(day.Month()))), "Year": day.Year()})
}
