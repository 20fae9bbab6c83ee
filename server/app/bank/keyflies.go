package bank

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
)

// KeyFly is a fly of the line and how well it does.
type KeyFly struct {
	ID journal.ID `json:"id"`
	// Score is the fit over the whole reading, or over the hatch, 0 to 1.
	Score float64 `json:"score"`
	Fits  bool    `json:"fits"` // as it is, what it stands for
	// For is the insect that it stands for best.
	For KeyFor `json:"for"`
	// Parts are the scores of length, colour and so on for that insect.
	Parts map[string]float64 `json:"parts"`
	Mend  []KeyMend          `json:"mend"` // what would make it fit, or fit better
}

// KeyFor is a form of a hatch.
type KeyFor struct {
	Hatch string `json:"hatch"`
	Form  string `json:"form"`
}

// KeyMend is something to do to a fly at the water.
type KeyMend struct {
	Code   string  `json:"code"`
	MM     float64 `json:"mm,omitempty"`     // to take off
	Colour string  `json:"colour,omitempty"` // to make it, #rrggbb
	Text   string  `json:"text"`
}

// lineFly is a fly as a line has it. Where left is absent there are some.
type lineFly struct {
	flybox.Pattern
	Left *int `json:"left"`
	Take *int `json:"take"` // of a trip; says nothing here
}

// maxLineFlies bounds the flies of a line.
const maxLineFlies = 2000

// lineFlies reads the flies of a line. The error names the fly and what is
// wrong with it.
func lineFlies(page views.Page, raw json.RawMessage) ([]match.CompiledFly, error) {
	if len(raw) == 0 || string(raw) == "null" {
		return nil, nil
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var list []lineFly
	if err := dec.Decode(&list); err != nil {
		return nil, fmt.Errorf("flies: %w", err)
	}
	if len(list) > maxLineFlies {
		return nil, fmt.Errorf("flies: %d of them, at most %d", len(list), maxLineFlies)
	}
	var out []match.CompiledFly
	var wrong []string
	ids := map[journal.ID]bool{}
	for i, f := range list {
		if f.Name == "" {
			f.Name = string(f.ID) // a name is for reading, and nobody reads it here
		}
		bad := f.Check()
		if f.Hook == 0 { // a fly of a known length needs none
			bad = slices.DeleteFunc(bad, func(p journal.Problem) bool { return p.Field == "hook" })
		}
		switch {
		case f.ID == "":
			bad = append(bad, journal.Problem{Field: "id", Code: journal.CodeRequired})
		case ids[f.ID]:
			bad = append(bad, journal.Problem{Field: "id", Code: journal.CodeInconsist})
		}
		ids[f.ID] = true
		left := 1
		if f.Left != nil {
			left = *f.Left
			screen.InRange("left", left, 0, 1<<20, &bad)
		}
		for k := range bad {
			text := fmt.Sprintf("flies[%d].%s: %s", i, bad[k].Field, screen.ProblemText(page, &bad[k]))
			if bad[k].Code == journal.CodeUnknown {
				text += fmt.Sprintf(" (%q)", bad[k].Got)
			}
			wrong = append(wrong, text)
		}
		out = append(out, match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: f.Pattern}, Left: left}))
	}
	if len(wrong) > 0 {
		return nil, errors.New(strings.Join(wrong, " "))
	}
	return out, nil
}

func keyFlies(page views.Page, flies []match.CompiledFly, over *caches.Over) []KeyFly {
	var out []KeyFly
	for _, e := range match.RankOver(flies, over.Chances, nil) {
		h, f := over.At(e.At)
		k := KeyFly{ID: e.Fly.ID, Score: words.Round(e.Mean), Fits: e.Fits, For: KeyFor{h.ID, f.ID}, Parts: map[string]float64{}, Mend: []KeyMend{}}
		for _, p := range e.Parts {
			k.Parts[p.Code] = words.Round(p.Score)
		}
		for _, c := range e.Changes {
			k.Mend = append(k.Mend, KeyMend{Code: c.Code, MM: words.Round(c.MM), Colour: c.Colour, Text: words.ChangeText(page, c)})
		}
		out = append(out, k)
	}
	return out
}
