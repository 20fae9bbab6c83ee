package app

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/plan"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *App) tripRoutes(r *mux.Router) {
	r.Handle("/trip", a.page(a.trips)).Methods("GET", "HEAD")
	r.Handle("/trip/new", a.page(a.newTrip)).Methods("GET", "HEAD")
	r.Handle("/trip/new", a.page(a.saveTrip)).Methods("POST")
	r.Handle("/trip/{trip}", a.page(a.trip)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/edit", a.page(a.editTrip)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/edit", a.page(a.saveTrip)).Methods("POST")
	r.Handle("/trip/{trip}/remove", a.page(a.removeTrip)).Methods("POST")
	r.Handle("/trip/{trip}/line", a.page(a.saveLine)).Methods("POST")
	r.Handle("/trip/{trip}/line/{fly}", a.page(a.saveLine)).Methods("POST")
	r.Handle("/trip/{trip}/pack", a.page(a.pack)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/pack", a.page(a.savePack)).Methods("POST")
	r.Handle("/trip/{trip}/back", a.page(a.back)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/back", a.page(a.saveBack)).Methods("POST")
	r.Handle("/trip/{trip}/card", a.page(a.card)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/card.txt", a.page(a.cardText)).Methods("GET", "HEAD")
	r.Handle("/trip/{trip}/trip.ics", a.page(a.calendar)).Methods("GET", "HEAD")
}

func tripHref(id string) string { return "/trip/" + url.PathEscape(id) }

// trips lists the trips, those to come first.
func (a *App) trips(r *http.Request, p prefs) (result, error) {
	v := views.TripsView{Page: a.view(r, p, "trip", catalog.For(p.lang).S("trip.title"))}
	today := a.Now().Format(time.DateOnly)
	a.Ledger.View(func(s *flybox.State) {
		for _, l := range s.Trips() {
			line := views.TripLine{Name: l.Body.Name, Href: tripHref(l.Body.ID), When: daysText(v.T, l.Body), Where: watersText(v.T, l.Body)}
			if l.Body.To < today {
				v.Past = append(v.Past, line)
			} else {
				v.Coming = append(v.Coming, line)
			}
		}
	})
	slices.Reverse(v.Coming) // the next one first
	return show(views.Trips(v)), nil
}

// daysText is when a trip is.
func daysText(t *catalog.Text, b flybox.Trip) string {
	first, last, n := b.Days()
	if n == 1 {
		return dateText(t, first)
	}
	return t.N("trip.when", n, catalog.Data{"From": dateText(t, first), "To": dateText(t, last)})
}

func dateText(t *catalog.Text, day time.Time) string {
	return t.F("trip.date", catalog.Data{"Day": day.Day(), "Month": t.S("month." + itoa(int(day.Month()))), "Year": day.Year()})
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

// planned is a trip with its plan.
type planned struct {
	trip   flybox.Trip
	plan   plan.Plan
	region string
	boxes  []flybox.BoxInfo // that go along
	// learned are the counted trips that the rate rests on.
	learned int
	// counted is the count after the trip, if there is one.
	counted *flybox.TripReturn
}

// planFor makes the plan of a trip; ok is false if there is no such trip.
func (a *App) planFor(id string, p prefs) (out planned, ok bool, err error) {
	var fixed map[string]int
	rate := plan.AssumedRate
	a.Ledger.View(func(s *flybox.State) {
		var l flybox.Logged[flybox.Trip]
		if l, ok = s.Trip(id); !ok {
			return
		}
		out.trip, fixed = l.Body, map[string]int{}
		for _, line := range s.TripLines(id) {
			fixed[line.Pattern] = line.Take
		}
		for _, b := range s.Boxes() {
			if slices.Contains(out.trip.Boxes, b.ID) {
				out.boxes = append(out.boxes, b)
			}
		}
		for _, back := range s.Returns() {
			if back.Body.ID == id {
				body := back.Body
				out.counted = &body
				continue // a trip is not judged by what it taught
			}
			if back.Body.RodDays > 0 {
				out.learned++
				rate = rate.Learn(float64(back.Body.Lost()), back.Body.RodDays)
			}
		}
	})
	if !ok {
		return out, false, nil
	}
	out.region = out.trip.Region
	key, err := a.key(out.region)
	if err != nil { // not said, or one that this version lacks
		out.region = p.region
		if key, err = a.key(out.region); err != nil {
			return out, true, err
		}
	}
	// What is not said of where the water lies is as at home.
	trip := out.trip
	if p.place != nil && out.region == p.region {
		trip.Waters = slices.Clone(trip.AllWaters())
		for i := range trip.Waters {
			if w := &trip.Waters[i]; w.Altitude == nil && w.Latitude == nil {
				w.Altitude, w.Latitude = &p.place.Altitude, &p.place.Latitude
			}
		}
	}
	slots := plan.NoLimit
	if len(out.boxes) > 0 {
		slots = 0
		for _, b := range out.boxes {
			slots += b.Rows * b.Columns
		}
	}
	box := a.fits.flies(a.Ledger, key)
	out.plan = plan.Make(plan.Request{
		Trip: trip, Today: a.Now(), Key: key, Quarries: box.quarries, Flies: box.compiled,
		Fixed: fixed, Slots: slots, Rate: rate,
	})
	return out, true, nil
}

// tripPlan is planFor for the trip in the address.
func (a *App) tripPlan(r *http.Request, p prefs) (planned, error) {
	out, ok, err := a.planFor(mux.Vars(r)["trip"], p)
	if err == nil && !ok {
		err = errNotFound
	}
	return out, err
}

func (a *App) removeTrip(r *http.Request, p prefs) (result, error) {
	id := mux.Vars(r)["trip"]
	return a.removeOnce(r, id, "/trip", func(s *flybox.State) bool {
		_, ok := s.Trip(id)
		return ok
	})
}

// saveLine overrules one line of the plan, or lets the plan decide again.
func (a *App) saveLine(r *http.Request, p prefs) (result, error) {
	id, fly := mux.Vars(r)["trip"], or(mux.Vars(r)["fly"], r.PostForm.Get("fly"))
	line := flybox.TripLine{Trip: id, Pattern: fly, Off: r.PostForm.Get("release") != ""}
	var bad flybox.Problems
	if !line.Off {
		name := "take"
		if mux.Vars(r)["fly"] != "" {
			name = lineField(fly)
		}
		line.Take = wholeNumber(r.PostForm, name, &bad)
		inRange(name, line.Take, 0, flybox.MaxCount, &bad)
		bad = merge(bad, line.Check())
	}
	if len(bad) > 0 {
		return a.tripScreen(r, p, fly, r.PostForm, bad)
	}
	err := a.recordOnce(r, func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Trip(id); !ok {
			return nil, errNotFound
		}
		if _, ok := s.Pattern(fly); !ok {
			return nil, errNotFound
		}
		return []flybox.Body{line}, nil
	})
	if err != nil {
		return result{}, err
	}
	return goTo(tripHref(id)+"#"+lineID(fly), "saved", 0), nil
}

func lineID(fly string) string { return "line-" + fly }

// lineField is the field of a line's number; there are many on one screen.
func lineField(fly string) string { return "take." + fly }
