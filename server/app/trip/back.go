package trip

import (
	"net/http"
	"net/url"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// back is the count after a trip, and what the plan had expected.
func (a *section) back(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.backScreen(r, p, nil, nil)
}

func (a *section) backScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "trip", catalog.For(p.Lang).S("trip.back"))
	t := page.T
	href := words.TripHref(pl.Trip.ID)
	v := views.BackView{
		Page: page, Name: pl.Trip.Name, When: daysText(t, pl.Trip), Back: href, Action: href + "/back", FormID: a.FormID(typed),
		Lead: t.S("trip.back.lead"), Open: pl.Counted == nil || len(bad) > 0,
	}
	if pl.Counted != nil {
		v.Results, v.Table = tripResults(page, p.State, pl)
	}
	for _, c := range acts.CarriedOn(p.State, pl.Trip, a.Now().Location()) {
		name := backField(c.Fly.ID)
		value := screen.Itoa(c.Now)
		if typed != nil {
			value = typed.Get(name)
		}
		line := views.CountLine{Field: views.Field{Name: name, Label: c.Fly.Name, Value: value}, Drawing: words.FlyMark(c.Fly.Pattern)}
		line.Recorded = t.N("trip.back.recorded", c.Now, nil)
		if c.Gone > 0 {
			line.Recorded += " " + t.N("trip.back.gone", c.Gone, nil)
		}
		if problem := bad.Field(name); problem != nil {
			line.Error = screen.ProblemText(page, problem)
			v.Problems = append(v.Problems, c.Fly.Name+": "+line.Error)
		}
		v.Counts = append(v.Counts, line)
	}
	if len(bad) > 0 {
		return screen.Retry(views.Back(v)), nil
	}
	return screen.Show(views.Back(v)), nil
}

func backField(fly journal.ID) string { return "back." + string(fly) }

// tripResults is a trip against its plan.
func tripResults(page views.Page, s *flybox.State, pl caches.Planned) (sums []string, table []views.ResultLine) {
	t, b := page.T, *pl.Counted
	sums = append(sums,
		t.N("trip.result.sum", b.Lost(), nil),
		t.F("trip.result.forecast", catalog.Data{"Mean": page.U.Number(b.Expected, 0), "Low": b.Low, "High": b.High}))
	switch lost := b.Lost(); {
	case lost < b.Low:
		sums = append(sums, t.S("trip.result.below"))
	case lost > b.High:
		sums = append(sums, t.S("trip.result.above"))
	default:
		sums = append(sums, t.S("trip.result.within"))
	}
	if b.RodDays > 0 {
		rate := pl.Plan.Rate.Learn(float64(b.Lost()), b.RodDays)
		sums = append(sums, t.N("trip.result.learned", pl.Learned+1, catalog.Data{
			"Own": page.U.Number(float64(b.Lost())/b.RodDays, 1), "Rate": page.U.Number(rate.Mean(), 1),
		}))
	}
	for _, l := range b.Lines {
		f, ok := s.Pattern(l.Pattern)
		name := f.Name
		if !ok {
			name = t.S("slot.unknown")
		}
		if l.Took > 0 && l.Back == 0 {
			name = t.F("trip.result.out", catalog.Data{"Name": name})
		}
		table = append(table, views.ResultLine{Name: name, Took: screen.Itoa(l.Took), Back: screen.Itoa(l.Back), Lost: screen.Itoa(l.Lost()), Expected: page.U.Number(l.Expected, 1)})
	}
	return sums, table
}

// saveBack records what came back: what is missing was lost on the trip, what
// is more was counted wrong before.
func (a *section) saveBack(r *http.Request, p screen.Asked) (screen.Result, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	f := r.PostForm
	err = a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		back, bad := readBack(f, acts.CarriedOn(s, pl.Trip, a.Now().Location()))
		if len(bad) > 0 {
			return nil, bad
		}
		return acts.BackFrom(s, a.forecast(pl), back, a.Now().Location(), func(fly journal.ID) float64 { return expected(pl, fly) })
	})
	if list, is := screen.AsProblems(err); is {
		return a.backScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	lost := 0
	for _, l := range a.Ledger.State().Returns() {
		if l.Body.ID == pl.Trip.ID {
			lost = l.Body.Lost()
		}
	}
	return screen.GoTo(words.TripHref(pl.Trip.ID)+"/back", "back-counted", lost), nil
}

// readBack reads how many came back of each kind, as far as they were counted.
func readBack(f url.Values, list []acts.Carried) (back map[journal.ID]int, bad journal.Problems) {
	back = map[journal.ID]int{}
	for _, c := range list {
		name := backField(c.Fly.ID)
		if !f.Has(name) {
			continue // came in from another device since the form was shown
		}
		back[c.Fly.ID] = screen.WholeNumber(f, name, &bad)
		screen.InRange(name, back[c.Fly.ID], 0, flybox.MaxCount, &bad)
	}
	return back, bad
}

// forecast is the count of a trip with what the plan expected of it; counted
// again, with what it expected before.
func (a *section) forecast(pl caches.Planned) flybox.TripReturn {
	days, _ := plan.RodDays(pl.Trip)
	out := flybox.TripReturn{ID: pl.Trip.ID, When: a.Now().Format(time.RFC3339), RodDays: days,
		Expected: pl.Plan.All.Mean, Low: pl.Plan.All.Quantile(0.05), High: pl.Plan.All.Quantile(0.95)}
	if was := pl.Counted; was != nil {
		out.Expected, out.Low, out.High = was.Expected, was.Low, was.High
	}
	return out
}

// expected is how many flies of a pattern the plan thought would be used up;
// as it was said before, if the trip was counted already.
func expected(pl caches.Planned, fly journal.ID) float64 {
	if pl.Counted != nil {
		for _, l := range pl.Counted.Lines {
			if l.Pattern == fly {
				return l.Expected
			}
		}
	}
	for _, l := range pl.Plan.Lines {
		if l.New == nil && l.Fly.ID == fly {
			return l.Demand.Mean
		}
	}
	return 0
}
