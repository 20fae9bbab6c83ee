package words

import (
	"net/url"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// LengthText writes mm finer than measure.Units.Length does: a cut is made to
// a tenth of a mm.
func LengthText(u measure.Units, mm float64) string {
	return LengthNumber(u, mm) + "\u00a0" + u.LengthUnit()
}

func LengthNumber(u measure.Units, mm float64) string {
	if u.Inches {
		return u.Number(mm/25.4, 3)
	}
	return u.Number(mm, 1)
}

// RecipeView is the recipe of a fly for its page.
func RecipeView(page views.Page, s *flybox.State, fly journal.ID) views.RecipeView {
	v := views.RecipeView{Edit: RecipeHref(fly), Order: "/bench/order/new?fly=" + url.QueryEscape(string(fly))}
	l, ok := s.Recipe(fly)
	if v.None = !ok; !ok {
		return v
	}
	for _, line := range l.Body.Lines {
		v.Lines = append(v.Lines, recipeLineText(page, line))
	}
	if m := l.Body.Minutes; m > 0 {
		v.Minutes = page.T.F("recipe.minutes", catalog.Data{"Minutes": page.U.Number(m, 1)})
	}
	v.Steps = l.Body.Steps
	return v
}

// MaterialName is a material with its colour.
func MaterialName(name, colour string) string {
	if colour != "" {
		name += ", " + colour
	}
	return name
}

func recipeLineText(page views.Page, l flybox.RecipeLine) string {
	text := MaterialName(l.Name, l.Colour)
	if l.Amount > 0 {
		text += ": " + AmountText(page, l.Amount, l.Unit)
	}
	if l.Note != "" {
		text += " (" + l.Note + ")"
	}
	return text
}

// AmountText writes an amount of a material, lengths in the reader's unit.
func AmountText(page views.Page, x float64, unit flybox.Unit) string {
	switch unit {
	case flybox.Millimetres:
		return LengthText(page.U, x)
	case flybox.Pieces, flybox.Turns:
		if x == float64(int(x)) {
			return page.T.N("amount."+string(unit), int(x), nil)
		}
		return page.T.F("amount."+string(unit)+".part", catalog.Data{"Value": page.U.Number(x, 2)})
	}
	return page.U.Number(x, 2)
}
