package day

import (
	"cmp"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/results"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/day", a.Page(a.day)).Methods("GET", "HEAD")
	r.Handle("/day", a.Page(a.startOuting)).Methods("POST")
	r.Handle("/day/fly", a.Page(a.chooseRig)).Methods("GET", "HEAD")
	r.Handle("/day/on", a.Page(a.chooseOn)).Methods("GET", "HEAD")
	r.Handle("/day/fly", a.Page(a.fish)).Methods("POST")
	r.Handle("/day/results", a.Page(a.results)).Methods("GET", "HEAD")
	r.Handle("/day/{outing}", a.Page(a.outing)).Methods("GET", "HEAD")
	r.Handle("/day/{outing}/edit", a.Page(a.editOuting)).Methods("GET", "HEAD")
	r.Handle("/day/{outing}/edit", a.Page(a.saveOuting)).Methods("POST")
	r.Handle("/day/{outing}/tap", a.Page(a.tap)).Methods("POST")
	r.Handle("/day/{outing}/which", a.Page(a.which)).Methods("GET", "HEAD")
	r.Handle("/day/{outing}/say", a.Page(a.say)).Methods("POST")
	r.Handle("/day/{outing}/fish", a.Page(a.fishForm)).Methods("GET", "HEAD")
	r.Handle("/day/{outing}/fish", a.Page(a.saveFish)).Methods("POST")
	r.Handle("/day/{outing}/undo", a.Page(a.undoTap)).Methods("POST")
	r.Handle("/day/{outing}/end", a.Page(a.endOuting)).Methods("POST")
	r.Handle("/day/{outing}/remove", a.Page(a.removeOuting)).Methods("POST")
}

const (
	// pageOfOutings is how many past outings a list shows at once.
	pageOfOutings = 20
	// quietHours after which an outing that began on another day counts as
	// forgotten. Assumed: nobody goes without a fish, a change of fly or a look
	// at the screen for so long and then fishes on.
	quietHours = 6.0
)

func outingHref(id journal.ID) string { return "/day/" + url.PathEscape(string(id)) }

// dayHref is the screen Day with a rod of a running outing on it; 0 is the one
// used last.
func dayHref(s *flybox.State, id journal.ID, rod int) string {
	q := url.Values{}
	if running := s.Running(); len(running) > 1 && running[0].Body.ID != id {
		q.Set("at", string(id))
	}
	if rod > 0 {
		q.Set("rod", screen.Itoa(rod))
	}
	return screen.WithQuery("/day", q.Encode())
}

// runningAt is the running outing with an id, or for no id the one started
// last, and those that run besides. ok is false if it does not run.
func runningAt(s *flybox.State, id journal.ID) (o flybox.Outing, others []flybox.Outing, ok bool) {
	for i, l := range s.Running() {
		if l.Body.ID == id || id == "" && i == 0 {
			o, ok = l.Body, true
		} else {
			others = append(others, l.Body)
		}
	}
	return o, others, ok
}

// day is the outing that runs, or the way to start one.
func (a *section) day(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.dayScreen(r, p, nil, nil)
}

func (a *section) dayScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.title"))
	t := page.T
	v := views.DayView{Page: page, Cautions: []string{t.S("care.day")}}
	q := r.URL.Query()
	box := a.Flies(p.State, key)
	s := p.State
	counts := outingCounts(s)
	o, others, running := runningAt(s, screen.IDIn(q, "at"))
	if !running { // the one meant has ended: show what does run
		o, others, running = runningAt(s, "")
	}
	for _, other := range others {
		line := outingLine(page, other, counts[other.ID])
		line.Href = screen.WithQuery("/day", url.Values{"at": {string(other.ID)}}.Encode())
		v.Running = append(v.Running, line)
	}
	warm := flybox.Outing{}
	if running && typed == nil {
		now := a.outingNow(page, s, key, box, o, rodIn(q))
		v.Now, warm = &now, o
		v.FlashUnseen = now.Last != ""
	} else {
		form := a.startForm(page, s, key, q, typed, bad)
		v.Start = &form
	}
	if c, ok := waterNow(s, warm, a.Now()); ok {
		v.Cautions = append(words.WarmCare(page, c), v.Cautions...)
	}
	a.pastOutings(&v, s, counts, screen.Atoi(q.Get("from")))
	for range s.AllOutcomes() {
		v.Results = "/day/results"
		break
	}
	if len(bad) > 0 {
		return screen.Retry(views.Day(v)), nil
	}
	return screen.Show(views.Day(v)), nil
}

// pastOutings lists the outings that have ended, a page at a time.
func (a *section) pastOutings(v *views.DayView, s *flybox.State, counts map[journal.ID]results.Count, from int) {
	var past []flybox.Outing
	for _, l := range s.Outings() {
		if l.Body.End != "" {
			past = append(past, l.Body)
		}
	}
	if len(past) == 0 {
		return
	}
	from = min(max(from, 0), len(past)-1)
	to := min(from+pageOfOutings, len(past))
	for _, o := range past[from:to] {
		v.Past = append(v.Past, outingLine(v.Page, o, counts[o.ID]))
	}
	v.Showing = v.T.N("day.showing", len(past), catalog.Data{"From": from + 1, "To": to})
	if to < len(past) {
		v.More = screen.WithQuery("/day", url.Values{"from": {screen.Itoa(to)}}.Encode()) + "#past"
	}
}

// outingCounts are what fish did on each outing.
func outingCounts(s *flybox.State) map[journal.ID]results.Count {
	counts := map[journal.ID]*results.Count{}
	for l := range s.AllOutcomes() {
		c := counts[l.Body.Outing]
		if c == nil {
			c = new(results.Count)
			counts[l.Body.Outing] = c
		}
		c.Add(l.Body)
	}
	out := make(map[journal.ID]results.Count, len(counts))
	for id, c := range counts {
		out[id] = *c
	}
	return out
}

