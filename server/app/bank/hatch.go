package bank

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/advice"
	"dampstone/hatchkeys/feeding"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// maxHatchFlies bounds the list of own flies on a hatch page.
const maxHatchFlies = 8

// hatch is the page of one hatch in the light of the answers.
func (a *section) hatch(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.hatchPage(r, p, r.URL.Query(), nil, nil)
}

// hatchPage is the page with the answers of a query, and with a note that
// could not be saved, as typed.
func (a *section) hatchPage(r *http.Request, p screen.Asked, q, typed url.Values, bad journal.Problems) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	h := key.Hatch(mux.Vars(r)["id"])
	if h == nil {
		return screen.Result{}, screen.ErrNotFound
	}
	ans := p.Answers(q)
	page := a.View(r, p, "bank", h.Name(p.Lang))
	t := page.T
	now := a.Now()
	v := views.HatchView{
		Page: page, Name: h.Name(p.Lang), Scientific: h.Scientific, Group: t.S("group." + string(h.Group)),
		Back: screen.WithQuery("/", ans.Query()), Cautions: cautions(page, &ans), Own: words.OwnTag(t, h),
	}
	current := h.Form(q.Get("form"))
	if ans.Evidence.Any() {
		reading := key.Read(ans.Evidence)
		if found := reading.Find(h.ID); found != nil {
			v.Percent = words.Percent(page, found.Probability)
			if current == nil {
				current = found.Form
			}
		}
		if lead := reading.Leader(); lead != nil && lead.Hatch == h {
			f := fedView(t, feeding.Judge(reading))
			v.Fed = &f
		}
	}
	if current == nil {
		current = caches.MostFished(h)
	}
	month := int(now.Month())
	if ans.Evidence.Month != 0 {
		month = ans.Evidence.Month
	}
	v.Months, v.MonthsText = monthMarks(page, key, h, month)
	v.Facts = hatchFacts(page, h)
	if h.Local {
		v.Edit = hatchesHref(journal.ID(strings.TrimPrefix(h.ID, hatchkeys.LocalPrefix))) + "/edit"
	}
	v.Compare, v.CompareWith = a.compareHatch(page, key, h, q, &ans)
	for i := range h.Forms {
		f := formView(page, h, &h.Forms[i], current, &ans)
		if f.Current {
			v.Current = f
		} else {
			v.Others = append(v.Others, f)
		}
	}
	box := a.Flies(p.State, key)
	seen := caches.SeenOf(&ans.Evidence, h, current)
	if found := key.Read(ans.Evidence).Find(h.ID); found == nil || found.Form != current {
		seen.LengthMM, seen.Colour = 0, "" // measured on another stage or sex
	}
	v.FliesFor = words.FormName(t, h, current)
	v.EmptyBox = box.Len() == 0
	v.Flies, v.Tie = words.FlyLines(a.Caches, page, p.State, box, h, current, seen, maxHatchFlies)
	v.On = a.Button("/day/fly", t.S("day.on.this"), [2]string{"hatch", h.ID}, [2]string{"stage", current.ID})
	for cell := range box.Results {
		if cell.Hatch == h.ID {
			v.Results = screen.WithQuery("/day/results", url.Values{"on": {h.ID + "."}}.Encode())
		}
	}
	v.Notes = a.notesView(page, p.State, h, current.ID, ans.Query(), typed, bad)
	v.Sources = sourcesOf(page, key, h)
	if len(bad) > 0 {
		return screen.Retry(views.Hatch(v)), nil
	}
	return screen.Show(views.Hatch(v)), nil
}

