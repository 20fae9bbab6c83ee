package bank

import (
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"dampstone/flybox/journal"
	"dampstone/hatchkeys/colour"

	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// The form of a hatch of the reader's own water. It is filled from url.Values,
// be they typed, made from a hatch, or taken from answers of the key.

// Stages offered: what has left the water, and what is seen beside it.
var (
	wingedStages = []hatchkeys.Stage{hatchkeys.Adult, hatchkeys.Dun, hatchkeys.EggLayer, hatchkeys.Spent}
	secondStages = []hatchkeys.Stage{hatchkeys.NymphAshore, hatchkeys.Nymph, hatchkeys.Pupa, hatchkeys.Emerger, hatchkeys.Shuck}
)

// seenTraits are asked about the winged stage.
var seenTraits = []hatchkeys.Trait{hatchkeys.Wings, hatchkeys.Tails, hatchkeys.Doing, hatchkeys.Where, hatchkeys.Shucks}

// abundances are offered as how common a hatch is, relative to a common one;
// the packs use about these. Assumed.
var abundances = []string{"0.3", "0.6", "1", "2"}

// hatchForm is the form with values in it.
func (a *section) hatchForm(r *http.Request, p screen.Asked, id journal.ID, name string, values url.Values, bad journal.Problems) views.HatchFormView {
	t := catalog.For(p.Lang)
	v := views.HatchFormView{Heading: t.S("own.new"), Action: "/hatches/new", Back: "/hatches", FormID: a.FormID(values)}
	if id != "" {
		v.Heading, v.Action = t.F("own.change", catalog.Data{"Name": name}), hatchesHref(id)+"/edit"
	}
	page := a.View(r, p, "setup", v.Heading)
	v.Page = page
	v.Problems = screen.ProblemList(page, "hatch", bad)
	f := func(name string) views.Field { return screen.FormField(page, "hatch", name, values.Get(name), bad) }
	choose := func(name string, many bool) views.Choices { return views.Choices{Field: f(name), Many: many} }
	option := func(c *views.Choices, value, label string) *views.Option {
		chosen := slices.Contains(values[c.Name], value)
		c.Found = c.Found || chosen
		c.Options = append(c.Options, views.Option{Value: value, Label: label, Chosen: chosen})
		return &c.Options[len(c.Options)-1]
	}
	v.Name, v.Scientific = f("name"), f("scientific")
	v.Group = choose("group", false)
	option(&v.Group, "", t.S("own.pick"))
	for _, g := range hatchkeys.Groups {
		option(&v.Group, string(g), t.S("group."+string(g)))
	}
	v.Like = choose("like", false)
	option(&v.Like, "", t.S("own.like.none"))
	for _, l := range hatchkeys.Likes {
		option(&v.Like, l, t.S("own.like."+l))
	}
	month := func(name string) views.Choices {
		c := choose(name, false)
		for m := 1; m <= 12; m++ {
			option(&c, screen.Itoa(m), t.S("month."+screen.Itoa(m)))
		}
		return c
	}
	day := func(name string) views.Choices {
		c := choose(name, false)
		for d := 1; d <= 31; d++ {
			option(&c, screen.Itoa(d), screen.Itoa(d))
		}
		return c
	}
	v.FromMonth, v.FromDay, v.ToMonth, v.ToDay = month("from_month"), day("from_day"), month("to_month"), day("to_day")
	stage := func(prefix string, stages []hatchkeys.Stage, none string) (s views.StageFields) {
		s.Stage = choose(prefix+"stage", false)
		if none != "" {
			option(&s.Stage, "", none)
		}
		for _, st := range stages {
			option(&s.Stage, string(st), t.S("stage."+string(st)))
		}
		s.From, s.To = f(prefix+"length_from"), f(prefix+"length_to")
		s.From.Unit, s.To.Unit = page.U.LengthUnit(), page.U.LengthUnit()
		s.Colour = choose(prefix+"colour", true)
		for _, hex := range offeredColours(values[prefix+"colour"]) {
			option(&s.Colour, hex, words.ColourName(t, hex)).Colour = hex
		}
		s.Given = s.Stage.Value != "" || s.Stage.Bad() || s.From.Bad() || s.To.Bad() || s.Colour.Bad()
		return s
	}
	v.Main = stage("", wingedStages, "")
	v.Second = stage("second_", secondStages, t.S("own.second.none"))
	trait := func(tr hatchkeys.Trait) views.Choices {
		c := choose(tr.String(), true)
		c.Label = t.S("ask." + tr.String())
		for _, value := range tr.Values() {
			o := option(&c, value, t.S(words.ValueID(tr, value)))
			if i, ok := words.Examples[tr][value]; ok {
				o.Mark = words.Mark(i)
			}
		}
		return c
	}
	for _, tr := range seenTraits {
		v.Seen = append(v.Seen, trait(tr))
	}
	v.Water = trait(hatchkeys.Water)
	v.HoursFrom, v.HoursTo = f("hours_from"), f("hours_to")
	v.Abundance = choose("abundance", false)
	for i, value := range abundances {
		option(&v.Abundance, value, t.S("own.abundance."+screen.Itoa(i+1)))
	}
	if other := values.Get("abundance"); !v.Abundance.Found && other != "" && !v.Abundance.Bad() {
		option(&v.Abundance, other, other) // set otherwise than by this form
	}
	return v
}

// offeredColours are the swatches, and colours that are no swatch but given.
func offeredColours(given []string) []string {
	var out []string
	for _, s := range hatchkeys.Swatches {
		out = append(out, s.Hex)
	}
	for _, hex := range given {
		if ok := colour.Valid(hex); ok && !slices.Contains(out, hex) && len(out) < len(hatchkeys.Swatches)+hatchkeys.MaxLocalColours {
			out = append(out, hex)
		}
	}
	return out
}

// blankHatch are the values of a new form: from answers of the key, if any.
func blankHatch(e *hatchkeys.Evidence, month int, u measure.Units) url.Values {
	if e.Month != 0 {
		month = e.Month
	}
	v := url.Values{
		"from_month": {screen.Itoa(month)}, "from_day": {"1"}, "to_month": {screen.Itoa(month)}, "to_day": {screen.Itoa(lastDay(month))},
		"stage": {string(hatchkeys.Adult)}, "abundance": {"1"},
	}
	for _, tr := range append(slices.Clone(seenTraits), hatchkeys.Water) {
		for _, value := range tr.Values() {
			if e.Choices[tr].Has(tr, value) {
				v.Add(tr.String(), value)
			}
		}
	}
	if e.Colour != "" {
		v.Set("colour", e.Colour)
	}
	if mm := e.LengthMM; mm > 0 {
		// Insects of one kind differ by about a tenth either way. Assumed.
		v.Set("length_from", u.LengthNumber(mm*0.9))
		v.Set("length_to", u.LengthNumber(mm*1.1))
	}
	return v
}

// lastDay of a month, in a year that is no leap year.
func lastDay(month int) int {
	return time.Date(2001, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// hatchValues are the values of the form for a hatch.
func hatchValues(h *hatchkeys.Hatch, u measure.Units) url.Values {
	s := h.Season[0]
	v := url.Values{
		"name": {h.Name("en")}, "scientific": {h.Scientific}, "group": {string(h.Group)}, "like": {h.Like},
		"from_month": {screen.Itoa(screen.Atoi(s.From[:2]))}, "from_day": {screen.Itoa(screen.Atoi(s.From[3:]))},
		"to_month": {screen.Itoa(screen.Atoi(s.To[:2]))}, "to_day": {screen.Itoa(screen.Atoi(s.To[3:]))},
		"abundance": {strconv.FormatFloat(h.Abundance, 'f', -1, 64)},
		"water":     codes(hatchkeys.Water, &h.Waters),
	}
	form := func(prefix string, f *hatchkeys.Form) {
		v.Set(prefix+"stage", string(f.Stage))
		v.Set(prefix+"length_from", u.LengthNumber(f.Length.From))
		v.Set(prefix+"length_to", u.LengthNumber(f.Length.To))
		v[prefix+"colour"] = f.Colour.Body
	}
	main, second := splitForms(h)
	if main != nil {
		form("", main)
		for _, tr := range seenTraits {
			if w := weightsOf(main, tr); *w != nil {
				v[tr.String()] = codes(tr, *w)
			}
		}
		if main.Hours != nil {
			v.Set("hours_from", words.Clock(main.Hours.From))
			v.Set("hours_to", words.Clock(main.Hours.To))
		}
	}
	if second != nil {
		form("second_", second)
	}
	return v
}

// splitForms are the forms that the form has fields for; either may be nil.
func splitForms(h *hatchkeys.Hatch) (main, second *hatchkeys.Form) {
	for i := range h.Forms {
		f := &h.Forms[i]
		switch {
		case slices.Contains(wingedStages, f.Stage):
			if main == nil {
				main = f
			}
		case second == nil:
			second = f
		}
	}
	return main, second
}

func codes(tr hatchkeys.Trait, w *hatchkeys.Weights) (out []string) {
	for _, code := range tr.Values() {
		if w.Of[code] > 0 {
			out = append(out, code)
		}
	}
	return out
}

// weightsOf is where a form holds one of the traits that are asked about.
func weightsOf(f *hatchkeys.Form, tr hatchkeys.Trait) **hatchkeys.Weights {
	switch tr {
	case hatchkeys.Wings:
		return &f.Wings
	case hatchkeys.Tails:
		return &f.Tails
	case hatchkeys.Doing:
		return &f.Doing
	case hatchkeys.Where:
		return &f.Where
	}
	return &f.Shucks
}

// codeToUnderFrom is the code of a Problem for a range that is upside down.
const codeToUnderFrom = "to-under-from"

// hatchReader reads the form.
type hatchReader struct {
	typed url.Values
	u     measure.Units
	bad   journal.Problems
}

func (r *hatchReader) fail(field, code string, d journal.Detail) {
	if r.bad.Field(field) == nil {
		r.bad = append(r.bad, journal.Problem{Field: field, Code: code, Detail: d})
	}
}

// readHatch reads the form into a copy of old, which may be nil; what the form
// has no field for stays as it was.
func readHatch(typed url.Values, u measure.Units, old *hatchkeys.Hatch) (*hatchkeys.Hatch, journal.Problems) {
	r := &hatchReader{typed: typed, u: u}
	h := &hatchkeys.Hatch{Season: make([]hatchkeys.Season, 1)}
	var main, second hatchkeys.Form
	var rest []hatchkeys.Form
	if old != nil {
		*h = *old
		h.Season = slices.Clone(old.Season)
		m, s := splitForms(old)
		for i := range old.Forms {
			switch f := &old.Forms[i]; f {
			case m:
				main = *f
			case s:
				second = *f
			default:
				rest = append(rest, *f)
			}
		}
	}
	h.Names = map[string]string{}
	for _, lang := range catalog.Languages {
		h.Names[lang] = strings.TrimSpace(typed.Get("name"))
	}
	if h.Names[catalog.Languages[0]] == "" {
		r.fail("name", journal.CodeRequired, journal.Detail{})
	}
	h.Scientific, h.Group, h.Like = typed.Get("scientific"), hatchkeys.Group(typed.Get("group")), typed.Get("like")
	h.Season[0].From, h.Season[0].To = r.day("from"), r.day("to")
	if s := typed.Get("abundance"); s != "" {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			r.fail("abundance", journal.CodeUnknown, journal.Detail{})
			x = 1
		}
		h.Abundance = x
	}
	h.Waters.Of = r.weights(hatchkeys.Water, h.Waters.Of)
	r.stage("", &main)
	for _, tr := range seenTraits {
		w := weightsOf(&main, tr)
		var kept map[string]float64
		if *w != nil {
			kept = (*w).Of
		}
		*w = nil
		if of := r.weights(tr, kept); len(of) > 0 {
			*w = &hatchkeys.Weights{Of: of}
		}
	}
	r.hours(&main)
	h.Forms = []hatchkeys.Form{main}
	typedSecond := strings.TrimSpace(typed.Get("second_length_from")+typed.Get("second_length_to")) != "" || len(typed["second_colour"]) > 0
	switch {
	case typed.Get("second_stage") == "" && typedSecond && old == nil:
		r.fail("second_stage", journal.CodeRequired, journal.Detail{})
	case typed.Get("second_stage") != "":
		r.stage("second_", &second)
		h.Forms = append(h.Forms, second)
	}
	h.Forms = append(h.Forms, rest...)
	return h, r.bad
}

// day reads a month and a day as "07-20".
func (r *hatchReader) day(end string) string {
	m, d := screen.Atoi(r.typed.Get(end+"_month")), screen.Atoi(r.typed.Get(end+"_day"))
	if m < 1 || m > 12 {
		r.fail(end+"_month", journal.CodeUnknown, journal.Detail{})
	}
	if d < 1 || d > 31 {
		r.fail(end+"_day", journal.CodeUnknown, journal.Detail{})
	}
	return twoDigits(m) + "-" + twoDigits(d)
}

func twoDigits(n int) string {
	if n < 10 && n >= 0 {
		return "0" + screen.Itoa(n)
	}
	return screen.Itoa(n)
}

// weights are what was chosen, none likelier than another; old weights stay
// where the choice is the same.
func (r *hatchReader) weights(tr hatchkeys.Trait, old map[string]float64) map[string]float64 {
	of := map[string]float64{}
	for _, code := range r.typed[tr.String()] {
		if tr.Index(code) < 0 {
			r.fail(tr.String(), journal.CodeUnknown, journal.Detail{})
			continue
		}
		of[code] = 1
	}
	same := len(of) == len(old)
	for code := range of {
		same = same && old[code] > 0
	}
	if same {
		return old
	}
	return of
}

// stage reads stage, length and colours into f.
func (r *hatchReader) stage(prefix string, f *hatchkeys.Form) {
	if s := hatchkeys.Stage(r.typed.Get(prefix + "stage")); s != f.Stage {
		f.Stage, f.Sex, f.Share, f.Fed, f.Tactics = s, "", 0, 0, nil // these were of another stage
	}
	from, okFrom := r.length(prefix+"length_from", f.Length.From)
	to, okTo := r.length(prefix+"length_to", f.Length.To)
	if okFrom && okTo && to < from {
		r.fail(prefix+"length_to", codeToUnderFrom, journal.Detail{})
	}
	f.Length = hatchkeys.Range{From: from, To: to}
	f.Colour.Body = r.typed[prefix+"colour"]
	if len(f.Colour.Body) == 0 {
		r.fail(prefix+"colour", journal.CodeRequired, journal.Detail{})
	}
}

// length reads a length in mm; one that is shown rounded and was not changed
// stays as it was.
func (r *hatchReader) length(field string, old float64) (mm float64, ok bool) {
	s := strings.TrimSpace(r.typed.Get(field))
	mm, err := r.u.ParseLength(s)
	switch {
	case s == "":
		r.fail(field, journal.CodeRequired, journal.Detail{})
	case err != nil:
		r.fail(field, screen.CodeNotNumber, journal.Detail{Got: journal.Of(screen.Clip(s))})
	case mm < hatchkeys.MinFormMM || mm > hatchkeys.MaxFormMM:
		r.fail(field, journal.CodeRange, journal.Detail{Min: journal.Of(r.u.Length(hatchkeys.MinFormMM)), Max: journal.Of(r.u.Length(hatchkeys.MaxFormMM))})
	case old > 0 && s == r.u.LengthNumber(old):
		return old, true
	default:
		return mm, true
	}
	return 0, false
}

// hours reads the hours, which may run over midnight: both or neither.
func (r *hatchReader) hours(f *hatchkeys.Form) {
	f.Hours = nil
	var h hatchkeys.Range
	given := 0
	for _, end := range []struct {
		field string
		to    *float64
	}{{"hours_from", &h.From}, {"hours_to", &h.To}} {
		s := strings.TrimSpace(r.typed.Get(end.field))
		if s == "" {
			continue
		}
		given++
		x, err := screen.ParseHour(s)
		switch {
		case err != nil:
			r.fail(end.field, screen.CodeNotNumber, journal.Detail{Got: journal.Of(screen.Clip(s))})
		case x < 0 || x > 24:
			r.fail(end.field, journal.CodeRange, journal.Detail{Min: journal.Of(0), Max: journal.Of(24)})
		}
		*end.to = x
	}
	switch given {
	case 1:
		for _, field := range []string{"hours_from", "hours_to"} {
			if strings.TrimSpace(r.typed.Get(field)) == "" {
				r.fail(field, journal.CodeRequired, journal.Detail{})
			}
		}
	case 2:
		f.Hours = &h
	}
}

// hatchFields are the fields of the form for the names that Check gives.
var hatchFields = map[string]string{
	"name": "name", "scientific": "scientific", "group": "group", "abundance": "abundance",
	"season.from": "from_day", "season.to": "to_day", "waters": "water",
	"forms.0.stage": "stage", "forms.0.colour": "colour", "forms.0.length.from": "length_from", "forms.0.length.to": "length_to",
	"forms.0.hours.from": "hours_from", "forms.0.hours.to": "hours_to",
	"forms.1.stage": "second_stage", "forms.1.colour": "second_colour", "forms.1.length.from": "second_length_from", "forms.1.length.to": "second_length_to",
}

// formProblems names the problems of a checked hatch by the fields of the form.
func formProblems(t *catalog.Text, list journal.Problems, typed url.Values) (out journal.Problems) {
	for _, p := range list {
		name := strings.TrimPrefix(p.Field, "hatch.")
		if field, ok := hatchFields[name]; ok {
			name = field
		}
		if end, is := strings.CutSuffix(name, "_day"); is && p.Code == journal.CodeNotDate {
			p.Detail = journal.Detail{Got: journal.Of(t.F("date.day", catalog.Data{"Day": screen.Clip(typed.Get(end + "_day")), "Month": t.S("month." + screen.Itoa(screen.Atoi(typed.Get(end+"_month"))))}))}
		}
		p.Field = name
		out = append(out, p)
	}
	return out
}
