package day

import (
	"cmp"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	// fewFish and someFish part what is too few fish to say anything, a hint,
	// and what begins to tell. Judgement: with 5 fish the interval of a rate is
	// some 60 points wide, with 15 some 40.
	fewFish, someFish, manyFish = 5, 15, 30
	// dotFish is how many fish are drawn one by one.
	dotFish = 15

	pageOfGroups = 8
	maxRates     = 12 // flies of a group
	maxPairs     = 4
)

// shownFly is a revision that fish were shown while on one form.
type shownFly struct {
	rev      flybox.Revision
	known    bool
	fly      flybox.Fly // as it is now
	alive    bool
	estimate results.Estimate
	fish     shownFish
}

// results is what takes and refusals tell.
func (a *section) results(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("results.title"))
	t := page.T
	q := r.URL.Query()
	filter, bad := readFilter(q)
	v := views.ResultsView{Page: page, Empty: true}
	box := a.Flies(p.State, key)
	s := p.State
	all := results.Tally(s, results.Filter{})
	v.Empty = len(all) == 0
	if v.Empty {
		return screen.Show(views.Results(v)), nil
	}
	v.Filter = filterFields(page, s, key, all, filter, q, bad)
	table := results.Tally(s, filter)
	order := map[results.Form]int{}
	var total results.Count
	for cell, c := range table {
		order[cell.Form] += c.Fish()
		total = total.Plus(c)
	}
	forms := make([]results.Form, 0, len(order))
	for f := range order {
		forms = append(forms, f)
	}
	sortby.Stable(forms, func(a, b *results.Form) int {
		return cmp.Or(cmp.Compare(order[*b], order[*a]), cmp.Compare(a.Hatch, b.Hatch), cmp.Compare(a.Form, b.Form))
	})
	from := min(max(screen.Atoi(q.Get("at")), 0), len(forms))
	to := min(from+pageOfGroups, len(forms))
	v.Showing = t.N("results.showing", total.Fish(), nil)
	fish := fishOf(s, filter)
	_, reasons := results.ReasonsOf(s, filter)
	for i, f := range forms[from:to] {
		g := a.resultGroup(page, s, key, box, table, fish, f, from+i)
		g.Said, g.Presented = saidText(page.T, reasons[f])
		v.Groups = append(v.Groups, g)
	}
	if to < len(forms) {
		more := url.Values{}
		for name := range q {
			more.Set(name, q.Get(name))
		}
		more.Set("at", screen.Itoa(to))
		v.More = screen.WithQuery("/day/results", more.Encode())
	}
	return screen.Show(views.Results(v)), nil
}

// readFilter reads what the results are narrowed to. A day that cannot be read
// is left out and said.
func readFilter(q url.Values) (f results.Filter, bad journal.Problems) {
	on := q.Get("on") // a hatch and a form of it, which has no point in its id
	if i := strings.LastIndexByte(on, '.'); i >= 0 {
		f.Hatch, f.Form = on[:i], on[i+1:]
	}
	f.Water, f.From, f.To = q.Get("water"), q.Get("from"), q.Get("to")
	for name, day := range map[string]*string{"from": &f.From, "to": &f.To} {
		if *day == "" {
			continue
		}
		if _, err := time.Parse(time.DateOnly, *day); err != nil {
			bad = append(bad, journal.Problem{Field: name, Code: journal.CodeNotDate, Detail: journal.Detail{Got: journal.Of(screen.Clip(*day))}})
			*day = ""
		}
	}
	return f, bad
}

