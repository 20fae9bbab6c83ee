package day

import (
	"cmp"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/flybox/results"
	"dampstone/flybox/sortby"
	"dampstone/server/app/screen"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// maxKinds is how many kinds of fish that were noted before are offered.
const maxKinds = 20

// taps are the large buttons of a rig. Where several flies are on, they ask
// which one it was.
func (a *section) taps(t *catalog.Text, rig flybox.Rig, c results.Count) (taps []views.Tap, gone []views.PostForm) {
	href, many := outingHref(rig.Outing), len(rig.Flies()) > 1
	fields := func(more ...[2]string) [][2]string {
		return append(append(atRod(rig), [2]string{"rig", string(rig.ID)}), more...)
	}
	button := func(label string, fields [][2]string) views.PostForm {
		if !many {
			return a.Button(href+"/tap", label, fields...)
		}
		q := url.Values{}
		for _, kv := range fields {
			q.Set(kv[0], kv[1])
		}
		return views.PostForm{Label: label, Ask: screen.WithQuery(href+"/which", q.Encode())}
	}
	n := map[flybox.Result]int{flybox.Take: c.Takes, flybox.Refusal: c.Refusals, flybox.Follow: c.Follows, flybox.Lost: c.Lost}
	for _, did := range flybox.Results {
		taps = append(taps, views.Tap{
			PostForm: button(t.S("day.tap."+string(did)), fields([2]string{"result", string(did)})),
			Code:     string(did), Count: screen.Itoa(n[did]),
		})
	}
	return taps, []views.PostForm{
		button(t.S("day.gone.fish"), fields([2]string{"result", string(flybox.Lost)}, [2]string{"gone", "yes"})),
		button(t.S("day.gone.snag"), fields([2]string{"gone", "yes"})),
	}
}

// which asks which fly of a rig it was, by large pictures.
func (a *section) which(r *http.Request, p screen.Asked) (screen.Result, error) {
	s, q := p.State, r.URL.Query()
	id := screen.PathID(r, "outing")
	l, known := s.Rig(screen.IDIn(q, "rig"))
	o, ok := findOuting(s, id)
	if !ok || !known || l.Body.Outing != id {
		return screen.Result{}, screen.ErrNotFound
	}
	if o.End != "" {
		return ended(s, id)
	}
	did, gone := flybox.Result(q.Get("result")), q.Get("gone") != ""
	if did != "" && !slices.Contains(flybox.Results, did) || did == "" && !gone {
		return screen.Result{}, screen.ErrNotFound
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.which"))
	t, rig := page.T, l.Body
	v := views.WhichView{Page: page, Back: dayHref(s, id, rodIn(q)), Code: string(did)}
	switch {
	case gone && did == "":
		v.What = t.S("day.gone.snag")
	case gone:
		v.What = t.S("day.gone.fish")
	default:
		v.What = t.S("day.tap." + string(did))
	}
	fields := append(atRod(rig), [2]string{"rig", string(rig.ID)}, [2]string{"result", string(did)})
	if gone {
		fields = append(fields, [2]string{"gone", "yes"})
	}
	flies := rig.Flies()
	names := placeNames(t, s, flies)
	for i, tied := range slices.Backward(flies) {
		line := tiedFly(page, s, rig, tied)
		put := a.Button(outingHref(id)+"/tap", line.Name, append(slices.Clone(fields), [2]string{"place", screen.Itoa(i)})...)
		line.Place, line.Put = names[i], &put
		v.Flies = append(v.Flies, line)
	}
	return screen.Show(views.Which(v)), nil
}

// lastNoted fills in what was noted last, and what else may be said of it.
func (a *section) lastNoted(v *views.OutingNow, page views.Page, s *flybox.State, rig flybox.Rig, outcomes []flybox.Logged[flybox.Outcome]) {
	t, href := page.T, outingHref(rig.Outing)
	last, ok := lastTap(page, s, rig, outcomes)
	if !ok {
		return
	}
	v.Last = last.text
	undo := a.Button(href+"/undo", t.S("day.undo"), append(atRod(rig), [2]string{"entry", string(last.target)})...)
	v.Undo = &undo
	if last.fish == nil {
		return
	}
	say := func(label, name, value string, said bool) {
		if said {
			value = "" // a second touch takes it back
		}
		form := a.Button(href+"/say", label, append(atRod(rig), [2]string{"entry", string(last.target)}, [2]string{name, value})...)
		v.Says = append(v.Says, views.Say{PostForm: form, Said: said})
	}
	switch o := last.fish; o.Result {
	case flybox.Refusal, flybox.Follow:
		v.SayLabel = t.S("day.why")
		usual, _ := results.ReasonsOf(s, results.Filter{})
		for _, why := range usual.Likely() {
			say(t.S("day.why."+string(why)), "why", string(why), o.Why == why)
		}
	case flybox.Take, flybox.Lost:
		v.SayLabel = t.S("day.fish.end")
		for _, end := range flybox.Endings {
			say(t.S("day.end."+string(end)), "end", string(end), o.Result == flybox.Take && o.End == end)
		}
		if o.Result == flybox.Take {
			say(t.S("day.end.lost"), "lost", "yes", false)
		}
		q := onRod(rig.Outing, rig.Rod)
		q.Set("entry", string(last.target))
		v.FishHref = screen.WithQuery(href+"/fish", q.Encode())
	}
}

// fishWords are what was said of a fish beyond what it did.
func fishWords(page views.Page, o flybox.Outcome) (list []string) {
	if o.End != "" {
		list = append(list, page.T.S("day.end."+string(o.End)))
	}
	if o.Fish != "" {
		list = append(list, o.Fish)
	}
	if o.FishMM > 0 {
		list = append(list, page.U.FishLength(o.FishMM))
	}
	if o.Why != "" {
		list = append(list, page.T.S("day.why."+string(o.Why)))
	}
	return list
}

// say notes why a fish turned off, or how a take ended.
func (a *section) say(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, id := r.PostForm, screen.PathID(r, "outing")
	var d acts.Described
	switch {
	case f.Has("why"):
		why := flybox.Reason(f.Get("why"))
		if why != "" && !slices.Contains(flybox.Reasons, why) {
			return screen.Result{}, screen.ErrBadForm
		}
		d.Why = &why
	case f.Has("end"):
		end := flybox.Ending(f.Get("end"))
		if end != "" && !slices.Contains(flybox.Endings, end) {
			return screen.Result{}, screen.ErrBadForm
		}
		d.End = &end
	case f.Has("lost"):
		d.Lost = true
	default:
		return screen.Result{}, screen.ErrBadForm
	}
	err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
		return acts.DescribeFish(s, id, screen.IDIn(f, "entry"), d)
	})
	if err != nil {
		return screen.Result{}, err
	}
	return screen.GoTo(a.dayHref(id, rodIn(f)), "said", 0), nil
}

