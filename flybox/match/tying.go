package match

import (
	"math"
	"slices"

	"dampstone/flybox"
	"dampstone/hatchkeys/colour"
)

var shortWingStyle = slices.Index(flybox.Styles, flybox.ShortWingStone)

// Tying is a fly to tie for a quarry, for the bench to start from.
type Tying struct {
	// Again is the id of a pattern that would do and is used up: tie more of
	// it. Otherwise empty.
	Again string
	// From is the revision of the own fly that comes nearest, to revise; may
	// be empty.
	From     string
	Style    flybox.Style
	Hook     int     // size number; 0 if the length is not known
	XL       int     // long shank, in single sizes: 2 for "2X long"
	Shank    float64 // the same as a multiple of the standard shank
	LengthMM float64 // overall, 0 if not known
	Body     string  // #rrggbb; empty if not known
	Wing     string
	Floats   flybox.Float
	Wings    flybox.Posture
}

// Pattern is a pattern to be filled in and recorded, with what is known.
func (t Tying) Pattern() flybox.Pattern {
	return flybox.Pattern{Parent: t.From, Style: t.Style, Hook: t.Hook, Shank: t.Shank, Length: t.LengthMM,
		Body: t.Body, Wing: t.Wing, Floats: t.Floats, Wings: t.Wings}
}

// SuggestTying is what to tie for a quarry, whatever is in the boxes.
func SuggestTying(q *CompiledQuarry) Tying { return suggest(q, nil) }

func suggest(q *CompiledQuarry, matches []Match) Tying {
	for _, m := range matches { // best first
		if m.Fits {
			f := m.Fly
			return Tying{Again: f.ID, From: f.Rev, Style: f.Style, Hook: f.Hook, Shank: f.Shank, LengthMM: m.LengthMM,
				Body: f.Body, Wing: f.Wing, Floats: floatsOf(f.Pattern), Wings: wingsOf(f.Pattern)}
		}
	}
	t := Tying{LengthMM: q.Quarry.LengthMM, Wing: q.Quarry.Wing}
	for _, hex := range q.Quarry.Colours {
		if colour.Valid(hex) {
			t.Body = hex
			break
		}
	}
	// The style that would do best if all else were right.
	best := -1.0
	for _, style := range flybox.Styles {
		f := CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: flybox.Pattern{Style: style, Length: t.LengthMM, Body: t.Body, Wing: t.Wing}}})
		if s := Score(&f, q); s > best+1e-12 {
			best, t.Style = s, style
		}
	}
	t.Floats, t.Wings = builds[t.Style].floats, builds[t.Style].wings
	if t.LengthMM > 0 {
		t.Hook, t.XL = hookFor(t.LengthMM, t.Style)
		t.Shank = XLong(t.XL)
	}
	nearest := -1.0
	for _, m := range matches {
		if m.Fly.Style == t.Style && m.Score > nearest {
			nearest, t.From = m.Score, m.Fly.Rev
		}
	}
	return t
}

// hookFor is the even hook size, with the shank that is usual for the style,
// whose fly comes nearest to a length in mm. Where the largest hook is too
// short a longer shank is taken.
func hookFor(mm float64, style flybox.Style) (size, xl int) {
	b := builds[style]
	misfit := func(size, xl int) float64 {
		return math.Abs(math.Log(ShankMM(size, XLong(xl)) * b.over / mm))
	}
	size, xl = flybox.MaxHook, b.xl
	for s := flybox.MinHook; s <= flybox.MaxHook; s += 2 {
		if misfit(s, xl) < misfit(size, xl) {
			size = s
		}
	}
	for size == flybox.MinHook && xl < 6 && misfit(size, xl+1) < misfit(size, xl) {
		xl++
	}
	return size, xl
}