func filterFields(page views.Page, s *flybox.State, key *hatchkeys.Key, all results.Table, f results.Filter, q url.Values, bad journal.Problems) views.ResultsFilter {
	t := page.T
	v := views.ResultsFilter{
		From: screen.FormField(page, "results", "from", q.Get("from"), bad), To: screen.FormField(page, "results", "to", q.Get("to"), bad),
	}
	if f != (results.Filter{}) || len(bad) > 0 {
		v.Clear = "/day/results"
	}
	v.Form = views.Choices{Field: screen.FormField(page, "results", "on", q.Get("on"), nil)}
	v.Form.Options = append(v.Form.Options, views.Option{Label: t.S("results.all"), Chosen: v.Form.Value == ""})
	forms := map[results.Form]bool{}
	for cell := range all {
		if cell.Hatch != "" {
			forms[cell.Form] = true
		}
	}
	var options []views.Option
	for form := range forms {
		value := form.Hatch + "." + form.Form
		options = append(options, views.Option{Value: value, Label: words.FormText(t, key, form), Chosen: value == v.Form.Value})
	}
	if _, listed := forms[results.Form{Hatch: f.Hatch, Form: f.Form}]; f.Hatch != "" && !listed {
		options = append(options, views.Option{Value: v.Form.Value, Label: words.FormText(t, key, results.Form{Hatch: f.Hatch, Form: f.Form}), Chosen: true})
	}
	byLabel := func(a, b *views.Option) int {
		return cmp.Or(cmp.Compare(a.Label, b.Label), cmp.Compare(a.Value, b.Value))
	}
	sortby.Stable(options, byLabel)
	v.Form.Options = append(v.Form.Options, options...)
	v.Water = views.Choices{Field: screen.FormField(page, "results", "water", q.Get("water"), nil)}
	v.Water.Options = append(v.Water.Options, views.Option{Label: t.S("results.all"), Chosen: v.Water.Value == ""})
	waters := map[string]bool{}
	for l := range s.AllOutcomes() {
		waters[l.Body.Water] = true
	}
	delete(waters, "")
	options = nil
	for w := range waters {
		options = append(options, views.Option{Value: w, Label: w, Chosen: w == v.Water.Value})
	}
	sortby.Stable(options, byLabel)
	v.Water.Options = append(v.Water.Options, options...)
	return v
}

// fishOf are the results of the fish of each cell in time: one by one, oldest
// first, where they are few, and by day.
func fishOf(s *flybox.State, f results.Filter) map[results.Cell]shownFish {
	type one struct {
		when   string
		id     journal.ID
		result flybox.Result
	}
	all := map[results.Cell][]one{}
	for l := range s.AllOutcomes() {
		if f.Keeps(l.Body) {
			cell := results.Cell{Rev: results.RevOf(s, l.Body), Form: results.Form{Hatch: l.Body.Hatch, Form: l.Body.Form}}
			all[cell] = append(all[cell], one{l.Body.When, l.Entry, l.Body.Result})
		}
	}
	out := map[results.Cell]shownFish{}
	for cell, list := range all {
		var fish shownFish
		if len(list) <= dotFish {
			sortby.Stable(list, func(a, b *one) int { return cmp.Or(cmp.Compare(a.when, b.when), cmp.Compare(a.id, b.id)) })
			for _, o := range list {
				fish.each = append(fish.each, string(o.result))
			}
		}
		byDay := map[string]*fishDay{}
		for _, o := range list {
			name := o.when[:min(len(o.when), len(time.DateOnly))]
			d := byDay[name]
			if d == nil {
				d = &fishDay{day: name}
				byDay[name] = d
			}
			d.count.Add(flybox.Outcome{Result: o.result})
		}
		for _, d := range byDay {
			fish.days = append(fish.days, *d)
		}
		sortby.Stable(fish.days, func(a, b *fishDay) int { return cmp.Compare(a.day, b.day) })
		out[cell] = fish
	}
	return out
}

// shownFish are fish in time.
type shownFish struct {
	each []string // results, nil if they are many
	days []fishDay
}

type fishDay struct {
	day   string // 2006-01-02
	count results.Count
}

// stripView draws days between the first and the last, taken above the line and
// refused below it; nil where each fish is drawn, or all came on one day.
func stripView(page views.Page, fish shownFish) *views.FishStrip {
	if len(fish.each) > 0 || len(fish.days) < 2 {
		return nil
	}
	first, err := time.Parse(time.DateOnly, fish.days[0].day)
	last, lastErr := time.Parse(time.DateOnly, fish.days[len(fish.days)-1].day)
	if err != nil || lastErr != nil {
		return nil
	}
	v := &views.FishStrip{From: words.DateText(page.T, first), To: words.DateText(page.T, last)}
	most := 1
	for _, d := range fish.days {
		most = max(most, d.count.Takes+d.count.Lost, d.count.Refusals+d.count.Follows)
	}
	for _, d := range fish.days {
		at, err := time.Parse(time.DateOnly, d.day)
		if err != nil {
			continue
		}
		v.Days = append(v.Days, views.FishDay{
			X:  at.Sub(first).Hours() / last.Sub(first).Hours(),
			Up: float64(d.count.Takes+d.count.Lost) / float64(most), Down: float64(d.count.Refusals+d.count.Follows) / float64(most),
		})
	}
	return v
}

