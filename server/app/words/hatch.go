package words

import (
	"fmt"
	"math"
	"strings"

	"dampstone/flybox/results"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

func ValueID(tr hatchkeys.Trait, value string) string { return "value." + tr.String() + "." + value }

// FormText names a form of a hatch; one that the region's key lacks is named
// by its id.
func FormText(t *catalog.Text, key *hatchkeys.Key, f results.Form) string {
	h, form := FormOf(key, f)
	switch {
	case f.Hatch == "":
		return t.S("day.on.nothing")
	case h == nil:
		return f.Hatch
	case form == nil:
		return h.Name(t.Lang)
	}
	return h.Name(t.Lang) + " · " + FormName(t, h, form)
}

// FormOf finds a form in the key; either is nil if it is not there.
func FormOf(key *hatchkeys.Key, f results.Form) (*hatchkeys.Hatch, *hatchkeys.Form) {
	h := key.Hatch(f.Hatch)
	if h == nil {
		return nil, nil
	}
	return h, h.Form(f.Form)
}

// DayText writes "07-20" as a day of the year.
func DayText(t *catalog.Text, monthDay string) string {
	m, d := screen.Atoi(monthDay[:2]), screen.Atoi(monthDay[3:])
	return t.F("date.day", catalog.Data{"Day": d, "Month": t.S("month." + screen.Itoa(m))})
}

// Round keeps six decimals but never rounds a probability to 0 or 1.
func Round(p float64) float64 {
	r := math.Round(p*1e6) / 1e6
	if r <= 0 || r >= 1 {
		return p
	}
	return r
}

// OwnTag is the word for a hatch that the reader added, "" for others.
func OwnTag(t *catalog.Text, h *hatchkeys.Hatch) string {
	if !h.Local {
		return ""
	}
	return t.S("own.tag")
}

// FormName is the stage and sex in words; caddis and midges have words of
// their own for some stages.
func FormName(t *catalog.Text, h *hatchkeys.Hatch, f *hatchkeys.Form) string {
	if id := "form." + string(h.Group) + "." + f.ID; t.Has(id) {
		return t.S(id)
	}
	name := t.S("stage." + string(f.Stage))
	switch {
	case f.Stage == hatchkeys.Adult && f.Wings != nil && f.Wings.Of["short"] > f.Wings.Of["flat"]:
		name = t.S("stage.adult.short")
	case f.Stage == hatchkeys.EggLayer:
		return name // always female
	case f.Stage == hatchkeys.Nymph && (h.Like == "scud" || h.Like == "crayfish"):
		return t.S("stage.inwater") // what never hatches is no nymph
	}
	if f.Sex != "" {
		name += ", " + t.S("sex."+f.Sex)
	}
	return name
}

// Percent writes a probability so that small and near-certain ones do not
// look like zero and one.
func Percent(page views.Page, p float64) string {
	switch {
	case p < 0.01:
		return "<\u200a1\u00a0%"
	case p > 0.99:
		return ">\u200a99\u00a0%"
	}
	return page.U.Number(p*100, 0) + "\u00a0%"
}

func Signed(page views.Page, db float64) string {
	s := page.U.Number(db, 1)
	if db > 0 && s != "0" {
		s = "+" + s
	}
	return strings.Replace(s, "-", "−", 1) + "\u00a0dB"
}

// Clock writes an hour of the day.
func Clock(h float64) string {
	m := int(h*60+0.5) % (24 * 60)
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// WarmCare is the warning for water of c degrees Celsius, if it is warm.
func WarmCare(page views.Page, c float64) []string {
	// Caution from 18 C, stop from 20 C: derived from the lethal and
	// chronic limits of trout (Bear, McMahon and Zale 2007, rainbow 24.3 C,
	// westslope cutthroat 19.6 C; chronic limit 19 C, Brungs and Jones 1977)
	// and from rules that close cutthroat streams at 18.9 C.
	switch {
	case c >= 20:
		return []string{page.T.F("care.hot", catalog.Data{"Temperature": page.U.Temperature(c)})}
	case c >= 18:
		return []string{page.T.F("care.warm", catalog.Data{"Temperature": page.U.Temperature(c)})}
	}
	return nil
}
