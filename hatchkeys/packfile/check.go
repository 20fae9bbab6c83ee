package packfile

import (
	"fmt"
	"regexp"
	"slices"
	"time"

	"dampstone/hatchkeys"
)

// checker turns raw hatches into checked ones and gathers what is wrong.
type checker struct {
	file    string
	sources map[string]hatchkeys.Source
	used    map[string]bool
	errs    []error
}

func (c *checker) fail(line int, format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf("%s:%d: %s", c.file, line, fmt.Sprintf(format, args...)))
}

func (c *checker) source(line int, id string) hatchkeys.Sourced {
	if _, ok := c.sources[id]; !ok {
		if id == "" {
			c.fail(line, "no source; write source: ID with an id from %s", sourcesFile)
		} else {
			c.fail(line, "source %q is not in %s", id, sourcesFile)
		}
	}
	c.used[id] = true
	return hatchkeys.Sourced{Source: id}
}

func (c *checker) hatch(r *rawHatch, defaults map[string]rawForm) *hatchkeys.Hatch {
	h := &hatchkeys.Hatch{
		ID: r.ID, Scientific: r.Scientific, Group: r.Group, Names: r.Name, Like: r.Like,
		Abundance: r.Abundance, Travels: r.Travels,
	}
	if r.Scientific == "" {
		c.fail(1, "scientific is empty")
	}
	if !slices.Contains(hatchkeys.Groups, r.Group) {
		c.fail(1, "group %q is not one of %v", r.Group, hatchkeys.Groups)
	}
	switch {
	case r.Like != "" && !slices.Contains(hatchkeys.Likes, r.Like):
		c.fail(1, "like %q is not one of %v", r.Like, hatchkeys.Likes)
	case r.Like == "" && r.Group == hatchkeys.Terrestrial:
		c.fail(1, "like is missing; a land insect needs one of %v", hatchkeys.Likes)
	}
	for _, lang := range []string{"en", "es"} {
		if r.Name[lang] == "" {
			c.fail(1, "name has no %q", lang)
		}
	}
	if !(r.Abundance > 0 && r.Abundance <= 5) {
		c.fail(1, "abundance must be over 0 and at most 5")
	}
	if len(r.Season) == 0 {
		c.fail(1, "season is empty")
	}
	for i, s := range r.Season {
		h.Season = append(h.Season, c.season(i, s))
	}
	if r.Waters == nil {
		c.fail(1, "waters is missing")
	} else {
		h.Waters = *c.weights(hatchkeys.Water, r.Waters)
		for k, w := range r.Waters.Of {
			if w > 1 {
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
		c.fail(1, "forms is empty")
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
		if _, err := time.Parse("01-02", d); err != nil {
			c.fail(1, "season %d: %q is not a month and day such as 07-20", i+1, d)
		}
	}
	if s.Weight == 0 {
		s.Weight = 1
	}
	if !(s.Weight > 0 && s.Weight <= 1) {
		c.fail(1, "season %d: weight must be over 0 and at most 1", i+1)
	}
	return hatchkeys.Season{From: s.From, To: s.To, Weight: s.Weight, Sourced: c.source(1, s.Source)}
}

func (c *checker) form(g hatchkeys.Group, r *rawForm, defaults map[string]rawForm) hatchkeys.Form {
	d, ok := defaults[string(g)+"/"+string(r.Stage)]
	if !ok {
		c.fail(r.line, "no defaults for %s/%s in %s", g, r.Stage, defaultsFile)
	}
	if !slices.Contains(hatchkeys.Stages, r.Stage) {
		c.fail(r.line, "stage %q is not one of %v", r.Stage, hatchkeys.Stages)
	}
	f := hatchkeys.Form{ID: string(r.Stage), Stage: r.Stage, Sex: r.Sex, Share: 1, Fed: 0.5}
	switch r.Sex {
	case "":
	case "male", "female":
		f.ID += "-" + r.Sex
	default:
		c.fail(r.line, "sex must be male, female or left out, not %q", r.Sex)
	}
	for _, from := range []*rawForm{&d, r} { // the form's own values win
		if from.Share != nil {
			f.Share = *from.Share
		}
		if from.Fed != nil {
			f.Fed = *from.Fed
		}
		if from.Tactics != nil {
			f.Tactics = from.Tactics
		}
		if from.Hours != nil {
			f.Hours = c.span("hours", from.Hours, 0, 24)
		}
		for _, t := range []struct {
			trait hatchkeys.Trait
			from  *weights
			to    **hatchkeys.Weights
		}{
			{hatchkeys.Wings, from.Wings, &f.Wings}, {hatchkeys.Tails, from.Tails, &f.Tails},
			{hatchkeys.Doing, from.Doing, &f.Doing}, {hatchkeys.Where, from.Where, &f.Where},
			{hatchkeys.Shucks, from.Shucks, &f.Shucks}, {hatchkeys.Gills, from.Gills, &f.Gills},
			{hatchkeys.Fish, from.Fish, &f.Fish},
		} {
			if t.from != nil {
				*t.to = c.weights(t.trait, t.from)
			}
		}
	}
	if !(f.Share > 0 && f.Share <= 100) {
		c.fail(r.line, "share must be over 0 and at most 100")
	}
	if !(f.Fed >= 0 && f.Fed <= 1) {
		c.fail(r.line, "fed must be from 0 to 1")
	}
	if r.Length == nil {
		c.fail(r.line, "length is missing")
	} else if l := c.span("length", r.Length, 0.5, 90); l != nil {
		f.Length = *l
	}
	if r.Colour == nil {
		c.fail(r.line, "colour is missing")
	} else {
		f.Colour = c.colours(r.Colour)
	}
	return f
}

func (c *checker) span(what string, s *span, min, max float64) *hatchkeys.Range {
	r := s.rang()
	r.Sourced = c.source(s.line, s.Source)
	backwards := r.From > r.To && what != "hours" // hours may run over midnight
	if backwards || r.From < min || r.To > max || r.From > max || r.To < min {
		c.fail(s.line, "%s: want from and to within %g to %g, from first", what, min, max)
	}
	return &r
}

func (c *checker) weights(t hatchkeys.Trait, w *weights) *hatchkeys.Weights {
	var sum float64
	for k, x := range w.Of {
		sum += x
		if t.Index(k) < 0 {
			c.fail(w.line, "%s: %q is not one of %v", t, k, t.Values())
		}
	}
	if sum <= 0 {
		c.fail(w.line, "%s: no weight over 0", t)
	}
	return &hatchkeys.Weights{Of: w.Of, Sourced: c.source(w.line, w.Source)}
}

var hexColour = regexp.MustCompile(`^#[0-9a-f]{6}$`)

func (c *checker) colours(r *colours) hatchkeys.Colours {
	if len(r.Body) == 0 {
		c.fail(r.line, "colour: body is empty")
	}
	for _, h := range append([]string{r.Wing, r.Dark}, r.Body...) {
		if h != "" && !hexColour.MatchString(h) {
			c.fail(r.line, "colour: %q is not a lower-case hex colour such as #a98545", h)
		}
	}
	return hatchkeys.Colours{Body: r.Body, Wing: r.Wing, Dark: r.Dark, Sourced: c.source(r.line, r.Source)}
}
