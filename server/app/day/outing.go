package day

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
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// PageOfTimes is how many lines of a timeline a screen shows at once.
const PageOfTimes = 60

// outing is one outing with all that happened.
func (a *section) outing(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "outing")
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "day", "")
	t := page.T
	s := p.State
	l, ok := s.Outing(id)
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	o := l.Body
	page.Title = whereText(t, o)
	v := views.OutingView{
		Page: page, Where: page.Title, When: spanText(page, o), Note: o.Note, Running: o.End == "",
		Day: dayHref(s, id, 0), Edit: outingHref(id) + "/edit", Remove: a.Button(outingHref(id)+"/remove", t.S("day.remove")),
	}
	if v.Running {
		end := a.Button(outingHref(id)+"/end", t.S("day.end.now"))
		v.End = &end
	}
	var c results.Count
	for _, one := range s.OutcomesOf(id) {
		c.Add(one.Body)
	}
	v.Facts = append(v.Facts, words.CountText(t, c))
	if c.Fish() > 0 {
		q := url.Values{"from": {o.Start[:len(time.DateOnly)]}}
		if last := acts.LastMoment(s, o).Format(time.DateOnly); o.End != "" {
			q.Set("to", last)
		}
		if o.Water != "" {
			q.Set("water", o.Water)
		}
		v.Results = screen.WithQuery("/day/results", q.Encode())
	}
	if n := len(s.LossesOf(id)); n > 0 {
		v.Facts = append(v.Facts, t.N("day.flieslost", n, nil))
	}
	if o.Rods > 0 {
		v.Facts = append(v.Facts, t.N("day.rods", o.Rods, nil))
	}
	if o.WaterC != nil {
		v.Facts = append(v.Facts, t.F("day.water_c", catalog.Data{"Temperature": page.U.Temperature(*o.WaterC)}))
	}
	if trip, ok := s.Trip(o.Trip); ok {
		v.Facts = append(v.Facts, trip.Body.Name)
	}
	lines := timeline(page, s, key, o)
	from := min(max(screen.Atoi(r.URL.Query().Get("from")), 0), len(lines))
	to := min(from+PageOfTimes, len(lines))
	for _, e := range lines[from:to] {
		if e.target != "" {
			remove := a.Button(outingHref(id)+"/undo", t.S("day.delete"), [2]string{"entry", string(e.target)}, [2]string{"back", "outing"})
			e.line.Remove = &remove
		}
		v.Lines = append(v.Lines, e.line)
	}
	if to < len(lines) {
		v.More = screen.WithQuery(outingHref(id), url.Values{"from": {screen.Itoa(to)}}.Encode())
	}
	return screen.Show(views.Outing(v)), nil
}

// spanText is when an outing was.
func spanText(page views.Page, o flybox.Outing) string {
	start, err := time.Parse(time.RFC3339, o.Start)
	if err != nil {
		return o.Start
	}
	end, err := time.Parse(time.RFC3339, o.End)
	if err != nil {
		return page.T.F("day.since", catalog.Data{"When": screen.DayTime(page, start)})
	}
	to := end.Format("15:04")
	if end.Format(time.DateOnly) != start.Format(time.DateOnly) {
		to = screen.DayTime(page, end)
	}
	return page.T.F("day.span", catalog.Data{"From": screen.DayTime(page, start), "To": to})
}

// event is something that happened on an outing.
type event struct {
	at     time.Time
	said   journal.Stamp // in order within a minute
	target journal.ID    // of the undo that takes it back, "" if there is none
	line   views.TimeLine
}

// timeline is what happened on an outing, newest first.
func timeline(page views.Page, s *flybox.State, key *hatchkeys.Key, o flybox.Outing) []event {
	t := page.T
	var all []event
	add := func(at time.Time, said journal.Stamp, target journal.ID, line views.TimeLine) {
		line.Clock = at.Format("15:04")
		all = append(all, event{at.Truncate(time.Minute), said, target, line})
	}
	moment := func(when string) time.Time {
		at, _ := time.Parse(time.RFC3339, when)
		return at
	}
	sub := func(parts ...string) string {
		return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), " · ")
	}
	on := func(hatch, form string) string {
		if hatch == "" {
			return ""
		}
		return words.FormText(t, key, results.Form{Hatch: hatch, Form: form})
	}
	several := s.RodCount(o) > 1
	rod := func(n int) string {
		if !several {
			return ""
		}
		return rodName(t, o, n)
	}
	gone := map[journal.ID]bool{}
	for _, m := range s.LossesOf(o.ID) {
		if m.Outcome != "" {
			gone[m.Outcome] = true
			continue
		}
		add(m.At.Time().In(nowZone(s, o.ID)), m.At, m.Entry, views.TimeLine{What: t.S("day.gone.snag"), Sub: revName(t, s, m.Pattern, "")})
	}
	for _, l := range s.OutcomesOf(o.ID) {
		b := l.Body
		what := t.S("day.tap." + string(b.Result))
		if gone[b.ID] {
			what = t.S("day.gone.fish")
		}
		what = strings.Join(append([]string{what}, fishWords(page, b)...), ", ")
		add(moment(b.When), l.At, b.ID, views.TimeLine{What: what, Code: string(b.Result), Sub: sub(rod(b.Rod), revName(t, s, b.Pattern, b.Rev), on(b.Hatch, ""), b.Note)})
	}
	for _, l := range s.RigsOf(o.ID) {
		b := l.Body
		what := t.S("day.nofly")
		var names []string
		for _, tied := range b.Flies() {
			names = append(names, revName(t, s, tied.Pattern, tied.Rev))
		}
		if len(names) > 0 {
			what = t.F("day.tiedon", catalog.Data{"Fly": strings.Join(names, " + ")})
		}
		add(moment(b.When), l.At, "", views.TimeLine{What: what, Sub: sub(rod(b.Rod), on(b.Hatch, b.Form))})
	}
	sortby.Stable(all, func(a, b *event) int { return cmp.Or(b.at.Compare(a.at), b.said.Compare(a.said)) })
	return all
}

