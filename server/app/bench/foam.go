package bench

import (
	"io"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/foam"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// foamLengths are the fields that are lengths, in the unit of the address.
var foamLengths = []string{"length", "width", "head", "thick", "step"}

// foamBody is a foam body to cut, with how it floats. All that it needs is in
// the address.
func (a *section) foamBody(r *http.Request, p screen.Asked) (screen.Result, error) {
	q := r.URL.Query()
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("foam.title"))
	t := page.T
	v := views.FoamView{Page: page, Back: "/bench", BackText: t.S("nav.bench"), Cautions: []string{t.S("care.blades"), t.S("care.glues"), t.S("care.vise")}}
	start := foam.For(flybox.Pattern{Style: flybox.FoamStone})
	caption := t.S("foam.title")
	s := p.State
	if f, ok := s.Pattern(screen.IDIn(q, "fly")); ok {
		start, caption = foam.For(f.Pattern), f.Name
		v.Fly, v.Back, v.BackText = string(f.ID), words.FlyHref(f.ID), f.Name
	}
	spec, typed, bad := start, url.Values(nil), journal.Problems(nil)
	if q.Has("length") {
		typed = q
		spec, bad = readFoam(q)
		bad = screen.Merge(bad, spec.Check())
	}
	a.foamFields(&v, spec, typed, bad)
	if len(bad) > 0 {
		v.Problems = screen.ProblemList(page, "foam", foamUnits(page.U, bad))
		return screen.Retry(views.Foam(v)), nil
	}
	foamDrawn(&v, spec, caption)
	foamFloats(&v, spec, p.State)
	return screen.Show(views.Foam(v)), nil
}

// readFoam reads the measures of an address.
func readFoam(q url.Values) (s foam.Spec, bad journal.Problems) {
	u := measure.Units{Inches: q.Get("unit") == "in", Fahrenheit: q.Get("deg") == "f"}
	decimal := func(name string, parse func(string) (float64, error), into *float64, required bool) {
		text := strings.TrimSpace(q.Get(name))
		if text == "" {
			if required {
				bad = append(bad, journal.Problem{Field: name, Code: journal.CodeRequired})
			}
			return
		}
		x, err := parse(text)
		if err != nil {
			bad = append(bad, journal.Problem{Field: name, Code: screen.CodeNotNumber, Detail: journal.Detail{Got: journal.Of(screen.Clip(text))}})
			return
		}
		*into = x
	}
	for i, into := range []*float64{&s.Length, &s.Width, &s.Head, &s.Thick, &s.Step} {
		name := foamLengths[i]
		decimal(name, u.ParseLength, into, name != "step")
	}
	decimal("taper", measure.Parse, &s.Taper, true)
	if s.Taper /= 100; bad.Field("taper") == nil && !(s.Taper >= 0 && s.Taper <= foam.MaxTaper) {
		bad = append(bad, journal.Problem{Field: "taper", Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(0), Max: journal.Of(int(math.Round(foam.MaxTaper * 100)))}})
	}
	s.Segments, s.Layers = screen.WholeNumber(q, "segments", &bad), screen.WholeNumber(q, "layers", &bad)
	s.Legs = screen.OptionalNumber(q, "legs", &bad)
	s.Fold = q.Get("fold") == "yes"
	s.Hook = screen.OptionalNumber(q, "hook", &bad)
	decimal("shank", measure.Parse, &s.Shank, false)
	if s.Shank == 0 {
		s.Shank = 1
	}
	s.Wire = foam.Wire(screen.Or(q.Get("wire"), string(foam.Standard)))
	decimal("density", measure.Parse, &s.Density, false)
	s.Water = foam.For(flybox.Pattern{}).Water
	decimal("water", u.ParseTemperature, &s.Water, false)
	return s, bad
}

// foamUnits says bounds of lengths in the reader's unit.
func foamUnits(u measure.Units, bad journal.Problems) journal.Problems {
	out := slices.Clone(bad)
	for i, p := range out {
		length, degrees := slices.Contains(foamLengths, p.Field), p.Field == "water"
		if !length && !degrees || p.Code != journal.CodeRange {
			continue
		}
		for _, v := range []*journal.Value{&out[i].Got, &out[i].Min, &out[i].Max} {
			if x, ok := v.Number(); ok && length {
				*v = journal.Of(words.LengthText(u, x))
			} else if ok {
				*v = journal.Of(u.Temperature(x))
			}
		}
	}
	return out
}

