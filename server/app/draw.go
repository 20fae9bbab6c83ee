package app

import (
	"io"

	"dampstone/flybox"
	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/draw"
)

// insect draws a form at true size, or scaled to fit px wide if px is over 0.
func insect(h *hatchkeys.Hatch, f *hatchkeys.Form, v views.Page, title string) views.Drawing {
	if h == nil || f == nil {
		return nil
	}
	i := draw.Insect{
		Group: string(h.Group), Stage: string(f.Stage), Wings: likeliest(f.Wings, hatchkeys.Wings), LengthMM: middle(f.Length),
		Tails: tailCount(f.Tails), Body: first(f.Colour.Body), Wing: f.Colour.Wing, Dark: f.Colour.Dark,
		Gills: likeliest(f.Gills, hatchkeys.Gills) == "yes",
	}
	if h.Like != "" {
		i.Group = h.Like
	}
	opt := draw.Options{PxPerMM: v.Scale(), Title: title}
	return func(w io.Writer) error { return i.SVG(w, opt) }
}

// flyDrawing draws a fly at true size.
func flyDrawing(p flybox.Pattern, v views.Page, title string) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: v.Scale(), Title: title}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

// flyMark draws a fly about as wide as a slot of a box, whatever its size.
func flyMark(p flybox.Pattern) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: 36 / max(f.LengthMM, 6), Class: "icon"}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

// flyLarge draws a fly large enough to know it at a glance, whatever its size.
func flyLarge(p flybox.Pattern, title string) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: 96 / max(f.LengthMM, 4), Title: title}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

func flyOf(p flybox.Pattern) draw.Fly {
	mm, _ := p.LengthMM()
	return draw.Fly{
		Style: string(p.Style), Hook: p.Hook, LengthMM: mm,
		Body: p.Body, Wing: p.Wing, Under: p.Under, Floats: string(p.Floats),
	}
}

// middle of a range of lengths.
func middle(r hatchkeys.Range) float64 { return (r.From + r.To) / 2 }

func first(s []string) string {
	if len(s) == 0 {
		return ""
	}
	return s[0]
}

// likeliest value of a trait, "" where nothing is said.
func likeliest(w *hatchkeys.Weights, t hatchkeys.Trait) string {
	if w == nil {
		return ""
	}
	best, top := "", 0.0
	for _, v := range t.Values() { // in a fixed order
		if w.Of[v] > top {
			best, top = v, w.Of[v]
		}
	}
	return best
}

func tailCount(w *hatchkeys.Weights) int {
	switch likeliest(w, hatchkeys.Tails) {
	case "2":
		return 2
	case "3":
		return 3
	}
	return 0
}

func drawn(i draw.Insect, opt draw.Options) views.Drawing {
	return func(w io.Writer) error { return i.SVG(w, opt) }
}
