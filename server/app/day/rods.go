package day

import (
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

// onRod is the query that names a rod of an outing.
func onRod(outing journal.ID, rod int) url.Values {
	q := url.Values{"at": {string(outing)}}
	if rod > 0 {
		q.Set("rod", screen.Itoa(rod))
	}
	return q
}

// rodName is what a rod is called: after who fishes it, or by its number.
func rodName(t *catalog.Text, o flybox.Outing, rod int) string {
	if rod = max(rod, 1); rod <= len(o.Names) && o.Names[rod-1] != "" {
		return o.Names[rod-1]
	}
	return t.F("day.rod", catalog.Data{"Number": screen.Itoa(rod)})
}

// rodTabs lead from rod to rod; none where there is one.
func rodTabs(t *catalog.Text, o flybox.Outing, rods, now int) (tabs []views.RodTab) {
	if rods < 2 {
		return nil
	}
	for rod := 1; rod <= rods; rod++ {
		tabs = append(tabs, views.RodTab{Name: rodName(t, o, rod), Href: screen.WithQuery("/day", onRod(o.ID, rod).Encode()), Now: rod == now})
	}
	return tabs
}

// rigged fills in the flies of a rig and what may be done with them.
func (a *section) rigged(v *views.OutingNow, page views.Page, s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, rig flybox.Rig) {
	t, flies := page.T, rig.Flies()
	change := func(place int) string {
		q := onRod(rig.Outing, rig.Rod)
		if place > 0 {
			q.Set("place", screen.Itoa(place))
		}
		return screen.WithQuery("/day/fly", q.Encode())
	}
	names := placeNames(t, s, flies)
	for i, tied := range slices.Backward(flies) { // as they hang: the uppermost first
		line := tiedFly(page, s, rig, tied)
		line.Place, line.Change = names[i], change(i)
		if len(flies) > 1 {
			off := a.Button("/day/fly", t.S("day.off"), append(atRod(rig), [2]string{"place", screen.Itoa(i)}, [2]string{"off", "yes"})...)
			line.Off = &off
		}
		v.Flies = append(v.Flies, line)
	}
	if len(flies) == 0 {
		v.Change = change(0)
		return
	}
	if len(flies) < flybox.MaxFlies {
		v.Add = change(len(flies))
	}
	if below := a.toHang(s, key, box, rig); below != nil {
		hang := a.Button("/day/fly", t.F("day.hang", catalog.Data{"Fly": below.Name}), append(atRod(rig), [2]string{"fly", string(below.ID)}, [2]string{"hang", "yes"})...)
		v.Hang = &hang
	}
}

// atRod are the fields of a button that name outing and rod.
func atRod(rig flybox.Rig) [][2]string {
	fields := [][2]string{{"at", string(rig.Outing)}}
	if rig.Rod > 0 {
		fields = append(fields, [2]string{"rod", screen.Itoa(rig.Rod)})
	}
	return fields
}

// placeNames say where on the leader each fly is, from its end up: as anglers
// do, a fly below one that floats is its dropper; else point, dropper, top.
func placeNames(t *catalog.Text, s *flybox.State, flies []flybox.Tied) []string {
	switch {
	case len(flies) == 1:
		return []string{""}
	case len(flies) == 2 && floats(s, flies[1]) && !floats(s, flies[0]):
		return []string{t.S("day.place.hung"), t.S("day.place.dry")}
	}
	return []string{t.S("day.place.point"), t.S("day.place.dropper"), t.S("day.place.top")}[:len(flies)]
}

func floats(s *flybox.State, tied flybox.Tied) bool {
	rev, ok := s.Revision(tied.Rev)
	if !ok {
		fly, _ := s.Pattern(tied.Pattern)
		rev = fly.Revision
	}
	return floatsPattern(rev.Pattern)
}

func floatsPattern(p flybox.Pattern) bool {
	fl := match.FloatsOf(p)
	return fl == flybox.High || fl == flybox.Film
}

// toHang is the fly that one touch hangs below a single dry fly: the sinking
// one that was last on with any rod, or else the best that fits what the fish
// are on; nil if there is none that is left.
func (a *section) toHang(s *flybox.State, key *hatchkeys.Key, box *caches.BoxFlies, rig flybox.Rig) *flybox.Fly {
	flies := rig.Flies()
	if len(flies) != 1 || !floats(s, flies[0]) {
		return nil
	}
	for _, l := range s.Rigs() { // newest first
		for _, tied := range l.Body.Flies() {
			if f, ok := s.Pattern(tied.Pattern); ok && f.Left > 0 && !floatsPattern(f.Pattern) {
				return &f
			}
		}
	}
	if h, form := words.FormOf(key, results.Form{Hatch: rig.Hatch, Form: rig.Form}); form != nil {
		for _, c := range a.fitting(box, h, form).list {
			if !floatsPattern(c.match.Fly.Pattern) {
				return &c.match.Fly
			}
		}
	}
	return nil
}

// tiedFly is a fly that is tied on, as it was when it was tied on.
func tiedFly(page views.Page, s *flybox.State, rig flybox.Rig, tied flybox.Tied) views.RigLine {
	t := page.T
	fly, alive := s.Pattern(tied.Pattern)
	rev, known := s.Revision(tied.Rev)
	if !known {
		rev = fly.Revision
	}
	line := views.RigLine{Name: rev.Name, Sub: words.StyleText(page, rev.Pattern), Left: words.LeftText(t, s.Count(tied.Pattern)), Href: words.FlyHref(tied.Pattern)}
	switch {
	case !alive && !known:
		line.Name, line.Sub = t.S("day.unknownfly"), string(tied.Pattern)
		line.Href = screen.WithQuery("/day/fly", onRod(rig.Outing, rig.Rod).Encode())
		return line
	case !alive:
		line.Left = t.S("day.removedfly")
		line.Href = screen.WithQuery("/day/fly", onRod(rig.Outing, rig.Rod).Encode())
	}
	line.Drawing = words.FlyLarge(rev.Pattern, t.F("draw.fly", catalog.Data{"Name": rev.Name}))
	return line
}
