package hatchkeys

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"dampstone/hatchkeys/colour"
)

// A local hatch is one that a reader adds to a pack for their own water. It is
// written as a Hatch of a compiled pack is, save that most may be left out:
// what its forms do not say is taken from the defaults of group and stage.

const (
	// LocalPrefix begins the id of a local hatch in a key, so that it never is
	// that of a pack's hatch.
	LocalPrefix = "own-"
	// OwnSource is the id of the source of everything that a reader gave.
	OwnSource = "own"
	// OwnStanding is the standing of that source.
	OwnStanding = "own-observation"
)

// Bounds of a local hatch.
const (
	MaxLocalBytes   = 8 << 10 // as JSON
	MaxLocalName    = 120     // characters
	MaxLocalForms   = 6
	MaxLocalSpells  = 4 // of the year
	MaxLocalColours = 6
	MaxAbundance    = 5.0
	// The lengths that a pack may hold, in mm.
	MinFormMM, MaxFormMM = 0.5, 90.0
)

// ParseLocal reads a local hatch and says what is wrong with it, one BadAnswer
// each; the hatch is nil if anything is. Fields of forms are named like
// "forms.1.length". Codes of BadAnswer are "not-json", "required", "too-long",
// "control-character", "unknown-value", "out-of-range", "not-a-date",
// "not-a-colour" and "does-not-add-up" (a range that ends before it starts, or
// the same form twice).
//
// Fields that are not known, and codes of traits, tactics and looks that are
// not, are passed over: a newer version may have written them. Groups and
// stages must be known. Every value has OwnSource, whatever the text says.
func ParseLocal(raw []byte) (*Hatch, []*BadAnswer) {
	if len(raw) > MaxLocalBytes {
		return nil, []*BadAnswer{{Field: "hatch", Value: strconv.Itoa(len(raw)), Code: "too-long", Max: MaxLocalBytes}}
	}
	var h *Hatch
	if err := json.Unmarshal(raw, &h); err != nil || h == nil {
		return nil, []*BadAnswer{{Field: "hatch", Code: "not-json"}}
	}
	var c localCheck
	c.hatch(h)
	if len(c.bad) > 0 {
		return nil, c.bad
	}
	h.Local = true
	return h, nil
}

// localCheck cleans a local hatch and gathers what is wrong with it.
type localCheck struct{ bad []*BadAnswer }

func (c *localCheck) fail(field, value, code string) {
	c.bad = append(c.bad, &BadAnswer{Field: field, Value: value, Code: code})
}

// number also refuses what is no number.
func (c *localCheck) number(field string, x, min, max float64) {
	if !(x >= min && x <= max) {
		c.bad = append(c.bad, &BadAnswer{Field: field, Value: strconv.FormatFloat(x, 'g', -1, 64), Code: "out-of-range", Min: min, Max: max})
	}
}

// most bounds how many there are, and how few.
func (c *localCheck) most(field string, n, min, max int) {
	if n < min {
		c.fail(field, "", "required")
	}
	if n > max {
		c.bad = append(c.bad, &BadAnswer{Field: field, Value: strconv.Itoa(n), Code: "out-of-range", Min: float64(min), Max: float64(max)})
	}
}

func (c *localCheck) text(field string, s *string) {
	*s = strings.TrimSpace(*s)
	if n := utf8.RuneCountInString(*s); n > MaxLocalName {
		c.bad = append(c.bad, &BadAnswer{Field: field, Value: strconv.Itoa(n), Code: "too-long", Max: MaxLocalName})
	}
	if strings.ContainsFunc(*s, unicode.IsControl) {
		c.fail(field, "", "control-character")
	}
}

