package trip

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	// firstStrips is how many hatches are shown at once by day.
	firstStrips = 8
	// maxUses is how many hatches a line names.
	maxUses = 3
	// maxFew is how many own flies that can stay are shown; the others can be
	// picked from a list.
	maxFew = 20
	// maxDrawn is how many lines have a drawing; a longer list would be slow.
	maxDrawn = 60
	// leastUse is the fewest flies used up that are worth a line.
	leastUse = 0.05
)

// trip is the plan of one trip.
func (a *section) trip(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.tripScreen(r, p, "", nil, nil)
}

// tripScreen is the plan, with what was typed for one line if it was refused.
func (a *section) tripScreen(r *http.Request, p screen.Asked, fly journal.ID, typed url.Values, bad journal.Problems) (screen.Result, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "trip", pl.Trip.Name)
	t, b := page.T, pl.Trip
	href := words.TripHref(b.ID)
	v := views.TripView{
		Page: page, Name: b.Name, When: daysText(t, b), Where: watersText(t, b), Party: partyText(page, b), Note: b.Note,
		Cautions: tripCautions(t, b), Sums: sumsText(page, pl), Notices: tripNotices(page, pl, a.Now().Format("2006-01-02")),
		Pack: href + "/pack", Card: href + "/card", Count: href + "/back", Calendar: href + "/trip.ics", Edit: href + "/edit",
		Over: b.To < a.Now().Format("2006-01-02"), Basis: basisText(page, pl),
	}
	var rest []flybox.Fly
	for _, l := range pl.Plan.Lines {
		if len(v.Few) >= maxFew && l.New == nil && l.Take == 0 && l.Want == 0 && !l.Fixed && !(l.Fly.ID == fly && len(bad) > 0) {
			rest = append(rest, l.Fly)
			continue // before its words are made: there may be hundreds
		}
		line := a.planLine(page, pl, l)
		if l.New == nil {
			line.Line = a.lineForm(page, href, l, fly, typed, bad)
		}
		switch {
		case l.New != nil:
			if l.Want > 0 {
				v.New = append(v.New, line)
			}
		case l.Take > 0 || l.Want > 0 || l.Fixed || l.Fly.ID == fly && len(bad) > 0:
			if len(v.Lines) >= maxDrawn {
				line.Drawing = nil
			}
			v.Lines = append(v.Lines, line)
		default:
			line.Drawing = nil
			v.Few = append(v.Few, line)
		}
		if l.Tie > 0 {
			v.Ties = append(v.Ties, tieLine(page, l, line.Name))
		}
	}
	v.Other = a.otherForm(page, p.State, pl, rest, fly, typed, bad)
	v.GivenUp = givenUp(page, pl)
	v.Tying = tyingText(page, pl.Plan.Tying)
	v.Materials = materialLines(page, pl.Plan.Needs())
	for i, o := range pl.Plan.Hatches {
		s := stripOf(page, pl.Plan, o)
		if i < firstStrips {
			v.Strips = append(v.Strips, s)
		} else {
			v.MoreStrips = append(v.MoreStrips, s)
		}
	}
	if n := len(pl.Plan.Days); n > 0 {
		v.DaysFrom, v.DaysTo = words.DateText(t, pl.Plan.Days[0]), words.DateText(t, pl.Plan.Days[n-1])
	}
	if len(bad) > 0 {
		return screen.Retry(views.Trip(v)), nil
	}
	return screen.Show(views.Trip(v)), nil
}

func partyText(page views.Page, b flybox.Trip) string {
	text := page.T.N("trip.rods", b.Rods, nil)
	if b.Hours > 0 {
		text += ", " + page.T.F("trip.hours", catalog.Data{"Hours": page.U.Number(b.Hours, 1)})
	}
	if b.Skill != "" {
		text += ", " + page.T.S("trip.skill."+string(b.Skill))
	}
	return text
}

// tripCautions are those that go with any trip, and with its waters.
func tripCautions(t *catalog.Text, b flybox.Trip) []string {
	out := []string{t.S("care.rising")}
	for _, w := range b.AllWaters() {
		if w.Type == "tailwater" {
			return append(out, t.S("care.dams"))
		}
	}
	return out
}

