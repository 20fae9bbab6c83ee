package trip

import (
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"dampstone/flybox/plan"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// maxCardHatches bounds the hatches on a card.
const maxCardHatches = 8

// card is the plan for a second guide, to be printed or read from a screen.
func (a *section) card(r *http.Request, p screen.Asked) (screen.Result, error) {
	v, err := a.cardView(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	return screen.Show(views.Card(v)), nil
}

func (a *section) cardView(r *http.Request, p screen.Asked) (views.CardView, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return views.CardView{}, err
	}
	page := a.View(r, p, "trip", pl.Trip.Name)
	t, b := page.T, pl.Trip
	v := views.CardView{
		Page: page, Name: b.Name, Back: words.TripHref(b.ID), Text: words.TripHref(b.ID) + "/card.txt", Note: b.Note,
		Facts: []string{daysText(t, b), watersText(t, b), partyText(page, b)}, Cautions: tripCautions(t, b),
		Made: t.F("trip.made", catalog.Data{"When": screen.DayTime(page, a.Now())}),
	}
	v.Lines = packLines(t, p.State, pl)
	for _, o := range pl.Plan.Hatches[:min(len(pl.Plan.Hatches), maxCardHatches)] {
		if len(o.Chance) > 0 {
			v.Hatches = append(v.Hatches, o.Hatch.Name(t.Lang)+": "+outlookText(page, pl.Plan, o))
		}
	}
	return v, nil
}

// cardText is the card as a plain text file.
func (a *section) cardText(r *http.Request, p screen.Asked) (screen.Result, error) {
	v, err := a.cardView(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	t := v.T
	var b strings.Builder
	line := func(s ...string) { b.WriteString(strings.Join(s, "") + "\n") }
	line(v.Name)
	for _, f := range v.Facts {
		line(f)
	}
	if v.Note != "" {
		line("")
		line(v.Note)
	}
	line("")
	line(t.S("trip.take"))
	for _, l := range v.Lines {
		line("  ", l.Count, "  ", l.Name)
		if l.Where != "" {
			line("      ", l.Where)
		}
	}
	line("")
	line(t.S("trip.days"))
	for _, h := range v.Hatches {
		line("  ", h)
	}
	line("")
	for _, c := range v.Cautions {
		line("! ", c)
	}
	line("")
	line(v.Made)
	return screen.Result{File: screen.TextFile("dampstone-trip.txt", "text/plain; charset=utf-8", b.String())}, nil
}

// calendar is the trip as an iCalendar file: its days, the evenings for tying
// and the day to pack.
func (a *section) calendar(r *http.Request, p screen.Asked) (screen.Result, error) {
	pl, err := a.tripPlan(r, p)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "trip", pl.Trip.Name)
	body := calendarOf(page, pl, a.Now())
	return screen.Result{File: screen.TextFile("dampstone-trip.ics", "text/calendar; charset=utf-8", body)}, nil
}

// calendarOf writes RFC 5545.
func calendarOf(page views.Page, pl caches.Planned, now time.Time) string {
	t, b, p := page.T, pl.Trip, pl.Plan
	first, last, _ := b.Days()
	var c calendarText
	c.line("BEGIN", "VCALENDAR")
	c.line("VERSION", "2.0")
	c.line("PRODID", "-//Dampstone//Trip//EN")
	event := func(what string, from, to time.Time, summary, text string) {
		c.line("BEGIN", "VEVENT")
		c.line("UID", string(b.ID)+"-"+what+"@dampstone.invalid") // a name that is nobody's (RFC 2606)
		c.line("DTSTAMP", now.UTC().Format("20060102T150405Z"))
		c.line("DTSTART;VALUE=DATE", from.Format("20060102"))
		c.line("DTEND;VALUE=DATE", to.AddDate(0, 0, 1).Format("20060102")) // the first day after
		c.line("SUMMARY", calendarEscape(summary))
		if text != "" {
			c.line("DESCRIPTION", calendarEscape(text))
		}
		if what == "trip" {
			c.line("LOCATION", calendarEscape(watersText(t, b)))
		}
		c.line("TRANSP", "TRANSPARENT")
		c.line("END", "VEVENT")
	}
	var flies []string
	for _, l := range p.Lines {
		if l.Take > 0 && l.New == nil {
			flies = append(flies, screen.Itoa(l.Take)+" "+l.Fly.Name)
		}
	}
	parts := append([]string{partyText(page, b)}, flies...)
	if b.Note != "" {
		parts = append(parts, b.Note)
	}
	parts = append(parts, tripCautions(t, b)...)
	event("trip", first, last, b.Name, strings.Join(parts, "\n"))
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	if eve := first.AddDate(0, 0, -1); !eve.Before(today) {
		event("pack", eve, eve, t.F("trip.ics.pack", catalog.Data{"Name": b.Name}), "")
		tyingEvents(page, p, first, func(i int, day time.Time, text string) {
			event("tie-"+screen.Itoa(i+1), day, day, t.F("trip.ics.tie", catalog.Data{"Name": b.Name}), text)
		})
	}
	c.line("END", "VCALENDAR")
	return c.String()
}

// tyingEvents deals the flies to tie out over the evenings, the last of which
// is the one before the trip.
func tyingEvents(page views.Page, p plan.Plan, first time.Time, event func(i int, day time.Time, text string)) {
	y := p.Tying
	perEvening := int(y.EveningHours*60/y.Minutes + 1e-9)
	if perEvening < 1 || y.Possible < 1 {
		return
	}
	evenings := (y.Possible + perEvening - 1) / perEvening
	var lines []string
	room, i := perEvening, 0
	flush := func() {
		if len(lines) > 0 {
			event(i, first.AddDate(0, 0, i-evenings), strings.Join(lines, "\n"))
			lines, room = nil, perEvening
			i++
		}
	}
	for _, l := range p.Lines {
		name := l.Fly.Name
		if l.New != nil {
			name = strings.Join(words.TieView(page, *l.New, false).Lines[:2], ", ")
		}
		for n := l.ByThen; n > 0; {
			k := min(n, room)
			lines = append(lines, screen.Itoa(k)+" "+name)
			n, room = n-k, room-k
			if room == 0 {
				flush()
			}
		}
	}
	flush()
}

// calendarEscape writes a text value (RFC 5545, section 3.3.11). Control
// characters have no place in one.
func calendarEscape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s)
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`).Replace(s)
}

// calendarText is content lines that end in CRLF and are folded so that none
// is longer than 75 octets (RFC 5545, section 3.1), never within a character.
type calendarText struct{ strings.Builder }

func (c *calendarText) line(name, value string) {
	const most = 75
	text, room := name+":"+value, most
	for len(text) > room {
		cut := room
		for !utf8.RuneStart(text[cut]) {
			cut--
		}
		c.WriteString(text[:cut] + "\r\n ")
		text, room = text[cut:], most-1 // the space counts
	}
	c.WriteString(text + "\r\n")
}
