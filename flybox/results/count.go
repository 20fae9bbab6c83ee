package results

import (
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Count is what fish did to one fly.
type Count struct {
	Takes, Refusals, Follows, Lost int
	// Excused is how much of Against is put down to how the fly was shown (see
	// flybox.Reason): the fly is not to blame.
	Excused float64
}

// Add counts one fish.
func (c *Count) Add(o flybox.Outcome) {
	switch o.Result {
	case flybox.Take:
		c.Takes++
	case flybox.Refusal:
		c.Refusals++
		if o.Why.Presented() {
			c.Excused++
		}
	case flybox.Follow:
		c.Follows++
		if o.Why.Presented() {
			c.Excused += FollowAsRefusal
		}
	case flybox.Lost:
		c.Lost++
	}
}

// Plus is both counts together.
func (c Count) Plus(d Count) Count {
	return Count{c.Takes + d.Takes, c.Refusals + d.Refusals, c.Follows + d.Follows, c.Lost + d.Lost, c.Excused + d.Excused}
}

// Fish is how many fish showed themselves to the fly.
func (c Count) Fish() int { return c.Takes + c.Refusals + c.Follows + c.Lost }

// For is how many takes the count is worth: see the package.
func (c Count) For() float64 { return float64(c.Takes + c.Lost) }

// Against is how many refusals it is worth.
func (c Count) Against() float64 {
	return float64(c.Refusals) + FollowAsRefusal*float64(c.Follows) - c.Excused
}

// Form is a form of a hatch, by its ids in the key; both are empty where the
// fish were on nothing that was named.
type Form struct{ Hatch, Form string }

// Cell is a revision of a fly before fish that were on a form.
type Cell struct {
	Rev journal.ID // id of the revision; of the pattern, if the revision was not said and is not known
	Form
}

// Filter is which outcomes count; what is empty does not matter.
type Filter struct {
	Hatch, Form string
	Water       string
	From, To    string // local days, 2006-01-02, both included
}

// Keeps tells whether an outcome counts.
func (f Filter) Keeps(o flybox.Outcome) bool {
	if f.Hatch != "" && o.Hatch != f.Hatch || f.Form != "" && o.Form != f.Form || f.Water != "" && o.Water != f.Water {
		return false
	}
	if f.From == "" && f.To == "" {
		return true
	}
	day := o.When[:min(len(o.When), len("2006-01-02"))] // RFC 3339 starts with the local day
	return (f.From == "" || day >= f.From) && (f.To == "" || day <= f.To)
}

// Table is what fish did, by fly and form.
type Table map[Cell]Count

// Tally counts a ledger's outcomes.
func Tally(s *flybox.State, f Filter) Table {
	counts := map[Cell]*Count{} // few cells, many outcomes
	for l := range s.AllOutcomes() {
		o := l.Body
		if !f.Keeps(o) {
			continue
		}
		cell := Cell{RevOf(s, o), Form{o.Hatch, o.Form}}
		c := counts[cell]
		if c == nil {
			c = new(Count)
			counts[cell] = c
		}
		c.Add(o)
	}
	t := make(Table, len(counts))
	for cell, c := range counts {
		t[cell] = *c
	}
	return t
}

// RevOf is the revision that an outcome counts for: the one that was fished,
// or the pattern as it is now where that was not said.
func RevOf(s *flybox.State, o flybox.Outcome) journal.ID {
	if o.Rev != "" {
		return o.Rev
	}
	if f, ok := s.Pattern(o.Pattern); ok {
		return f.Rev
	}
	return o.Pattern
}

// Of are the counts by revision before fish that were on a form.
func (t Table) Of(f Form) map[journal.ID]Count {
	out := map[journal.ID]Count{}
	for cell, c := range t {
		if cell.Form == f {
			out[cell.Rev] = c
		}
	}
	return out
}

// Revisions are the counts by revision, whatever the fish were on.
func (t Table) Revisions() map[journal.ID]Count {
	out := map[journal.ID]Count{}
	for cell, c := range t {
		out[cell.Rev] = out[cell.Rev].Plus(c)
	}
	return out
}
