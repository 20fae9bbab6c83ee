package app

import (
	"cmp"
	"net/url"
	"slices"
	"sync"

	"dampstone/flybox"
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
	"dampstone/views"
	"dampstone/views/catalog"
)

// quarryOf is the insect that a fly is to stand for.
func quarryOf(h *hatchkeys.Hatch, f *hatchkeys.Form) flybox.Quarry {
	return flybox.Quarry{
		Stage: string(f.Stage), Group: string(h.Group), LengthMM: middle(f.Length),
		Colours: f.Colour.Body, Wing: f.Colour.Wing,
		Wings: flybox.Posture(likeliest(f.Wings, hatchkeys.Wings)), Like: likeStyles[h.Like],
	}
}

// likeStyles are the styles for insects whose stage says nothing.
var likeStyles = map[string]flybox.Style{"hopper": flybox.Hopper, "ant": flybox.Ant, "beetle": flybox.Beetle, "cicada": flybox.Beetle}

// boxFlies are the flies of a ledger against the forms of a key. It is safe
// for concurrent use.
type boxFlies struct {
	key      *hatchkeys.Key
	entries  int // of the ledger, when made
	compiled []flybox.CompiledFly
	quarries []flybox.CompiledQuarry
	// results are what fish did to the flies, ancestors the revisions that
	// each was made from.
	results   results.Table
	ancestors map[string][]string
	// choice is what an angler can tie on: the flies that are left, or where
	// there are none, a fly made for each insect.
	choice func() hatchkeys.FlyChoice
}

func newBoxFlies(key *hatchkeys.Key, entries int, flies []flybox.CompiledFly, quarries []flybox.CompiledQuarry) *boxFlies {
	b := &boxFlies{key: key, entries: entries, compiled: flies, quarries: quarries}
	b.choice = sync.OnceValue(func() hatchkeys.FlyChoice {
		var left []flybox.CompiledFly
		for i := range flies {
			if flies[i].Fly.Left > 0 {
				left = append(left, flies[i])
			}
		}
		if len(left) == 0 {
			left = b.generic()
		}
		return flybox.NewTable(left, quarries)
	})
	return b
}

// fitCache keeps the boxFlies of the newest state of the ledger, by region.
type fitCache struct {
	mu       sync.Mutex
	byRegion map[string]*boxFlies
}

// flies are the ledger's flies against the forms of a key.
func (c *fitCache) flies(l *flybox.Ledger, key *hatchkeys.Key) *boxFlies {
	c.mu.Lock()
	defer c.mu.Unlock()
	entries := 0
	l.View(func(s *flybox.State) { entries = s.Len() })
	b := c.of(key)
	if b.entries == entries {
		return b
	}
	var flies []flybox.CompiledFly
	var table results.Table
	var ancestors map[string][]string
	l.View(func(s *flybox.State) {
		flies, table = flybox.CompileFlies(s), results.Tally(s, results.Filter{})
		ancestors = ancestorsOf(s, flies, table)
	})
	b = newBoxFlies(key, entries, flies, b.quarries)
	b.results, b.ancestors = table, ancestors
	c.byRegion[key.Pack.ID] = b
	return b
}

// none are no flies against the forms of a key.
func (c *fitCache) none(key *hatchkeys.Key) *boxFlies {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.of(key)
}

// noLedger is the number of entries where no ledger was looked at.
const noLedger = -1

func (c *fitCache) of(key *hatchkeys.Key) *boxFlies {
	if b := c.byRegion[key.Pack.ID]; b != nil && b.key == key {
		return b
	}
	quarries := make([]flybox.CompiledQuarry, key.FormCount())
	for i := range quarries {
		h, f := key.FormAt(i)
		quarries[i] = flybox.CompileQuarry(quarryOf(h, f))
	}
	b := newBoxFlies(key, noLedger, nil, quarries)
	if c.byRegion == nil {
		c.byRegion = map[string]*boxFlies{}
	}
	c.byRegion[key.Pack.ID] = b
	return b
}

