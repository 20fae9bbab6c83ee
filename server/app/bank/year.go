package bank

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/names"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	yearWeeks = 52
	maxQuery  = 80 // characters of a search
	maxAlso   = 3  // other names that are shown
)

// year lists the hatches of the region with the weeks in which they are met,
// found by any of their names.
func (a *section) year(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	t := catalog.For(p.Lang)
	page := a.View(r, p, "bank", t.S("year.title"))
	query := strings.TrimSpace(r.URL.Query().Get("q"))
	if runes := []rune(query); len(runes) > maxQuery {
		query = string(runes[:maxQuery])
	}
	now := a.Now()
	v := views.YearView{Page: page, Query: query, Region: t.S("region." + p.Region), Today: yearX(now.YearDay())}
	for m := range 12 {
		name := []rune(t.S("month." + screen.Itoa(m+1)))
		v.Months = append(v.Months, string(name[:1]))
	}
	if p.Place != nil {
		v.Moved = t.S("year.moved")
	}
	found := names.Search(key, query, p.Lang)
	weeks := yearChances(key, p.Place, now.Year())
	seen := seenDays(p.State)
	if query == "" {
		found = bySeason(found, weeks)
	}
	for _, h := range found {
		also := h.Also[p.Lang]
		line := views.YearLine{
			Name: h.Name(p.Lang), Also: strings.Join(also[:min(len(also), maxAlso)], ", "), Scientific: h.Scientific, Href: words.HatchHref(h.ID, "", &screen.EvidenceForm{}),
			Area: area(weeks[h]), Text: seasonText(t, h), Own: words.OwnTag(t, h),
		}
		for _, day := range seen[h.ID] {
			line.Seen = append(line.Seen, yearX(day))
		}
		if n := len(line.Seen); n > 0 {
			line.SeenText = t.N("year.seen", n, nil)
		}
		v.Lines = append(v.Lines, line)
	}
	v.Count = t.N("year.count", len(v.Lines), nil)
	return screen.Show(views.Year(v)), nil
}

// yearChances are the chances of meeting each hatch in the middle of each
// week.
func yearChances(key *hatchkeys.Key, place *hatchkeys.Place, year int) map[*hatchkeys.Hatch][]float64 {
	out := map[*hatchkeys.Hatch][]float64{}
	var chances []float64
	for w := range yearWeeks {
		day := time.Date(year, 1, 4+7*w, 0, 0, 0, 0, time.UTC)
		chances = key.Chances(hatchkeys.Outlook{Day: day, Place: place}, chances[:0])
		for i, c := range chances {
			h := &key.Pack.Hatches[i]
			out[h] = append(out[h], c)
		}
	}
	return out
}

// bySeason puts hatches in the order of their weeks: by the week in which
// they are likeliest.
func bySeason(list []*hatchkeys.Hatch, weeks map[*hatchkeys.Hatch][]float64) []*hatchkeys.Hatch {
	at := func(h *hatchkeys.Hatch) int {
		best := 0
		for w, c := range weeks[h] {
			if c > weeks[h][best] {
				best = w
			}
		}
		return best
	}
	out := slices.Clone(list)
	sortby.Stable(out, func(x, y **hatchkeys.Hatch) int { return at(*x) - at(*y) })
	return out
}

// The chart is yearWeeks*10 wide and 24 high.
const yearWide, yearHigh = yearWeeks * 10, 24

// yearX is where a day of the year stands.
func yearX(day int) float64 { return math.Round(float64(day-1) / 366 * yearWide) }

// area draws chances as a hill.
func area(weeks []float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "M0 %d", yearHigh)
	for w, c := range weeks {
		y := yearHigh - math.Round(c*yearHigh*10)/10
		fmt.Fprintf(&b, "H%d V%g", w*10, y)
	}
	fmt.Fprintf(&b, "H%d V%dZ", yearWide, yearHigh)
	return b.String()
}

// seenDays are the days of the year on which the reader saw each hatch.
func seenDays(s *flybox.State) map[string][]int {
	out := map[string][]int{}
	for _, l := range s.Sightings() {
		at, err := time.Parse(time.RFC3339, l.Body.When)
		if err != nil || len(out[l.Body.Hatch]) >= maxSeenMarks {
			continue
		}
		out[l.Body.Hatch] = append(out[l.Body.Hatch], at.YearDay())
	}
	return out
}

// maxSeenMarks bounds the marks of one hatch, the newest first.
const maxSeenMarks = 60