func (c *localCheck) hatch(h *Hatch) {
	c.text("scientific", &h.Scientific)
	names := map[string]string{}
	for lang, name := range h.Names {
		c.text("name", &name)
		if name != "" {
			names[lang] = name
		}
	}
	c.most("name", len(names), 1, 8)
	for _, lang := range slices.Sorted(maps.Keys(names)) {
		if names["en"] == "" { // what Hatch.Name falls back to
			names["en"] = names[lang]
		}
	}
	h.Names = names
	if !slices.Contains(Groups, h.Group) {
		c.choice("group", string(h.Group))
	}
	h.Land = "" // the entry names its region
	if !slices.Contains(Likes, h.Like) {
		h.Like = ""
	}
	if h.Abundance == 0 {
		h.Abundance = 1
	}
	c.number("abundance", h.Abundance, 0.001, MaxAbundance)
	c.most("season", len(h.Season), 1, MaxLocalSpells)
	for i := range h.Season {
		c.season(&h.Season[i])
	}
	if w := c.weights(Water, "waters", &h.Waters); w != nil {
		h.Waters = *w
	} else {
		h.Waters = Weights{}
	}
	c.span("water_c", h.WaterC, MinWaterC, MaxWaterC, false)
	h.Trend = c.weights(Trend, "trend", h.Trend)
	c.most("forms", len(h.Forms), 1, MaxLocalForms)
	seen := map[string]bool{}
	for i := range h.Forms {
		c.form(fmt.Sprintf("forms.%d.", i), &h.Forms[i])
		if id := h.Forms[i].ID; seen[id] {
			c.fail(fmt.Sprintf("forms.%d.stage", i), id, "does-not-add-up")
		}
		seen[h.Forms[i].ID] = true
	}
}

func (c *localCheck) choice(field, got string) {
	code := "unknown-value"
	if got == "" {
		code = "required"
	}
	c.fail(field, got, code)
}

func (c *localCheck) season(s *Season) {
	s.Source = OwnSource
	for _, d := range []struct{ field, day string }{{"season.from", s.From}, {"season.to", s.To}} {
		if _, err := time.Parse(time.DateOnly, "2000-"+d.day); err != nil { // a leap year
			c.fail(d.field, d.day, "not-a-date")
		}
	}
	if s.Weight == 0 {
		s.Weight = 1
	}
	c.number("season", s.Weight, 0.001, 1)
}

func (c *localCheck) form(at string, f *Form) {
	if !slices.Contains(Stages, f.Stage) {
		c.choice(at+"stage", string(f.Stage))
	}
	f.ID = string(f.Stage)
	switch f.Sex {
	case "":
	case "male", "female":
		f.ID += "-" + f.Sex
	default:
		c.choice(at+"sex", f.Sex)
	}
	c.number(at+"share", f.Share, 0, 100) // 0: as usual
	c.number(at+"fed", f.Fed, 0, 1)       // 0: as usual
	c.span(at+"length", &f.Length, MinFormMM, MaxFormMM, false)
	c.span(at+"hours", f.Hours, 0, 24, true)
	c.colours(at+"colour", &f.Colour)
	for _, t := range []struct {
		trait Trait
		to    **Weights
	}{{Wings, &f.Wings}, {Tails, &f.Tails}, {Doing, &f.Doing}, {Where, &f.Where}, {Shucks, &f.Shucks}, {Gills, &f.Gills}, {Fish, &f.Fish}, {Looks, &f.Looks}} {
		*t.to = c.weights(t.trait, at+t.trait.String(), *t.to)
	}
	f.Tactics = slices.DeleteFunc(f.Tactics, func(code string) bool { return !slices.Contains(Tactics, code) })
}

func (c *localCheck) span(field string, r *Range, min, max float64, wraps bool) {
	if r == nil {
		return
	}
	r.Source = OwnSource
	before := len(c.bad)
	c.number(field+".from", r.From, min, max)
	c.number(field+".to", r.To, min, max)
	if len(c.bad) == before && r.To < r.From && !wraps {
		c.fail(field+".to", strconv.FormatFloat(r.To, 'g', -1, 64), "does-not-add-up")
	}
}

func (c *localCheck) colours(field string, r *Colours) {
	r.Source = OwnSource
	c.most(field, len(r.Body), 1, MaxLocalColours)
	for _, hex := range []*string{&r.Wing, &r.Dark} {
		if *hex = strings.ToLower(*hex); *hex != "" && !colour.Valid(*hex) {
			c.fail(field, *hex, "not-a-colour")
		}
	}
	for i := range r.Body {
		if r.Body[i] = strings.ToLower(r.Body[i]); !colour.Valid(r.Body[i]) {
			c.fail(field, r.Body[i], "not-a-colour")
		}
	}
}

// Weights keeps the codes that are known; nil if none has weight.
func (c *localCheck) weights(t Trait, field string, w *Weights) *Weights {
	if w == nil {
		return nil
	}
	out := &Weights{Of: map[string]float64{}, Sourced: Sourced{OwnSource}}
	for _, code := range t.Values() {
		if x := w.Of[code]; x != 0 {
			c.number(field, x, 0, 1e6)
			out.Of[code] = x
		}
	}
	if len(out.Of) == 0 {
		return nil
	}
	return out
}

