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

// carried is a kind of fly that was on a trip.
type carried struct {
	fly  flybox.Fly
	now  int // in the boxes that went along, or loose, as the ledger has it
	gone int // lost or given on the trip, as noted so far
}

// carriedOn are the flies that were on a trip, by name. loc tells what day it
// was when something was noted.
func carriedOn(s *flybox.State, trip flybox.Trip, loc *time.Location) []carried {
	along := map[journal.ID]bool{}
	for _, id := range trip.Boxes {
		along[id] = true
	}
	gone := map[journal.ID]int{}
	for _, m := range s.Moves("") {
		if m.Deleted || m.Why != flybox.WhyLost && m.Why != flybox.WhyGiven {
			continue
		}
		day := m.At.Time().In(loc).Format(time.DateOnly)
		if m.Trip == trip.ID || m.Trip == "" && day >= trip.From && day <= trip.To {
			gone[m.Pattern] -= m.Delta
		}
	}
	var out []carried
	for _, f := range s.Patterns() {
		c := carried{fly: f, gone: gone[f.ID]}
		for _, at := range s.Places(f.ID) {
			if at.Place == flybox.Loose || len(along) == 0 || along[at.Place.Box] {
				c.now += max(at.Count, 0)
			}
		}
		if c.now > 0 || c.gone > 0 {
			out = append(out, c)
		}
	}
	return out
}

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
	var list []carried
	s := p.State
	list = carriedOn(s, pl.Trip, a.Now().Location())
	if pl.Counted != nil {
		v.Results, v.Table = tripResults(page, s, pl)
	}
	for _, c := range list {
		name := backField(c.fly.ID)
		value := screen.Itoa(c.now)
		if typed != nil {
			value = typed.Get(name)
		}
		line := views.CountLine{Field: views.Field{Name: name, Label: c.fly.Name, Value: value}, Drawing: words.FlyMark(c.fly.Pattern)}
		line.Recorded = t.N("trip.back.recorded", c.now, nil)
		if c.gone > 0 {
			line.Recorded += " " + t.N("trip.back.gone", c.gone, nil)
		}
		if problem := bad.Field(name); problem != nil {
			line.Error = screen.ProblemText(page, problem)
			v.Problems = append(v.Problems, c.fly.Name+": "+line.Error)
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
	var bad journal.Problems
	err = a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Trip(pl.Trip.ID); !ok {
			return nil, screen.ErrNotFound
		}
		var bodies []flybox.Body
		bodies, bad = a.backBodies(s, pl, f)
		if len(bad) > 0 {
			return nil, bad
		}
		return bodies, nil
	})
	if list, is := screen.AsProblems(err); is {
		return a.backScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	lost := 0
	s := p.State
	for _, l := range s.Returns() {
		if l.Body.ID == pl.Trip.ID {
			lost = l.Body.Lost()
		}
	}
	return screen.GoTo(words.TripHref(pl.Trip.ID)+"/back", "back-counted", lost), nil
}

// backBodies are the entries of a count, the count itself last.
func (a *section) backBodies(s *flybox.State, pl caches.Planned, f url.Values) (bodies []flybox.Body, bad journal.Problems) {
	days, _ := plan.RodDays(pl.Trip)
	low, high := pl.Plan.All.Quantile(0.05), pl.Plan.All.Quantile(0.95)
	count := flybox.TripReturn{ID: pl.Trip.ID, When: a.Now().Format(time.RFC3339), RodDays: days, Expected: pl.Plan.All.Mean, Low: low, High: high}
	if was := pl.Counted; was != nil { // counted again: the forecast stays as it was
		count.Expected, count.Low, count.High = was.Expected, was.Low, was.High
	}
	for _, c := range carriedOn(s, pl.Trip, a.Now().Location()) {
		name := backField(c.fly.ID)
		if !f.Has(name) {
			continue // came in from another device since the form was shown
		}
		n := screen.WholeNumber(f, name, &bad)
		screen.InRange(name, n, 0, flybox.MaxCount, &bad)
		if bad.Field(name) != nil {
			continue
		}
		line := flybox.ReturnLine{Pattern: c.fly.ID, Took: c.now + c.gone, Back: n, Expected: expected(pl, c.fly.ID)}
		line.Took = max(line.Took, n)
		if len(count.Lines) < flybox.MaxReturnLines {
			count.Lines = append(count.Lines, line)
		}
		if n < c.now {
			bodies = append(bodies, lostOn(s, pl.Trip, c.fly.ID, c.now-n)...)
		} else if n > c.now {
			at := foundAt(s, pl.Trip, c.fly.ID)
			bodies = append(bodies, acts.Counted(s, c.fly.ID, at, max(s.CountAt(c.fly.ID, at), 0)+n-c.now))
		}
	}
	return append(bodies, count), bad
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

// lostOn are the moves that take n lost flies out of where they lay.
func lostOn(s *flybox.State, trip flybox.Trip, fly journal.ID, n int) (bodies []flybox.Body) {
	return acts.TakeOn(s, trip, fly, n, flybox.StockMove{Pattern: fly, Why: flybox.WhyLost, Trip: trip.ID})
}

// foundAt is where flies of a pattern are put that nobody knew of.
func foundAt(s *flybox.State, trip flybox.Trip, fly journal.ID) flybox.Place {
	for _, at := range acts.PlacesOn(s, trip, fly) {
		if at.Place != flybox.Loose && at.Count < flybox.MaxCount {
			return at.Place
		}
	}
	return flybox.Loose
}
