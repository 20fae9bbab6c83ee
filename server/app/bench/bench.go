package bench

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/plan"
	"dampstone/flybox/queue"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/bench", a.Page(a.bench)).Methods("GET", "HEAD")
	r.Handle("/bench/tied", a.Page(a.tied)).Methods("POST")
	r.Handle("/bench/untied", a.Page(a.untied)).Methods("POST")
	r.Handle("/bench/orders", a.Page(a.orders)).Methods("GET", "HEAD")
	r.Handle("/bench/order/new", a.Page(a.newOrder)).Methods("GET", "HEAD")
	r.Handle("/bench/order/new", a.Page(a.saveOrder)).Methods("POST")
	r.Handle("/bench/order/{order}", a.Page(a.order)).Methods("GET", "HEAD")
	r.Handle("/bench/order/{order}/edit", a.Page(a.editOrder)).Methods("GET", "HEAD")
	r.Handle("/bench/order/{order}/edit", a.Page(a.saveOrder)).Methods("POST")
	r.Handle("/bench/order/{order}/hand", a.Page(a.handOver)).Methods("POST")
	r.Handle("/bench/order/{order}/remove", a.Page(a.removeOrder)).Methods("POST")
	r.Handle("/bench/recipe/{fly}", a.Page(a.editRecipe)).Methods("GET", "HEAD")
	r.Handle("/bench/recipe/{fly}", a.Page(a.saveRecipe)).Methods("POST")
	r.Handle("/bench/materials", a.Page(a.materials)).Methods("GET", "HEAD")
	r.Handle("/bench/material/new", a.Page(a.newMaterial)).Methods("GET", "HEAD")
	r.Handle("/bench/material/new", a.Page(a.saveMaterial)).Methods("POST")
	r.Handle("/bench/material/{material}", a.Page(a.material)).Methods("GET", "HEAD")
	r.Handle("/bench/material/{material}/edit", a.Page(a.editMaterial)).Methods("GET", "HEAD")
	r.Handle("/bench/material/{material}/edit", a.Page(a.saveMaterial)).Methods("POST")
	r.Handle("/bench/material/{material}/count", a.Page(a.countMaterial)).Methods("POST")
	r.Handle("/bench/material/{material}/remove", a.Page(a.removeMaterial)).Methods("POST")
	r.Handle("/bench/shopping", a.Page(a.shopping)).Methods("GET", "HEAD")
	r.Handle("/bench/shopping.txt", a.Page(a.shoppingText)).Methods("GET", "HEAD")
	r.Handle(words.FoamPath, a.Page(a.foamBody)).Methods("GET", "HEAD")
}

const (
	// benchPart is how many jobs are shown at once.
	BenchPart = 60
	// maxTripsAhead bounds the trips whose plans are made for the bench.
	maxTripsAhead = 6
	// tiedLately is how long a tying can be taken back on the bench.
	tiedLately = 12 * time.Hour
	maxLately  = 8
)

// benchQueue works out what to tie.
func (a *section) benchQueue(p screen.Asked) (queue.Queue, error) {
	today := a.Now().Format(time.DateOnly)
	var ahead []flybox.Trip
	s := p.State
	list := s.Trips()
	for i := len(list) - 1; i >= 0; i-- { // the next one first
		if b := list[i].Body; b.To >= today && len(ahead) < maxTripsAhead {
			ahead = append(ahead, b)
		}
	}
	var trips []queue.Trip
	for _, b := range ahead {
		pl, ok, err := a.PlanFor(b.ID, p)
		if err != nil {
			return queue.Queue{}, err
		}
		if !ok || pl.Counted != nil {
			continue
		}
		first, _, _ := b.Days()
		eve := max(first.AddDate(0, 0, -1).Format(time.DateOnly), today) // on a trip there is tonight
		trips = append(trips, queue.Trip{ID: b.ID, Name: b.Name, Eve: eve, Lines: pl.Plan.Lines})
	}
	q := queue.Make(p.State, trips, today)
	return q, nil
}

// bench is what to tie next.
func (a *section) bench(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.benchScreen(r, p, nil, nil)
}

