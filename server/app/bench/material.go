package bench

import (
	"net/http"
	"net/url"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/queue"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func materialHref(id journal.ID) string { return "/bench/material/" + url.PathEscape(string(id)) }

// materials lists what there is to tie with.
func (a *section) materials(r *http.Request, p screen.Asked) (screen.Result, error) {
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("material.title"))
	v := views.MaterialsView{Page: page}
	s := p.State
	for _, m := range s.Materials() {
		v.Lines = append(v.Lines, views.MaterialLine{
			Name: words.MaterialName(m.Name, m.Colour), Amount: onHandText(page, m), Href: materialHref(m.ID), Recount: m.Amount < -1e-9,
		})
	}
	return screen.Show(views.Materials(v)), nil
}

// onHandText is how much there is; a sum that has run below zero is none.
func onHandText(page views.Page, m flybox.OnHand) string {
	if m.Amount <= 1e-9 {
		return page.T.S("material.none")
	}
	return words.AmountText(page, m.Amount, m.Unit)
}

func (a *section) material(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.materialScreen(r, p, nil, nil)
}

func (a *section) materialScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	id := screen.PathID(r, "material")
	page := a.View(r, p, "bench", "")
	t := page.T
	s := p.State
	m, ok := s.MaterialOnHand(id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	name := words.MaterialName(m.Name, m.Colour)
	page.Title = name
	v := views.MaterialView{Page: page, Name: name, Amount: onHandText(page, m), Note: m.Note, Recount: m.Amount < -1e-9, Edit: materialHref(id) + "/edit",
		Remove: a.Button(materialHref(id)+"/remove", t.S("material.remove"))}
	for _, l := range s.Recipes() {
		for _, line := range l.Body.Lines {
			if line.Key() == m.Key() {
				if f, ok := s.Pattern(l.Body.ID); ok {
					v.UsedBy = append(v.UsedBy, views.Link{Text: f.Name, Href: words.FlyHref(f.ID)})
				}
				break
			}
		}
	}
	why := screen.Or(typed.Get("why"), string(flybox.MaterialCounted))
	c := views.MaterialCount{Action: materialHref(id) + "/count", FormID: a.FormID(typed), Problems: screen.ProblemList(page, "material", bad)}
	c.Why = views.Choices{Field: screen.FormField(page, "material", "why", why, bad)}
	for _, w := range flybox.MaterialWhys {
		c.Why.Options = append(c.Why.Options, views.Option{Value: string(w), Label: t.S("material.why." + string(w)), Chosen: string(w) == why})
	}
	c.Amount = screen.FormField(page, "material", "amount", typed.Get("amount"), bad)
	c.Amount.Unit = unitText(page, m.Unit)
	v.Count = c
	if len(bad) > 0 {
		return screen.Retry(views.Material(v)), nil
	}
	return screen.Show(views.Material(v)), nil
}

func unitText(page views.Page, unit flybox.Unit) string {
	if unit == flybox.Millimetres {
		return page.U.LengthUnit()
	}
	return page.T.S("amount.unit." + string(unit))
}

// countMaterial says what came, went or was counted.
func (a *section) countMaterial(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "material")
	f := r.PostForm
	var bad journal.Problems
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		m, ok := s.MaterialOnHand(id)
		if !ok {
			return nil, screen.ErrNotFound
		}
		x, given := screen.OptionalDecimal(f, "amount", func(text string) (float64, error) { return parseAmount(p.Units, text, m.Unit) }, &bad)
		if !given && bad.Field("amount") == nil {
			bad = append(bad, journal.Problem{Field: "amount", Code: journal.CodeRequired})
		}
		screen.DecimalIn("amount", x, 0, flybox.MaxAmount, &bad)
		move := flybox.MaterialMove{Material: id, Delta: x, Why: flybox.MaterialWhy(f.Get("why"))}
		switch move.Why {
		case flybox.MaterialCounted:
			move = acts.CountedMaterial(s, id, x)
		case flybox.MaterialUsed:
			move.Delta = -x
		}
		for _, problem := range move.Check() {
			if problem.Field == "delta" || problem.Field == "counted" {
				problem.Field = "amount"
			}
			bad = screen.Merge(bad, journal.Problems{problem})
		}
		if len(bad) > 0 {
			return nil, bad
		}
		return []flybox.Body{move}, nil
	})
	if list, is := screen.AsProblems(err); is {
		return a.materialScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(materialHref(id), "saved", 0), nil
}

func (a *section) removeMaterial(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "material")
	return a.Remove(r, id, "/bench/materials", func(s *flybox.State) bool {
		_, ok := s.MaterialOnHand(id)
		return ok
	})
}

// newMaterial shows the form, filled in from the address: what a recipe asks
// for.
func (a *section) newMaterial(r *http.Request, p screen.Asked) (screen.Result, error) {
	q := r.URL.Query()
	b := flybox.Material{Name: screen.ClipName(q.Get("name")), Colour: screen.ClipName(q.Get("colour")), Unit: flybox.Unit(screen.Or(q.Get("unit"), string(flybox.Pieces)))}
	return screen.Show(views.MaterialForm(a.materialForm(r, p, "", b, nil, nil))), nil
}

