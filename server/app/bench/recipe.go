package bench

import (
	"net/http"
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
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

// amountNumber is amountText without the unit, as it is typed.
func amountNumber(u measure.Units, x float64, unit flybox.Unit) string {
	switch {
	case x == 0:
		return ""
	case unit == flybox.Millimetres:
		return words.LengthNumber(u, x)
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
func recipeOf(s *flybox.State, id journal.ID) (f flybox.Fly, r flybox.Recipe, has, ok bool) {
	f, ok = s.Pattern(id)
	l, has := s.Recipe(id)
	return f, l.Body, has, ok
}

func (a *section) editRecipe(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, recipe, has, ok := recipeOf(p.State, screen.PathID(r, "fly"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	t := catalog.For(p.Lang)
	notice := ""
	if from := screen.IDIn(r.URL.Query(), "from"); from != "" {
		if other, copied, is, _ := recipeOf(p.State, from); is {
			recipe, notice = copied, t.F("recipe.copied", catalog.Data{"Name": other.Name})
		}
	} else if !has {
		recipe, notice = usualRecipe(t, f.Pattern), t.S("recipe.usual")
	}
	v := a.recipeForm(r, p, f, recipe, nil, nil)
	v.Notice = notice
	return screen.Show(views.RecipeForm(v)), nil
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
func (a *section) recipeForm(r *http.Request, p screen.Asked, fly flybox.Fly, b flybox.Recipe, typed url.Values, bad journal.Problems) views.RecipeFormView {
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("recipe.title"))
	t := page.T
	v := views.RecipeFormView{Page: page, Name: fly.Name, Action: words.RecipeHref(fly.ID), Back: words.FlyHref(fly.ID), FormID: a.FormID(typed), Problems: screen.ProblemList(page, "recipe", bad)}
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	field := func(base, n, kept string) views.Field {
		f := screen.FormField(page, "recipe", base, value(base+n, kept), nil)
		f.Name = base + n
		if problem := bad.Field(base + n); problem != nil {
			f.Error = screen.ProblemText(page, problem)
		}
		return f
	}
	rows := min(len(b.Lines)+blankLines, flybox.MaxRecipeLines)
	for typed != nil && rows < flybox.MaxRecipeLines && typed.Has("name"+screen.Itoa(rows)) {
		rows++
	}
	for i := range rows {
		n := screen.Itoa(i)
		line := flybox.RecipeLine{Unit: flybox.Pieces}
		if i < len(b.Lines) {
			line = b.Lines[i]
		}
		fields := views.RecipeFields{
			Legend: t.F("recipe.material", catalog.Data{"N": i + 1}),
			Name:   field("name", n, line.Name), Amount: field("amount", n, amountNumber(page.U, line.Amount, line.Unit)),
			Colour: field("colour", n, line.Colour), Note: field("note", n, line.Note),
		}
		fields.Unit = unitChoices(page, field("unit", n, screen.Or(string(line.Unit), string(flybox.Pieces))))
		wrong := fields.Name.Bad() || fields.Amount.Bad() || fields.Unit.Bad() || fields.Colour.Bad() || fields.Note.Bad()
		fields.Folded = i >= max(openLines, len(b.Lines)) && fields.Name.Value == "" && !wrong
		v.Lines = append(v.Lines, fields)
	}
	minutes := ""
	if b.Minutes > 0 {
		minutes = page.U.Number(b.Minutes, 1)
	}
	v.Minutes, v.Steps = field("minutes", "", minutes), field("steps", "", b.Steps)
	others := views.Choices{Field: screen.FormField(page, "recipe", "from", "", nil)}
	s := p.State
	for _, l := range s.Recipes() {
		if other, ok := s.Pattern(l.Body.ID); ok && other.ID != fly.ID {
			others.Options = append(others.Options, views.Option{Value: string(other.ID), Label: other.Name})
		}
	}
	if len(others.Options) > 0 {
		v.Copy = &others
	}
	return v
}

// readRecipe reads the form over a recipe as it was. Lines without a name and
// without anything else are left out.
func readRecipe(f url.Values, u measure.Units, old flybox.Recipe) (b flybox.Recipe, bad journal.Problems) {
	b = old
	b.Lines = nil
	b.Steps = strings.ReplaceAll(f.Get("steps"), "\r\n", "\n")
	minutes, _ := screen.OptionalDecimal(f, "minutes", measure.Parse, &bad)
	screen.DecimalIn("minutes", minutes, 0, flybox.MaxMinutes, &bad)
	b.Minutes = minutes
	for i := range flybox.MaxRecipeLines {
		n := screen.Itoa(i)
		line := flybox.RecipeLine{Name: strings.TrimSpace(f.Get("name" + n)), Colour: strings.TrimSpace(f.Get("colour" + n)), Note: strings.TrimSpace(f.Get("note" + n))}
		unit := flybox.Unit(f.Get("unit" + n))
		amount, given := screen.OptionalDecimal(f, "amount"+n, func(text string) (float64, error) { return parseAmount(u, text, unit) }, &bad)
		if given {
			screen.DecimalIn("amount"+n, amount, 0, flybox.MaxAmount, &bad)
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
			bad = screen.Merge(bad, journal.Problems{problem})
		}
		b.Lines = append(b.Lines, line)
	}
	if len(bad) == 0 {
		bad = screen.Merge(bad, b.Check())
	}
	return b, bad
}

// saveRecipe records the recipe of a fly.
func (a *section) saveRecipe(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, old, _, ok := recipeOf(p.State, screen.PathID(r, "fly"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	old.ID = f.ID
	b, bad := readRecipe(r.PostForm, p.Units, old)
	var err error
	if len(bad) == 0 {
		err = a.Record(r, a.Form(r), func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{b}, nil })
	}
	if list, is := screen.AsProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return screen.Retry(views.RecipeForm(a.recipeForm(r, p, f, b, r.PostForm, bad))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.FlyHref(f.ID)+"#recipe", "saved", 0), nil
}
