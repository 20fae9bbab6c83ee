package app

import (
	"net/http"
	"net/url"
	"time"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/views"
)

// maxSeenLines bounds the days listed on the page of a hatch.
const maxSeenLines = 5

// notesView is what the reader noted about a hatch, and the form to note more.
func (a *App) notesView(page views.Page, h *hatchkeys.Hatch, form string, query string, typed url.Values, bad flybox.Problems) views.NotesView {
	t := page.T
	v := views.NotesView{
		Action: "/hatch/" + url.PathEscape(h.ID) + "/seen", Problems: problemList(page, "seen", bad),
		Hidden: [][2]string{{"form", a.formID(typed)}, {"stage", form}, {"answers", query}},
	}
	water := ""
	a.Ledger.View(func(s *flybox.State) {
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
	})
	note := ""
	if typed != nil {
		water, note = typed.Get("water"), typed.Get("note")
	}
	v.Water = formField(page, "seen", "water", water, bad)
	v.Note = formField(page, "seen", "note", note, bad)
	return v
}

func seenLine(page views.Page, b flybox.Sighting) string {
	line := b.When
	if at, err := time.Parse(time.RFC3339, b.When); err == nil {
		line = dayTime(page, at)
	}
	for _, part := range []string{b.Water, b.Place, b.Note} {
		if part != "" {
			line += " · " + part
		}
	}
	return line
}

// saveSeen notes that a hatch was seen now, with the answers given.
func (a *App) saveSeen(r *http.Request, p prefs) (result, error) {
	key, err := a.key(p.region)
	if err != nil {
		return result{}, err
	}
	h := key.Hatch(mux.Vars(r)["id"])
	if h == nil {
		return result{}, errNotFound
	}
	f := r.PostForm
	query, err := url.ParseQuery(f.Get("answers"))
	if err != nil || len(f.Get("answers")) > maxQuery {
		return result{}, errBadForm
	}
	ans := p.answers(query)
	evidence, err := ans.evidence.JSON(p.region)
	if err != nil {
		return result{}, err
	}
	body := flybox.Sighting{
		When: a.Now().Format(time.RFC3339), Hatch: h.ID, Evidence: evidence,
		Water: f.Get("water"), Note: f.Get("note"),
	}
	if form := h.Form(f.Get("stage")); form != nil {
		body.Form = form.ID
	}
	err = a.once(r, func() error {
		_, err := a.Ledger.Record(r.Context(), body)
		return err
	})
	back := withQuery("/hatch/"+url.PathEscape(h.ID), ans.query())
	if bad, is := asProblems(err); is {
		return a.hatchPage(r, p, query, f, bad)
	}
	if err != nil {
		return result{}, err
	}
	return goTo(back, "noted", 0), nil
}