// sumsText is the plan in a few numbers.
func sumsText(page views.Page, pl caches.Planned) []string {
	t, p := page.T, pl.Plan
	flies, kinds := 0, 0
	for _, l := range p.Lines {
		if l.Take > 0 {
			flies += l.Take
			kinds++
		}
	}
	out := []string{t.N("trip.sum", flies, catalog.Data{"Kinds": t.N("trip.kinds", kinds, nil)})}
	if p.Slots >= 0 {
		out = append(out, t.F("trip.slots", catalog.Data{"Used": p.Used, "Slots": p.Slots}))
	}
	out = append(out, t.F("trip.expect", catalog.Data{
		"Mean": page.U.Number(p.All.Mean, 0), "Low": p.All.Quantile(0.05), "High": p.All.Quantile(0.95),
	}))
	return out
}

// tripNotices say what is missing for a good plan.
func tripNotices(page views.Page, pl caches.Planned, today string) []string {
	t := page.T
	var out []string
	own := slices.ContainsFunc(pl.Plan.Lines, func(l plan.Line) bool { return l.New == nil })
	switch {
	case pl.Counted != nil:
		out = append(out, t.S("trip.notice.counted"))
	case pl.Trip.To < today:
		out = append(out, t.S("trip.notice.past"))
	}
	if !own {
		out = append(out, t.S("trip.notice.noflies"))
	}
	if len(pl.Boxes) == 0 {
		out = append(out, t.S("trip.notice.noboxes"))
	}
	if gone := len(pl.Trip.Boxes) - len(pl.Boxes); gone > 0 {
		out = append(out, t.N("trip.notice.gone", gone, nil))
	}
	if p := pl.Plan; p.Slots >= 0 && p.Used > p.Slots {
		out = append(out, t.N("trip.notice.over", p.Used-p.Slots, nil))
	}
	return out
}

// basisText says what the numbers rest on, and what is only assumed.
func basisText(page views.Page, pl caches.Planned) []string {
	t, u, p, b := page.T, page.U, pl.Plan, pl.Trip
	out := []string{t.F("trip.basis.level", catalog.Data{"Percent": words.Percent(page, p.Level)})}
	if pl.Learned > 0 {
		out = append(out, t.N("trip.basis.learned", pl.Learned, catalog.Data{"Rate": u.Number(p.Rate.Mean(), 1), "Assumed": u.Number(plan.AssumedRate.Mean(), 1)}))
	} else {
		out = append(out, t.F("trip.basis.assumed", catalog.Data{"Rate": u.Number(plan.AssumedRate.Mean(), 1)}))
	}
	out = append(out, t.F("trip.basis.ways", catalog.Data{"Dry": u.Number(p.GoneBy[plan.Dry], 1), "Sunk": u.Number(p.GoneBy[plan.Sunk], 1), "Streamer": u.Number(p.GoneBy[plan.StreamerWay], 1)}))
	out = append(out, t.F("trip.basis.blind", catalog.Data{"Percent": words.Percent(page, p.Blind)}))
	out = append(out, t.F("trip.basis.roddays", catalog.Data{"Days": u.Number(p.RodDays, 1), "Hours": u.Number(plan.AssumedHours, 0)}))
	if b.PerSlot == 0 {
		out = append(out, t.N("trip.basis.perslot", p.PerSlot, nil))
	}
	if b.TieMinutes == 0 {
		out = append(out, t.F("trip.basis.minutes", catalog.Data{"Minutes": u.Number(plan.AssumedMinutes, 0)}))
	}
	if p.AheadKnown {
		id, days := "trip.basis.ahead", p.Ahead
		if days < 0 {
			id, days = "trip.basis.behind", -days
		}
		out = append(out, t.F(id, catalog.Data{"Days": u.Number(days, 0)}))
	} else if len(b.Temperatures) > 0 {
		out = append(out, t.S("trip.basis.temps"))
	}
	return append(out, t.F("trip.basis.region", catalog.Data{"Region": t.S("region." + pl.Region)}), t.S("trip.basis.chance"), t.S("trip.basis.stand"))
}

