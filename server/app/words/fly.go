package words

import (
	"math"
	"strconv"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Matches tells whether a fly has every word of q in its name, style or hook.
func Matches(t *catalog.Text, f flybox.Fly, q string) bool {
	text := fold(f.Name + " " + t.S("style."+string(f.Style)) + " #" + screen.Itoa(f.Hook))
	for word := range strings.FieldsSeq(fold(q)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

// fold makes text comparable without case and without Spanish accents.
var folder = strings.NewReplacer("á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u", "ü", "u", "ñ", "n")

func fold(s string) string { return folder.Replace(strings.ToLower(s)) }

// FlyLine is a fly in a list.
func FlyLine(page views.Page, s *flybox.State, f flybox.Fly) views.FlyLine {
	line := views.FlyLine{
		Name: f.Name, Href: FlyHref(f.ID), Drawing: FlyDrawing(f.Pattern, page, ""),
		Fit: StyleText(page, f.Pattern), Left: LeftText(page.T, f.Left), None: f.Left <= 0,
	}
	for _, pl := range s.Places(f.ID) {
		if pl.Count != 0 {
			line.Places = append(line.Places, views.PlaceLine{Where: PlaceText(page.T, pl), Count: screen.Itoa(pl.Count)})
		}
	}
	return line
}

// StyleText is the style, hook and length in a line.
func StyleText(page views.Page, b flybox.Pattern) string {
	text := page.T.S("style." + string(b.Style))
	if b.Hook != 0 {
		text += " #" + screen.Itoa(b.Hook)
	}
	if mm, _ := match.LengthMM(b); mm > 0 {
		text += ", " + page.U.Length(mm)
	}
	return text
}

func LeftText(t *catalog.Text, n int) string {
	if n < 0 {
		return t.F("left.negative", catalog.Data{"Count": n})
	}
	if n == 0 {
		return t.S("left.none")
	}
	return t.N("left", n, nil)
}

// PlaceText says where flies are.
func PlaceText(t *catalog.Text, pl flybox.Placement) string {
	switch {
	case pl.Place == flybox.Loose:
		return t.S("place.loose")
	case pl.Gone:
		return t.F("place.gone", catalog.Data{"Row": pl.Place.Row, "Slot": pl.Place.Slot})
	}
	return t.F("place", catalog.Data{"Box": pl.BoxName, "Row": pl.Place.Row, "Slot": pl.Place.Slot})
}

// Shanks are the shank multiples offered: standard and n X long, counted in
// single sizes (see flybox.XLong).
var Shanks = []int{0, 1, 2, 3, 4}

func ShankValue(n int) string { return strconv.FormatFloat(match.XLong(n), 'f', 4, 64) }

// NearestShank is the offered shank nearest to a multiple.
func NearestShank(x float64) int {
	if x == 0 {
		return 0
	}
	best := 0
	for _, n := range Shanks {
		if math.Abs(match.XLong(n)-x) < math.Abs(match.XLong(best)-x) {
			best = n
		}
	}
	return best
}