func formView(page views.Page, h *hatchkeys.Hatch, f, current *hatchkeys.Form, ans *screen.EvidenceForm) views.FormView {
	t := page.T
	v := views.FormView{
		ID: f.ID, Name: words.FormName(t, h, f), Length: page.U.LengthRange(f.Length.From, f.Length.To),
		Drawing: words.Insect(h, f, page, t.F("draw.insect", catalog.Data{"Name": words.FormName(t, h, f), "Length": page.U.Length(match.Middle(f.Length))})),
		Current: f == current, Href: words.HatchHref(h.ID, f.ID, ans) + "#flies",
	}
	if f.Hours != nil {
		v.Hours = t.F("hatch.hours", catalog.Data{"From": words.Clock(f.Hours.From), "To": words.Clock(f.Hours.To)})
	}
	for _, code := range f.Tactics {
		v.Tactics = append(v.Tactics, t.S("tactic."+code))
	}
	for _, code := range advice.For(h, f) {
		v.Tactics = append(v.Tactics, t.S("how."+string(code)))
	}
	q := match.CompileQuarry(match.Of(h, f))
	if tie, ok := match.SuggestTying(&q); ok && tie.Hook > 0 && f.Stage != hatchkeys.Shuck {
		from, to := advice.Tippet(tie.Hook)
		v.Tactics = append(v.Tactics, t.F("how.tippet", catalog.Data{"Hook": tie.Hook, "From": from, "To": to}))
	}
	return v
}

// monthMarks is the calendar strip, and the same in words.
func monthMarks(page views.Page, key *hatchkeys.Key, h *hatchkeys.Hatch, now int) ([]views.MonthMark, string) {
	t := page.T
	marks := make([]views.MonthMark, 12)
	share := key.Months(h)
	for m := range marks {
		name := []rune(t.S("month." + screen.Itoa(m+1)))
		marks[m] = views.MonthMark{Name: string(name[:1]), Share: share[m], Now: m+1 == now}
	}
	return marks, seasonText(t, h)
}

// seasonText says when a hatch is about: its height first, then the rest of
// the year in order.
func seasonText(t *catalog.Text, h *hatchkeys.Hatch) string {
	spells := slices.Clone(h.Season)
	weight := func(s hatchkeys.Season) float64 {
		if s.Weight == 0 {
			return 1
		}
		return s.Weight
	}
	sortby.Stable(spells, func(x, y *hatchkeys.Season) int {
		if peak := weight(*x) >= peakWeight; peak != (weight(*y) >= peakWeight) {
			if peak {
				return -1
			}
			return 1
		}
		return cmp.Compare(x.From, y.From)
	})
	var text []string
	for i, s := range spells {
		id := "hatch.season"
		switch {
		case i == 0 && len(spells) > 1:
			id = "hatch.season.peak"
		case weight(s) < rareWeight:
			id = "hatch.season.few"
		}
		text = append(text, t.F(id, catalog.Data{"From": words.DayText(t, s.From), "To": words.DayText(t, s.To)}))
	}
	return strings.Join(text, "; ")
}

// From peakWeight a spell is as good as the height; below rareWeight there are
// few.
const peakWeight, rareWeight = 0.95, 0.25

func hatchFacts(page views.Page, h *hatchkeys.Hatch) []string {
	t := page.T
	var out []string
	if h.WaterC != nil {
		out = append(out, t.F("hatch.water_c", catalog.Data{"From": page.U.Temperature(h.WaterC.From), "To": page.U.Temperature(h.WaterC.To)}))
	}
	best := ""
	for _, w := range hatchkeys.Water.Values() {
		if h.Waters.Of[w] >= 0.5 {
			if best != "" {
				best += ", "
			}
			best += t.S(words.ValueID(hatchkeys.Water, w))
		}
	}
	if best != "" {
		out = append(out, t.F("hatch.waters", catalog.Data{"Waters": best}))
	}
	if h.Trend != nil && h.Trend.Of["dropping"] > 1 {
		out = append(out, t.S("hatch.trend"))
	}
	if h.Travels {
		out = append(out, t.S("hatch.travels"))
	}
	return out
}

// sourcesOf lists the citations behind a hatch, each once.
func sourcesOf(page views.Page, key *hatchkeys.Key, h *hatchkeys.Hatch) []string {
	var out []string
	for _, id := range h.SourceIDs() {
		s := key.Pack.Sources[id]
		if s.Standing == hatchkeys.OwnStanding {
			out = append(out, page.T.S("standing."+s.Standing))
			continue
		}
		out = append(out, s.Cite+" ("+page.T.S("standing."+s.Standing)+")")
	}
	return out
}
