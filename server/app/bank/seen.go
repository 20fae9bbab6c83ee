package bank

import (
	"net/http"
	"net/url"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/views"
)

// maxSeenLines bounds the days listed on the page of a hatch.
const maxSeenLines = 5

// notesView is what the reader noted about a hatch, and the form to note more.
func (a *section) notesView(page views.Page, s *flybox.State, h *hatchkeys.Hatch, form string, query string, typed url.Values, bad journal.Problems) views.NotesView {
	t := page.T
	v := views.NotesView{
		Action: "/hatch/" + url.PathEscape(h.ID) + "/seen", Problems: screen.ProblemList(page, "seen", bad),
		Hidden: [][2]string{{"form", a.FormID(typed)}, {"stage", form}, {"answers", query}},
	}
	water := ""
	days := 0
	for _, logged := range s.Sightings() { // newest first
		if water == "" {
			water = logged.Body.Water // most people fish the same water again
		}
		if logged.Body.Hatch != h.ID {
			continue
		}
		if days++; days <= maxSeenLines {
			v.Lines = append(v.Lines, seenLine(page, logged.Body))
		}
	}
	if days > 0 {
		v.Lines = append([]string{t.N("seen.days", days, nil)}, v.Lines...)
	}
	note := ""
	if typed != nil {
		water, note = typed.Get("water"), typed.Get("note")
	}
	v.Water = screen.FormField(page, "seen", "water", water, bad)
	v.Note = screen.FormField(page, "seen", "note", note, bad)
	return v
}

func seenLine(page views.Page, b flybox.Sighting) string {
	line := b.When
	if at, err := time.Parse(time.RFC3339, b.When); err == nil {
		line = screen.DayTime(page, at)
	}
	for _, part := range []string{b.Water, b.Place, b.Note} {
		if part != "" {
			line += " · " + part
		}
	}
	return line
}

// saveSeen notes that a hatch was seen now, with the answers given.
func (a *section) saveSeen(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	h := key.Hatch(mux.Vars(r)["id"])
	if h == nil {
		return screen.Result{}, screen.ErrNotFound
	}
	f := r.PostForm
	query, err := url.ParseQuery(f.Get("answers"))
	if err != nil || len(f.Get("answers")) > screen.MaxQuery {
		return screen.Result{}, screen.ErrBadForm
	}
	ans := p.Answers(query)
	evidence, err := ans.Evidence.JSON(p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	body := flybox.Sighting{
		When: a.Now().Format(time.RFC3339), Hatch: h.ID, Evidence: evidence,
		Water: f.Get("water"), Note: f.Get("note"),
	}
	if form := h.Form(f.Get("stage")); form != nil {
		body.Form = form.ID
	}
	err = a.Record(r, a.Form(r), func(*flybox.State) ([]flybox.Body, error) { return []flybox.Body{body}, nil })
	back := screen.WithQuery("/hatch/"+url.PathEscape(h.ID), ans.Query())
	if bad, is := screen.AsProblems(err); is {
		return a.hatchPage(r, p, query, f, bad)
	}
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(back, "noted", 0), nil
}