func outingLine(page views.Page, o flybox.Outing, c results.Count) views.OutingLine {
	line := views.OutingLine{When: o.Start, Where: whereText(page.T, o), Counts: words.CountText(page.T, c), Href: outingHref(o.ID)}
	if at, err := time.Parse(time.RFC3339, o.Start); err == nil {
		line.When = screen.DayTime(page, at)
	}
	return line
}

func whereText(t *catalog.Text, o flybox.Outing) string {
	switch {
	case o.Water == "" && o.Place == "":
		return t.S("day.somewhere")
	case o.Water == "":
		return o.Place
	case o.Place == "":
		return o.Water
	}
	return o.Water + ", " + o.Place
}

// outingNow is the screen of the outing that runs, for a rod; 0 is the one used
// last on this device.
func (a *section) outingNow(page views.Page, s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, o flybox.Outing, rod int) views.OutingNow {
	t, now := page.T, a.Now()
	href := outingHref(o.ID)
	rods := s.RodCount(o)
	if rod == 0 || rod > rods {
		rod = min(s.LastRod(o.ID, a.Ledger.Device()), rods)
	}
	if rods == 1 {
		rod = 0
	}
	v := views.OutingNow{Where: cmp.Or(o.Water, whereText(t, o)), Href: href, OnHref: screen.WithQuery("/day/on", onRod(o.ID, rod).Encode())}
	v.Since = o.Start
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil {
		v.Since = t.F("day.since", catalog.Data{"When": sinceText(page, start, now)})
	}
	if o.Water != "" && o.Place != "" {
		v.Since = o.Place + " · " + v.Since
	}
	v.Rods = rodTabs(t, o, rods, rod)
	rig := s.RigNow(o.ID, rod).Body
	rig.Outing, rig.Rod = o.ID, rod // also where nothing was said yet
	v.On = onText(t, key, rig)
	a.rigged(&v, page, s, key, box, rig)
	outcomes := s.OutcomesOf(o.ID)
	var here, today, mine results.Count
	day := now.Format(time.DateOnly)
	for _, l := range outcomes {
		here.Add(l.Body)
		if max(l.Body.Rod, 1) == max(rod, 1) {
			mine.Add(l.Body)
		}
	}
	for l := range s.AllOutcomes() {
		if l.Body.Outing == o.ID || strings.HasPrefix(l.Body.When, day) {
			today.Add(l.Body)
		}
	}
	v.Counts = words.CountText(t, here)
	if today != here {
		v.Today = t.F("day.today", catalog.Data{"Counts": words.CountText(t, today)})
	}
	v.Taps, v.Gone = a.taps(t, rig, mine)
	a.lastNoted(&v, page, s, rig, outcomes)
	last := acts.LastMoment(s, o)
	v.End = a.Button(href+"/end", t.S("day.end.now"))
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil && start.In(now.Location()).Format(time.DateOnly) < day && now.Sub(last).Hours() > quietHours {
		v.Forgotten = &views.Forgotten{
			Sentence: t.F("day.forgotten", catalog.Data{"Start": screen.DayTime(page, start), "Last": screen.DayTime(page, last)}),
			End:      a.Button(href+"/end", t.S("day.end.last"), [2]string{"at", "last"}),
		}
	}
	v.Try = a.tryNext(page, s, key, box, o, rig)
	return v
}

// sinceText is a time of today, or day and time.
func sinceText(page views.Page, at, now time.Time) string {
	if at.In(now.Location()).Format(time.DateOnly) == now.Format(time.DateOnly) {
		return at.Format("15:04")
	}
	return screen.DayTime(page, at)
}

// onText says what the fish are on.
func onText(t *catalog.Text, key *hatchkeys.Key, rig flybox.Rig) string {
	if rig.Hatch == "" {
		return t.S("day.on.nothing")
	}
	return words.FormText(t, key, results.Form{Hatch: rig.Hatch, Form: rig.Form})
}

// nowZone is the zone in which an outing was started: the clock of the place.
func nowZone(s *flybox.State, outing journal.ID) *time.Location {
	l, _ := s.Outing(outing)
	if at, err := time.Parse(time.RFC3339, l.Body.Start); err == nil {
		return at.Location()
	}
	return time.UTC
}

func clockOf(when string) string {
	if at, err := time.Parse(time.RFC3339, when); err == nil {
		return at.Format("15:04")
	}
	return when
}

// revName names a fly as it was when it was fished.
func revName(t *catalog.Text, s *flybox.State, pattern, rev journal.ID) string {
	if r, ok := s.Revision(rev); ok {
		return r.Name
	}
	if f, ok := s.Pattern(pattern); ok {
		return f.Name
	}
	return t.S("day.unknownfly")
}

// waterNow is the temperature of the water in degrees Celsius, if it is known
// of today: measured for the outing, for a trip, or with a sighting.
func waterNow(s *flybox.State, o flybox.Outing, now time.Time) (c float64, ok bool) {
	if o.WaterC != nil {
		return *o.WaterC, true
	}
	day := now.Format(time.DateOnly)
	for _, l := range s.Trips() {
		for _, d := range l.Body.Temperatures {
			if d.Date == day {
				return d.Max, true
			}
		}
	}
	for _, l := range s.Sightings() { // newest first
		if !strings.HasPrefix(l.Body.When, day) {
			continue
		}
		if _, e, err := hatchkeys.ParseJSON(l.Body.Evidence); err == nil && e.WaterC != nil {
			return *e.WaterC, true
		}
	}
	return 0, false
}
