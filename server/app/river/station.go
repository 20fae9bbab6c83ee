package river

import (
	"net/http"
	"net/url"
	"time"

	"dampstone/flybox/journal"
	"dampstone/flybox/level"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// station is one station with what was read there.
func (a *section) station(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.stationScreen(r, p, nil, nil)
}

func (a *section) stationScreen(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) (screen.Result, error) {
	id := screen.PathID(r, "station")
	l, ok := p.State.Station(id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	page := a.View(r, p, "day", l.Body.Name)
	t, now := page.T, a.Now()
	w := look(p.State, l.Body)
	v := views.StationView{
		Page: page, Water: l.Body.Water, Note: l.Body.Note, Form: a.readingForm(page, l.Body, typed, bad),
		Cautions: cautions(page, level.Rose(w.levels, now)), Curve: curve(page, w.levels, now),
		Remove: a.Button(stationHref(id)+"/remove", t.S("river.remove")),
	}
	v.Last, v.Old = lastText(page, w, now)
	for _, trend := range level.Trends(w.levels, now) {
		v.Trends = append(v.Trends, views.TrendLine{Window: windowText(t, trend.Hours), Words: verdictText(page, trend)})
	}
	if j, ok := level.LastJump(w.levels, now); ok {
		data := catalog.Data{"Size": page.U.Rise(max(j.Metres, -j.Metres)), "From": clock(page, j.Before, now), "To": clock(page, j.After, now)}
		if v.Jump = t.F("river.jump.up", data); j.Metres < 0 {
			v.Jump = t.F("river.jump.down", data)
		}
	}
	from := min(max(screen.Atoi(r.URL.Query().Get("from")), 0), len(w.readings))
	to := min(from+pageOfReadings, len(w.readings))
	for _, l := range w.readings[from:to] {
		line := views.ReadingLine{When: l.Body.When, Text: readingText(page, l.Body)}
		if at, err := time.Parse(time.RFC3339, l.Body.When); err == nil {
			line.When = screen.DayTime(page, at)
		}
		line.Remove = a.Button(stationHref(id)+"/undo", t.S("day.delete"), [2]string{"entry", string(l.Body.ID)})
		v.Readings = append(v.Readings, line)
	}
	if to < len(w.readings) {
		v.More = screen.WithQuery(stationHref(id), url.Values{"from": {screen.Itoa(to)}}.Encode())
	}
	if len(bad) > 0 {
		return screen.Retry(views.Station(v)), nil
	}
	return screen.Show(views.Station(v)), nil
}

// clock is a time of today, or day and time.
func clock(page views.Page, at, now time.Time) string {
	at = at.In(now.Location())
	if at.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return at.Format("15:04")
	}
	return screen.DayTime(page, at)
}

// curve draws the level of the last days; nil for fewer than two readings.
func curve(page views.Page, readings []level.Reading, now time.Time) *views.LevelCurve {
	begin := now.AddDate(0, 0, -curveDays)
	var shown []level.Reading
	for _, r := range readings {
		if r.At.After(begin) && !r.At.After(now) {
			shown = append(shown, r)
		}
	}
	if len(shown) < 2 {
		return nil
	}
	low, high := shown[0].M, shown[0].M
	for _, r := range shown {
		low, high = min(low, r.M), max(high, r.M)
	}
	first, last := shown[0].At, shown[len(shown)-1].At
	span := max(last.Sub(first).Hours(), 1.0/60)
	v := &views.LevelCurve{
		High: page.U.Level(high), Low: page.U.Level(low), From: clock(page, first, now), To: clock(page, last, now),
	}
	// A level that stands is a line in the middle, not noise blown up.
	const least = 0.10 // metres from foot to head of the picture, at least
	if high-low < least {
		middle := (high + low) / 2
		low, high = middle-least/2, middle+least/2
	}
	for _, r := range shown {
		v.Points = append(v.Points, views.CurvePoint{X: r.At.Sub(first).Hours() / span, Y: (r.M - low) / (high - low)})
	}
	return v
}