// foamQuery is the address of a body, in the reader's units.
func foamQuery(u measure.Units, s foam.Spec, fly string) string {
	plain := u
	plain.Comma = false
	unit, deg := foamUnitCodes(u)
	q := url.Values{"unit": {unit}, "deg": {deg}}
	if fly != "" {
		q.Set("fly", fly)
	}
	for i, mm := range []float64{s.Length, s.Width, s.Head, s.Thick, s.Step} {
		q.Set(foamLengths[i], words.LengthNumber(plain, mm))
	}
	q.Set("taper", strconv.Itoa(int(math.Round(s.Taper*100))))
	q.Set("segments", screen.Itoa(s.Segments))
	q.Set("layers", screen.Itoa(s.Layers))
	q.Set("legs", screen.Itoa(s.Legs))
	q.Set("hook", screen.Itoa(s.Hook))
	q.Set("shank", strconv.FormatFloat(s.Shank, 'f', 4, 64))
	q.Set("wire", string(s.Wire))
	if s.Fold {
		q.Set("fold", "yes")
	}
	if s.Density > 0 {
		q.Set("density", screen.Short(s.Density))
	}
	q.Set("water", plain.TemperatureNumber(s.Water))
	return words.FoamPath + "?" + q.Encode()
}

func foamUnitCodes(u measure.Units) (unit, deg string) {
	unit, deg = "mm", "c"
	if u.Inches {
		unit = "in"
	}
	if u.Fahrenheit {
		deg = "f"
	}
	return unit, deg
}

// foamFields fills the form: with what was typed, if it was typed in the units
// that the reader has now.
func (a *section) foamFields(v *views.FoamView, s foam.Spec, typed url.Values, bad journal.Problems) {
	page, u := v.Page, v.U
	v.Unit, v.Degrees = foamUnitCodes(u)
	bad = foamUnits(u, bad)
	value := func(name, kept string) string {
		switch {
		case typed == nil:
			return kept
		case slices.Contains(foamLengths, name) && screen.Or(typed.Get("unit"), "mm") != v.Unit && bad.Field(name) == nil,
			name == "water" && screen.Or(typed.Get("deg"), "c") != v.Degrees && bad.Field(name) == nil:
			return kept
		}
		return typed.Get(name)
	}
	f := func(name, kept string) views.Field {
		return screen.FormField(page, "foam", name, value(name, kept), bad)
	}
	length := func(name string, mm float64) views.Field {
		field := f(name, words.LengthNumber(u, mm))
		field.Unit = u.LengthUnit()
		return field
	}
	v.Length, v.Width, v.Head, v.Thick, v.Step = length("length", s.Length), length("width", s.Width), length("head", s.Head), length("thick", s.Thick), length("step", s.Step)
	v.Taper = f("taper", u.Number(s.Taper*100, 0))
	v.Segments, v.Layers, v.Legs = f("segments", screen.Itoa(s.Segments)), f("layers", screen.Itoa(s.Layers)), f("legs", screen.Itoa(s.Legs))
	density := ""
	if s.Density > 0 {
		density = u.Number(s.Density, 3)
	}
	v.Density = f("density", density)
	v.Water = f("water", u.TemperatureNumber(s.Water))
	v.Water.Unit = u.TemperatureUnit()
	fold := "no"
	if s.Fold {
		fold = "yes"
	}
	v.Fold = views.Choices{Field: f("fold", fold)}
	if v.Fold.Value == "" {
		v.Fold.Value = fold
	}
	for _, o := range []string{"no", "yes"} {
		v.Fold.Options = append(v.Fold.Options, views.Option{Value: o, Label: page.T.S("foam.fold." + o), Chosen: o == v.Fold.Value})
	}
	v.Hook = views.Choices{Field: f("hook", screen.Itoa(s.Hook))}
	for h := flybox.MinHook; h <= flybox.MaxHook; h++ {
		if h <= 12 || h%2 == 0 || screen.Itoa(h) == v.Hook.Value {
			v.Hook.Options = append(v.Hook.Options, views.Option{Value: screen.Itoa(h), Label: "#" + screen.Itoa(h), Chosen: screen.Itoa(h) == v.Hook.Value})
		}
	}
	v.Shank = views.Choices{Field: f("shank", words.ShankValue(words.NearestShank(s.Shank)))}
	for _, n := range words.Shanks {
		o := views.Option{Value: words.ShankValue(n), Label: page.T.S("fly.shank.standard"), Chosen: n == words.NearestShank(s.Shank)}
		if n > 0 {
			o.Label = page.T.F("fly.shank.long", catalog.Data{"N": n})
		}
		v.Shank.Options = append(v.Shank.Options, o)
	}
	v.Wire = views.Choices{Field: f("wire", string(s.Wire))}
	for _, w := range foam.Wires {
		v.Wire.Options = append(v.Wire.Options, views.Option{Value: string(w), Label: page.T.S("foam.wire." + string(w)), Chosen: w == s.Wire})
	}
}

