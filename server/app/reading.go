package app

import (
	"fmt"
	"strings"

	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Bounds of what a reading lists.
const (
	maxOthers    = 6
	minOther     = 0.01 // less likely hatches are not listed
	maxBankFlies = 3
)

// readingView puts a reading into words.
func (a *App) readingView(page views.Page, key *hatchkeys.Key, r *hatchkeys.Reading, ans *evidenceForm) views.ReadingView {
	t := page.T
	v := views.ReadingView{Page: page, Unknown: percent(page, r.Unknown), Cautions: cautions(page, ans), Idle: !r.Evidence.Any()}
	lead := r.Leader()
	from := 0
	switch {
	case v.Idle:
		v.Strip = t.S("strip.idle")
	case lead == nil:
		v.UnknownLeads = true
		v.Strip = t.F("strip.unknown", catalog.Data{"Percent": v.Unknown})
	default:
		from = 1
		line := a.hatchLine(page, lead, ans, true)
		v.Lead = &line
		f := fedView(t, r.Feeding())
		if small := r.Small(); f.Masked && small != nil {
			f.Small = small.Hatch.Name(t.Lang)
			f.SmallHref = hatchHref(small.Hatch.ID, small.Form.ID, &evidenceForm{})
		}
		v.Fed = &f
		v.Strip = t.F("strip.lead", catalog.Data{"Name": line.Name, "Percent": line.Percent, "Fed": f.Word})
		v.Why = whyLines(page, r, lead)
	}
	for i := from; i < len(r.Ranked) && len(v.Others) < maxOthers; i++ {
		if r.Ranked[i].Probability < minOther {
			break
		}
		v.Others = append(v.Others, a.hatchLine(page, &r.Ranked[i], ans, false))
	}
	v.Compare = compareBank(r, ans)
	v.Add = withQuery("/hatches/new", ans.query())
	box := a.fits.flies(a.Ledger, key)
	v.EmptyBox = box.Len() == 0
	if v.Lead != nil {
		v.Flies, v.Tie = a.flyLines(page, box, lead.Hatch, lead.Form, maxBankFlies)
	}
	v.Next = nextView(page, key, r, box)
	return v
}

func (a *App) hatchLine(page views.Page, h *hatchkeys.Ranked, ans *evidenceForm, big bool) views.HatchLine {
	line := views.HatchLine{
		Name: h.Hatch.Name(page.T.Lang), Scientific: h.Hatch.Scientific, Form: formName(page.T, h.Hatch, h.Form),
		Percent: percent(page, h.Probability), Share: h.Probability,
		Href: hatchHref(h.Hatch.ID, h.Form.ID, ans), Own: ownTag(page.T, h.Hatch),
	}
	if big {
		line.Drawing = insect(h.Hatch, h.Form, page, page.T.F("draw.insect", catalog.Data{"Name": line.Name, "Length": page.U.Length(middle(h.Form.Length))}))
	} else {
		line.Drawing = insect(h.Hatch, h.Form, page, "")
	}
	return line
}

// formName is the stage and sex in words; caddis and midges have words of
// their own for some stages.
func formName(t *catalog.Text, h *hatchkeys.Hatch, f *hatchkeys.Form) string {
	if id := "form." + string(h.Group) + "." + f.ID; t.Has(id) {
		return t.S(id)
	}
	name := t.S("stage." + string(f.Stage))
	switch {
	case f.Stage == hatchkeys.Adult && f.Wings != nil && f.Wings.Of["short"] > f.Wings.Of["flat"]:
		name = t.S("stage.adult.short")
	case f.Stage == hatchkeys.EggLayer:
		return name // always female
	}
	if f.Sex != "" {
		name += ", " + t.S("sex."+f.Sex)
	}
	return name
}

// percent writes a probability so that small and near-certain ones do not
// look like zero and one.
func percent(page views.Page, p float64) string {
	switch {
	case p < 0.01:
		return "<\u200a1\u00a0%"
	case p > 0.99:
		return ">\u200a99\u00a0%"
	}
	return page.U.Number(p*100, 0) + "\u00a0%"
}

func fedView(t *catalog.Text, f hatchkeys.Feeding) views.FedView {
	level := "maybe"
	switch {
	case f.Probability >= 0.6:
		level = "yes"
	case f.Probability <= 0.35:
		level = "no"
	}
	return views.FedView{Masked: f.Reason == hatchkeys.Masked, Level: level, Word: t.S("fed." + level), Sentence: t.S("fed.reason." + string(f.Reason))}
}

// whyLines are the reasons for the leader, in words and in decibans.
func whyLines(page views.Page, r *hatchkeys.Reading, lead *hatchkeys.Ranked) []views.WhyLine {
	var out []views.WhyLine
	for _, reason := range r.Why(lead) {
		out = append(out, whyLine(page, r, lead, reason))
	}
	return out
}

func whyLine(page views.Page, r *hatchkeys.Reading, lead *hatchkeys.Ranked, reason hatchkeys.Reason) views.WhyLine {
	t := page.T
	sign := "for"
	switch {
	case reason.Strength() == 0:
		sign = "none"
	case reason.Decibans < 0:
		sign = "against"
	}
	line := views.WhyLine{
		Answer:   t.S("ask."+reason.Question.String()) + ": " + answerText(page, &r.Evidence, reason.Question),
		Word:     t.S(fmt.Sprintf("why.%s.%d", sign, reason.Strength())),
		Sign:     sign,
		Decibans: signed(page, reason.Decibans),
	}
	if reason.Question == hatchkeys.Question(hatchkeys.Trend) && lead.Hatch.Trend != nil {
		line.Marked = t.S("why.trend")
	}
	return line
}

func signed(page views.Page, db float64) string {
	s := page.U.Number(db, 1)
	if db > 0 && s != "0" {
		s = "+" + s
	}
	return strings.Replace(s, "-", "−", 1) + "\u00a0dB"
}

// answerText says what was answered.
func answerText(page views.Page, e *hatchkeys.Evidence, an hatchkeys.Question) string {
	t := page.T
	switch an {
	case hatchkeys.Month:
		return t.S(fmt.Sprintf("month.%d", e.Month))
	case hatchkeys.Length:
		return page.U.Length(e.LengthMM)
	case hatchkeys.Hour:
		return clock(*e.Hour)
	case hatchkeys.WaterC:
		return page.U.Temperature(*e.WaterC)
	case hatchkeys.Colour:
		for _, s := range hatchkeys.Swatches {
			if s.Hex == e.Colour {
				return t.S("colour." + s.Name)
			}
		}
		return e.Colour
	}
	tr := hatchkeys.Trait(an)
	var parts []string
	for _, v := range tr.Values() {
		if e.Choices[an].Has(tr, v) {
			parts = append(parts, t.S(valueID(tr, v)))
		}
	}
	return strings.Join(parts, " / ")
}

// clock writes an hour of the day.
func clock(h float64) string {
	m := int(h*60+0.5) % (24 * 60)
	return fmt.Sprintf("%d:%02d", m/60, m%60)
}

// nextView is the one next look, with the question it leads to.
func nextView(page views.Page, key *hatchkeys.Key, r *hatchkeys.Reading, box *boxFlies) *views.NextView {
	look, ok := r.NextLook(box.choice())
	if !ok {
		return nil
	}
	an := look.Question.String()
	return &views.NextView{Sentence: page.T.S("next." + an), Anchor: "#q-" + an}
}

// cautions are the warnings that the answers call for.
func cautions(page views.Page, ans *evidenceForm) []string {
	t, e := page.T, &ans.evidence
	var out []string
	trend := e.Choices[hatchkeys.Trend]
	switch {
	case trend.Has(hatchkeys.Trend, "rising"):
		out = append(out, t.S("care.rising"))
	case trend.Has(hatchkeys.Trend, "dropping"):
		out = append(out, t.S("care.dropping"))
	}
	if e.WaterC != nil {
		out = append(out, warmCare(page, *e.WaterC)...)
	}
	if e.Hour != nil && (*e.Hour < 6 || *e.Hour >= 21) {
		out = append(out, t.S("care.dark"))
	}
	return out
}

// warmCare is the warning for water of c degrees Celsius, if it is warm.
func warmCare(page views.Page, c float64) []string {
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
