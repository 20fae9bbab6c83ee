package words

import (
	"cmp"
	"net/url"
	"slices"

	"dampstone/hatchkeys/colour"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
)

// FlyLines ranks own flies for a form as it was seen, and says what to tie
// where none fits.
func FlyLines(a *caches.Caches, page views.Page, s *flybox.State, b *caches.BoxFlies, h *hatchkeys.Hatch, f *hatchkeys.Form, seen match.Observation, most int) ([]views.FlyLine, *views.TieView) {
	form := results.Form{Hatch: h.ID, Form: f.ID}
	own := b.Own(form)
	q := match.CompileQuarry(match.Of(h, f).As(seen))
	rank := match.RankBy(b.Compiled, &q, own.Weight)
	var out []views.FlyLine
	for _, m := range rank.Matches {
		if len(out) == most || !m.Usable() && m.Score < leastShown {
			break
		}
		out = append(out, fullLine(a, page, s, m, own, form))
	}
	if rank.Tie == nil || b.Len() == 0 {
		return out, nil
	}
	t := TieView(page, *rank.Tie, rank.NoneLeft)
	return out, &t
}

// ReadingFlies ranks own flies over a whole reading, each with the insect that
// it stands for where that is not the leading one, and says what to tie for
// the leading one where no fly fits.
func ReadingFlies(a *caches.Caches, page views.Page, s *flybox.State, b *caches.BoxFlies, r *hatchkeys.Reading, lead *hatchkeys.Ranked, most int) ([]views.FlyLine, *views.TieView) {
	if b.Len() == 0 {
		return nil, nil
	}
	over := caches.Whole(b.Key, r)
	var out []views.FlyLine
	usable := false
	for _, e := range b.Rank(&over) {
		usable = usable || e.Usable() && !e.NoneLeft
		if len(out) == most || !e.Usable() && e.Score < leastShown {
			break
		}
		h, f := over.At(e.At)
		form := results.Form{Hatch: h.ID, Form: f.ID}
		line := fullLine(a, page, s, e.Match, b.Own(form), form)
		if h != lead.Hatch || f != lead.Form {
			line.For = page.T.F("fit.for", catalog.Data{"Name": h.Name(page.T.Lang), "Form": FormName(page.T, h, f)})
		}
		out = append(out, line)
	}
	if usable {
		return out, nil
	}
	_, tie := FlyLines(a, page, s, b, lead.Hatch, lead.Form, caches.SeenOf(&r.Evidence, lead.Hatch, lead.Form), 0)
	return out, tie
}

// fullLine is a fly with how it fits, what fish did to it, and the button that
// fishes it.
func fullLine(a *caches.Caches, page views.Page, s *flybox.State, m match.Match, own caches.OwnResults, form results.Form) views.FlyLine {
	line := matchLine(a, page, s, m)
	if c := own.Counts[m.Fly.Rev]; c.Fish() > 0 {
		line.Own = page.T.F("own.results", catalog.Data{"Counts": CountText(page.T, c)})
	}
	if m.Usable() && !m.NoneLeft {
		fish := a.Button("/day/fly", page.T.S("day.fish"), [2]string{"fly", string(m.Fly.ID)}, [2]string{"hatch", form.Hatch}, [2]string{"stage", form.Form})
		line.Fish = &fish
	}
	return line
}

// leastShown: flies that score less are no use to show.
const leastShown = 0.3

func matchLine(a *caches.Caches, page views.Page, s *flybox.State, m match.Match) views.FlyLine {
	line := FlyLine(page, s, m.Fly)
	line.Fit = page.T.F("fit.percent", catalog.Data{"Word": page.T.S(FitWord(m)), "Percent": Percent(page, m.Score)})
	line.Advice = advice(page, m)
	line.Places = nil
	for _, pl := range s.Places(m.Fly.ID) {
		if pl.Count == 0 {
			continue
		}
		p := views.PlaceLine{Where: PlaceText(page.T, pl), Count: screen.Itoa(pl.Count)}
		if pl.Place != flybox.Loose && pl.Count > 0 {
			take := a.Button(FlyHref(m.Fly.ID)+"/move", page.T.S("do.take"), append(PlaceFields(pl.Place), [2]string{"do", "take"})...)
			p.Take = &take
		}
		line.Places = append(line.Places, p)
	}
	return line
}

func FitWord(m match.Match) string {
	switch {
	case m.Fits && m.Score >= 0.85:
		return "fit.5"
	case m.Fits:
		return "fit.4"
	case m.Usable():
		return "fit.3"
	case m.Score >= 0.45:
		return "fit.2"
	}
	return "fit.1"
}

// advice is what scissors or a pen can do, or what is wrong.
func advice(page views.Page, m match.Match) []string {
	t := page.T
	var out []string
	for _, c := range m.Changes {
		out = append(out, ChangeText(page, c))
	}
	if m.Usable() {
		return out
	}
	for _, p := range m.Parts {
		if p.Score >= match.FitPart {
			continue
		}
		switch p.Code {
		case match.PartLength:
			if p.HaveMM > 0 && p.HaveMM < p.WantMM {
				out = append(out, t.F("advice.longer", catalog.Data{"Length": page.U.Length(p.WantMM - p.HaveMM)}))
			} else if p.HaveMM > 0 {
				out = append(out, t.F("advice.shorter", catalog.Data{"Length": page.U.Length(p.HaveMM - p.WantMM)}))
			}
		case match.PartShape, match.PartColour, match.PartFloats, match.PartWings:
			out = append(out, t.S("misfit."+p.Code))
		}
	}
	return out
}

