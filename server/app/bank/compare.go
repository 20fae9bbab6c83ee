package bank

import (
	"cmp"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	// maxCompared is how many hatches fit side by side.
	maxCompared = 3
	// maxRatios bounds the answers listed for each of them.
	maxRatios = 5
	// minRatioChance: an answer that is given less often is not worth waiting
	// for. Assumed.
	minRatioChance = 0.05
	// minListed is the weight, as a share of that of the likeliest value, from
	// which a value of a form is named.
	minListed = 0.4
)

// today takes the day as it is where the query names no month.
func (a *section) today(ans *screen.EvidenceForm, q url.Values) {
	if ans.Evidence.Month == 0 && ans.Bad["month"] == nil && !q.Has("month") {
		ans.Evidence.Month = int(a.Now().Month())
		ans.Evidence.Day = a.Now().Day()
	}
}

// compare sets two or three hatches side by side, the likeliest first.
func (a *section) compare(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	q := r.URL.Query()
	ans := p.Answers(q)
	a.today(&ans, q)
	reading := key.Read(ans.Evidence)
	var list []*hatchkeys.Ranked
	for i := range reading.Ranked {
		if h := &reading.Ranked[i]; slices.Contains(q["h"], h.Hatch.ID) && len(list) < maxCompared {
			list = append(list, h)
		}
	}
	if len(list) < 2 {
		return screen.Result{}, screen.ErrNotFound // perhaps one of them was removed
	}
	page := a.View(r, p, "bank", catalog.For(p.Lang).S("compare.title"))
	v := views.CompareView{Page: page, Back: screen.WithQuery("/", ans.Query()), Cautions: cautions(page, &ans)}
	for i, h := range list {
		v.Cards = append(v.Cards, views.CompareCard{Number: screen.Itoa(i + 1), HatchLine: a.hatchLine(page, h, &ans, true)})
	}
	for _, aspect := range aspects {
		row := compareRow(page, key, aspect, list, ans.Evidence.Month)
		switch {
		case reading.Differ(aspect, list...):
			v.Apart = append(v.Apart, row)
		case slices.ContainsFunc(row.Cells, func(c views.CompareCell) bool { return !c.Unsaid }):
			v.Alike = append(v.Alike, row)
		}
	}
	for _, other := range list[1:] {
		v.Ratios = append(v.Ratios, ratiosView(page, reading, list[0], other))
	}
	return screen.Show(views.Compare(v)), nil
}

// aspects are what is compared, in this order: what the eye takes in first.
var aspects = []hatchkeys.Question{
	hatchkeys.Question(hatchkeys.Looks), hatchkeys.Length, hatchkeys.Question(hatchkeys.Wings), hatchkeys.Question(hatchkeys.Tails), hatchkeys.Question(hatchkeys.Gills),
	hatchkeys.Colour, hatchkeys.Month, hatchkeys.Hour, hatchkeys.Question(hatchkeys.Where), hatchkeys.Question(hatchkeys.Doing),
	hatchkeys.Question(hatchkeys.Shucks), hatchkeys.WaterC, hatchkeys.Question(hatchkeys.Water),
}

func compareRow(page views.Page, key *hatchkeys.Key, a hatchkeys.Question, list []*hatchkeys.Ranked, month int) views.CompareRow {
	row := views.CompareRow{Label: page.T.S("ask." + a.String()), Wide: a == hatchkeys.Month}
	if row.Wide {
		row.Label = page.T.S("compare.season")
	}
	for i, h := range list {
		c := compareCell(page, key, a, h, month)
		c.Number = screen.Itoa(i + 1)
		if len(c.Texts)+len(c.Colours) == 0 {
			c.Texts, c.Unsaid = []string{page.T.S("compare.unsaid")}, true
		}
		row.Cells = append(row.Cells, c)
	}
	return row
}

func compareCell(page views.Page, key *hatchkeys.Key, a hatchkeys.Question, h *hatchkeys.Ranked, month int) (c views.CompareCell) {
	t, f := page.T, h.Form
	switch a {
	case hatchkeys.Length:
		c.Texts = []string{page.U.LengthRange(f.Length.From, f.Length.To)}
	case hatchkeys.Colour:
		for _, hex := range f.Colour.Body {
			word := words.ColourName(t, hex)
			if !slices.ContainsFunc(c.Colours, func(s views.ColourWord) bool { return s.Word == word }) {
				c.Colours = append(c.Colours, views.ColourWord{Hex: hex, Word: word})
			}
		}
	case hatchkeys.Month:
		var text string
		c.Months, text = monthMarks(page, key, h.Hatch, month)
		c.Texts = []string{text}
	case hatchkeys.Hour:
		if f.Hours != nil {
			c.Texts = []string{t.F("hatch.hours", catalog.Data{"From": words.Clock(f.Hours.From), "To": words.Clock(f.Hours.To)})}
		}
	case hatchkeys.WaterC:
		if w := h.Hatch.WaterC; w != nil {
			c.Texts = []string{page.U.TemperatureNumber(w.From) + "–" + page.U.Temperature(w.To)}
		}
	default:
		c.Texts = likely(t, hatchkeys.Trait(a), h)
	}
	return c
}