// planLine is one kind of fly with the reasons for its number.
func (a *section) planLine(page views.Page, pl caches.Planned, l plan.Line) views.PlanLine {
	t, u := page.T, page.U
	pattern := l.Fly.Pattern
	if l.New != nil {
		pattern = l.New.Pattern()
	}
	v := views.PlanLine{
		ID: lineID(l.Fly.ID), Name: l.Fly.Name, Href: words.FlyHref(l.Fly.ID), Drawing: words.FlyMark(pattern),
		Take: screen.Itoa(l.Take), Label: t.S("trip.number"), Have: words.LeftText(t, l.Fly.Left),
	}
	if l.New != nil {
		tie := words.TieView(page, *l.New, false)
		v.ID, v.Href, v.Enter, v.Take = "", "", tie.Href, screen.Itoa(l.Want)
		v.Name = strings.Join(tie.Lines[:min(2, len(tie.Lines))], ", ")
		v.Have = ""
	}
	if l.Tie > 0 && l.New == nil {
		v.Have += ", " + t.N("trip.tiemore", l.Tie, nil)
	}
	for i, use := range l.Uses {
		if i > 0 && use.Flies < leastUse {
			break
		}
		if i == maxUses {
			v.Why = append(v.Why, t.N("trip.uses.more", len(l.Uses)-maxUses, nil))
			break
		}
		if use.Blind != "" {
			v.Why = append(v.Why, t.F("trip.use.blind", catalog.Data{"Kind": t.S("trip.blind." + string(use.Blind)), "Flies": u.Number(use.Flies, 1)}))
			continue
		}
		v.Why = append(v.Why, t.F("trip.use", catalog.Data{
			"Hatch": use.Hatch.Name(t.Lang), "Form": words.FormName(t, use.Hatch, use.Form), "Flies": u.Number(use.Flies, 1), "Percent": words.Percent(page, use.Score),
		}))
	}
	for i, s := range l.Stands {
		if i == maxUses {
			break
		}
		v.Why = append(v.Why, t.F("trip.stand", catalog.Data{"Hatch": s.Hatch.Name(t.Lang), "Form": words.FormName(t, s.Hatch, s.Form), "Percent": words.Percent(page, s.Chance), "Number": s.Number}))
	}
	v.Reason = reasonText(page, pl, l)
	return v
}

// givenUp says what falls short, need by need: stages that are likely to be
// met without a working number of flies, and flies that may run out.
func givenUp(page views.Page, pl caches.Planned) []string {
	t := page.T
	var out []string
	missed := pl.Plan.Missed()
	for i, s := range missed {
		if i == maxGivenUp {
			out = append(out, t.N("trip.short.more", len(missed)-maxGivenUp, nil))
			break
		}
		out = append(out, t.F("trip.short.stand", catalog.Data{
			"Hatch": s.Hatch.Name(t.Lang), "Form": words.FormName(t, s.Hatch, s.Form), "Percent": words.Percent(page, s.Chance), "Have": s.Have, "Number": s.Number,
		}))
	}
	few := 0
	for _, l := range pl.Plan.Lines {
		if !l.Fixed && l.Take < l.Demand.Quantile(pl.Plan.Level) {
			few++
		}
	}
	if few > 0 {
		out = append(out, t.N("trip.short.used", few, catalog.Data{"Level": words.Percent(page, 1-pl.Plan.Level)}))
	}
	return out
}

// maxGivenUp is how many stages are named.
const maxGivenUp = 6

// reasonText says what decided the number of a line.
func reasonText(page views.Page, pl caches.Planned, l plan.Line) string {
	return page.T.F("trip.why."+string(l.Reason), catalog.Data{
		"Take": l.Take, "Need": l.Need, "Left": l.Left(), "Percent": words.Percent(page, 1-l.Enough()), "Level": words.Percent(page, 1-pl.Plan.Level),
		"Flies": page.U.Number(l.Demand.Mean, 1), "AtHand": l.AtHand,
	})
}

// lineForm overrules the line of a fly.
func (a *section) lineForm(page views.Page, href string, l plan.Line, fly journal.ID, typed url.Values, bad journal.Problems) *views.LineForm {
	if l.Fly.ID != fly {
		typed, bad = nil, nil
	}
	action := href + "/line/" + url.PathEscape(string(l.Fly.ID))
	name, value := lineField(l.Fly.ID), screen.Itoa(l.Want)
	if typed != nil {
		value = typed.Get(name)
	}
	f := &views.LineForm{Action: action, FormID: a.FormID(typed), Take: screen.FormField(page, "trip", "take", value, nil), Fixed: l.Fixed}
	f.Take.Name = name
	if problem := bad.Field(name); problem != nil {
		f.Take.Error = screen.ProblemText(page, problem)
	}
	if l.Fixed {
		f.Release = a.Button(action, page.T.S("trip.release"), [2]string{"release", "yes"})
	}
	return f
}

