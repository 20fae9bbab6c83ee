package match

import (
	"math"
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

var (
	shortWingStyle = slices.Index(flybox.Styles, flybox.ShortWingStone)
	spentStyle     = slices.Index(flybox.Styles, flybox.SpentSpinner)
)

// Tying is a fly to tie for a quarry, for the bench to start from.
type Tying struct {
	// Again is the id of a pattern that would do and is used up: tie more of
	// it. Otherwise empty.
	Again journal.ID
	// From is the revision of the own fly that comes nearest, to revise; may
	// be empty.
	From     journal.ID
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

// SuggestTying is what to tie for a quarry, whatever is in the boxes. ok is
// false where no hook that is tied on would carry a fly for it.
func SuggestTying(q *CompiledQuarry) (t Tying, ok bool) { return suggest(q, nil) }

func suggest(q *CompiledQuarry, matches []Match) (Tying, bool) {
	for _, m := range matches { // best first
		if m.Fits {
			f := m.Fly
			return Tying{Again: f.ID, From: f.Rev, Style: f.Style, Hook: f.Hook, Shank: f.Shank, LengthMM: m.LengthMM,
				Body: f.Body, Wing: f.Wing, Floats: FloatsOf(f.Pattern), Wings: wingsOf(f.Pattern)}, true
		}
	}
	t := Tying{LengthMM: Middle(q.Quarry.Length), Wing: q.Quarry.Wing}
	if best, _ := q.nearest(&CompiledFly{}); best != nil {
		t.Body = best.hex
	}
	// The style that does best on the hook that suits it, all else being right.
	best, want, found := -1.0, t.LengthMM, false
	for _, style := range flybox.Styles {
		p := flybox.Pattern{Style: style, Body: t.Body, Wing: t.Wing}
		xl := 0
		if q.counts[partLength] {
			p.Hook, xl = hookFor(want, style)
			p.Shank = XLong(xl)
		}
		f := CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}})
		score, fits := Fit(&f, q)
		if !q.counts[partLength] {
			score, fits = Score(&f, q), true // of unknown size
		}
		if fits && score > best+1e-12 {
			best, found = score, true
			t.Style, t.Hook, t.XL, t.Shank, t.LengthMM = style, p.Hook, xl, p.Shank, f.mm
		}
	}
	if !found {
		return Tying{}, false
	}
	t.Floats, t.Wings = builds[t.Style].floats, builds[t.Style].wings
	nearest := -1.0
	for _, m := range matches {
		if m.Fly.Style == t.Style && m.Score > nearest {
			nearest, t.From = m.Score, m.Fly.Rev
		}
	}
	return t, true
}

// hookFor is the even hook size, among those on which the style is tied and
// with the shank that is usual for it, whose fly comes nearest to a length in
// mm. Where the largest is too short a shank up to 2 sizes longer is taken.
func hookFor(mm float64, style flybox.Style) (size, xl int) {
	b := builds[style]
	misfit := func(size, xl int) float64 {
		return math.Abs(math.Log(ShankMM(size, XLong(xl)) * b.over / mm))
	}
	size, xl = b.smallest, b.xl
	for s := b.largest; s <= b.smallest; s += 2 {
		if misfit(s, xl) < misfit(size, xl) {
			size = s
		}
	}
	for size == b.largest && xl > 0 && xl < b.xl+2 && misfit(size, xl+1) < misfit(size, xl) {
		xl++
	}
	return size, xl
}