// fishForm asks for kind and length of a fish.
func (a *section) fishForm(r *http.Request, p screen.Asked) (screen.Result, error) {
	return a.fishScreen(r, p, r.URL.Query(), nil, nil)
}

func (a *section) fishScreen(r *http.Request, p screen.Asked, at, typed url.Values, bad journal.Problems) (screen.Result, error) {
	s, id := p.State, screen.PathID(r, "outing")
	o, ok := s.Outcome(screen.IDIn(at, "entry"))
	if !ok || o.Body.Outing != id {
		return screen.Result{}, screen.ErrNotFound
	}
	page := a.View(r, p, "day", catalog.For(p.Lang).S("day.fish.title"))
	f := func(name, kept string) views.Field {
		if typed != nil {
			kept = typed.Get(name)
		}
		return screen.FormField(page, "fish", name, kept, bad)
	}
	mm := ""
	if o.Body.FishMM > 0 {
		mm = page.U.FishLengthNumber(o.Body.FishMM)
	}
	v := views.FishView{
		Page: page, Back: dayHref(s, id, rodIn(at)), Action: outingHref(id) + "/fish", FormID: a.FormID(typed),
		Problems: screen.ProblemList(page, "fish", bad), Kind: f("fish", o.Body.Fish), Length: f("fish_mm", mm),
		What:   page.T.S("day.tap." + string(o.Body.Result)),
		Hidden: append(atRod(flybox.Rig{Outing: id, Rod: rodIn(at)}), [2]string{"entry", string(o.Body.ID)}),
	}
	v.Kind.Suggest = kindsOf(s)
	v.Length.Unit = page.U.FishLengthUnit()
	if len(bad) > 0 {
		return screen.Retry(views.Fish(v)), nil
	}
	return screen.Show(views.Fish(v)), nil
}

