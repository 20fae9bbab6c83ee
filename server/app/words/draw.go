// Package words says the domain in words, links and drawings for the views.
package words

import (
	"io"

	"dampstone/flybox"
	"dampstone/flybox/match"
	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/draw"
)

// Examples are insects that show a value, for the chips.
var Examples = map[hatchkeys.Trait]map[string]draw.Insect{
	hatchkeys.Wings: {
		"upright":    {Group: "mayfly", Stage: "dun", Wings: "upright", Tails: 3},
		"flat":       {Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2},
		"roof":       {Group: "caddis", Stage: "adult", Wings: "roof"},
		"short":      {Group: "stonefly", Stage: "adult", Wings: "short", Tails: 2},
		"none":       {Group: "stonefly", Stage: "nymph", Wings: "none", Tails: 2},
		"clear-pair": {Group: "midge", Stage: "adult", Wings: "clear-pair"},
		"spread":     {Group: "mayfly", Stage: "spent", Wings: "spread", Tails: 3},
	},
	hatchkeys.Looks: {
		"stonefly": {Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2},
		"mayfly":   {Group: "mayfly", Stage: "dun", Wings: "upright", Tails: 3},
		"caddis":   {Group: "caddis", Stage: "adult", Wings: "roof"},
		"fly":      {Group: "midge", Stage: "adult", Wings: "clear-pair"},
		"damsel":   {Group: "damsel", Stage: "adult"},
		"hopper":   {Group: "hopper", Stage: "adult"},
		"beetle":   {Group: "beetle", Stage: "adult"},
		"ant":      {Group: "ant", Stage: "adult"},
	},
}

// Mark draws an example of one size for all.
func Mark(i draw.Insect) views.Drawing {
	i.LengthMM = 12
	return Drawn(i, draw.Options{PxPerMM: 3, Class: "icon"})
}

// Insect draws a form at true size, or scaled to fit px wide if px is over 0.
func Insect(h *hatchkeys.Hatch, f *hatchkeys.Form, v views.Page, title string) views.Drawing {
	if h == nil || f == nil {
		return nil
	}
	i := draw.Insect{
		Group: string(h.Group), Stage: string(f.Stage), Wings: f.Wings.Likeliest(hatchkeys.Wings), LengthMM: match.Middle(f.Length),
		Tails: tailCount(f.Tails), Body: first(f.Colour.Body), Wing: f.Colour.Wing, Dark: f.Colour.Dark,
		Gills: f.Gills.Likeliest(hatchkeys.Gills) == "yes",
	}
	if h.Like != "" {
		i.Group = h.Like
	}
	opt := draw.Options{PxPerMM: v.Scale(), Title: title}
	return func(w io.Writer) error { return i.SVG(w, opt) }
}

// FlyDrawing draws a fly at true size.
func FlyDrawing(p flybox.Pattern, v views.Page, title string) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: v.Scale(), Title: title}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

// FlyMark draws a fly about as wide as a slot of a box, whatever its size.
func FlyMark(p flybox.Pattern) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: 36 / max(f.LengthMM, 6), Class: "icon"}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

// FlyLarge draws a fly large enough to know it at a glance, whatever its size.
func FlyLarge(p flybox.Pattern, title string) views.Drawing {
	f := flyOf(p)
	opt := draw.Options{PxPerMM: 96 / max(f.LengthMM, 4), Title: title, Class: "mark"}
	return func(w io.Writer) error { return f.SVG(w, opt) }
}

func flyOf(p flybox.Pattern) draw.Fly {
	mm, _ := match.LengthMM(p)
	gape := 0.0
	if p.Hook > 0 {
		gape = match.GapeMM(p.Hook)
	}
	return draw.Fly{
		Style: string(p.Style), GapeMM: gape, LengthMM: mm,
		Body: p.Body, Wing: p.Wing, Under: p.Under, Floats: string(p.Floats),
		Bead: string(p.Bead), BeadMM: p.BeadMM,
	}
}

func first(s []string) string {
	if len(s) == 0 {
		return ""
	}
	return s[0]
}

func tailCount(w *hatchkeys.Weights) int {
	switch w.Likeliest(hatchkeys.Tails) {
	case "2":
		return 2
	case "3":
		return 3
	}
	return 0
}

func Drawn(i draw.Insect, opt draw.Options) views.Drawing {
	return func(w io.Writer) error { return i.SVG(w, opt) }
}