// resultGroup is what fish that were on one form did.
func (a *section) resultGroup(page views.Page, s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, table results.Table, fish map[results.Cell]shownFish, form results.Form, n int) views.ResultGroup {
	t := page.T
	g := views.ResultGroup{ID: "on-" + screen.Itoa(n), Name: words.FormText(t, key, form)}
	own := caches.OwnResults{Counts: table.Of(form), Ancestors: box.Ancestors}
	estimates := own.Estimates(nil)
	var total results.Count
	var list []shownFly
	for rev, c := range own.Counts {
		total = total.Plus(c)
		f := shownFly{estimate: estimates[rev], fish: fish[results.Cell{Rev: rev, Form: form}]}
		f.rev, f.known = s.Revision(rev)
		f.fly, f.alive = s.Pattern(f.rev.ID)
		f.rev.Rev = rev
		list = append(list, f)
	}
	g.Counts = words.CountText(t, total)
	sortby.Stable(list, func(a, b *shownFly) int {
		return cmp.Or(cmp.Compare(b.estimate.Mean(), a.estimate.Mean()), cmp.Compare(b.estimate.Count.Fish(), a.estimate.Count.Fish()), cmp.Compare(a.rev.Rev, b.rev.Rev))
	})
	for _, f := range list[:min(len(list), maxRates)] {
		g.Flies = append(g.Flies, resultLine(page, f))
	}
	for _, f := range list[:min(len(list), maxPairs+1)] {
		if f.rev.Rev != list[0].rev.Rev {
			g.Pairs = append(g.Pairs, pairText(page, list[0], f))
		}
	}
	h, hf := words.FormOf(key, form)
	if hf == nil {
		return g
	}
	g.Drawing = words.Insect(h, hf, page, "")
	g.Href = screen.WithQuery("/hatch/"+url.PathEscape(h.ID), "form="+url.QueryEscape(hf.ID))
	if fits := a.fitting(box, h, hf); fits.next >= 0 {
		c := fits.list[fits.next]
		put := a.Button("/day/fly", t.S("day.fish"), [2]string{"fly", string(c.match.Fly.ID)}, [2]string{"hatch", h.ID}, [2]string{"stage", hf.ID})
		g.Try = &views.TryView{Sentence: t.F("day.try", catalog.Data{"Fly": c.match.Fly.Name, "Why": tryWhy(page, c)}), Put: &put}
	}
	if i := box.FormIndex(h, hf); i >= 0 {
		g.Hints = hintViews(page, s, list, &box.Quarries[i])
	}
	if len(g.Hints) == 0 {
		g.NoHint = t.S("results.points.none")
	}
	return g
}

// saidText says what anglers put refusals down to, and how much of it is not
// the fly's.
func saidText(t *catalog.Text, r results.Reasons) (said, presented string) {
	if r.Said == 0 {
		return "", ""
	}
	var list []string
	for _, one := range r.By {
		list = append(list, t.F("results.said.one", catalog.Data{"Why": strings.ToLower(t.S("day.why." + string(one.Why))), "Number": screen.Itoa(one.N)}))
	}
	said = t.N("results.said", r.Off, catalog.Data{"Said": screen.Itoa(r.Said), "Reasons": strings.Join(list, ", ")})
	if r.Presented > 0 {
		presented = t.N("results.presented", r.Presented, nil)
	}
	return said, presented
}

func resultLine(page views.Page, f shownFly) views.RateLine {
	t := page.T
	c := f.estimate.Count
	low, high := f.estimate.Interval()
	v := views.RateLine{
		Name: f.rev.Name, Sub: words.StyleText(page, f.rev.Pattern), Counts: words.CountText(t, c), Fish: f.fish.each, Strip: stripView(page, f.fish), Low: low, High: high, Mean: f.estimate.Mean(),
		Few:  c.Fish() < someFish,
		Rate: t.F("results.rate", catalog.Data{"Rate": words.Percent(page, f.estimate.Mean()), "Low": words.Percent(page, low), "High": words.Percent(page, high)}),
	}
	v.Bar = v.Rate
	switch n := c.Fish(); {
	case n < fewFish:
		v.Words = t.N("results.words.few", n, nil)
	case n < someFish:
		v.Words = t.N("results.words.some", n, nil)
	case n < manyFish:
		v.Words = t.N("results.words.more", n, nil)
	default:
		v.Words = t.N("results.words.many", n, nil)
	}
	if !f.known {
		v.Name, v.Sub = t.S("day.unknownfly"), string(f.rev.Rev)
		return v
	}
	v.Drawing = words.FlyDrawing(f.rev.Pattern, page, "")
	switch {
	case !f.alive:
		v.Version = t.S("day.removedfly")
	default:
		v.Href = words.FlyHref(f.rev.ID)
		if f.fly.Rev != f.rev.Rev {
			v.Version = t.F("results.earlier", catalog.Data{"Left": words.LeftText(t, f.fly.Left)})
		} else {
			v.Version = words.LeftText(t, f.fly.Left)
		}
	}
	return v
}

