// Package packtext writes a hatch as a file of a pack, to start a contribution
// from.
package packtext

import (
	"encoding/json"
	"fmt"
	"strings"

	"dampstone/hatchkeys"
)

// PackText is a local hatch as a hand-edited pack file, to start a
// contribution from: what its reader gave, every value with the source that is
// to be written for it. id is that of the hatch and the name of the file.
func PackText(h *hatchkeys.Hatch, id string) string {
	w := packWriter{source: "own-" + id}
	w.line("# packs/REGION/%s.yaml. Every value needs a source that others can check.", id)
	w.line("# Put this into packs/sources, with who saw it, where and when:")
	w.line("# %s: {cite: \"…\", standing: common-practice}", w.source)
	w.line("id: %s", id)
	w.line("scientific: %s", quoted(h.Scientific))
	w.line("group: %s", h.Group)
	if h.Land != "" {
		w.line("land: %s", h.Land)
	}
	if h.Like != "" {
		w.line("like: %s", h.Like)
	}
	w.line("name: {en: %s, es: %s}", quoted(h.Name("en")), quoted(h.Name("es")))
	w.line("abundance: %g", h.Abundance)
	w.line("season:")
	for _, s := range h.Season {
		w.line("  - {from: %s, to: %s, weight: %g, source: %s}", s.From, s.To, s.Weight, w.source)
	}
	if len(h.Waters.Of) > 0 {
		w.weights("", hatchkeys.Water, "waters", &h.Waters)
	} else {
		w.line("waters: {freestone: 1, source: %s} # say which kinds of water", w.source)
	}
	if h.WaterC != nil {
		w.span("", "water_c", *h.WaterC)
	}
	if h.Trend != nil {
		w.weights("", hatchkeys.Trend, "trend", h.Trend)
	}
	w.line("forms:")
	for i := range h.Forms {
		w.form(&h.Forms[i])
	}
	return w.b.String()
}

type packWriter struct {
	b      strings.Builder
	source string
}

func (w *packWriter) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

func (w *packWriter) span(indent, key string, r hatchkeys.Range) {
	w.line("%s%s: {from: %g, to: %g, source: %s}", indent, key, r.From, r.To, w.source)
}

func (w *packWriter) weights(indent string, t hatchkeys.Trait, key string, weights *hatchkeys.Weights) {
	var parts []string
	for _, code := range t.Values() {
		if x := weights.Of[code]; x > 0 {
			if t == hatchkeys.Water {
				x = min(x, 1)
			}
			parts = append(parts, fmt.Sprintf("%s: %g", code, x))
		}
	}
	w.line("%s%s: {%s, source: %s}", indent, key, strings.Join(parts, ", "), w.source)
}

func (w *packWriter) form(f *hatchkeys.Form) {
	const in = "    "
	w.line("  - stage: %s", f.Stage)
	if f.Sex != "" {
		w.line(in+"sex: %s", f.Sex)
	}
	if f.Share > 0 {
		w.line(in+"share: %g", f.Share)
	}
	if f.Fed > 0 {
		w.line(in+"fed: %g", f.Fed)
	}
	w.span(in, "length", f.Length)
	var body []string
	for _, hex := range f.Colour.Body {
		body = append(body, quoted(hex))
	}
	more := ""
	if f.Colour.Wing != "" {
		more += ", wing: " + quoted(f.Colour.Wing)
	}
	if f.Colour.Dark != "" {
		more += ", dark: " + quoted(f.Colour.Dark)
	}
	w.line(in+"colour: {body: [%s]%s, source: %s}", strings.Join(body, ", "), more, w.source)
	if f.Hours != nil {
		w.span(in, "hours", *f.Hours)
	}
	for _, t := range hatchkeys.Traits {
		if weights := f.Weights(t); weights != nil && t != hatchkeys.Looks { // follows from group and wings
			w.weights(in, t, t.String(), weights)
		}
	}
	if len(f.Tactics) > 0 {
		w.line(in+"tactics: [%s]", strings.Join(f.Tactics, ", "))
	}
}

// quoted writes a text between double quotes, as YAML reads it too.
func quoted(s string) string {
	raw, err := json.Marshal(s)
	if err != nil {
		return `""` // a string always has its JSON
	}
	return string(raw)
}

// Slug makes an id for a pack from a name: lower-case letters and digits with
// hyphens between, "hatch" if there are none.
func Slug(name string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z', '0' <= r && r <= '9':
			return r
		}
		return ' '
	}, strings.ToLower(name))
	if out = strings.Join(strings.Fields(out), "-"); out == "" {
		return "hatch"
	}
	return out
}
