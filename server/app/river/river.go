package river

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/level"
	"dampstone/flybox/sortby"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	// staleHours after which a reading is called old: levels change within
	// hours. Judgement, no source.
	staleHours = 3.0
	// pageOfReadings is how many readings a screen lists at once.
	pageOfReadings = 30
	// curveDays are drawn.
	curveDays = 7
)

func stationHref(id journal.ID) string { return "/river/" + url.PathEscape(string(id)) }

// seen is what was read at a station.
type seen struct {
	station  flybox.Station
	readings []flybox.Logged[flybox.Reading] // newest first
	levels   []level.Reading                 // in order of time
}

func look(s *flybox.State, station flybox.Station) seen {
	out := seen{station: station, readings: s.ReadingsOf(station.ID)}
	for _, l := range slices.Backward(out.readings) {
		if at, err := time.Parse(time.RFC3339, l.Body.When); err == nil && l.Body.LevelM != nil {
			out.levels = append(out.levels, level.Reading{At: at, M: *l.Body.LevelM})
		}
	}
	return out
}

// river lists the stations, each with a field for what it reads now.
func (a *section) river(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.riverScreen(r, p, nil, nil)
}

func (a *section) riverScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	page := a.View(r, p, "day", catalog.For(p.Lang).S("river.title"))
	v := views.RiverView{Page: page}
	stations := p.State.Stations()
	sortby.Stable(stations, func(x, y *flybox.Logged[flybox.Station]) int {
		return cmp.Or(cmp.Compare(x.Body.Name, y.Body.Name), cmp.Compare(x.Body.ID, y.Body.ID))
	})
	now := a.Now()
	rose := false
	for _, l := range stations {
		w := look(p.State, l.Body)
		line := views.StationLine{Name: l.Body.Name, Water: l.Body.Water, Href: stationHref(l.Body.ID), Form: a.readingForm(page, l.Body, nil, nil)}
		line.Last, line.Old = lastText(page, w, now)
		line.Trend = trendText(page, level.Trends(w.levels, now))
		rose = rose || level.Rose(w.levels, now)
		v.Stations = append(v.Stations, line)
	}
	v.Cautions = cautions(page, rose)
	f := func(name string) views.Field { return screen.FormField(page, "station", name, typed.Get(name), bad) }
	v.New = views.StationForm{FormID: a.FormID(typed), Problems: screen.ProblemList(page, "station", bad), Name: f("name"), Water: f("water"), Note: f("note")}
	if len(bad) > 0 {
		return screen.Retry(views.River(v)), nil
	}
	return screen.Show(views.River(v)), nil
}

// cautions stand first where the water rose, and are never left out.
func cautions(page views.Page, rose bool) (list []string) {
	if rose {
		list = append(list, page.T.S("care.rose"))
	}
	return append(list, page.T.S("care.level"))
}

// lastText says what was read last, and how long ago; old if that is too long
// to be now.
func lastText(page views.Page, w seen, now time.Time) (text string, old bool) {
	if len(w.readings) == 0 {
		return page.T.S("river.none"), false
	}
	last := w.readings[0].Body
	at, err := time.Parse(time.RFC3339, last.When)
	if err != nil {
		return last.When, true
	}
	hours := now.Sub(at).Hours()
	data := catalog.Data{"Reading": readingText(page, last)}
	switch {
	case hours > 48 || hours < -1:
		data["When"] = screen.DayTime(page, at)
		return page.T.F("river.last.at", data), true
	case hours < 1:
		return page.T.N("river.last.minutes", max(int(now.Sub(at).Minutes()), 0), data), false
	}
	return page.T.N("river.last.hours", int(hours), data), hours > staleHours
}

// readingText is what a reading holds.
func readingText(page views.Page, b flybox.Reading) string {
	var parts []string
	if b.LevelM != nil {
		parts = append(parts, page.U.Level(*b.LevelM))
	}
	if b.WaterC != nil {
		parts = append(parts, page.U.Temperature(*b.WaterC))
	}
	return strings.Join(parts, " · ")
}

