package results

import (
	"cmp"

	"dampstone/flybox"
	"dampstone/flybox/sortby"
)

// Said is how often a reason was given.
type Said struct {
	Why flybox.Reason
	N   int
}

// Reasons are what anglers put refusals and follows down to.
type Reasons struct {
	Off       int    // fish that turned off or only followed
	Said      int    // of which a reason was given
	Presented int    // of which the reason was how the fly was shown
	By        []Said // the commonest first; of equals as in flybox.Reasons
}

// ReasonsOf counts the reasons given in the outcomes that a filter keeps, in
// all and by what the fish were on.
func ReasonsOf(s *flybox.State, f Filter) (all Reasons, by map[Form]Reasons) {
	total, forms := tally{}, map[Form]tally{}
	for l := range s.AllOutcomes() {
		o := l.Body
		if o.Result != flybox.Refusal && o.Result != flybox.Follow || !f.Keeps(o) {
			continue
		}
		form := Form{o.Hatch, o.Form}
		if forms[form] == nil {
			forms[form] = tally{}
		}
		total[o.Why]++
		forms[form][o.Why]++
	}
	by = make(map[Form]Reasons, len(forms))
	for form, n := range forms {
		by[form] = n.reasons()
	}
	return total.reasons(), by
}

// tally is how often each reason was given, and "" how often none was.
type tally map[flybox.Reason]int

func (n tally) reasons() (r Reasons) {
	for _, why := range flybox.Reasons {
		if n[why] == 0 {
			continue
		}
		r.Said += n[why]
		if why.Presented() {
			r.Presented += n[why]
		}
		r.By = append(r.By, Said{why, n[why]})
	}
	r.Off = r.Said + n[""]
	sortby.Stable(r.By, func(a, b *Said) int { return cmp.Compare(b.N, a.N) })
	return r
}

// Likely are all reasons in the angler's own order: those given before, the
// commonest first, then the others as usual.
func (r Reasons) Likely() []flybox.Reason {
	out := make([]flybox.Reason, 0, len(flybox.Reasons))
	said := map[flybox.Reason]bool{}
	for _, one := range r.By {
		said[one.Why] = true
		out = append(out, one.Why)
	}
	for _, why := range flybox.Reasons {
		if !said[why] {
			out = append(out, why)
		}
	}
	return out
}