// otherForm takes a fly along that the plan has no use for.
func (a *section) otherForm(page views.Page, s *flybox.State, pl caches.Planned, rest []flybox.Fly, fly journal.ID, typed url.Values, bad journal.Problems) *views.OtherForm {
	planned := map[journal.ID]bool{}
	for _, l := range pl.Plan.Lines {
		planned[l.Fly.ID] = true
	}
	for _, f := range rest {
		delete(planned, f.ID) // planned, but not shown as a line
	}
	if planned[fly] {
		typed, bad = nil, nil // it is about another line
	}
	f := &views.OtherForm{Action: words.TripHref(pl.Trip.ID) + "/line", FormID: a.FormID(typed)}
	f.Fly = views.Choices{Field: screen.FormField(page, "trip", "fly", string(fly), bad)}
	f.Take = screen.FormField(page, "trip", "take", typed.Get("take"), bad)
	for _, other := range s.Patterns() {
		if !planned[other.ID] {
			f.Fly.Options = append(f.Fly.Options, views.Option{Value: string(other.ID), Label: other.Name + ", " + words.LeftText(page.T, other.Left), Chosen: other.ID == fly})
		}
	}
	if len(f.Fly.Options) == 0 {
		return nil
	}
	return f
}

func tieLine(page views.Page, l plan.Line, name string) views.TieLine {
	v := views.TieLine{Name: name, Count: screen.Itoa(l.Tie)}
	switch {
	case l.ByThen == 0:
		v.Note = page.T.S("trip.tie.late")
	case l.ByThen < l.Tie:
		v.Note = page.T.N("trip.tie.some", l.ByThen, nil)
	}
	return v
}

func tyingText(page views.Page, y plan.Tying) []string {
	if y.Wanted == 0 {
		return nil
	}
	t, u := page.T, page.U
	out := []string{
		t.N("trip.tie.work", y.Wanted, catalog.Data{"Hours": u.Number(y.Hours, 1), "Minutes": u.Number(y.Minutes, 0)}),
		t.N("trip.tie.evenings", y.Evenings, catalog.Data{"Hours": u.Number(y.EveningHours, 1)}),
	}
	switch {
	case y.Evenings == 0:
		return append(out[:1], t.S("trip.tie.none"))
	case y.Possible < y.Wanted:
		out = append(out, t.N("trip.tie.possible", y.Possible, nil))
	default:
		out = append(out, t.S("trip.tie.all"))
	}
	return out
}

// materialLines say what to lay out. Colours that have the same word are one.
func materialLines(page views.Page, list []plan.Material) (out []string) {
	t := page.T
	flies := map[string]int{}
	var names []string
	for _, m := range list {
		if m.Code == "hook" {
			out = append(out, hookText(t, m))
			continue
		}
		name := t.S("trip.material." + m.Code)
		if m.Colour != "" {
			name += ", " + strings.ToLower(words.ColourName(t, m.Colour))
		}
		if flies[name] == 0 {
			names = append(names, name)
		}
		flies[name] += m.Flies
	}
	for _, name := range names {
		out = append(out, t.N("trip.material", flies[name], catalog.Data{"Name": name}))
	}
	return out
}

func hookText(t *catalog.Text, m plan.Material) string {
	if m.Hook == 0 {
		return t.N("trip.hooks.unknown", m.Flies, nil)
	}
	text := t.N("trip.hooks", m.Flies, catalog.Data{"Hook": m.Hook})
	if n := words.NearestShank(m.Shank); n > 0 {
		text += ", " + t.F("fly.shank.long", catalog.Data{"N": n})
	}
	return text
}

// stripOf is a hatch by day, with its best day in words.
func stripOf(page views.Page, p plan.Plan, o plan.Outlook) views.Strip {
	s := views.Strip{Name: o.Hatch.Name(page.T.Lang), Href: words.HatchHref(o.Hatch.ID, "", &screen.EvidenceForm{}), Days: o.Chance, Text: outlookText(page, p, o)}
	for _, d := range p.Days {
		_, week := d.ISOWeek()
		s.Even = append(s.Even, week%2 == 0)
	}
	return s
}

// outlookText says how likely a hatch is, from its worst to its best day.
func outlookText(page views.Page, p plan.Plan, o plan.Outlook) string {
	low := slices.Min(o.Chance)
	best, from := words.Percent(page, o.Chance[o.Best]), words.Percent(page, low)
	if best == from {
		return page.T.F("trip.chance", catalog.Data{"Percent": best})
	}
	return page.T.F("trip.chances", catalog.Data{"From": from, "To": best, "Day": words.DayText(page.T, p.Days[o.Best].Format("01-02"))})
}

// regionChoices are the regions to choose from.
func regionChoices(t *catalog.Text, chosen string) (out []views.Option) {
	for _, id := range hatchkeys.Offered(chosen) {
		out = append(out, views.Option{Value: id, Label: t.S("region." + id), Chosen: id == chosen})
	}
	return out
}