// kindsOf are the kinds of fish that were noted, the commonest first.
func kindsOf(s *flybox.State) []string {
	n := map[string]int{}
	for l := range s.AllOutcomes() {
		if l.Body.Fish != "" {
			n[l.Body.Fish]++
		}
	}
	kinds := slices.Sorted(maps.Keys(n))
	sortby.Stable(kinds, func(a, b *string) int { return cmp.Compare(n[*b], n[*a]) })
	return kinds[:min(len(kinds), maxKinds)]
}

// saveFish keeps kind and length of a fish.
func (a *section) saveFish(r *http.Request, p screen.Asked) (screen.Result, error) {
	f, id := r.PostForm, screen.PathID(r, "outing")
	kind, mm, bad := readFish(f, p.Units)
	if len(bad) == 0 {
		err := a.Record(r, a.Form(r), func(s *flybox.State) ([]flybox.Body, error) {
			return acts.DescribeFish(s, id, screen.IDIn(f, "entry"), acts.Described{Fish: &kind, FishMM: &mm})
		})
		list, is := screen.AsProblems(err)
		if err != nil && !is {
			return screen.Result{}, err
		}
		bad = list
	}
	if len(bad) > 0 {
		return a.fishScreen(r, p, f, f, bad)
	}
	return screen.GoTo(a.dayHref(id, rodIn(f)), "said", 0), nil
}

func readFish(f url.Values, u measure.Units) (kind string, mm float64, bad journal.Problems) {
	kind = strings.TrimSpace(f.Get("fish"))
	mm, given := screen.OptionalDecimal(f, "fish_mm", u.ParseFishLength, &bad)
	if given && len(bad) == 0 && !(mm > 0 && mm <= flybox.MaxFishMM) {
		bad = append(bad, journal.Problem{Field: "fish_mm", Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(0), Max: journal.Of(flybox.MaxFishMM), Got: journal.Of(mm)}})
	}
	return kind, mm, bad
}

// noted is what was noted last on an outing.
type noted struct {
	text   string
	target journal.ID
	fish   *flybox.Outcome // nil for a fly that was lost to no fish
}

// lastTap is the outcome or loss that was recorded last with the rod of a rig;
// its fly is named unless it is the only one on.
func lastTap(page views.Page, s *flybox.State, rig flybox.Rig, outcomes []flybox.Logged[flybox.Outcome]) (last noted, ok bool) {
	t, outing := page.T, rig.Outing
	var at journal.Stamp
	var entry journal.ID
	say := func(what, clock string, pattern, rev journal.ID) string {
		if flies := rig.Flies(); len(flies) == 1 && pattern == flies[0].Pattern {
			return t.F("day.last.same", catalog.Data{"What": what, "Clock": clock})
		}
		return t.F("day.last", catalog.Data{"What": what, "Fly": revName(t, s, pattern, rev), "Clock": clock})
	}
	newer := func(stamp journal.Stamp, id journal.ID) bool {
		c := stamp.Compare(at)
		return !ok || c > 0 || c == 0 && id > entry
	}
	gone := map[journal.ID]bool{}
	losses := s.LossesOf(outing)
	for _, m := range losses {
		gone[m.Outcome] = m.Outcome != ""
	}
	for _, l := range outcomes {
		if max(l.Body.Rod, 1) == max(rig.Rod, 1) && newer(l.At, l.Entry) {
			what := t.S("day.tap." + string(l.Body.Result))
			if gone[l.Body.ID] {
				what = t.S("day.gone.fish")
			}
			at, entry, ok = l.At, l.Entry, true
			fish := l.Body
			what = strings.Join(append([]string{what}, fishWords(page, fish)...), ", ")
			last = noted{say(what, clockOf(fish.When), fish.Pattern, fish.Rev), fish.ID, &fish}
		}
	}
	for _, m := range losses {
		if m.Outcome == "" && newer(m.At, m.Entry) {
			at, entry, ok = m.At, m.Entry, true
			last = noted{say(t.S("day.gone.snag"), m.At.Time().In(nowZone(s, outing)).Format("15:04"), m.Pattern, ""), m.Entry, nil}
		}
	}
	return last, ok
}