// written is a drawing that is a text.
func written(text string) views.Drawing {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// foamDrawn adds the template.
func foamDrawn(v *views.FoamView, s foam.Spec, name string) {
	page, t, u := v.Page, v.T, v.U
	for _, p := range s.Pieces() {
		front, back, half := p.Bounds()
		title := t.F("foam.piece.one", catalog.Data{"N": p.Layers[0]})
		switch {
		case p.Fold:
			title = t.S("foam.piece.fold")
		case p.Layers[0] == 1 && s.Layers > 1:
			title = t.F("foam.piece.belly", catalog.Data{"N": 1})
		}
		title += ": " + t.F("foam.piece.size", catalog.Data{"Length": words.LengthText(u, back-front), "Width": words.LengthText(u, 2*half)})
		v.Pieces = append(v.Pieces, views.FoamPiece{Title: title, Screen: written(p.SVG(page.Scale(), title)), Paper: written(p.SVG(0, title))})
	}
	ruler := t.S("foam.ruler.name")
	v.Ruler = views.FoamPiece{Screen: written(foam.Ruler(page.Scale(), ruler)), Paper: written(foam.Ruler(0, ruler))}
	v.Caption = name + ": " + t.F("foam.piece.size", catalog.Data{"Length": words.LengthText(u, s.Length), "Width": words.LengthText(u, s.Width)}) +
		", " + t.S("field.foam.thick") + " " + words.LengthText(u, s.Thick) + ", " + t.S("field.foam.layers") + " " + screen.Itoa(s.Layers) +
		", " + t.F("fly.hook", catalog.Data{"Hook": s.Hook})
	v.Calibrated = page.PxPerMM > 0
	v.Scale = t.S("foam.scale")
	if !v.Calibrated {
		v.Scale = t.S("foam.scale.not")
	}
	if s.ShankMM() > s.Length {
		v.Notice = t.S("foam.shank.long")
	}
	v.Legend = []string{t.S("foam.legend.cut"), t.S("foam.legend.axis"), t.S("foam.legend.shank"), t.S("foam.legend.ties")}
	if s.Legs > 0 {
		v.Legend = append(v.Legend, t.S("foam.legend.legs"))
	}
	if s.Fold {
		v.Legend = append(v.Legend, t.F("foam.legend.fold", catalog.Data{"Length": words.LengthText(u, s.FoldAllowance())}))
	}
}

// maxOwnBeads bounds the reader's own beaded flies that are asked for.
const maxOwnBeads = 8

// foamFloats adds how it floats, and which beads it holds up, those of the
// reader's own flies as well.
func foamFloats(v *views.FoamView, s foam.Spec, box *flybox.State) {
	t, u := v.T, v.U
	c := s.Float()
	v.Words = floatWords(t, c.Middle)
	if best, worst := floatWords(t, c.Best), floatWords(t, c.Worst); best != worst {
		v.Range = t.F("foam.range", catalog.Data{"Best": strings.TrimSuffix(best, "."), "Worst": strings.TrimSuffix(worst, ".")})
	}
	between := func(get func(foam.Afloat) float64, write func(float64) string) string {
		low, high := math.Inf(1), math.Inf(-1)
		for _, a := range []foam.Afloat{c.Best, c.Middle, c.Worst} {
			if !a.Sinks {
				low, high = math.Min(low, get(a)), math.Max(high, get(a))
			}
		}
		from, to := write(low), write(high)
		if from == to {
			return from
		}
		return t.F("foam.to", catalog.Data{"From": from, "To": to})
	}
	percentOf := func(x float64) string { return u.Number(100*x, 0) + "\u00a0%" }
	tenths := func(x float64) string { return words.LengthText(u, x) }
	degrees := func(x float64) string { return t.F("foam.degrees", catalog.Data{"Value": u.Number(x, 0)}) }
	fact := func(label, value, hint string) {
		v.Facts = append(v.Facts, views.FoamFact{Label: label, Value: value, Hint: hint})
	}
	fact(t.S("foam.mass"), t.F("foam.grams", catalog.Data{"Value": t.F("foam.to", catalog.Data{"From": u.Number(c.Best.Mass, 2), "To": u.Number(c.Worst.Mass, 2)})}), "")
	if !c.Best.Sinks {
		fact(t.S("foam.wet"), t.F("foam.wet.of", catalog.Data{"Value": between(func(a foam.Afloat) float64 { return a.Wet }, percentOf)}), "")
		fact(t.S("foam.freeboard"), between(func(a foam.Afloat) float64 { return a.Freeboard }, tenths), "")
		fact(t.S("foam.reserve"), t.F("foam.reserve.of", catalog.Data{"Value": between(func(a foam.Afloat) float64 { return a.Reserve }, percentOf)}), "")
		label, sign := t.S("foam.trim"), 1.0
		if c.Middle.Trim < 0 {
			label, sign = t.S("foam.trim.head"), -1
		}
		fact(label, between(func(a foam.Afloat) float64 { return sign * a.Trim }, degrees), "")
		fact(t.S("foam.gm"), between(func(a foam.Afloat) float64 { return a.GM }, tenths), t.S("foam.gm.hint"))
		fact(t.S("foam.back"), between(func(a foam.Afloat) float64 { return a.Back }, degrees), "")
		if a := c.Middle; !a.Sinks {
			if a.Torque > 0 {
				fact(t.S("foam.torque"), t.F("foam.torque.at", catalog.Data{"Value": u.Number(a.Torque, 1), "Angle": degrees(a.TorqueAt)}), "")
			}
			over := t.S("foam.over.stays")
			if a.Over <= 0 {
				over = t.S("foam.over.turns")
			}
			fact(t.S("foam.over"), "", over)
		}
	}
	for _, b := range foam.Beads {
		label := t.F("foam.bead."+b.Material, catalog.Data{"Size": u.Number(b.MM, 1)})
		fact(label, t.S("foam.holds."+string(s.Holds(c, b))), "")
	}
	own := 0
	for _, f := range box.Patterns() {
		if b, ok := foam.BeadOf(f.Pattern); ok && f.Left > 0 && own < maxOwnBeads {
			own++
			fact(f.Name, t.S("foam.holds."+string(s.Holds(c, b))), "")
		}
	}
	amiss := c.Middle.Ride() == foam.RideSinks || c.Middle.Ride() == foam.RidesLow || c.Middle.Sit() != foam.SitsLevel || c.Middle.Lie() == foam.Rolls || c.Middle.Lie() == foam.Tender
	for _, h := range s.Help(c.Middle) {
		v.Help = append(v.Help, views.FoamHelp{What: t.S("foam.help." + h.Code), Then: floatWords(t, h.To), Href: foamQuery(u, h.Spec, v.Fly)})
	}
	v.NoHelp = amiss && len(v.Help) == 0
	low, high := s.Densities()
	id := "foam.unsure.density"
	if s.Density > 0 {
		id = "foam.unsure.weighed"
	}
	v.Unsure = []string{
		t.F(id, catalog.Data{"From": u.Number(low, 3), "To": u.Number(high, 3)}),
		t.F("foam.unsure.hook", catalog.Data{"Mass": u.Number(s.HookMass(), 3)}),
		t.S("foam.unsure.dressing"), t.S("foam.unsure.film"),
		t.F("foam.unsure.still", catalog.Data{"Temperature": u.Temperature(s.Water)}),
	}
}

// floatWords say in plain words how a body floats.
func floatWords(t *catalog.Text, a foam.Afloat) string {
	if a.Sinks {
		return t.S("foam.words.sinks")
	}
	return t.F("foam.words", catalog.Data{"Ride": t.S("foam.ride." + string(a.Ride())), "Sit": t.S("foam.sit." + string(a.Sit())), "Lie": t.S("foam.lie." + string(a.Lie()))})
}