// trendText is the verdict of the shortest window that has one.
func trendText(page views.Page, trends []level.Trend) string {
	for _, t := range trends {
		if t.Verdict != level.Few {
			return page.T.F("river.trend", catalog.Data{"Window": windowText(page.T, t.Hours), "What": verdictText(page, t)})
		}
	}
	return page.T.S("river.trend.few")
}

func windowText(t *catalog.Text, hours int) string { return t.N("river.window", hours, nil) }

// verdictText says whether the level rises or falls, how fast, and how surely.
func verdictText(page views.Page, t level.Trend) string {
	switch t.Verdict {
	case level.Few:
		return page.T.N("river.few", t.N, nil)
	case level.Unclear:
		return page.T.F("river.unclear", rateData(page, t.PerHour))
	case level.Rising:
		return page.T.F("river.rising", rateData(page, t.PerHour))
	}
	// A fall is said by its size.
	return page.T.F("river.falling", rateData(page, level.Slope{Mid: -t.PerHour.Mid, Low: -t.PerHour.High, High: -t.PerHour.Low}))
}

func rateData(page views.Page, s level.Slope) catalog.Data {
	return catalog.Data{"Rate": page.U.Rise(s.Mid), "Low": page.U.Rise(s.Low), "High": page.U.Rise(s.High)}
}

// addStation adds a staff or a marked stone.
func (a *section) addStation(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, form := r.PostForm, a.Form(r)
	b := flybox.Station{ID: form.NewID(), Name: strings.TrimSpace(f.Get("name")), Water: strings.TrimSpace(f.Get("water")), Note: f.Get("note")}
	err := a.Record(r, form, func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{b}, nil })
	if list, is := screen.AsProblems(err); is {
		return a.riverScreen(r, p, f, list)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(stationHref(b.ID), "added", 0), nil
}

// readingForm asks for the level now.
func (a *section) readingForm(page views.Page, b flybox.Station, typed url.Values, bad journal.Problems) views.ReadingForm {
	f := func(name string) views.Field { return screen.FormField(page, "reading", name, typed.Get(name), bad) }
	v := views.ReadingForm{
		Action: stationHref(b.ID) + "/read", FormID: a.FormID(typed), Problems: screen.ProblemList(page, "reading", bad), Station: b.Name,
		Level: f("level_m"), WaterC: f("water_c"),
	}
	v.Level.Unit, v.WaterC.Unit = page.U.HeightUnit(), page.U.TemperatureUnit()
	return v
}

// addReading notes what a station reads now.
func (a *section) addReading(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, form, id := r.PostForm, a.Form(r), screen.PathID(r, "station")
	b := flybox.Reading{ID: form.NewID(), Station: id, When: a.Now().Format(time.RFC3339)}
	var bad journal.Problems
	if m, given := screen.OptionalDecimal(f, "level_m", p.Units.ParseLevel, &bad); given {
		b.LevelM = &m
	}
	if c, given := screen.OptionalDecimal(f, "water_c", p.Units.ParseTemperature, &bad); given {
		b.WaterC = &c
	}
	if len(bad) == 0 {
		err := a.Record(r, form, func(s *flybox.State) ([]flybox.Body, error) {
			if _, ok := s.Station(id); !ok {
				return nil, acts.ErrUnknown
			}
			return []flybox.Body{b}, nil
		})
		list, is := screen.AsProblems(err)
		if err != nil && !is {
			return screen.Result{}, err
		}
		bad = list
	}
	if len(bad) > 0 {
		return a.stationScreen(r, p, f, bad)
	}
	return screen.GoTo(stationHref(id), "noted", 0), nil
}

// removeReading takes back a reading.
func (a *section) removeReading(r *http.Request, p screen.Asked) (screen.Result, error) {
	id, target := screen.PathID(r, "station"), screen.IDIn(r.PostForm, "entry")
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		l, ok := s.Reading(target)
		if !ok || l.Body.Station != id {
			return nil, nil // gone already
		}
		return []flybox.Body{flybox.Deleted{Target: target}}, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(stationHref(id), "removed", 0), nil
}

// removeStation takes a station off the list.
func (a *section) removeStation(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "station")
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		if _, ok := s.Station(id); !ok {
			return nil, nil
		}
		return []flybox.Body{flybox.Deleted{Target: id}}, nil
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo("/river", "removed", 0), nil
}
