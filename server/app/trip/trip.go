package trip

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/trip", a.Page(a.trips)).Methods("GET", "HEAD")
	r.Handle("/trip/new", a.Page(a.newTrip)).Methods("GET", "HEAD")
	r.Handle("/trip/new", a.Page(a.saveTrip)).Methods("POST")
	r.Handle("/trip/{trip}", a.Page(a.trip)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/edit", a.Page(a.editTrip)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/edit", a.Page(a.saveTrip)).Methods("POST")
	r.Handle("/trip/{trip}/remove", a.Page(a.removeTrip)).Methods("POST")
	r.Handle("/trip/{trip}/line", a.Page(a.saveLine)).Methods("POST")
	r.Handle("/trip/{trip}/line/{fly}", a.Page(a.saveLine)).Methods("POST")
	r.Handle("/trip/{trip}/pack", a.Page(a.pack)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/pack", a.Page(a.savePack)).Methods("POST")
	r.Handle("/trip/{trip}/back", a.Page(a.back)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/back", a.Page(a.saveBack)).Methods("POST")
	r.Handle("/trip/{trip}/card", a.Page(a.card)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/card.txt", a.Page(a.cardText)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/trip.ics", a.Page(a.calendar)).Methods("GET", "HEAD")
}

// trips lists the trips, those to come first.
func (a *section) trips(r *http.Request, p screen.Asked) (screen.Result, error) {
	v := views.TripsView{Page: a.View(r, p, "trip", catalog.For(p.Lang).S("trip.title"))}
	today := a.Now().Format(time.DateOnly)
	s := p.State
	for _, l := range s.Trips() {
		line := views.TripLine{Name: l.Body.Name, Href: words.TripHref(l.Body.ID), When: daysText(v.T, l.Body), Where: watersText(v.T, l.Body)}
		if l.Body.To < today {
			v.Past = append(v.Past, line)
		} else {
			v.Coming = append(v.Coming, line)
		}
	}
	slices.Reverse(v.Coming) // the next one first
	return screen.Show(views.Trips(v)), nil
}

// daysText is when a trip is.
func daysText(t *catalog.Text, b flybox.Trip) string {
	first, last, n := b.Days()
	if n == 1 {
		return words.DateText(t, first)
	}
	return t.N("trip.when", n, catalog.Data{"From": words.DateText(t, first), "To": words.DateText(t, last)})
}

// watersText names a trip's waters.
func watersText(t *catalog.Text, b flybox.Trip) string {
	var names []string
	for _, w := range b.AllWaters() {
		name := w.Name
		if t.Has("value.water." + w.Type) {
			if name != "" {
				name += ", "
			}
			name += t.S("value.water." + w.Type)
		}
		if name != "" {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return t.S("trip.nowater")
	}
	return strings.Join(names, " · ")
}

// tripPlan is planFor for the trip in the address.
func (a *section) tripPlan(r *http.Request, p screen.Asked) (caches.Planned, error) {
	out, ok, err := a.PlanFor(screen.PathID(r, "trip"), p)
	if err == nil && !ok {
		err = screen.ErrNotFound
	}
	return out, err
}

func (a *section) removeTrip(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "trip")
	return a.Remove(r, id, "/trip", func(s *flybox.State) bool {
		_, ok := s.Trip(id)
		return ok
	})
}

// saveLine overrules one line of the plan, or lets the plan decide again.
func (a *section) saveLine(r *http.Request, p screen.Asked) (screen.Result, error) {
	id, fly := screen.PathID(r, "trip"), screen.Or(screen.PathID(r, "fly"), screen.IDIn(r.PostForm, "fly"))
	line := flybox.TripLine{Trip: id, Pattern: fly, Off: r.PostForm.Get("release") != ""}
	var bad journal.Problems
	if !line.Off {
		name := "take"
		if screen.PathID(r, "fly") != "" {
			name = lineField(fly)
		}
		line.Take = screen.WholeNumber(r.PostForm, name, &bad)
		screen.InRange(name, line.Take, 0, flybox.MaxCount, &bad)
		bad = screen.Merge(bad, line.Check())
	}
	if len(bad) > 0 {
		return a.tripScreen(r, p, fly, r.PostForm, bad)
	}
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Trip(id); !ok {
			return nil, screen.ErrNotFound
		}
		if _, ok := s.Pattern(fly); !ok {
			return nil, screen.ErrNotFound
		}
		return []flybox.Body{line}, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(words.TripHref(id)+"#"+lineID(fly), "saved", 0), nil
}

func lineID(fly journal.ID) string { return "line-" + string(fly) }

// lineField is the field of a line's number; there are many on one screen.
func lineField(fly journal.ID) string { return "take." + string(fly) }
