package day

import (
	"net/http"
	"net/url"
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Bounds of what the change of fly lists.
const (
	maxRigFits  = 6
	maxRigLate  = 4
	maxRigFound = 30
	maxOnLikely = 8
	maxOnSeen   = 4
)

// chooseRig offers the flies to change to.
func (a *section) chooseRig(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.choose"))
	t := page.T
	query := r.URL.Query()
	q := screen.Search(query)
	box := a.Flies(p.State, key)
	v := views.RigView{Page: page, Back: "/day", Query: q, OnHref: "/day/on"}
	s := p.State
	at := screen.IDIn(query, "at")
	o, _, running := runningAt(s, at)
	rig := flybox.Rig{}
	rod, place := rodIn(query), screen.Atoi(query.Get("place"))
	if running {
		at, rig = o.ID, s.RigNow(o.ID, rod).Body
		v.Back = dayHref(s, o.ID, rod)
		rig.Outing, rig.Rod = o.ID, rod
		v.Hidden = append(atRod(rig), [2]string{"place", screen.Itoa(place)})
		v.OnHref = screen.WithQuery("/day/on", onRod(o.ID, rod).Encode())
	}
	here := flybox.Tied{} // what the chosen fly takes the place of
	if flies := rig.Flies(); place >= 0 && place < len(flies) {
		here = flies[place]
	}
	v.On = onText(t, key, rig)
	put := func(f flybox.Fly, why string) views.RigLine {
		line := rigLine(page, f)
		line.Why = why
		if f.ID == here.Pattern && f.Rev == here.Rev {
			line.Why = t.S("day.isnow")
			return line
		}
		post := a.Button("/day/fly", t.S("day.put"), append([][2]string{{"fly", string(f.ID)}, {"at", string(at)}}, v.Hidden[min(len(v.Hidden), 1):]...)...)
		line.Put = &post
		return line
	}
	listed := map[journal.ID]bool{}
	if h, form := words.FormOf(key, results.Form{Hatch: rig.Hatch, Form: rig.Form}); form != nil {
		fits := a.fitting(box, h, form)
		for i, c := range fits.list[:min(len(fits.list), maxRigFits)] {
			why := t.S(words.FitWord(c.match))
			if i == fits.next {
				why = t.S("day.trynext")
			}
			listed[c.match.Fly.ID] = true
			v.Fits = append(v.Fits, put(c.match.Fly, why))
		}
		if len(fits.list) == 0 {
			v.NoFit = t.S("day.nofit")
		}
	}
	for _, l := range s.Rigs() {
		for _, tied := range l.Body.Flies() {
			f, ok := s.Pattern(tied.Pattern)
			if !ok || listed[f.ID] || len(v.Lately) == maxRigLate {
				continue
			}
			listed[f.ID] = true
			v.Lately = append(v.Lately, put(f, ""))
		}
	}
	n := 0
	for _, f := range s.Patterns() {
		if !words.Matches(t, f, q) {
			continue
		}
		if n++; n <= maxRigFound {
			v.Found = append(v.Found, put(f, ""))
		}
	}
	v.Showing = t.N("day.found", n, catalog.Data{"Shown": min(n, maxRigFound)})
	return screen.Show(views.Rig(v)), nil
}

func rigLine(page views.Page, f flybox.Fly) views.RigLine {
	return views.RigLine{Name: f.Name, Sub: words.StyleText(page, f.Pattern), Left: words.LeftText(page.T, f.Left), Href: words.FlyHref(f.ID), Drawing: words.FlyDrawing(f.Pattern, page, "")}
}

// chooseOn offers what the fish may be on: what was seen lately, and what is
// likely at this date and hour.
func (a *section) chooseOn(r *http.Request, p screen.Asked) (screen.Result, error) {
	key, err := a.Key(p.State, p.Region)
	if err != nil {
		return screen.Result{}, err
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.on.title"))
	t := page.T
	at, rod := r.URL.Query().Get("at"), r.URL.Query().Get("rod")
	line := func(h *hatchkeys.Hatch, f *hatchkeys.Form) views.OnLine {
		return views.OnLine{
			Name: h.Name(t.Lang), Form: words.FormName(t, h, f), Drawing: words.Insect(h, f, page, ""),
			Href:   screen.WithQuery("/hatch/"+url.PathEscape(h.ID), "form="+url.QueryEscape(f.ID)),
			Choose: a.Button("/day/fly", t.S("day.on.choose"), [2]string{"hatch", h.ID}, [2]string{"stage", f.ID}, [2]string{"at", at}, [2]string{"rod", rod}),
		}
	}
	v := views.OnView{Page: page, Nothing: a.Button("/day/fly", t.S("day.on.none"), [2]string{"hatch", ""}, [2]string{"stage", ""}, [2]string{"at", at}, [2]string{"rod", rod})}
	listed := map[string]bool{}
	s := p.State
	for _, l := range s.Sightings() { // newest first
		h := key.Hatch(l.Body.Hatch)
		if h == nil || listed[h.ID] || len(v.Seen) == maxOnSeen {
			continue
		}
		listed[h.ID] = true
		f := h.Form(l.Body.Form)
		if f == nil {
			f = caches.MostFished(h)
		}
		v.Seen = append(v.Seen, line(h, f))
	}
	now := a.Now()
	hour := float64(now.Hour()) + float64(now.Minute())/60
	e := hatchkeys.Evidence{Month: int(now.Month()), Day: now.Day(), Hour: &hour, Place: p.Place}
	for _, ranked := range key.Read(e).Ranked {
		if listed[ranked.Hatch.ID] {
			continue
		}
		listed[ranked.Hatch.ID] = true
		if v.Likely = append(v.Likely, line(ranked.Hatch, caches.MostFished(ranked.Hatch))); len(v.Likely) == maxOnLikely {
			break
		}
	}
	return screen.Show(views.On(v)), nil
}

// fitting are the flies that fit a form and are left, best first by fit and
// own results, and which of them to try next.
type fitting struct {
	list []fitted
	next int // in list, -1 if none is left
}

type fitted struct {
	match    match.Match
	estimate results.Estimate
}

func (a *section) fitting(box *caches.BoxFlies, h *hatchkeys.Hatch, form *hatchkeys.Form) fitting {
	out := fitting{next: -1}
	i := box.FormIndex(h, form)
	if i < 0 {
		return out
	}
	own := box.Own(results.Form{Hatch: h.ID, Form: form.ID})
	rank := match.RankBy(box.Compiled, &box.Quarries[i], own.Weight)
	fit := map[journal.ID]float64{}
	for _, m := range rank.Matches {
		if m.Usable() && !m.NoneLeft {
			out.list = append(out.list, fitted{match: m})
			fit[m.Fly.Rev] = m.After
		}
	}
	var candidates []results.Candidate
	estimates := own.Estimates(fit)
	for k := range out.list {
		c := &out.list[k]
		c.estimate = estimates[c.match.Fly.Rev]
		candidates = append(candidates, results.Candidate{Estimate: c.estimate, Left: c.match.Left})
	}
	if k, ok := results.Next(candidates); ok {
		out.next = k
	}
	return out
}

// tryNext says which fly to show the next fish, where there is a choice.
func (a *section) tryNext(page views.Page, s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, o flybox.Outing, rig flybox.Rig) *views.TryView {
	h, form := words.FormOf(key, results.Form{Hatch: rig.Hatch, Form: rig.Form})
	if form == nil {
		return nil
	}
	fits := a.fitting(box, h, form)
	if fits.next < 0 || len(fits.list) < 2 {
		return nil
	}
	c := fits.list[fits.next]
	if slices.ContainsFunc(rig.Flies(), func(f flybox.Tied) bool { return f.Pattern == c.match.Fly.ID }) {
		return &views.TryView{Sentence: page.T.S("day.try.stay")}
	}
	put := a.Button("/day/fly", page.T.S("day.put"), append(atRod(rig), [2]string{"fly", string(c.match.Fly.ID)})...)
	return &views.TryView{Sentence: page.T.F("day.try", catalog.Data{"Fly": c.match.Fly.Name, "Why": tryWhy(page, c)}), Put: &put}
}

// tryWhy is the reason to try a fly.
func tryWhy(page views.Page, c fitted) string {
	switch n := c.estimate.Count.Fish(); {
	case n == 0:
		return page.T.S("day.try.new")
	case n < fewFish:
		return page.T.S("day.try.few")
	}
	return page.T.F("day.try.rate", catalog.Data{"Rate": words.Percent(page, c.estimate.Mean())})
}
