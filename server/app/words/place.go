package words

import (
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
)

func PlaceFields(pl flybox.Place) [][2]string {
	return [][2]string{{"box", string(pl.Box)}, {"row", screen.Itoa(pl.Row)}, {"slot", screen.Itoa(pl.Slot)}}
}

// PlaceValue writes a place as a form value.
func PlaceValue(pl flybox.Place) string {
	if pl == flybox.Loose {
		return "loose"
	}
	return screen.Itoa(pl.Row) + "." + screen.Itoa(pl.Slot) + "." + string(pl.Box)
}

func ParsePlace(s string) (flybox.Place, bool) {
	if s == "loose" || s == "" {
		return flybox.Loose, true
	}
	parts := strings.SplitN(s, ".", 3)
	if len(parts) != 3 {
		return flybox.Loose, false
	}
	pl := flybox.Place{Row: screen.Atoi(parts[0]), Slot: screen.Atoi(parts[1]), Box: journal.ID(parts[2])}
	return pl, pl.Row > 0 && pl.Slot > 0 && pl.Box != ""
}
