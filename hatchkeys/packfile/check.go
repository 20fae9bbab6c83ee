package packfile

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/colour"
)

// checker turns raw hatches into checked ones and gathers what is wrong.
type checker struct {
	file    string
	sources map[string]hatchkeys.Source
	errs    []error
}

func (c *checker) fail(line int, format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf("%s:%d: %s", c.file, line, fmt.Sprintf(format, args...)))
}

func (c *checker) source(line int, id string) hatchkeys.Sourced {
	if _, ok := c.sources[id]; !ok {
		if id == "" {
			c.fail(line, "no source; write source: ID with an id from %s", sourcesFiles)
		} else {
			c.fail(line, "source %q is not in %s", id, sourcesFiles)
		}
	}
	return hatchkeys.Sourced{Source: id}
}

func (c *checker) hatch(r *rawHatch, defaults map[string]hatchkeys.Form) *hatchkeys.Hatch {
	h := &hatchkeys.Hatch{
		ID: r.ID, Scientific: r.Scientific, Group: r.Group, Names: r.Name, Also: r.Also, Like: r.Like, Land: r.Land,
		Abundance: r.Abundance, Travels: r.Travels,
	}
	if strings.TrimSpace(r.Scientific) == "" {
		c.fail(r.line("scientific"), "scientific is empty")
	}
	if !slices.Contains(hatchkeys.Groups, r.Group) {
		c.fail(r.line("group"), "group %q is not one of %v", r.Group, hatchkeys.Groups)
	}
	switch {
	case r.Like != "" && !slices.Contains(hatchkeys.Likes, r.Like):
		c.fail(r.line("like"), "like %q is not one of %v", r.Like, hatchkeys.Likes)
	case r.Land != "" && !slices.Contains(hatchkeys.Lands, r.Land):
		c.fail(r.line("land"), "land %q is not one of %v", r.Land, hatchkeys.Lands)
	case r.Like == "" && r.Group == hatchkeys.Terrestrial:
		c.fail(r.line("like"), "like is missing; a land insect needs one of %v", hatchkeys.Likes)
	}
	for _, lang := range []string{"en", "es"} {
		if strings.TrimSpace(r.Name[lang]) == "" {
			c.fail(r.line("name"), "name has no %q", lang)
		}
	}
	for lang, also := range r.Also {
		if _, ok := r.Name[lang]; !ok {
			c.fail(r.line("also"), "also: %q is no language of name", lang)
		}
		for i, name := range also {
			if strings.TrimSpace(name) != name || name == "" || len(name) > 60 || slices.Contains(also[:i], name) || name == r.Name[lang] {
				c.fail(r.line("also"), "also: %q is empty, too long, has outer spaces or stands twice", name)
			}
		}
	}
	if !(r.Abundance > 0 && r.Abundance <= 5) {
		c.fail(r.line("abundance"), "abundance must be over 0 and at most 5")
	}
	if len(r.Season) == 0 {
		c.fail(r.line("season"), "season is empty")
	}
	for i, s := range r.Season {
		h.Season = append(h.Season, c.season(i, s))
	}
	if r.Waters == nil {
		c.fail(r.line("waters"), "waters is missing")
	} else {
		h.Waters = *c.weights(hatchkeys.Water, r.Waters)
		for _, k := range slices.Sorted(maps.Keys(r.Waters.Of)) {
			if r.Waters.Of[k] > 1 {
				c.fail(r.Waters.line, "waters: %s must be from 0 to 1", k)
			}
		}
	}
	if r.WaterC != nil {
		h.WaterC = c.span("water_c", r.WaterC, -1, 40)
	}
	if r.Trend != nil {
		h.Trend = c.weights(hatchkeys.Trend, r.Trend)
	}
	if len(r.Forms) == 0 {
		c.fail(r.line("forms"), "forms is empty")
	}
	seen := map[string]bool{}
	for i := range r.Forms {
		f := c.form(r.Group, &r.Forms[i], defaults)
		if seen[f.ID] {
			c.fail(r.Forms[i].line, "form %q stands twice", f.ID)
		}
		seen[f.ID] = true
		h.Forms = append(h.Forms, f)
	}
	return h
}

func (c *checker) season(i int, s rawSeason) hatchkeys.Season {
	for _, d := range []string{s.From, s.To} {
		if _, err := time.Parse("2006-01-02", "2000-"+d); err != nil { // a leap year
			c.fail(s.line, "season %d: %q is not a month and day such as 07-20", i+1, d)
		}
	}
	weight := 1.0
	if s.Weight != nil {
		weight = *s.Weight
	}
	if !(weight > 0 && weight <= 1) {
		c.fail(s.line, "season %d: weight must be over 0 and at most 1", i+1)
	}
	return hatchkeys.Season{From: s.From, To: s.To, Weight: weight, Sourced: c.source(s.line, s.Source)}
}

// defaults checks what holds for a group and stage. What only a hatch can
// know has no place there.
func (c *checker) defaults(line int, key string, r *rawForm) hatchkeys.Form {
	group, stage, _ := strings.Cut(key, "/")
	if !slices.Contains(hatchkeys.Groups, hatchkeys.Group(group)) || !slices.Contains(hatchkeys.Stages, hatchkeys.Stage(stage)) {
		c.fail(line, "%q is not group/stage with a group of %v and a stage of %v", key, hatchkeys.Groups, hatchkeys.Stages)
	}
	if r.Stage != "" || r.Sex != "" || r.Length != nil || r.Colour != nil {
		c.fail(line, "%s: stage, sex, length and colour belong in the hatch files", key)
	}
	f := hatchkeys.Form{Share: 1, Fed: 0.5}
	c.set(&f, r)
	return f
}