// benchScreen is the queue, with what was typed for one job if it was refused.
func (a *section) benchScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	q, err := a.benchQueue(p)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "bench", catalog.For(p.Lang).S("bench.title"))
	t, u := page.T, page.U
	v := views.BenchView{Page: page, Empty: len(q.Jobs) == 0, Cautions: []string{t.S("care.vise"), t.S("care.blades"), t.S("care.glues")}, Problems: screen.ProblemList(page, "bench", bad)}
	if q.Flies > 0 {
		v.Sums = append(v.Sums, t.N("bench.sum", q.Flies, nil), t.N("bench.evenings", q.Evenings(plan.AssumedEveningHours), catalog.Data{
			"Hours": u.Number(q.Minutes/60, 1), "Each": u.Number(plan.AssumedEveningHours, 0)}))
		late := 0
		for _, j := range q.Jobs {
			if j.Late {
				late += j.N
			}
		}
		if late > 0 {
			v.Notices = append(v.Notices, t.N("bench.late", late, nil))
		}
	}
	from := min(max(screen.Atoi(r.URL.Query().Get("from")), 0), len(q.Jobs))
	if r.Method == http.MethodPost {
		from = min(max(screen.Atoi(typed.Get("from")), 0), len(q.Jobs))
	}
	to := min(from+BenchPart, len(q.Jobs))
	if len(q.Jobs) > BenchPart {
		v.Showing = t.F("bench.showing", catalog.Data{"From": from + 1, "To": to, "All": len(q.Jobs)})
		if to < len(q.Jobs) {
			v.More = "/bench?from=" + screen.Itoa(to)
		}
	}
	s := p.State
	for _, j := range q.Jobs[from:to] {
		v.Jobs = append(v.Jobs, a.jobLine(page, s, j, from, typed, bad))
	}
	for i, l := range queue.Lately(s, a.Now().Add(-tiedLately), maxLately) {
		line := a.tyingLine(page, s, l)
		if i == 0 {
			v.Last = &line
		} else {
			v.Earlier = append(v.Earlier, line)
		}
	}
	if len(bad) > 0 {
		return screen.Retry(views.Bench(v)), nil
	}
	return screen.Show(views.Bench(v)), nil
}

// jobID names a job on the screen and in its form.
func jobID(j queue.Job) string {
	id := string(j.For) + "-" + string(screen.Or(j.Pattern, "new")) + "-" + string(j.Thing)
	switch {
	case j.For == queue.ForSlot:
		id += words.PlaceValue(j.Place)
	case j.New != nil: // a trip may want several that are yet to be made
		id += "-" + string(j.New.Style) + "-" + screen.Itoa(j.New.Hook) + "-" + screen.Itoa(j.New.XL) + "-" + strings.TrimPrefix(j.New.Body, "#")
	}
	return id
}

func (a *section) jobLine(page views.Page, s *flybox.State, j queue.Job, from int, typed url.Values, bad journal.Problems) views.JobLine {
	t, u := page.T, page.U
	id := jobID(j)
	v := views.JobLine{ID: "job-" + id, Number: screen.Itoa(j.N), For: jobFor(t, j)}
	if j.Due != "" {
		day, err := time.Parse(time.DateOnly, j.Due)
		if err == nil {
			key := "bench.due"
			if v.Late = j.Late; v.Late {
				key = "bench.overdue"
			}
			v.Due = t.F(key, catalog.Data{"Date": words.DateText(t, day)})
		}
	}
	minutes := "bench.time"
	if j.Assumed {
		minutes = "bench.time.assumed"
	}
	v.Time = t.F(minutes, catalog.Data{"Minutes": u.Number(j.Minutes, 0), "All": u.Number(j.AllMinutes(), 0)})
	if j.New != nil {
		tie := words.TieView(page, *j.New, false)
		v.Name, v.Drawing = strings.Join(tie.Lines[:min(2, len(tie.Lines))], ", "), words.FlyMark(j.New.Pattern())
		v.Materials = t.S("bench.unmade")
		v.Links = []views.Link{{Text: t.S("trip.enter"), Href: tie.Href}, {Text: j.Name, Href: words.TripHref(j.Thing)}}
		return v
	}
	v.Name = t.S("slot.unknown")
	if !j.Known {
		v.Materials = t.S("bench.unknown")
		return v
	}
	v.Name, v.Href, v.Drawing = j.Fly.Name, words.FlyHref(j.Pattern), words.FlyMark(j.Fly.Pattern)
	v.Materials, v.Short = jobMaterials(page, j)
	if recipe := words.RecipeView(page, s, j.Pattern); !recipe.None {
		recipe.Minutes = "" // stands above
		v.Recipe = &recipe
	} else {
		v.Links = append(v.Links, views.Link{Text: t.S("recipe.write"), Href: recipe.Edit})
	}
	if foam := words.FoamHref(j.Fly.Pattern, j.Pattern); foam != "" {
		v.Links = append(v.Links, views.Link{Text: t.S("foam.title"), Href: foam})
	}
	switch j.For {
	case queue.ForOrder:
		v.Links = append(v.Links, views.Link{Text: t.S("order.one"), Href: words.OrderHref(j.Thing)})
	case queue.ForTrip:
		v.Links = append(v.Links, views.Link{Text: t.S("nav.trip"), Href: words.TripHref(j.Thing)})
	}
	f := &views.TieForm{Action: "/bench/tied", FormID: a.FormID(nil), Fields: [][2]string{{"job", id}, {"fly", string(j.Pattern)}, {"place", words.PlaceValue(j.Place)}, {"from", screen.Itoa(from)}}}
	if j.For == queue.ForOrder {
		f.Fields = append(f.Fields, [2]string{"order", string(j.Thing)})
	}
	value, mine := "1", journal.Problems(nil)
	if typed.Get("job") == id {
		f.FormID, value, mine = a.FormID(typed), typed.Get(tiedField(id)), bad
	}
	f.N = screen.FormField(page, "bench", "n", value, nil)
	f.N.Name = tiedField(id)
	if problem := mine.Field("n"); problem != nil {
		f.N.Error = screen.ProblemText(page, problem)
	}
	v.Do = f
	return v
}