func (a *section) editMaterial(r *http.Request, p screen.Asked) (screen.Result, error) {
	m, ok := p.State.MaterialOnHand(screen.PathID(r, "material"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.MaterialForm(a.materialForm(r, p, m.ID, m.Material, nil, nil))), nil
}

func (a *section) materialForm(r *http.Request, p screen.Asked, id journal.ID, b flybox.Material, typed url.Values, bad journal.Problems) views.MaterialFormView {
	t := catalog.For(p.Lang)
	v := views.MaterialFormView{Heading: t.S("material.new"), Action: "/bench/material/new", Back: "/bench/materials", FormID: a.FormID(typed)}
	if id != "" {
		v.Heading, v.Action, v.Back = t.F("material.change", catalog.Data{"Name": words.MaterialName(b.Name, b.Colour)}), materialHref(id)+"/edit", materialHref(id)
	}
	page := a.View(r, p, "bench", v.Heading)
	v.Page, v.Problems = page, screen.ProblemList(page, "material", bad)
	f := func(name, kept string) views.Field {
		if typed != nil {
			kept = typed.Get(name)
		}
		return screen.FormField(page, "material", name, kept, bad)
	}
	v.Name, v.Colour, v.Note = f("name", b.Name), f("colour", b.Colour), f("note", b.Note)
	v.Unit = unitChoices(page, f("unit", string(b.Unit)))
	if id == "" {
		amount := f("amount", "")
		v.Amount = &amount
	}
	return v
}

// saveMaterial records a new material, perhaps with what there is, or a change
// of one.
func (a *section) saveMaterial(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "material")
	f := r.PostForm
	old := flybox.OnHand{}
	if id != "" {
		var ok bool
		if old, ok = p.State.MaterialOnHand(id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
	}
	b := old.Material
	b.Name, b.Colour, b.Unit, b.Note = strings.TrimSpace(f.Get("name")), strings.TrimSpace(f.Get("colour")), flybox.Unit(f.Get("unit")), strings.ReplaceAll(f.Get("note"), "\r\n", "\n")
	var bad journal.Problems
	amount := 0.0
	form := a.Form(r)
	if id == "" {
		b.ID = form.NewID()
		amount, _ = screen.OptionalDecimal(f, "amount", func(text string) (float64, error) { return parseAmount(p.Units, text, b.Unit) }, &bad)
		screen.DecimalIn("amount", amount, 0, flybox.MaxAmount, &bad)
	}
	bad = screen.Merge(bad, b.Check())
	if id != "" && b.Unit != old.Unit && old.Amount != 0 { // what was counted in mm is no number of pieces
		bad = screen.Merge(bad, journal.Problems{{Field: "unit", Code: codeUnitInUse}})
	}
	var err error
	if len(bad) == 0 {
		err = a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) {
			bodies := []flybox.Body{b}
			if amount > 0 {
				bodies = append(bodies, flybox.MaterialMove{Material: b.ID, Delta: amount, Why: flybox.MaterialCounted, Counted: &amount})
			}
			return bodies, nil
		})
	}
	if list, is := screen.AsProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return screen.Retry(views.MaterialForm(a.materialForm(r, p, id, old.Material, f, bad))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/bench/materials", "saved", 0), nil
}

// codeUnitInUse is the code of a Problem for another unit for what was counted.
const codeUnitInUse = "unit-in-use"

// shoppingView is what is missing for the queue.
func (a *section) shoppingView(r *http.Request, p screen.Asked) (views.ShoppingView, error) {
	q, err := a.benchQueue(p)
	if err != nil {
		return views.ShoppingView{}, err
	}
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("shop.title"))
	t := page.T
	v := views.ShoppingView{Page: page, Text: "/bench/shopping.txt"}
	for _, n := range q.Needs {
		name := needName(n)
		if !n.Missing() {
			v.Enough = append(v.Enough, name+": "+t.F("shop.why", catalog.Data{"Need": needAmount(page, n, n.Amount), "Have": words.AmountText(page, n.Have, n.Unit)}))
			continue
		}
		line := views.ShoppingLine{Name: name, Buy: needAmount(page, n, n.Buy()), Why: t.N("shop.flies", n.Flies, nil)}
		if n.Counted {
			line.Why += ". " + t.F("shop.why", catalog.Data{"Need": words.AmountText(page, n.Amount, n.Unit), "Have": words.AmountText(page, n.Have, n.Unit)})
		} else {
			line.Why += ". " + t.S("shop.uncounted")
			q := url.Values{"name": {n.Name}, "colour": {n.Colour}, "unit": {string(n.Unit)}}
			line.Count = "/bench/material/new?" + q.Encode()
		}
		v.Lines = append(v.Lines, line)
	}
	if q.NoRecipe > 0 {
		v.Notices = append(v.Notices, t.N("shop.norecipe", q.NoRecipe, nil))
	}
	return v, nil
}

func needAmount(page views.Page, n queue.Need, x float64) string {
	if n.Amount == 0 {
		return page.T.S("shop.some")
	}
	return words.AmountText(page, x, n.Unit)
}

func (a *section) shopping(r *http.Request, p screen.Asked) (screen.Result, error) {
	v, err := a.shoppingView(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	return screen.Show(views.Shopping(v)), nil
}

// shoppingText is the list as a plain text file.
func (a *section) shoppingText(r *http.Request, p screen.Asked) (screen.Result, error) {
	v, err := a.shoppingView(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	var b strings.Builder
	b.WriteString(v.T.S("shop.title") + "\n\n")
	for _, l := range v.Lines {
		b.WriteString("[ ] " + l.Buy + "  " + l.Name + "\n      " + l.Why + "\n")
	}
	if len(v.Lines) == 0 {
		b.WriteString(v.T.S("shop.none") + "\n")
	}
	for _, s := range v.Notices {
		b.WriteString("\n" + s + "\n")
	}
	return screen.Result{File: screen.TextFile("dampstone-shopping.txt", "text/plain; charset=utf-8", b.String())}, nil
}
