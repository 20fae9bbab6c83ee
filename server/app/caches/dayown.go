package caches

import (
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/results"
)

// OwnResults are the reader's own results before fish on one form.
type OwnResults struct {
	Counts    map[journal.ID]results.Count // by revision
	Ancestors map[journal.ID][]journal.ID  // of revisions
	all       map[journal.ID]results.Estimate
}

// Own are the own results for a form, with an estimate for every fly of the
// box and every revision that was fished.
func (b *BoxFlies) Own(f results.Form) OwnResults {
	o := OwnResults{Counts: b.Results.Of(f), Ancestors: b.Ancestors}
	if len(o.Counts) > 0 {
		o.all = o.Estimates(nil)
	}
	return o
}

// Estimates are the rates of the revisions that were fished and of those with
// a fit, which counts as what is known beforehand.
func (o OwnResults) Estimates(fit map[journal.ID]float64) map[journal.ID]results.Estimate {
	var list []results.Evidence
	add := func(rev journal.ID) {
		e := results.Evidence{Rev: rev, Ancestors: o.Ancestors[rev], Count: o.Counts[rev]}
		if x, ok := fit[rev]; ok {
			e.Fit = &x
		}
		list = append(list, e)
	}
	for rev := range o.Counts {
		add(rev)
	}
	for rev := range fit {
		if _, fished := o.Counts[rev]; !fished {
			add(rev)
		}
	}
	out := make(map[journal.ID]results.Estimate, len(list))
	for i, e := range results.Estimates(list) {
		out[list[i].Rev] = e
	}
	return out
}

// Weight is what own results make of the score of a fly.
func (o OwnResults) Weight(f *flybox.Fly) float64 {
	if e, ok := o.all[f.Rev]; ok {
		return e.Weight()
	}
	return 1
}

// ancestorsOf are the ancestors of the flies of a box and of all revisions
// that were fished.
func ancestorsOf(s *flybox.State, flies []match.CompiledFly, table results.Table) map[journal.ID][]journal.ID {
	out := map[journal.ID][]journal.ID{}
	add := func(rev journal.ID) {
		if _, known := out[rev]; !known {
			out[rev] = results.Ancestors(s, rev)
		}
	}
	for i := range flies {
		add(flies[i].Fly.Rev)
	}
	for cell := range table {
		add(cell.Rev)
	}
	return out
}