// pairText says how surely one fly is better than another.
func pairText(page views.Page, a, b shownFly) string {
	t := page.T
	p := results.Better(a.estimate.Beta, b.estimate.Beta)
	id := "results.better.unsure"
	switch {
	case p >= 0.75 && min(a.estimate.Count.Fish(), b.estimate.Count.Fish()) < fewFish:
		id = "results.better.few"
	case p >= 0.95:
		id = "results.better.sure"
	case p >= 0.75:
		id = "results.better.likely"
	}
	return t.F(id, catalog.Data{"One": pairName(page, a), "Other": pairName(page, b), "Percent": words.Percent(page, p)})
}

// pairName tells revisions of one fly apart by their length.
func pairName(page views.Page, f shownFly) string {
	if !f.known {
		return page.T.S("day.unknownfly")
	}
	if mm, _ := match.LengthMM(f.rev.Pattern); mm > 0 {
		return page.T.F("results.named", catalog.Data{"Name": f.rev.Name, "Length": page.U.Length(mm)})
	}
	return f.rev.Name
}

// hintViews put into words what the refusals point to.
func hintViews(page views.Page, s *flybox.State, list []shownFly, q *match.CompiledQuarry) []views.HintView {
	t := page.T
	var shown []results.Shown
	for _, f := range list {
		if f.known {
			fly := match.CompileFly(flybox.Fly{Revision: f.rev})
			shown = append(shown, results.Shown{Count: f.estimate.Count, Difference: match.Differ(&fly, q)})
		}
	}
	var out []views.HintView
	for _, h := range results.Points(shown) {
		code := string(h.Attribute) + "." + string(h.Way)
		d := catalog.Data{
			"OffTakes": screen.Itoa(h.Off.Takes + h.Off.Lost), "OffFish": screen.Itoa(h.Off.Fish()),
			"RestTakes": screen.Itoa(h.Rest.Takes + h.Rest.Lost), "RestFish": screen.Itoa(h.Rest.Fish()),
		}
		v := views.HintView{Sentence: t.S("results.points." + code), Label: t.S("results.change." + code)}
		d["Decibans"] = words.Signed(page, h.Decibans)
		weight := "results.weight"
		if h.Decibans >= results.Clearly {
			weight = "results.weight.clear"
		}
		v.Weight = t.F(weight, d)
		if h.Alike {
			v.Alike = t.S("results.alike")
		}
		if v.Change = changeHref(page, list, q, h); v.Change == "" {
			v.Label, v.Already = "", t.S("results.already")
		}
		out = append(out, v)
	}
	return out
}

// changeHref is the form that revises the fly which was refused most and is
// still off in the way that the refusals point to, with the change filled in;
// "" if the flies as they are now have it.
func changeHref(page views.Page, list []shownFly, q *match.CompiledQuarry, h results.Hint) string {
	best, most := -1, 0.0
	for i, f := range list {
		if !f.alive || f.estimate.Count.Against() <= most {
			continue
		}
		now := match.CompileFly(f.fly)
		if h.IsOff(match.Differ(&now, q)) {
			best, most = i, f.estimate.Count.Against()
		}
	}
	if best < 0 {
		return ""
	}
	f := list[best].fly
	now := match.CompileFly(f)
	v := url.Values{"why": {string(h.Attribute) + "." + string(h.Way)}}
	switch h.Attribute {
	case results.Length:
		v.Set("length_mm", page.U.LengthNumber(roundHalf(match.Middle(q.Quarry.Length))))
	case results.Colour:
		name := "body"
		if f.Under != "" && f.Under != f.Body {
			name = "under"
		}
		v.Set(name, match.Differ(&now, q).Nearest)
	case results.Float:
		v.Set("floats", string(q.Quarry.Floats))
	default:
		// Another silhouette is another fly: it is derived from this one.
		v.Set("parent", string(f.Rev))
		if tying, ok := match.SuggestTying(q); ok {
			v.Set("style", string(tying.Style))
		}
		v.Set("name", f.Name)
		v.Set("hook", screen.Itoa(f.Hook))
		v.Set("shank", words.ShankValue(words.NearestShank(f.Shank)))
		v.Set("body", f.Body)
		v.Set("wing", f.Wing)
		if f.Length > 0 {
			v.Set("length_mm", page.U.LengthNumber(f.Length))
		}
		return screen.WithQuery("/box/fly/new", v.Encode())
	}
	return screen.WithQuery(words.FlyHref(f.ID)+"/edit", v.Encode())
}

func roundHalf(mm float64) float64 { return math.Round(mm*2) / 2 }