func (c *checker) form(g hatchkeys.Group, r *rawForm, defaults map[string]hatchkeys.Form) hatchkeys.Form {
	f, ok := defaults[string(g)+"/"+string(r.Stage)]
	if !ok {
		c.fail(r.line, "no defaults for %s/%s in %s", g, r.Stage, defaultsFiles)
	}
	if !slices.Contains(hatchkeys.Stages, r.Stage) {
		c.fail(r.line, "stage %q is not one of %v", r.Stage, hatchkeys.Stages)
	}
	f.ID, f.Stage, f.Sex = string(r.Stage), r.Stage, r.Sex
	switch r.Sex {
	case "":
	case "male", "female":
		f.ID += "-" + r.Sex
	default:
		c.fail(r.line, "sex must be male, female or left out, not %q", r.Sex)
	}
	c.set(&f, r) // the form's own values win
	if r.Length == nil {
		c.fail(r.line, "length is missing")
	} else {
		f.Length = *c.span("length", r.Length, 0.5, 90)
	}
	if r.Colour == nil {
		c.fail(r.line, "colour is missing")
	} else {
		f.Colour = c.colours(r.Colour)
	}
	return f
}

// set puts the values that r gives into f.
func (c *checker) set(f *hatchkeys.Form, r *rawForm) {
	if r.Share != nil {
		f.Share = *r.Share
		if !(f.Share > 0 && f.Share <= 100) {
			c.fail(r.line, "share must be over 0 and at most 100")
		}
	}
	if r.Fed != nil {
		f.Fed = *r.Fed
		if !(f.Fed >= 0 && f.Fed <= 1) {
			c.fail(r.line, "fed must be from 0 to 1")
		}
	}
	if r.Tactics != nil {
		f.Tactics = c.tactics(r.Tactics)
	}
	if r.Hours != nil {
		f.Hours = c.span("hours", r.Hours, 0, 24)
	}
	for _, t := range []struct {
		trait hatchkeys.Trait
		from  *weights
		to    **hatchkeys.Weights
	}{
		{hatchkeys.Wings, r.Wings, &f.Wings}, {hatchkeys.Tails, r.Tails, &f.Tails},
		{hatchkeys.Doing, r.Doing, &f.Doing}, {hatchkeys.Where, r.Where, &f.Where},
		{hatchkeys.Shucks, r.Shucks, &f.Shucks}, {hatchkeys.Gills, r.Gills, &f.Gills},
		{hatchkeys.Fish, r.Fish, &f.Fish},
	} {
		if t.from != nil {
			*t.to = c.weights(t.trait, t.from)
		}
	}
}

func (c *checker) tactics(t *tactics) []string {
	for i, code := range t.codes {
		switch {
		case !slices.Contains(hatchkeys.Tactics, code):
			c.fail(t.line, "tactics: %q is not one of %v", code, hatchkeys.Tactics)
		case slices.Contains(t.codes[:i], code):
			c.fail(t.line, "tactics: %q stands twice", code)
		}
	}
	return t.codes
}

func (c *checker) span(what string, s *span, min, max float64) *hatchkeys.Range {
	r := &hatchkeys.Range{Sourced: c.source(s.line, s.Source)}
	for _, end := range []struct {
		name string
		from *float64
		to   *float64
	}{{"from", s.From, &r.From}, {"to", s.To, &r.To}} {
		if end.from == nil {
			c.fail(s.line, "%s: %s is missing", what, end.name)
			return r
		}
		*end.to = *end.from
		if !(*end.from >= min && *end.from <= max) { // also refuses what is no number
			c.fail(s.line, "%s: %s must be from %g to %g, not %g", what, end.name, min, max, *end.from)
			return r
		}
	}
	if r.From > r.To && what != "hours" { // hours may run over midnight
		c.fail(s.line, "%s: from is over to", what)
	}
	return r
}

func (c *checker) weights(t hatchkeys.Trait, w *weights) *hatchkeys.Weights {
	var sum float64
	for _, k := range slices.Sorted(maps.Keys(w.Of)) {
		sum += w.Of[k]
		if t.Index(k) < 0 {
			c.fail(w.line, "%s: %q is not one of %v", t, k, t.Values())
		}
	}
	if sum <= 0 {
		c.fail(w.line, "%s: no weight over 0", t)
	}
	return &hatchkeys.Weights{Of: w.Of, Sourced: c.source(w.line, w.Source)}
}

func (c *checker) colours(r *colours) hatchkeys.Colours {
	if len(r.Body) == 0 {
		c.fail(r.line, "colour: body is empty")
	}
	for i, h := range append([]string{r.Wing, r.Dark}, r.Body...) {
		given := h != "" || i >= 2 // wing and dark may be left out
		if given && (!colour.Valid(h) || strings.ToLower(h) != h) {
			c.fail(r.line, "colour: %q is not a lower-case hex colour such as #a98545", h)
		}
	}
	return hatchkeys.Colours{Body: r.Body, Wing: r.Wing, Dark: r.Dark, Sourced: c.source(r.line, r.Source)}
}