func findOuting(s *flybox.State, id journal.ID) (flybox.Outing, bool) {
	l, ok := s.Outing(id)
	return l.Body, ok
}

func (a *section) editOuting(r *http.Request, p screen.Asked) (screen.Result, error) {
	o, ok := findOuting(p.State, screen.PathID(r, "outing"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	return screen.Show(views.OutingEdit(a.outingForm(r, p, o, nil, nil))), nil
}

func (a *section) outingForm(r *http.Request, p screen.Asked, o flybox.Outing, typed url.Values, bad journal.Problems) views.OutingFormView {
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.edit"))
	v := views.OutingFormView{Page: page, Back: outingHref(o.ID), Form: outingFields(page, o, typed, bad)}
	v.Form.Action, v.Form.FormID = outingHref(o.ID)+"/edit", a.FormID(typed)
	return v
}

// codeNotClock is the code of a Problem for text where a time of day belongs.
const codeNotClock = "not-a-clock"

// saveOuting changes an outing.
func (a *section) saveOuting(r *http.Request, p screen.Asked) (screen.Result, error) {
	old, ok := findOuting(p.State, screen.PathID(r, "outing"))
	if !ok {
		return screen.Result{}, screen.ErrNotFound
	}
	f := r.PostForm
	o := old
	bad := readOuting(f, p.Units, &o)
	o.Note = strings.ReplaceAll(f.Get("note"), "\r\n", "\n")
	zone := a.Now().Location()
	if at, err := time.Parse(time.RFC3339, old.Start); err == nil {
		zone = at.Location() // the clock of the place
	}
	o.Start = readMoment(f, "start", old.Start, zone, &bad)
	if o.End = ""; f.Get("end_day") != "" || strings.TrimSpace(f.Get("end_clock")) != "" {
		o.End = readMoment(f, "end", old.End, zone, &bad)
	}
	for _, problem := range o.Check() {
		switch problem.Field {
		case "start", "end":
			if bad.Field(problem.Field+"_day") != nil || bad.Field(problem.Field+"_clock") != nil {
				continue
			}
			problem.Field += "_clock"
		}
		bad = screen.Merge(bad, journal.Problems{problem})
	}
	err := error(nil)
	if len(bad) == 0 {
		err = a.Record(r, a.Form(r), func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{o}, nil })
	}
	if list, is := screen.AsProblems(err); is {
		bad = list
	}
	if len(bad) > 0 {
		return screen.Retry(views.OutingEdit(a.outingForm(r, p, old, f, bad))), nil
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(outingHref(o.ID), "saved", 0), nil
}

// readMoment reads a day and a time of day; one that is shown to the minute
// and not changed stays as it was.
func readMoment(f url.Values, name, old string, zone *time.Location, bad *journal.Problems) string {
	day, clock := strings.TrimSpace(f.Get(name+"_day")), strings.TrimSpace(f.Get(name+"_clock"))
	if d, c := momentFields(old); old != "" && d == day && c == clock {
		return old
	}
	at, err := time.ParseInLocation(time.DateOnly, day, zone)
	if err != nil {
		code := journal.CodeNotDate
		if day == "" {
			code = journal.CodeRequired
		}
		*bad = append(*bad, journal.Problem{Field: name + "_day", Code: code, Detail: journal.Detail{Got: journal.Of(screen.Clip(day))}})
		return old
	}
	hour, err := parseClock(clock)
	if err != nil {
		*bad = append(*bad, journal.Problem{Field: name + "_clock", Code: codeNotClock, Detail: journal.Detail{Got: journal.Of(screen.Clip(clock))}})
		return old
	}
	return at.Add(hour).Format(time.RFC3339)
}

// parseClock reads a time of day such as 5:20, 05.20 or 17h20.
func parseClock(s string) (time.Duration, error) {
	s = strings.NewReplacer(".", ":", "h", ":", "H", ":").Replace(s)
	if at, err := time.Parse("15:04", strings.TrimSuffix(s, ":")); err == nil {
		return time.Duration(at.Hour())*time.Hour + time.Duration(at.Minute())*time.Minute, nil
	}
	at, err := time.Parse("15", strings.TrimSuffix(s, ":"))
	return time.Duration(at.Hour()) * time.Hour, err
}

func (a *section) removeOuting(r *http.Request, p screen.Asked) (screen.Result, error) {
	id := screen.PathID(r, "outing")
	return a.Remove(r, id, "/day", func(s *flybox.State) bool {
		_, ok := s.Outing(id)
		return ok
	})
}
