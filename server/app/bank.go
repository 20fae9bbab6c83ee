package app

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/draw"
)

// bank is the field key. With the part header it gives the reading alone.
func (a *App) bank(r *http.Request, p prefs) (result, error) {
	key, err := a.key(p.region)
	if err != nil {
		return result{}, err
	}
	q := r.URL.Query()
	ans := p.answers(q)
	if shell := r.Header.Get(shellHeader) != ""; !shell {
		a.today(&ans, q)
	}
	page := a.view(r, p, "bank", catalog.For(p.lang).S("bank.title"))
	for _, v := range hatchkeys.Trend.Values() {
		if ans.evidence.Choices[hatchkeys.Trend].Only(hatchkeys.Trend, v) {
			page.Trend = v
		}
	}
	reading := key.Read(ans.evidence)
	rv := a.readingView(page, key, reading, &ans)
	if r.Header.Get(partHeader) == "reading" {
		return show(views.ReadingPart(rv)), nil
	}
	v := bankView(page, &ans)
	v.Reading = rv
	out := show(views.Bank(v))
	if len(ans.bad) > 0 {
		out.status = http.StatusUnprocessableEntity
	}
	return out, nil
}

// mainTraits are asked of everybody, in this order; the length comes after
// the second. The rest wait behind "more to see".
var (
	mainTraits = []hatchkeys.Trait{hatchkeys.Trend, hatchkeys.Shucks, hatchkeys.Wings}
	moreTraits = []hatchkeys.Trait{hatchkeys.Looks, hatchkeys.Doing, hatchkeys.Where, hatchkeys.Tails, hatchkeys.Fish, hatchkeys.Wind, hatchkeys.Water, hatchkeys.Gills}
)

func bankView(page views.Page, ans *evidenceForm) views.BankView {
	t := page.T
	v := views.BankView{Page: page, Month: monthChoice(page, ans)}
	for _, tr := range mainTraits {
		v.Main = append(v.Main, traitChoices(page, tr, ans))
	}
	for i, tr := range moreTraits {
		c := traitChoices(page, tr, ans)
		v.MoreOpen = v.MoreOpen || c.Found || c.Bad()
		v.More = append(v.More, c)
		if i == 2 {
			c := colourChoices(page, ans)
			v.MoreOpen = v.MoreOpen || c.Found || c.Bad()
			v.More = append(v.More, c)
		}
	}
	v.Length = lengthField(page, ans)
	v.Hour = textField(page, "hour", ans)
	v.WaterC = textField(page, "water_c", ans)
	if page.Shell == "" { // one shell serves both units; the engine names it
		v.WaterC.Unit = page.U.TemperatureUnit()
	}
	v.MoreOpen = v.MoreOpen || v.Hour.Value != "" || v.WaterC.Value != ""
	for _, an := range hatchkeys.Questions { // in a fixed order
		if b := ans.bad[an.String()]; b != nil {
			v.Problems = append(v.Problems, t.S("ask."+b.Field)+": "+badAnswer(page, b))
		}
	}
	if b := ans.bad["day"]; b != nil {
		v.Problems = append(v.Problems, badAnswer(page, b))
	}
	return v
}

// badAnswer says what to do about an answer that cannot be used.
func badAnswer(page views.Page, b *hatchkeys.BadAnswer) string {
	number := func(x float64) string {
		switch b.Field {
		case "length_mm":
			return page.U.Length(x)
		case "water_c":
			return page.U.Temperature(x)
		}
		return page.U.Number(x, 2)
	}
	return page.T.F("bad."+b.Code, catalog.Data{"Value": clip(b.Value), "Min": number(b.Min), "Max": number(b.Max)})
}

// clip shortens what was typed for a sentence that repeats it.
func clip(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "…"
	}
	return s
}

func monthChoice(page views.Page, ans *evidenceForm) views.Choices {
	c := views.Choices{Field: field(page, "month", ans)}
	c.Options = append(c.Options, views.Option{Value: "", Label: page.T.S("month.any"), Chosen: ans.evidence.Month == 0})
	for m := 1; m <= 12; m++ {
		n := strconv.Itoa(m)
		c.Options = append(c.Options, views.Option{Value: n, Label: page.T.S("month." + n), Chosen: ans.evidence.Month == m})
	}
	return c
}

// field is the part that all fields of the key share.
func field(page views.Page, name string, ans *evidenceForm) views.Field {
	f := views.Field{Name: name, Label: page.T.S("ask." + name), Value: ans.typed.Get(name)}
	if id := "ask." + name + ".hint"; page.T.Has(id) {
		f.Hint = page.T.S(id)
	}
	if b := ans.bad[name]; b != nil {
		f.Error = badAnswer(page, b)
	}
	return f
}

func textField(page views.Page, name string, ans *evidenceForm) views.Field {
	f := field(page, name, ans)
	f.Value = clip(f.Value)
	return f
}