// Len is how many flies there are.
func (b *boxFlies) Len() int { return len(b.compiled) }

// generic is a fly tied for one form of each hatch.
func (b *boxFlies) generic() []flybox.CompiledFly {
	var out []flybox.CompiledFly
	for i := range b.quarries {
		if h, f := b.key.FormAt(i); f == mostFished(h) {
			p := flybox.SuggestTying(&b.quarries[i]).Pattern()
			out = append(out, flybox.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: p}, Left: 1}))
		}
	}
	return out
}

// formIndex is the place of a form among all forms of the key, or -1.
func (b *boxFlies) formIndex(h *hatchkeys.Hatch, f *hatchkeys.Form) int {
	for i := range b.quarries {
		if hh, ff := b.key.FormAt(i); hh == h && ff == f {
			return i
		}
	}
	return -1
}

// flyLines ranks own flies for a form, and says what to tie where none fits.
func (a *App) flyLines(page views.Page, b *boxFlies, h *hatchkeys.Hatch, f *hatchkeys.Form, most int) ([]views.FlyLine, *views.TieView) {
	i := b.formIndex(h, f)
	if i < 0 {
		return nil, nil
	}
	form := results.Form{Hatch: h.ID, Form: f.ID}
	own := b.own(form)
	rank := flybox.RankBy(b.compiled, &b.quarries[i], own.weight)
	var out []views.FlyLine
	a.Ledger.View(func(s *flybox.State) {
		for _, m := range rank.Matches {
			if len(out) == most || !m.Usable() && m.Score < leastShown {
				break
			}
			line := a.matchLine(page, s, m)
			if c := own.counts[m.Fly.Rev]; c.Fish() > 0 {
				line.Own = page.T.F("own.results", catalog.Data{"Counts": countText(page.T, c)})
			}
			if m.Usable() && !m.NoneLeft {
				fish := a.button("/day/fly", page.T.S("day.fish"), [2]string{"fly", m.Fly.ID}, [2]string{"hatch", form.Hatch}, [2]string{"stage", form.Form})
				line.Fish = &fish
			}
			out = append(out, line)
		}
	})
	if rank.Tie == nil || b.Len() == 0 {
		return out, nil
	}
	t := tieView(page, *rank.Tie, rank.NoneLeft)
	return out, &t
}

// leastShown: flies that score less are no use to show.
const leastShown = 0.3

func (a *App) matchLine(page views.Page, s *flybox.State, m flybox.Match) views.FlyLine {
	line := flyLine(page, s, m.Fly)
	line.Fit = page.T.F("fit.percent", catalog.Data{"Word": page.T.S(fitWord(m)), "Percent": percent(page, m.Score)})
	line.Advice = advice(page, m)
	line.Places = nil
	for _, pl := range s.Places(m.Fly.ID) {
		if pl.Count == 0 {
			continue
		}
		p := views.PlaceLine{Where: placeText(page.T, pl), Count: itoa(pl.Count)}
		if pl.Place != flybox.Loose && pl.Count > 0 {
			take := a.button(flyHref(m.Fly.ID)+"/move", page.T.S("do.take"), append(placeFields(pl.Place), [2]string{"do", "take"})...)
			p.Take = &take
		}
		line.Places = append(line.Places, p)
	}
	return line
}