// Defaults is what holds for forms of a group and stage, keys "group/stage",
// unless a hatch says otherwise.
type Defaults struct {
	Sources map[string]Source `json:"sources"`
	Forms   map[string]Form   `json:"forms"`
}

// defaults are those of the packs.
var defaults = sync.OnceValues(func() (*Defaults, error) {
	var d Defaults
	err := readBuilt("defaults", &d)
	return &d, err
})

const (
	// ownShare is how far a reader's own notes of behaviour and of shucks stand
	// against the usual ones: they are of a few days. Assumed.
	ownShare = 0.75
	// otherWater is the weight of kinds of water that a reader did not name:
	// where they looked is not where the hatch ends. Assumed.
	otherWater = 0.2
)

// complete is a local hatch with what it leaves out from the defaults.
func (d *Defaults) complete(local *Hatch) Hatch {
	h := *local
	waters := map[string]float64{}
	for _, code := range Water.Values() {
		waters[code] = 1
		if len(h.Waters.Of) > 0 {
			waters[code] = max(min(h.Waters.Of[code], 1), otherWater)
		}
	}
	h.Waters.Of = waters
	h.Forms = slices.Clone(local.Forms)
	for i := range h.Forms {
		f := &h.Forms[i]
		usual, ok := d.Forms[string(h.Group)+"/"+string(f.Stage)]
		if !ok {
			usual, ok = d.Forms[string(OtherGroup)+"/"+string(f.Stage)]
		}
		if !ok {
			usual = Form{Share: 1, Fed: 0.5}
		}
		f.fill(&usual)
	}
	return h
}

// fill takes what f leaves out from usual.
func (f *Form) fill(usual *Form) {
	if f.Share == 0 {
		f.Share = usual.Share
	}
	if f.Fed == 0 {
		f.Fed = usual.Fed
	}
	if f.Hours == nil {
		f.Hours = usual.Hours
	}
	if len(f.Tactics) == 0 {
		f.Tactics = usual.Tactics
	}
	firm := func(own **Weights, usual *Weights) {
		if *own == nil {
			*own = usual
		}
	}
	firm(&f.Wings, usual.Wings)
	firm(&f.Tails, usual.Tails)
	firm(&f.Gills, usual.Gills)
	f.Doing = f.Doing.mix(usual.Doing)
	f.Where = f.Where.mix(usual.Where)
	f.Shucks = f.Shucks.mix(usual.Shucks)
	f.Fish = f.Fish.mix(usual.Fish)
}

// mix gives w ownShare and usual the rest.
func (w *Weights) mix(usual *Weights) *Weights {
	if w == nil || usual == nil {
		if w == nil {
			return usual
		}
		return w
	}
	out := &Weights{Of: map[string]float64{}, Sourced: w.Sourced}
	for _, part := range []struct {
		of    map[string]float64
		share float64
	}{{w.Of, ownShare}, {usual.Of, 1 - ownShare}} {
		var sum float64
		for _, code := range slices.Sorted(maps.Keys(part.of)) {
			sum += part.of[code]
		}
		for code, x := range part.of {
			out.Of[code] += part.share * x / sum
		}
	}
	return out
}

// WithLocal is the key of the pack with local hatches after its own, in the
// order given. Their ids, which the caller sets, must be unique and begin with
// LocalPrefix. The error names a hatch that ParseLocal would have refused.
func (k *Key) WithLocal(local []*Hatch) (*Key, error) {
	if len(local) == 0 {
		return k, nil
	}
	d, err := defaults()
	if err != nil {
		return nil, err
	}
	p := &Pack{ID: k.Pack.ID, Sources: maps.Clone(k.Pack.Sources), Hatches: slices.Clone(k.Pack.Hatches)}
	maps.Copy(p.Sources, d.Sources)
	p.Sources[OwnSource] = Source{Standing: OwnStanding}
	for _, h := range local {
		if !strings.HasPrefix(h.ID, LocalPrefix) || slices.ContainsFunc(p.Hatches, func(x Hatch) bool { return x.ID == h.ID }) {
			return nil, fmt.Errorf("local hatch %q: the id is not its own", h.ID)
		}
		p.Hatches = append(p.Hatches, d.complete(h))
	}
	return NewKey(p)
}