// likely are the values of a trait that are worth naming, the likeliest first.
func likely(t *catalog.Text, tr hatchkeys.Trait, h *hatchkeys.Ranked) []string {
	w := h.Weights(tr)
	if w == nil {
		return nil
	}
	type valued struct {
		text   string
		weight float64
	}
	var list []valued
	var best float64
	for _, v := range tr.Values() { // in a fixed order
		list = append(list, valued{t.S(words.ValueID(tr, v)), w.Of[v]})
		best = max(best, w.Of[v])
	}
	sortby.Stable(list, func(a, b *valued) int { return cmp.Compare(b.weight, a.weight) })
	var out []string
	for _, v := range list {
		if v.weight > 0 && v.weight >= minListed*best {
			out = append(out, v.text)
		}
	}
	return out
}

// ratiosView is what would have to be seen for other to overtake lead.
func ratiosView(page views.Page, r *hatchkeys.Reading, lead, other *hatchkeys.Ranked) views.RatiosView {
	t := page.T
	ahead := 10 * math.Log10(lead.Probability/other.Probability)
	names := catalog.Data{"Name": other.Hatch.Name(t.Lang), "Leader": lead.Hatch.Name(t.Lang), "Decibans": strings.TrimPrefix(words.Signed(page, ahead), "+")}
	v := views.RatiosView{Heading: t.F("compare.turns", names), Ahead: t.F("compare.ahead", names)}
	asked := map[hatchkeys.Question]bool{}
	for _, ratio := range r.Ratios(lead, other) {
		if len(v.Lines) == maxRatios || ratio.Strength() == 0 || ratio.Decibans < 0 {
			break
		}
		if asked[ratio.Question] || ratio.Chance < minRatioChance {
			continue
		}
		asked[ratio.Question] = true
		line := views.RatioLine{
			Answer: t.S("ask."+ratio.Question.String()) + ": " + ratioText(page, ratio),
			Word:   t.S("why.for." + screen.Itoa(ratio.Strength())), Decibans: words.Signed(page, ratio.Decibans),
		}
		if ratio.Decibans > ahead {
			line.Enough = t.S("compare.enough")
		}
		v.Lines = append(v.Lines, line)
	}
	return v
}

func ratioText(page views.Page, ratio hatchkeys.Ratio) string {
	switch ratio.Question {
	case hatchkeys.Length:
		return page.U.LengthRange(ratio.FromMM, ratio.ToMM)
	case hatchkeys.Colour:
		return words.ColourName(page.T, ratio.Value)
	}
	return page.T.S(words.ValueID(hatchkeys.Trait(ratio.Question), ratio.Value))
}

// compareHref leads to the comparison of hatches with the same answers, "" if
// there are not two.
func compareHref(list []*hatchkeys.Hatch, ans *screen.EvidenceForm) string {
	if len(list) < 2 {
		return ""
	}
	q := ans.Query()
	for _, h := range list {
		q = strings.TrimPrefix(q+"&h="+url.QueryEscape(h.ID), "&")
	}
	return screen.WithQuery("/compare", q)
}

// rivals are the hatches likeliest beside h, at most n and none that is all
// but ruled out.
func rivals(r *hatchkeys.Reading, h *hatchkeys.Hatch, n int) []*hatchkeys.Hatch {
	var out []*hatchkeys.Hatch
	for i := range r.Ranked {
		if other := &r.Ranked[i]; other.Hatch != h && other.Probability >= minOther && len(out) < n {
			out = append(out, other.Hatch)
		}
	}
	return out
}

// compareBank is the comparison of what leads the reading with the next two.
func compareBank(r *hatchkeys.Reading, ans *screen.EvidenceForm) string {
	if !r.Evidence.Any() {
		return ""
	}
	return compareHref(rivals(r, nil, maxCompared), ans)
}

// compareHatch is the comparison of a hatch with the two likeliest others, and
// the words of the link to it.
func (a *section) compareHatch(page views.Page, key *hatchkeys.Key, h *hatchkeys.Hatch, q url.Values, ans *screen.EvidenceForm) (href, text string) {
	dated := *ans
	if a.today(&dated, q); !ans.Evidence.Any() {
		dated.Evidence = usual(h) // nothing was seen: with what it is taken for
	}
	others := rivals(key.Read(dated.Evidence), h, maxCompared-1)
	if len(others) == 0 {
		return "", ""
	}
	var names []string
	for _, o := range others {
		names = append(names, o.Name(page.T.Lang))
	}
	return compareHref(append([]*hatchkeys.Hatch{h}, others...), ans), page.T.F("compare.with", catalog.Data{"Names": strings.Join(names, ", ")})
}

// usual is what somebody sees of a hatch at its usual time.
func usual(h *hatchkeys.Hatch) (e hatchkeys.Evidence) {
	f := caches.MostFished(h)
	e.LengthMM = match.Middle(f.Length)
	if len(h.Season) > 0 {
		if from, err := time.Parse("01-02", h.Season[0].From); err == nil {
			e.Month = int(from.AddDate(0, 0, 14).Month())
		}
	}
	for _, trait := range []hatchkeys.Trait{hatchkeys.Wings, hatchkeys.Looks} {
		weights := f.Wings
		if trait == hatchkeys.Looks {
			weights = f.Looks
		}
		if value := weights.Likeliest(trait); value != "" {
			e.Choices[trait], _ = hatchkeys.OneOf(trait, value) // a value of the trait
		}
	}
	return e
}