func fitWord(m flybox.Match) string {
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
func advice(page views.Page, m flybox.Match) []string {
	t := page.T
	var out []string
	for _, c := range m.Changes {
		d := catalog.Data{}
		if mm, ok := c.Data["mm"].(float64); ok {
			d["Length"] = page.U.Length(mm)
		}
		if to, ok := c.Data["to"].(string); ok {
			d["Colour"] = colourName(t, to)
		}
		out = append(out, t.F("advice."+c.Code, d))
	}
	if m.Usable() {
		return out
	}
	for _, p := range m.Parts {
		if p.Score >= flybox.FitPart {
			continue
		}
		switch p.Code {
		case flybox.PartLength:
			have, _ := p.Data["have"].(float64)
			want, _ := p.Data["want"].(float64)
			if have > 0 && have < want {
				out = append(out, t.F("advice.longer", catalog.Data{"Length": page.U.Length(want - have)}))
			} else if have > 0 {
				out = append(out, t.F("advice.shorter", catalog.Data{"Length": page.U.Length(have - want)}))
			}
		case flybox.PartShape, flybox.PartColour, flybox.PartFloats, flybox.PartWings:
			out = append(out, t.S("misfit."+p.Code))
		}
	}
	return out
}

// colourName is the offered colour nearest to hex, in words.
func colourName(t *catalog.Text, hex string) string {
	c, ok := flybox.ParseColour(hex)
	if !ok {
		return hex
	}
	best := slices.MinFunc(hatchkeys.Swatches, func(a, b hatchkeys.Swatch) int {
		x, _ := flybox.ParseColour(a.Hex)
		y, _ := flybox.ParseColour(b.Hex)
		return cmp.Compare(flybox.DeltaE(c, x), flybox.DeltaE(c, y))
	})
	return t.S("colour." + best.Name)
}

// tieView is what to tie, with a form filled in to enter it.
func tieView(page views.Page, y flybox.Tying, noneLeft bool) views.TieView {
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
		v.Lines = append(v.Lines, t.F("tie.colour", catalog.Data{"Colour": colourName(t, y.Body)}))
	}
	v.Lines = append(v.Lines, t.S("floats."+string(y.Floats)))
	p := y.Pattern()
	v.Drawing = flyDrawing(p, page, style)
	if y.Again != "" {
		v.Href = flyHref(y.Again) + "#count"
		v.Enter = t.S("tie.again")
		return v
	}
	v.Enter = t.S("tie.enter")
	q := url.Values{"style": {string(p.Style)}, "body": {p.Body}, "wing": {p.Wing}, "floats": {string(p.Floats)}}
	if p.Hook > 0 {
		q.Set("hook", itoa(p.Hook))
		q.Set("shank", shankValue(nearestShank(p.Shank)))
	}
	if p.Length > 0 {
		q.Set("length_mm", page.U.LengthNumber(p.Length))
	}
	v.Href = withQuery("/box/fly/new", q.Encode())
	return v
}

// maxSuits bounds the hatches shown with a fly.
const maxSuits = 5

// suits are the forms that a fly stands for best, one for each hatch.
func (b *boxFlies) suits(page views.Page, id string) []views.HatchLine {
	i := slices.IndexFunc(b.compiled, func(f flybox.CompiledFly) bool { return f.Fly.ID == id })
	if i < 0 {
		return nil
	}
	type scored struct {
		form    int
		score   float64
		ranking float64 // with own results
	}
	rev := b.compiled[i].Fly.Rev
	best := map[*hatchkeys.Hatch]scored{}
	for f := range b.quarries {
		h, hf := b.key.FormAt(f)
		s := scored{f, flybox.Score(&b.compiled[i], &b.quarries[f]), 0}
		s.ranking = s.score
		if form := (results.Form{Hatch: h.ID, Form: hf.ID}); b.results[results.Cell{Rev: rev, Form: form}].Fish() > 0 {
			s.ranking *= b.own(form).weight(&b.compiled[i].Fly)
		}
		if s.ranking > best[h].ranking {
			best[h] = s
		}
	}
	var list []scored
	for _, s := range best {
		if s.score >= flybox.FitScore {
			list = append(list, s)
		}
	}
	sortby.Stable(list, func(x, y *scored) int {
		return cmp.Or(cmp.Compare(y.ranking, x.ranking), cmp.Compare(x.form, y.form))
	})
	var out []views.HatchLine
	for _, s := range list[:min(len(list), maxSuits)] {
		h, f := b.key.FormAt(s.form)
		out = append(out, views.HatchLine{
			Name: h.Name(page.T.Lang), Form: formName(page.T, h, f), Percent: percent(page, s.score),
			Drawing: insect(h, f, page, ""), Href: withQuery("/hatch/"+url.PathEscape(h.ID), "form="+url.QueryEscape(f.ID)),
		})
	}
	return out
}