// ChangeText says what to do to a fly.
func ChangeText(page views.Page, c match.Change) string {
	return page.T.F("advice."+c.Code, catalog.Data{"Length": page.U.Length(c.MM), "Colour": ColourName(page.T, c.Colour)})
}

// ColourName is the offered colour nearest to hex, in words.
func ColourName(t *catalog.Text, hex string) string {
	c, ok := colour.Parse(hex)
	if !ok {
		return hex
	}
	best := slices.MinFunc(hatchkeys.Swatches, func(a, b hatchkeys.Swatch) int {
		x, _ := colour.Parse(a.Hex)
		y, _ := colour.Parse(b.Hex)
		return cmp.Compare(colour.DeltaE(c, x), colour.DeltaE(c, y))
	})
	return t.S("colour." + best.Name)
}

// TieView is what to tie, with a form filled in to enter it.
func TieView(page views.Page, y match.Tying, noneLeft bool) views.TieView {
	t := page.T
	v := views.TieView{Sentence: t.S("tie.none")}
	if noneLeft {
		v.Sentence = t.S("tie.spent")
	}
	style := t.S("style." + string(y.Style))
	if y.Hook > 0 {
		style = t.F("tie.style", catalog.Data{"Style": style, "Hook": y.Hook})
		if y.XL > 0 {
			style += ", " + t.F("fly.shank.long", catalog.Data{"N": y.XL})
		}
	}
	v.Lines = append(v.Lines, style)
	if y.LengthMM > 0 {
		v.Lines = append(v.Lines, t.F("tie.length", catalog.Data{"Length": page.U.Length(y.LengthMM)}))
	}
	if y.Body != "" {
		v.Lines = append(v.Lines, t.F("tie.colour", catalog.Data{"Colour": ColourName(t, y.Body)}))
	}
	v.Lines = append(v.Lines, t.S("floats."+string(y.Floats)))
	p := y.Pattern()
	v.Drawing = FlyDrawing(p, page, style)
	if y.Again != "" {
		v.Href = FlyHref(y.Again) + "#count"
		v.Enter = t.S("tie.again")
		return v
	}
	v.Enter = t.S("tie.enter")
	q := url.Values{"style": {string(p.Style)}, "body": {p.Body}, "wing": {p.Wing}, "floats": {string(p.Floats)}}
	if p.Hook > 0 {
		q.Set("hook", screen.Itoa(p.Hook))
		q.Set("shank", ShankValue(NearestShank(p.Shank)))
	}
	if p.Length > 0 {
		q.Set("length_mm", page.U.LengthNumber(p.Length))
	}
	v.Href = screen.WithQuery("/box/fly/new", q.Encode())
	return v
}

// maxSuits bounds the hatches shown with a fly.
const maxSuits = 5

// Suits are the forms that a fly stands for best, one for each hatch.
func Suits(b *caches.BoxFlies, page views.Page, id journal.ID) []views.HatchLine {
	i := slices.IndexFunc(b.Compiled, func(f match.CompiledFly) bool { return f.Fly.ID == id })
	if i < 0 {
		return nil
	}
	type scored struct {
		form    int
		score   float64
		ranking float64 // with own results
	}
	rev := b.Compiled[i].Fly.Rev
	best := map[*hatchkeys.Hatch]scored{}
	for f := range b.Quarries {
		h, hf := b.Key.FormAt(f)
		s := scored{f, match.Score(&b.Compiled[i], &b.Quarries[f]), 0}
		s.ranking = s.score
		if form := (results.Form{Hatch: h.ID, Form: hf.ID}); b.Results[results.Cell{Rev: rev, Form: form}].Fish() > 0 {
			s.ranking *= b.Own(form).Weight(&b.Compiled[i].Fly)
		}
		if s.ranking > best[h].ranking {
			best[h] = s
		}
	}
	var list []scored
	for _, s := range best {
		if s.score >= match.FitScore {
			list = append(list, s)
		}
	}
	sortby.Stable(list, func(x, y *scored) int {
		return cmp.Or(cmp.Compare(y.ranking, x.ranking), cmp.Compare(x.form, y.form))
	})
	var out []views.HatchLine
	for _, s := range list[:min(len(list), maxSuits)] {
		h, f := b.Key.FormAt(s.form)
		out = append(out, views.HatchLine{
			Name: h.Name(page.T.Lang), Form: FormName(page.T, h, f), Percent: Percent(page, s.score),
			Drawing: Insect(h, f, page, ""), Href: screen.WithQuery("/hatch/"+url.PathEscape(h.ID), "form="+url.QueryEscape(f.ID)),
		})
	}
	return out
}
