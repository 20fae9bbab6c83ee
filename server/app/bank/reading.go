package bank

import (
	"fmt"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/feeding"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
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
func (a *section) readingView(page views.Page, s *flybox.State, key *hatchkeys.Key, r *hatchkeys.Reading, ans *screen.EvidenceForm) views.ReadingView {
	t := page.T
	v := views.ReadingView{Page: page, Unknown: words.Percent(page, r.Unknown), Cautions: cautions(page, ans), Idle: !r.Evidence.Any()}
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
		f := fedView(t, feeding.Judge(r))
		if small := feeding.Small(r); f.Masked && small != nil {
			f.Small = small.Hatch.Name(t.Lang)
			f.SmallHref = words.HatchHref(small.Hatch.ID, small.Form.ID, &screen.EvidenceForm{})
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
	v.Add = screen.WithQuery("/hatches/new", ans.Query())
	box := a.Flies(s, key)
	v.EmptyBox = box.Len() == 0
	if v.Lead != nil {
		v.Flies, v.Tie = words.ReadingFlies(a.Caches, page, s, box, r, lead, maxBankFlies)
	}
	v.Next = nextView(page, key, r, box)
	return v
}

func (a *section) hatchLine(page views.Page, h *hatchkeys.Ranked, ans *screen.EvidenceForm, big bool) views.HatchLine {
	line := views.HatchLine{
		Name: h.Hatch.Name(page.T.Lang), Scientific: h.Hatch.Scientific, Form: words.FormName(page.T, h.Hatch, h.Form),
		Percent: words.Percent(page, h.Probability), Share: h.Probability,
		Href: words.HatchHref(h.Hatch.ID, h.Form.ID, ans), Own: words.OwnTag(page.T, h.Hatch),
	}
	if big {
		line.Drawing = words.Insect(h.Hatch, h.Form, page, page.T.F("draw.insect", catalog.Data{"Name": line.Name, "Length": page.U.Length(match.Middle(h.Form.Length))}))
	} else {
		line.Drawing = words.Insect(h.Hatch, h.Form, page, "")
	}
	return line
}

// fedView puts into words whether fish feed.
func fedView(t *catalog.Text, j feeding.Judgement) views.FedView {
	return views.FedView{Masked: j.Reason == feeding.Masked, Level: string(j.Verdict), Word: t.S("fed." + string(j.Verdict)), Sentence: fedText(t, j)}
}

// fedText is the reason: a fact where it was answered, else what would be
// expected, and what to look at where too little was seen.
func fedText(t *catalog.Text, j feeding.Judgement) string {
	id := "fed.reason." + string(j.Reason)
	if !j.Seen && t.Has("fed.expect."+string(j.Reason)) {
		id = "fed.expect." + string(j.Reason)
	}
	text := t.S(id)
	if j.Verdict == feeding.NotKnown {
		text = t.F("fed.look", catalog.Data{"What": t.S("next." + j.Look.String())}) + " " + text
	}
	return text
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
		Decibans: words.Signed(page, reason.Decibans),
	}
	if reason.Question == hatchkeys.Question(hatchkeys.Trend) && lead.Hatch.Trend != nil {
		line.Marked = t.S("why.trend")
	}
	return line
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
		return words.Clock(*e.Hour)
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
			parts = append(parts, t.S(words.ValueID(tr, v)))
		}
	}
	return strings.Join(parts, " / ")
}

// nextView is the one next look, with the question it leads to.
func nextView(page views.Page, key *hatchkeys.Key, r *hatchkeys.Reading, box *caches.BoxFlies) *views.NextView {
	look, name, ok := nextLook(r, box)
	if !ok {
		return nil
	}
	an := look.Question.String()
	v := &views.NextView{Sentence: page.T.S("next." + an), Anchor: "#q-" + an, Label: page.T.S("reading.next")}
	if name {
		v.Label = page.T.S("reading.next.name")
	}
	return v
}

// nextLook is what to look at next: what would most change the fly, else what
// would settle the name.
func nextLook(r *hatchkeys.Reading, box *caches.BoxFlies) (look hatchkeys.Look, name, ok bool) {
	if look, ok = r.NextLook(box.Choice()); ok {
		return look, false, true
	}
	look, ok = r.NextForName()
	return look, true, ok
}

// cautions are the warnings that the answers call for.
func cautions(page views.Page, ans *screen.EvidenceForm) []string {
	t, e := page.T, &ans.Evidence
	var out []string
	trend := e.Choices[hatchkeys.Trend]
	switch {
	case trend.Has(hatchkeys.Trend, "rising"):
		out = append(out, t.S("care.rising"))
	case trend.Has(hatchkeys.Trend, "dropping"):
		out = append(out, t.S("care.dropping"))
	}
	if e.WaterC != nil {
		out = append(out, words.WarmCare(page, *e.WaterC)...)
	}
	if e.Hour != nil && (*e.Hour < 6 || *e.Hour >= 21) {
		out = append(out, t.S("care.dark"))
	}
	return out
}