// tiedField is the field for how many of a job were tied; there are many on
// one screen.
func tiedField(job string) string { return "n." + job }

// jobFor says what a job is for.
func jobFor(t *catalog.Text, j queue.Job) string {
	switch j.For {
	case queue.ForOrder:
		return t.F("bench.for.order", catalog.Data{"Name": j.Name})
	case queue.ForTrip:
		return t.F("bench.for.trip", catalog.Data{"Name": j.Name})
	}
	return t.F("bench.for.slot", catalog.Data{"Place": words.PlaceText(t, flybox.Placement{Place: j.Place, BoxName: j.Name})})
}

// jobMaterials says whether the materials for a job are there.
func jobMaterials(page views.Page, j queue.Job) (text string, short bool) {
	t := page.T
	if j.Recipe == nil || len(j.Recipe.Lines) == 0 {
		return t.S("bench.norecipe"), false
	}
	var names, uncounted []string
	for _, n := range j.Short {
		if n.Counted {
			names = append(names, needName(n))
		} else {
			uncounted = append(uncounted, needName(n))
		}
	}
	switch {
	case len(names) > 0:
		return t.F("bench.short", catalog.Data{"Names": strings.Join(names, ", ")}), true
	case len(uncounted) > 0:
		return t.F("bench.uncounted", catalog.Data{"Names": strings.Join(uncounted, ", ")}), false
	}
	return t.S("bench.ready"), false
}

func needName(n queue.Need) string { return words.MaterialName(n.Name, n.Colour) }

func (a *section) tyingLine(page views.Page, s *flybox.State, l queue.Tying) views.TyingLine {
	t := page.T
	f, _ := s.Pattern(l.Pattern)
	what := t.N("bench.did", l.N, catalog.Data{"Name": screen.Or(f.Name, t.S("slot.unknown")), "Clock": l.At.In(a.Now().Location()).Format("15:04")})
	return views.TyingLine{What: what, Undo: a.Button("/bench/untied", t.S("bench.undo"), [2]string{"tie", string(l.Tie)})}
}

// tied records flies that were tied, with what went into them.
func (a *section) tied(r *http.Request, p screen.Asked) (screen.Result, error) {
	f := r.PostForm
	job := f.Get("job")
	var bad journal.Problems
	counts := url.Values{"n": {f.Get(tiedField(job))}}
	n := screen.WholeNumber(counts, "n", &bad)
	screen.InRange("n", n, 1, flybox.MaxCount, &bad)
	place, ok := words.ParsePlace(f.Get("place"))
	if !ok {
		return screen.Result{}, screen.ErrBadForm
	}
	if len(bad) > 0 {
		return a.benchScreen(r, p, f, bad)
	}
	form := a.Form(r)
	fly, order, tie := screen.IDIn(f, "fly"), screen.IDIn(f, "order"), form.NewID()
	if form.ID != "" {
		tie = form.Entry(0) // a number that was changed and sent again is another tying
	}
	err := a.Record(r, form, func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Pattern(fly); !ok {
			return nil, screen.ErrNotFound
		}
		if _, ok := s.Box(place.Box); !ok {
			place = flybox.Loose // the box went away meanwhile
		}
		if _, ok := s.Order(order); !ok {
			order = ""
		}
		return queue.Tied(s, fly, order, place, n, tie), nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	to := "/bench"
	if from := screen.Atoi(f.Get("from")); from > 0 {
		to += "?from=" + screen.Itoa(from)
	}
	return screen.GoTo(to, "tied", n), nil
}

// untied takes a tying back: the flies and the material.
func (a *section) untied(r *http.Request, p screen.Asked) (screen.Result, error) {
	tie := screen.IDIn(r.PostForm, "tie")
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		bodies := queue.TakeBack(s, tie)
		if tie == "" || len(bodies) == 0 {
			return nil, screen.ErrNotFound
		}
		return bodies, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/bench", "untied", 0), nil
}
