package flybox

import (
	"iter"
	"slices"

	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
)

// What is asked of the ledger by the water. These look at one outing without
// sorting the whole journal.

// Running are the outings that have not ended, the one that was started last
// first. There may be several: two boats share a ledger.
func (s *State) Running() []Logged[Outing] {
	return loggedIf(s, s.outings, func(b Outing) string { return b.Start }, func(b Outing) bool { return b.End == "" })
}

// OutcomesOf are the outcomes of an outing, newest first.
func (s *State) OutcomesOf(outing journal.ID) []Logged[Outcome] {
	return loggedIf(s, s.outcomes, func(b Outcome) string { return b.When }, func(b Outcome) bool { return b.Outing == outing })
}

// RigsOf are what was fished on an outing, newest first.
func (s *State) RigsOf(outing journal.ID) []Logged[Rig] {
	return loggedIf(s, s.rigs, func(b Rig) string { return b.When }, func(b Rig) bool { return b.Outing == outing })
}

// RigNow is what is fished with a rod of an outing now; the zero Rig if nothing
// was said. It is the one that was said last, whatever the clocks showed.
func (s *State) RigNow(outing journal.ID, rod int) (now Logged[Rig]) {
	for id, r := range s.rigs {
		if r.body.Outing != outing || max(r.body.Rod, 1) != max(rod, 1) || !s.alive(id, r.head) {
			continue
		}
		if now.Entry == "" || r.head.after(order{now.At, now.Entry}) {
			now = Logged[Rig]{r.body, r.head.id, r.head.at}
		}
	}
	return now
}

// LastRod is the number of the rod of which a device said something last on an
// outing: 1 if it said nothing.
func (s *State) LastRod(outing journal.ID, device string) int {
	rod, last := 1, order{}
	see := func(n int, o order) {
		if o.at.Device == device && o.after(last) {
			rod, last = max(n, 1), o
		}
	}
	for id, r := range s.rigs {
		if r.body.Outing == outing && s.alive(id, r.head) {
			see(r.body.Rod, r.head)
		}
	}
	for id, r := range s.outcomes {
		if r.body.Outing == outing && s.alive(id, r.head) {
			see(r.body.Rod, r.head)
		}
	}
	return rod
}

// RodCount is how many rods of an outing are told apart: as many as were said,
// were named, or have a rig.
func (s *State) RodCount(o Outing) int {
	n := max(1, o.Rods, len(o.Names))
	for id, r := range s.rigs {
		if r.body.Outing == o.ID && s.alive(id, r.head) {
			n = max(n, r.body.Rod)
		}
	}
	return min(n, MaxNamedRods)
}

// Flies are those on the rig, from the end of the leader up.
func (b Rig) Flies() []Tied {
	if b.Pattern == "" {
		return b.Above
	}
	return append([]Tied{{b.Pattern, b.Rev}}, b.Above...)
}

// LossesOf are the moves of flies lost on an outing that are not deleted,
// newest first.
func (s *State) LossesOf(outing journal.ID) []Move {
	var out []Move
	for id, m := range s.moves {
		if m.outing == outing && m.why == WhyLost && outing != "" && s.alive(id, m.order) {
			out = append(out, s.moveOf(id, m))
		}
	}
	sortby.Stable(out, func(a, b *Move) int { return compareOrder(order{b.At, b.Entry}, order{a.At, a.Entry}) })
	return out
}

// AllOutcomes yields every outcome that is not deleted, in no order.
func (s *State) AllOutcomes() iter.Seq[Logged[Outcome]] {
	return func(yield func(Logged[Outcome]) bool) {
		for id, r := range s.outcomes {
			if s.alive(id, r.head) && !yield(Logged[Outcome]{r.body, r.head.id, r.head.at}) {
				return
			}
		}
	}
}

// Rig is one rig, unless it is unknown or deleted.
func (s *State) Rig(id journal.ID) (Logged[Rig], bool) { return one(s, s.rigs, id) }

// SightingsOf yields the sightings of a hatch, newest first.
func (s *State) SightingsOf(hatch string) iter.Seq[Logged[Sighting]] {
	return slices.Values(loggedIf(s, s.sightings, func(b Sighting) string { return b.When }, func(b Sighting) bool { return b.Hatch == hatch }))
}
