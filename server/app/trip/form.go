package trip

import (
	"cmp"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

const (
	// formWaters is how many waters the form has.
	formWaters = 3
	// maxTripDays bounds a trip on the form.
	maxTripDays = 92
)

// codeLongTrip is the code of a Problem for a trip that is too long.
const codeLongTrip = "trip-too-long"

// codeBadLine is the code of a Problem for a line that cannot be read.
const codeBadLine = "bad-line"

// levels are offered for the chance of not running out, in hundredths.
var levels = []int{80, 90, 95, 99}

func (a *section) newTrip(r *http.Request, p screen.Asked) (screen.Result, error) {
	b := flybox.Trip{Rods: 2, Region: p.Region}
	s := p.State
	for _, box := range s.Boxes() {
		b.Boxes = append(b.Boxes, box.ID)
	}
	if last := s.Trips(); len(last) > 0 { // most people go with the same party again
		b.Rods, b.Hours, b.Skill = last[0].Body.Rods, last[0].Body.Hours, last[0].Body.Skill
		b.Water, b.WaterType, b.Waters = last[0].Body.Water, last[0].Body.WaterType, last[0].Body.Waters
		if len(last[0].Body.Boxes) > 0 {
			b.Boxes = last[0].Body.Boxes
		}
	}
	return screen.Show(views.TripForm(a.tripForm(r, p, "", b, nil, nil))), nil
}

func (a *section) editTrip(r *http.Request, p screen.Asked) (screen.Result, error) {
	b, ok := findTrip(p.State, screen.PathID(r, "trip"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.TripForm(a.tripForm(r, p, b.ID, b, nil, nil))), nil
}

func findTrip(s *flybox.State, id journal.ID) (flybox.Trip, bool) {
	l, ok := s.Trip(id)
	return l.Body, ok
}

// tripForm is the form with a trip in it, or with what was typed.
func (a *section) tripForm(r *http.Request, p screen.Asked, id journal.ID, b flybox.Trip, typed url.Values, bad journal.Problems) views.TripFormView {
	t := catalog.For(p.Lang)
	v := views.TripFormView{Heading: t.S("trip.new"), Action: "/trip/new", Back: "/trip", FormID: a.FormID(typed)}
	if id != "" {
		v.Heading, v.Action, v.Back = t.F("trip.change", catalog.Data{"Name": b.Name}), words.TripHref(id)+"/edit", words.TripHref(id)
		remove := a.Button(words.TripHref(id)+"/remove", t.S("trip.remove"))
		v.Remove = &remove
	}
	page := a.View(r, p, "trip", v.Heading)
	v.Page, v.Problems = page, screen.ProblemList(page, "trip", bad)
	value := func(name, kept string) string {
		if typed != nil {
			return typed.Get(name)
		}
		return kept
	}
	f := func(name, kept string) views.Field {
		return screen.FormField(page, "trip", name, value(name, kept), bad)
	}
	number := func(x float64) string {
		if x == 0 {
			return ""
		}
		return page.U.Number(x, 2)
	}
	v.Name, v.From, v.To, v.Note = f("name", b.Name), f("from", b.From), f("to", b.To), f("note", b.Note)
	v.Rods, v.Hours = f("rods", screen.Itoa(b.Rods)), f("hours", number(b.Hours))
	v.Working = f("working", wholeText(b.Working))
	blind := ""
	if b.Blind != nil {
		blind = page.U.Number(100**b.Blind, 1)
	}
	v.Blind = f("blind", blind)
	v.Blind.Unit = "%"
	rates := cmp.Or(b.Rates, &flybox.TripRates{})
	v.Rates = []views.Field{f("rate_dry", number(rates.Dry)), f("rate_sunk", number(rates.Sunk)), f("rate_streamer", number(rates.Streamer))}
	v.WaysOpen = b.Working != 0 || b.Blind != nil || b.Rates != nil || slices.ContainsFunc(append([]views.Field{v.Working, v.Blind}, v.Rates...), views.Field.Bad)
	v.Skill = views.Choices{Field: f("skill", cmp.Or(string(b.Skill), string(flybox.Mixed)))}
	for _, s := range flybox.Skills {
		v.Skill.Options = append(v.Skill.Options, views.Option{Value: string(s), Label: t.S("trip.skill." + string(s)), Chosen: string(s) == v.Skill.Value})
	}
	v.Region = views.Choices{Field: f("region", cmp.Or(b.Region, p.Region))}
	v.Region.Options = regionChoices(t, v.Region.Value)
	waters := b.AllWaters()
	for i := range max(formWaters, len(waters)) {
		var w flybox.TripWater
		if i < len(waters) {
			w = waters[i]
		}
		v.Waters = append(v.Waters, waterFields(page, i, w, value, bad))
	}
	chosen := b.Boxes
	if typed != nil {
		chosen = screen.IDsIn(typed, "boxes")
	}
	v.Boxes = views.Choices{Field: f("boxes", ""), Many: true}
	s := p.State
	for _, bx := range s.Boxes() {
		v.Boxes.Options = append(v.Boxes.Options, views.Option{
			Value: string(bx.ID), Label: bx.Name + " (" + t.F("box.size", catalog.Data{"Rows": bx.Rows, "Slots": bx.Columns}) + ")", Chosen: slices.Contains(chosen, bx.ID),
		})
	}
	level := b.Level
	if level == 0 {
		level = plan.AssumedLevel
	}
	v.Level = views.Choices{Field: f("level", hundredths(level))}
	offered := slices.Clone(levels)
	if n := int(math.Round(level * 100)); !slices.Contains(offered, n) {
		offered = append(offered, n)
	}
	for _, n := range offered {
		v.Level.Options = append(v.Level.Options, views.Option{Value: screen.Itoa(n), Label: screen.Itoa(n) + "\u00a0%", Chosen: screen.Itoa(n) == v.Level.Value})
	}
	v.PerSlot = f("per_slot", number(float64(b.PerSlot)))
	evenings := ""
	if b.Evenings != nil {
		evenings = screen.Itoa(*b.Evenings)
	}
	v.Evenings, v.EveningHours, v.TieMinutes = f("evenings", evenings), f("evening_hours", number(b.EveningHours)), f("tie_minutes", number(b.TieMinutes))
	v.Temperatures = f("temperatures", temperaturesText(page.U, b.Temperatures))
	for _, field := range []views.Field{v.PerSlot, v.Evenings, v.EveningHours, v.TieMinutes, v.Temperatures} {
		v.More = v.More || field.Bad() || field.Value != ""
	}
	return v
}

func hundredths(x float64) string { return screen.Itoa(int(math.Round(x * 100))) }

// waterFields are the fields of the water with a number.
func waterFields(page views.Page, i int, w flybox.TripWater, value func(name, kept string) string, bad journal.Problems) views.WaterFields {
	t, n := page.T, screen.Itoa(i)
	f := func(name, kept string) views.Field {
		field := screen.FormField(page, "trip", name, value(name+n, kept), nil)
		field.Name = name + n
		if p := bad.Field(name + n); p != nil {
			field.Error = screen.ProblemText(page, p)
		}
		return field
	}
	altitude, latitude := "", ""
	if w.Altitude != nil {
		altitude = page.U.HeightNumber(*w.Altitude)
	}
	if w.Latitude != nil {
		latitude = page.U.Number(*w.Latitude, 2)
	}
	v := views.WaterFields{Name: f("water", w.Name), Type: views.Choices{Field: f("type", w.Type)}, Altitude: f("alt", altitude), Latitude: f("lat", latitude)}
	v.Altitude.Unit, v.Latitude.Unit = page.U.HeightUnit(), "°"
	v.Type.Options = append(v.Type.Options, views.Option{Value: "", Label: t.S("trip.type.any"), Chosen: v.Type.Value == ""})
	for _, code := range hatchkeys.Water.Values() {
		v.Type.Options = append(v.Type.Options, views.Option{Value: code, Label: t.S("value.water." + code), Chosen: code == v.Type.Value})
	}
	return v
}

// readTrip reads the form over a trip as it was.
func readTrip(f url.Values, u measure.Units, old flybox.Trip) (b flybox.Trip, bad journal.Problems) {
	b = old
	b.Name, b.From, b.To, b.Note = strings.TrimSpace(f.Get("name")), f.Get("from"), f.Get("to"), strings.ReplaceAll(f.Get("note"), "\r\n", "\n")
	b.Rods = screen.WholeNumber(f, "rods", &bad)
	b.Skill, b.Region = flybox.Skill(f.Get("skill")), f.Get("region")
	if !slices.Contains(hatchkeys.Regions(), b.Region) {
		bad = append(bad, journal.Problem{Field: "region", Code: journal.CodeUnknown, Detail: journal.Detail{Got: journal.Of(screen.Clip(b.Region))}})
	}
	decimal := func(name string, into *float64, least, most float64) {
		x, given := screen.OptionalDecimal(f, name, measure.Parse, &bad)
		if given {
			screen.DecimalIn(name, x, least, most, &bad)
		}
		*into = x
	}
	decimal("hours", &b.Hours, 0.5, flybox.MaxHours)
	decimal("evening_hours", &b.EveningHours, 0.25, flybox.MaxHours)
	decimal("tie_minutes", &b.TieMinutes, 1, flybox.MaxTieMinutes)
	readWays(f, &b, &bad)
	b.PerSlot = screen.OptionalNumber(f, "per_slot", &bad)
	screen.InRange("per_slot", b.PerSlot, 0, flybox.MaxPerSlot, &bad)
	b.Evenings = nil
	if strings.TrimSpace(f.Get("evenings")) != "" {
		n := screen.WholeNumber(f, "evenings", &bad)
		screen.InRange("evenings", n, 0, flybox.MaxEvenings, &bad)
		b.Evenings = &n
	}
	if n, err := strconv.Atoi(f.Get("level")); err != nil || n < 50 || n > 99 {
		bad = append(bad, journal.Problem{Field: "level", Code: journal.CodeUnknown, Detail: journal.Detail{Got: journal.Of(screen.Clip(f.Get("level")))}})
	} else if f.Get("level") != hundredths(old.Level) {
		b.Level = float64(n) / 100
	}
	b.Boxes = screen.IDsIn(f, "boxes")
	b.Water, b.WaterType, b.Waters = "", "", readWaters(f, u, old.AllWaters(), &bad)
	if f.Get("temperatures") != temperaturesText(u, old.Temperatures) { // else shown rounded, not changed
		b.Temperatures = readTemperatures(f.Get("temperatures"), u, &bad)
	}
	bad = screen.Merge(bad, b.Check())
	if _, _, n := b.Days(); len(bad) == 0 && n > maxTripDays {
		bad = append(bad, journal.Problem{Field: "to", Code: codeLongTrip, Detail: journal.Detail{Max: journal.Of(maxTripDays), Got: journal.Of(n)}})
	}
	return b, bad
}

// readWays reads how the party fishes and what goes with it. A form that was
// shown by an older version has none of these fields.
func readWays(f url.Values, b *flybox.Trip, bad *journal.Problems) {
	if !f.Has("working") {
		return
	}
	b.Working = screen.OptionalNumber(f, "working", bad)
	screen.InRange("working", b.Working, 0, flybox.MaxWorking, bad)
	b.Blind, b.Rates = nil, nil
	if x, given := screen.OptionalDecimal(f, "blind", measure.Parse, bad); given {
		screen.DecimalIn("blind", x, 0, 100, bad)
		share := x / 100
		b.Blind = &share
	}
	var rates flybox.TripRates
	for name, into := range map[string]*float64{"rate_dry": &rates.Dry, "rate_sunk": &rates.Sunk, "rate_streamer": &rates.Streamer} {
		if x, given := screen.OptionalDecimal(f, name, measure.Parse, bad); given {
			screen.DecimalIn(name, x, 0, flybox.MaxRate, bad)
			*into = x
		}
	}
	if rates != (flybox.TripRates{}) {
		b.Rates = &rates
	}
}

// wholeText is a number that may be left out.
func wholeText(n int) string {
	if n == 0 {
		return ""
	}
	return screen.Itoa(n)
}

// readWaters reads the waters that are said something of.
func readWaters(f url.Values, u measure.Units, old []flybox.TripWater, bad *journal.Problems) (out []flybox.TripWater) {
	for i := range flybox.MaxWaters {
		n := screen.Itoa(i)
		w := flybox.TripWater{Name: strings.TrimSpace(f.Get("water" + n)), Type: f.Get("type" + n)}
		if w.Type != "" && hatchkeys.Water.Index(w.Type) < 0 {
			*bad = append(*bad, journal.Problem{Field: "type" + n, Code: journal.CodeUnknown, Detail: journal.Detail{Got: journal.Of(screen.Clip(w.Type))}})
		}
		if len([]rune(w.Name)) > flybox.MaxName {
			*bad = append(*bad, journal.Problem{Field: "water" + n, Code: journal.CodeTooLong, Detail: journal.Detail{Max: journal.Of(flybox.MaxName), Got: journal.Of(len([]rune(w.Name)))}})
		}
		if x, given := screen.OptionalDecimal(f, "alt"+n, u.ParseHeight, bad); given {
			screen.DecimalIn("alt"+n, x, hatchkeys.MinAltitude, hatchkeys.MaxAltitude, bad)
			w.Altitude = &x
			if i < len(old) && old[i].Altitude != nil && f.Get("alt"+n) == u.HeightNumber(*old[i].Altitude) {
				w.Altitude = old[i].Altitude // shown rounded, not changed
			}
		}
		if x, given := screen.OptionalDecimal(f, "lat"+n, measure.Parse, bad); given {
			screen.DecimalIn("lat"+n, x, -hatchkeys.MaxLatitude, hatchkeys.MaxLatitude, bad)
			w.Latitude = &x
			if i < len(old) && old[i].Latitude != nil && f.Get("lat"+n) == u.Number(*old[i].Latitude, 2) {
				w.Latitude = old[i].Latitude
			}
		}
		if w != (flybox.TripWater{}) {
			out = append(out, w)
		}
	}
	return out
}

// temperaturesText writes water temperatures, a day a line.
func temperaturesText(u measure.Units, list []flybox.DayTemp) string {
	var b strings.Builder
	for _, d := range list {
		b.WriteString(d.Date + " " + u.TemperatureNumber(d.Min) + " " + u.TemperatureNumber(d.Max) + "\n")
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// readTemperatures reads a day a line: the date, the least and the greatest
// temperature, or one for both.
func readTemperatures(text string, u measure.Units, bad *journal.Problems) (out []flybox.DayTemp) {
	for i, line := range strings.Split(text, "\n") {
		parts := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' || r == ';' || r == '\r' || r == '\u00a0' })
		if len(parts) == 0 {
			continue
		}
		refuse := func() {
			if bad.Field("temperatures") == nil {
				*bad = append(*bad, journal.Problem{Field: "temperatures", Code: codeBadLine, Detail: journal.Detail{Min: journal.Of(i + 1), Got: journal.Of(screen.Clip(line))}})
			}
		}
		if len(parts) < 2 || len(parts) > 3 {
			refuse()
			continue
		}
		d := flybox.DayTemp{Date: parts[0]}
		var err, err2 error
		d.Min, err = u.ParseTemperature(parts[1])
		if d.Max = d.Min; len(parts) == 3 {
			d.Max, err2 = u.ParseTemperature(parts[2])
		}
		if _, err3 := time.Parse(time.DateOnly, d.Date); err != nil || err2 != nil || err3 != nil || d.Max < d.Min || d.Min < -5 || d.Max > 45 {
			refuse()
			continue
		}
		out = append(out, d)
	}
	if len(out) > flybox.MaxTemperatures {
		*bad = append(*bad, journal.Problem{Field: "temperatures", Code: journal.CodeTooLong, Detail: journal.Detail{Max: journal.Of(flybox.MaxTemperatures), Got: journal.Of(len(out))}})
	}
	return out
}

// saveTrip records a new trip or a change of one.
func (a *section) saveTrip(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "trip")
	old := flybox.Trip{}
	if id != "" {
		var ok bool
		if old, ok = findTrip(p.State, id); !ok {
			return screen.Result{}, screen.ErrNotFound
		}
	}
	b, bad := readTrip(r.PostForm, p.Units, old)
	form := a.Form(r)
	if b.ID == "" {
		b.ID = form.NewID()
	}
	err := error(nil)
	if len(bad) == 0 {
		err = a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{b}, nil })
	}
	if list, is := screen.AsProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return screen.Retry(views.TripForm(a.tripForm(r, p, id, old, r.PostForm, bad))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.TripHref(b.ID), "saved", 0), nil
}
