package bank

import (
	"net/http"
	"strconv"

	"github.com/gorilla/mux"

	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/draw"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/", a.Page(a.bank)).Methods("GET", "HEAD")
	r.Handle("/hatch/{id}", a.Page(a.hatch)).Methods("GET", "HEAD")
	r.Handle("/compare", a.Page(a.compare)).Methods("GET", "HEAD")
	r.Handle("/year", a.Page(a.year)).Methods("GET", "HEAD")
	a.routeHatches(r)
	r.Handle("/hatch/{id}/seen", a.Page(a.saveSeen)).Methods("POST")
}

// bank is the field key. With the part header it gives the reading alone.
func (a *section) bank(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	q := r.URL.Query()
	ans := p.Answers(q)
	if shell := r.Header.Get(screen.ShellHeader) != ""; !shell {
		a.today(&ans, q)
	}
	page := a.View(r, p, "bank", catalog.For(p.Lang).S("bank.title"))
	for _, v := range hatchkeys.Trend.Values() {
		if ans.Evidence.Choices[hatchkeys.Trend].Only(hatchkeys.Trend, v) {
			page.Trend = v
		}
	}
	reading := key.Read(ans.Evidence)
	rv := a.readingView(page, p.State, key, reading, &ans)
	if r.Header.Get(screen.PartHeader) == "reading" {
		return screen.Show(views.ReadingPart(rv)), nil
	}
	v := bankView(page, &ans)
	v.Reading = rv
	out := screen.Show(views.Bank(v))
	if len(ans.Bad) > 0 {
		out.Status = http.StatusUnprocessableEntity
	}
	return out, nil
}

// mainTraits are asked of everybody, in this order; the length comes after
// the second. The rest wait behind "more to see".
var (
	mainTraits = []hatchkeys.Trait{hatchkeys.Trend, hatchkeys.Shucks, hatchkeys.Wings}
	moreTraits = []hatchkeys.Trait{hatchkeys.Looks, hatchkeys.Doing, hatchkeys.Where, hatchkeys.Tails, hatchkeys.Fish, hatchkeys.Wind, hatchkeys.Clarity, hatchkeys.Light, hatchkeys.Water, hatchkeys.Gills, hatchkeys.LengthTo}
)

func bankView(page views.Page, ans *screen.EvidenceForm) views.BankView {
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
	v.Hour = field(page, "hour", ans)
	v.WaterC = field(page, "water_c", ans)
	if page.Shell == "" { // one shell serves both units; the engine names it
		v.WaterC.Unit = page.U.TemperatureUnit()
	}
	v.MoreOpen = v.MoreOpen || v.Hour.Value != "" || v.WaterC.Value != ""
	for _, an := range hatchkeys.Questions { // in a fixed order
		if b := ans.Bad[an.String()]; b != nil {
			v.Problems = append(v.Problems, t.S("ask."+b.Field)+": "+badAnswer(page, b))
		}
	}
	if b := ans.Bad["day"]; b != nil {
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
	return page.T.F("bad."+b.Code, catalog.Data{"Value": screen.Clip(b.Value), "Min": number(b.Min), "Max": number(b.Max)})
}

func monthChoice(page views.Page, ans *screen.EvidenceForm) views.Choices {
	c := views.Choices{Field: field(page, "month", ans)}
	c.Options = append(c.Options, views.Option{Value: "", Label: page.T.S("month.any"), Chosen: ans.Evidence.Month == 0})
	for m := 1; m <= 12; m++ {
		n := strconv.Itoa(m)
		c.Options = append(c.Options, views.Option{Value: n, Label: page.T.S("month." + n), Chosen: ans.Evidence.Month == m})
	}
	return c
}

// field is the part that all fields of the key share.
func field(page views.Page, name string, ans *screen.EvidenceForm) views.Field {
	f := views.Field{Name: name, Label: page.T.S("ask." + name), Value: ans.Typed.Get(name)}
	if id := "ask." + name + ".hint"; page.T.Has(id) {
		f.Hint = page.T.S(id)
	}
	if b := ans.Bad[name]; b != nil {
		f.Error = badAnswer(page, b)
	}
	return f
}

func traitChoices(page views.Page, tr hatchkeys.Trait, ans *screen.EvidenceForm) views.Choices {
	c := views.Choices{Field: field(page, tr.String(), ans), Many: true}
	for _, value := range tr.Values() {
		o := views.Option{Value: value, Label: page.T.S(words.ValueID(tr, value)), Chosen: ans.Evidence.Choices[tr].Has(tr, value)}
		if i, ok := words.Examples[tr][value]; ok {
			o.Mark = words.Mark(i)
		}
		c.Found = c.Found || o.Chosen
		c.Options = append(c.Options, o)
	}
	c.Options = append(c.Options, views.Option{Value: screen.Unsure, Label: page.T.S("value.unsure"), Chosen: ans.Evidence.Unsure[tr]})
	return c
}

func colourChoices(page views.Page, ans *screen.EvidenceForm) views.Choices {
	c := views.Choices{Field: field(page, "colour", ans)}
	for _, s := range hatchkeys.Swatches {
		o := views.Option{Value: s.Hex, Label: page.T.S("colour." + s.Name), Colour: s.Hex, Chosen: ans.Evidence.Colour == s.Hex}
		c.Found = c.Found || o.Chosen
		c.Options = append(c.Options, o)
	}
	c.Options = append(c.Options, views.Option{Value: screen.Unsure, Label: page.T.S("value.unsure"), Chosen: ans.Evidence.Unsure[hatchkeys.Colour]})
	return c
}

// lengthField asks for the body length; its drawing is a plain insect of the
// length given, or of 20 mm.
func lengthField(page views.Page, ans *screen.EvidenceForm) views.LengthField {
	f := views.LengthField{Field: field(page, "length_mm", ans), Min: "2", Max: "60", Step: "0.5", SliderAt: "20"}
	f.Unit = page.U.LengthUnit()
	f.Unsure = ans.Evidence.Unsure[hatchkeys.Length]
	f.UnsureBy = page.T.S("value.unmeasured")
	f.Calibrated = page.PxPerMM > 0
	f.Value = ""
	for _, typed := range ans.Typed["length"] {
		if typed != screen.Unsure && typed != "" {
			f.Value = typed
		}
	}
	mm := 20.0
	if got := ans.Evidence.LengthMM; got > 0 {
		mm = got
		if f.Value == "" || ans.Typed.Get("unit") != "" && ans.Typed.Get("unit") != f.Unit {
			f.Value = page.U.LengthNumber(got)
		}
	}
	at := mm
	if page.U.Inches {
		f.Min, f.Max, f.Step, at = "0.08", "2.4", "0.01", mm/25.4
	}
	f.SliderAt = strconv.FormatFloat(at, 'f', 2, 64)
	f.Drawing = words.Drawn(draw.Insect{Group: "stonefly", Stage: "adult", Wings: "short", Tails: 2, LengthMM: mm}, draw.Options{PxPerMM: page.Scale()})
	return f
}