func traitChoices(page views.Page, tr hatchkeys.Trait, ans *evidenceForm) views.Choices {
	c := views.Choices{Field: field(page, tr.String(), ans), Many: true}
	for _, value := range tr.Values() {
		o := views.Option{Value: value, Label: page.T.S(valueID(tr, value)), Chosen: ans.evidence.Choices[tr].Has(tr, value)}
		if i, ok := examples[tr][value]; ok {
			o.Mark = mark(i)
		}
		c.Found = c.Found || o.Chosen
		c.Options = append(c.Options, o)
	}
	c.Options = append(c.Options, views.Option{Value: unsure, Label: page.T.S("value.unsure"), Chosen: ans.evidence.Unsure[tr]})
	return c
}

func valueID(tr hatchkeys.Trait, value string) string { return "value." + tr.String() + "." + value }

// examples are insects that show a value, for the chips.
var examples = map[hatchkeys.Trait]map[string]draw.Insect{
	hatchkeys.Wings: {
		"upright":    {Group: "mayfly", Stage: "dun", Wings: "upright", Tails: 3},
		"flat":       {Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2},
		"roof":       {Group: "caddis", Stage: "adult", Wings: "roof"},
		"short":      {Group: "stonefly", Stage: "adult", Wings: "short", Tails: 2},
		"none":       {Group: "stonefly", Stage: "nymph", Wings: "none", Tails: 2},
		"clear-pair": {Group: "midge", Stage: "adult", Wings: "clear-pair"},
		"spread":     {Group: "mayfly", Stage: "spent", Wings: "spread", Tails: 3},
	},
	hatchkeys.Looks: {
		"stonefly": {Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2},
		"mayfly":   {Group: "mayfly", Stage: "dun", Wings: "upright", Tails: 3},
		"caddis":   {Group: "caddis", Stage: "adult", Wings: "roof"},
		"fly":      {Group: "midge", Stage: "adult", Wings: "clear-pair"},
		"damsel":   {Group: "damsel", Stage: "adult"},
		"hopper":   {Group: "hopper", Stage: "adult"},
		"beetle":   {Group: "beetle", Stage: "adult"},
		"ant":      {Group: "ant", Stage: "adult"},
	},
}

// mark draws an example of one size for all.
func mark(i draw.Insect) views.Drawing {
	i.LengthMM = 12
	return drawn(i, draw.Options{PxPerMM: 3, Class: "icon"})
}

func colourChoices(page views.Page, ans *evidenceForm) views.Choices {
	c := views.Choices{Field: field(page, "colour", ans)}
	for _, s := range hatchkeys.Swatches {
		o := views.Option{Value: s.Hex, Label: page.T.S("colour." + s.Name), Colour: s.Hex, Chosen: ans.evidence.Colour == s.Hex}
		c.Found = c.Found || o.Chosen
		c.Options = append(c.Options, o)
	}
	c.Options = append(c.Options, views.Option{Value: unsure, Label: page.T.S("value.unsure"), Chosen: ans.evidence.Unsure[hatchkeys.Colour]})
	return c
}

// lengthField asks for the body length; its drawing is a plain insect of the
// length given, or of 20 mm.
func lengthField(page views.Page, ans *evidenceForm) views.LengthField {
	f := views.LengthField{Field: field(page, "length_mm", ans), Min: "2", Max: "60", Step: "0.5", SliderAt: "20"}
	f.Unit = page.U.LengthUnit()
	f.Unsure = ans.evidence.Unsure[hatchkeys.Length]
	f.UnsureBy = page.T.S("value.unmeasured")
	f.Calibrated = page.PxPerMM > 0
	f.Value = ""
	for _, typed := range ans.typed["length"] {
		if typed != unsure && typed != "" {
			f.Value = clip(typed)
		}
	}
	mm := 20.0
	if got := ans.evidence.LengthMM; got > 0 {
		mm = got
		if f.Value == "" || ans.typed.Get("unit") != "" && ans.typed.Get("unit") != f.Unit {
			f.Value = page.U.LengthNumber(got)
		}
	}
	at := mm
	if page.U.Inches {
		f.Min, f.Max, f.Step, at = "0.08", "2.4", "0.01", mm/25.4
	}
	f.SliderAt = strconv.FormatFloat(at, 'f', 2, 64)
	f.Drawing = drawn(draw.Insect{Group: "stonefly", Stage: "adult", Wings: "short", Tails: 2, LengthMM: mm}, draw.Options{PxPerMM: page.Scale()})
	return f
}

// withQuery puts the answers behind an address.
func withQuery(path, query string) string {
	if query == "" {
		return path
	}
	return path + "?" + query
}

// hatchHref leads to the page of a hatch with the same answers.
func hatchHref(id, form string, ans *evidenceForm) string {
	q := ans.query()
	if form != "" {
		q = strings.TrimPrefix(q+"&form="+url.QueryEscape(form), "&")
	}
	return withQuery("/hatch/"+url.PathEscape(id), q)
}
