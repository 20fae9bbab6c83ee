package app

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/plan"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

const (
	// openLines is how many materials of a recipe stand open on the form, and
	// blankLines how many empty ones there are for more.
	openLines  = 5
	blankLines = 4
)

func recipeHref(fly string) string { return "/bench/recipe/" + url.PathEscape(fly) }

// recipeView is the recipe of a fly for its page.
func recipeView(page views.Page, s *flybox.State, fly string) views.RecipeView {
	v := views.RecipeView{Edit: recipeHref(fly), Order: "/bench/order/new?fly=" + url.QueryEscape(fly)}
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

// materialName is a material with its colour.
func materialName(name, colour string) string {
	if colour != "" {
		name += ", " + colour
	}
	return name
}

func recipeLineText(page views.Page, l flybox.RecipeLine) string {
	text := materialName(l.Name, l.Colour)
	if l.Amount > 0 {
		text += ": " + amountText(page, l.Amount, l.Unit)
	}
	if l.Note != "" {
		text += " (" + l.Note + ")"
	}
	return text
}

// amountText writes an amount of a material, lengths in the reader's unit.
func amountText(page views.Page, x float64, unit flybox.Unit) string {
	switch unit {
	case flybox.Millimetres:
		return lengthText(page.U, x)
	case flybox.Pieces, flybox.Turns:
		if x == float64(int(x)) {
			return page.T.N("amount."+string(unit), int(x), nil)
		}
		return page.T.F("amount."+string(unit)+".part", catalog.Data{"Value": page.U.Number(x, 2)})
	}
	return page.U.Number(x, 2)
}

// amountNumber is amountText without the unit, as it is typed.
func amountNumber(u measure.Units, x float64, unit flybox.Unit) string {
	switch {
	case x == 0:
		return ""
	case unit == flybox.Millimetres:
		return lengthNumber(u, x)
	}
	return u.Number(x, 2)
}

func parseAmount(u measure.Units, text string, unit flybox.Unit) (float64, error) {
	if unit == flybox.Millimetres {
		return u.ParseLength(text)
	}
	return measure.Parse(text)
}

// unitChoices are the units, lengths as the reader has them.
func unitChoices(page views.Page, f views.Field) views.Choices {
	c := views.Choices{Field: f}
	for _, unit := range flybox.Units {
		label := page.T.S("amount.unit." + string(unit))
		if unit == flybox.Millimetres {
			label = page.U.LengthUnit()
		}
		c.Options = append(c.Options, views.Option{Value: string(unit), Label: label, Chosen: string(unit) == f.Value})
	}
	return c
}

// recipeOf is a fly and its recipe; ok is false if there is no such fly.
func (a *App) recipeOf(id string) (f flybox.Fly, r flybox.Recipe, has, ok bool) {
	a.Ledger.View(func(s *flybox.State) {
		f, ok = s.Pattern(id)
		var l flybox.Logged[flybox.Recipe]
		l, has = s.Recipe(id)
		r = l.Body
	})
	return f, r, has, ok
}

func (a *App) editRecipe(r *http.Request, p prefs) (result, error) {
	f, recipe, has, ok := a.recipeOf(mux.Vars(r)["fly"])
	if !ok {
		return result{}, errNotFound
	}
	t := catalog.For(p.lang)
	notice := ""
	if from := r.URL.Query().Get("from"); from != "" {
		if other, copied, is, _ := a.recipeOf(from); is {
			recipe, notice = copied, t.F("recipe.copied", catalog.Data{"Name": other.Name})
		}
	} else if !has {
		recipe, notice = usualRecipe(t, f.Pattern), t.S("recipe.usual")
	}
	v := a.recipeForm(r, p, f, recipe, nil, nil)
	v.Notice = notice
	return show(views.RecipeForm(v)), nil
}

// usualRecipe names what flies of a style are usually made of, to start from.
func usualRecipe(t *catalog.Text, b flybox.Pattern) (r flybox.Recipe) {
	hook := flybox.RecipeLine{Name: t.S("trip.material.hook"), Amount: 1, Unit: flybox.Pieces}
	if b.Hook > 0 {
		hook.Name = t.F("fly.hook", catalog.Data{"Hook": b.Hook})
	}
	r.Lines = append(r.Lines, hook)
	for _, code := range plan.Usual(b.Style) {
		r.Lines = append(r.Lines, flybox.RecipeLine{Name: t.S("trip.material." + code)})
	}
	return r
}

// recipeForm is the form with a recipe in it, or with what was typed.
func (a *App) recipeForm(r *http.Request, p prefs, fly flybox.Fly, b flybox.Recipe, typed url.Values, bad flybox.Problems) views.RecipeFormView {
	page := a.view(r, p, "bench", catalog.For(p.lang).S("recipe.title"))
	t := page.T
	v := views.RecipeFormView{Page: page, Name: fly.Name, Action: recipeHref(fly.ID), Back: flyHref(fly.ID), FormID: a.formID(typed), Problems: problemList(page, "recipe", bad)}
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	field := func(base, n, kept string) views.Field {
		f := formField(page, "recipe", base, value(base+n, kept), nil)
		f.Name = base + n
		if problem := bad.Field(base + n); problem != nil {
			f.Error = problemText(page, problem)
		}
		return f
	}
	rows := min(len(b.Lines)+blankLines, flybox.MaxRecipeLines)
	for typed != nil && rows < flybox.MaxRecipeLines && typed.Has("name"+itoa(rows)) {
		rows++
	}
	for i := range rows {
		n := itoa(i)
		line := flybox.RecipeLine{Unit: flybox.Pieces}
		if i < len(b.Lines) {
			line = b.Lines[i]
		}
		fields := views.RecipeFields{
			Legend: t.F("recipe.material", catalog.Data{"N": i + 1}),
			Name:   field("name", n, line.Name), Amount: field("amount", n, amountNumber(page.U, line.Amount, line.Unit)),
			Colour: field("colour", n, line.Colour), Note: field("note", n, line.Note),
		}
		fields.Unit = unitChoices(page, field("unit", n, or(string(line.Unit), string(flybox.Pieces))))
		wrong := fields.Name.Bad() || fields.Amount.Bad() || fields.Unit.Bad() || fields.Colour.Bad() || fields.Note.Bad()
		fields.Folded = i >= max(openLines, len(b.Lines)) && fields.Name.Value == "" && !wrong
		v.Lines = append(v.Lines, fields)
	}
	minutes := ""
	if b.Minutes > 0 {
		minutes = page.U.Number(b.Minutes, 1)
	}
	v.Minutes, v.Steps = field("minutes", "", minutes), field("steps", "", b.Steps)
	others := views.Choices{Field: formField(page, "recipe", "from", "", nil)}
	a.Ledger.View(func(s *flybox.State) {
		for _, l := range s.Recipes() {
			if other, ok := s.Pattern(l.Body.ID); ok && other.ID != fly.ID {
				others.Options = append(others.Options, views.Option{Value: other.ID, Label: other.Name})
			}
		}
	})
	if len(others.Options) > 0 {
		v.Copy = &others
	}
	return v
}

// readRecipe reads the form over a recipe as it was. Lines without a name and
// without anything else are left out.
func readRecipe(f url.Values, u measure.Units, old flybox.Recipe) (b flybox.Recipe, bad flybox.Problems) {
	b = old
	b.Lines = nil
	b.Steps = strings.ReplaceAll(f.Get("steps"), "\r\n", "\n")
	minutes, _ := optionalDecimal(f, "minutes", measure.Parse, &bad)
	decimalIn("minutes", minutes, 0, flybox.MaxMinutes, &bad)
	b.Minutes = minutes
	for i := range flybox.MaxRecipeLines {
		n := itoa(i)
		line := flybox.RecipeLine{Name: strings.TrimSpace(f.Get("name" + n)), Colour: strings.TrimSpace(f.Get("colour" + n)), Note: strings.TrimSpace(f.Get("note" + n))}
		unit := flybox.Unit(f.Get("unit" + n))
		amount, given := optionalDecimal(f, "amount"+n, func(text string) (float64, error) { return parseAmount(u, text, unit) }, &bad)
		if given {
			decimalIn("amount"+n, amount, 0, flybox.MaxAmount, &bad)
			line.Amount = amount
			if i < len(old.Lines) && old.Lines[i].Unit == unit && f.Get("amount"+n) == amountNumber(u, old.Lines[i].Amount, unit) {
				line.Amount = old.Lines[i].Amount // shown rounded, not changed
			}
		}
		if line == (flybox.RecipeLine{}) && bad.Field("amount"+n) == nil {
			continue
		}
		line.Unit = unit
		for _, problem := range (flybox.Recipe{ID: "x", Lines: []flybox.RecipeLine{line}}).Check() {
			if problem.Field == "line_note" {
				problem.Field = "note"
			}
			problem.Field += n
			bad = merge(bad, flybox.Problems{problem})
		}
		b.Lines = append(b.Lines, line)
	}
	if len(bad) == 0 {
		bad = merge(bad, b.Check())
	}
	return b, bad
}

// saveRecipe records the recipe of a fly.
func (a *App) saveRecipe(r *http.Request, p prefs) (result, error) {
	f, old, _, ok := a.recipeOf(mux.Vars(r)["fly"])
	if !ok {
		return result{}, errNotFound
	}
	old.ID = f.ID
	b, bad := readRecipe(r.PostForm, p.units, old)
	var err error
	if len(bad) == 0 {
		err = a.once(r, func() error {
			_, err := a.Ledger.Record(r.Context(), b)
			return err
		})
	}
	if list, is := asProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return retry(views.RecipeForm(a.recipeForm(r, p, f, b, r.PostForm, bad))), nil
	}
	if err != nil {
		return result{}, err
	}
	return goTo(flyHref(f.ID)+"#recipe", "saved", 0), nil
}
