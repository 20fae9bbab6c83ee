package plan

import (
	"slices"

	"dampstone/flybox"
	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
)

// Step is one move while packing: so many flies of a pattern from a place to
// another.
type Step struct {
	Pattern  journal.ID
	N        int
	From, To flybox.Place
	// Out makes room: the flies do not go along.
	Out bool
	// Done are the entries that did it, oldest first; nil if it is to do.
	Done []journal.ID
}

// Packing is what to move so that the plan's flies are in the boxes that go
// along.
type Packing struct {
	Steps  []Step // to do
	Done   []Step // done for this trip, oldest first
	NoRoom int    // flies that find no slot
}

// Pack says what to move between boxes. Flies that are loose go first; then
// those of boxes that stay. They go to a slot that has or awaits their kind,
// then to an empty one. Where slots are wanting, flies that are not in the
// plan are to come out.
func Pack(s *flybox.State, trip flybox.Trip, lines []Line, perSlot int) Packing {
	p := Packing{Done: done(s, trip.ID)}
	along := map[journal.ID]bool{}
	for _, id := range trip.Boxes {
		if _, ok := s.Box(id); ok {
			along[id] = true
		}
	}
	if len(along) == 0 {
		return p
	}
	room := newRoom(s, trip.Boxes, along, perSlot)
	planned := map[journal.ID]bool{}
	type wish struct {
		pattern journal.ID
		n       int
	}
	var wishes []wish
	for _, l := range lines {
		if l.New != nil {
			continue
		}
		planned[l.Fly.ID] = l.Take > 0
		in := 0
		for _, at := range s.Places(l.Fly.ID) {
			if along[at.Place.Box] {
				in += max(at.Count, 0)
			}
		}
		if n := min(l.Take, l.Left()) - in; n > 0 {
			wishes = append(wishes, wish{l.Fly.ID, n})
		}
	}
	for _, w := range wishes {
		for _, from := range sources(s, w.pattern, along) {
			for from.Count > 0 && w.n > 0 {
				to, fits := room.slotFor(w.pattern)
				if fits == 0 {
					if out, ok := room.makeRoom(s, planned, along); ok {
						p.Steps = append(p.Steps, out)
						continue
					}
					break
				}
				n := min(fits, from.Count, w.n)
				room.put(w.pattern, to, n)
				p.Steps = append(p.Steps, Step{Pattern: w.pattern, N: n, From: from.Place, To: to})
				from.Count -= n
				w.n -= n
			}
		}
		p.NoRoom += w.n
	}
	return p
}

// sources are the places that flies of a pattern come from, loose ones first.
func sources(s *flybox.State, pattern journal.ID, along map[journal.ID]bool) []flybox.Placement {
	var out []flybox.Placement
	for _, at := range s.Places(pattern) {
		switch {
		case at.Count <= 0 || along[at.Place.Box]:
		case at.Place == flybox.Loose:
			out = slices.Insert(out, 0, at)
		default:
			out = append(out, at)
		}
	}
	return out
}

// room is what the slots of the boxes that go along hold while packing goes
// on.
type room struct {
	places  []flybox.Place // in the order of the boxes
	cells   map[flybox.Place]flybox.Cell
	flies   map[flybox.Place]map[journal.ID]int
	perSlot int
	cleared map[flybox.Place]bool
}

func newRoom(s *flybox.State, boxes []journal.ID, along map[journal.ID]bool, perSlot int) *room {
	r := &room{cells: map[flybox.Place]flybox.Cell{}, flies: map[flybox.Place]map[journal.ID]int{}, perSlot: max(perSlot, 1), cleared: map[flybox.Place]bool{}}
	seen := map[journal.ID]bool{}
	for _, id := range boxes {
		if !along[id] || seen[id] {
			continue
		}
		seen[id] = true
		b, _ := s.Box(id)
		for _, row := range b.Cells {
			for _, c := range row {
				r.places = append(r.places, c.Place)
				r.cells[c.Place] = c
				r.flies[c.Place] = map[journal.ID]int{}
				for _, in := range c.Contents {
					if in.Count > 0 {
						r.flies[c.Place][in.Pattern] = in.Count
					}
				}
			}
		}
	}
	return r
}

func (r *room) put(pattern journal.ID, at flybox.Place, n int) { r.flies[at][pattern] += n }

// slotFor is a slot for a pattern and how many more it takes: one that has it
// or awaits it, or an empty one, rather one that awaits nothing.
func (r *room) slotFor(pattern journal.ID) (at flybox.Place, fits int) {
	var empty, kept flybox.Place
	for _, place := range r.places {
		here, n := r.flies[place], 0
		for _, k := range here {
			n += k
		}
		awaits, mine := 0, false
		for _, c := range r.cells[place].Contents {
			if c.Assigned {
				awaits++
				mine = mine || c.Pattern == pattern
			}
		}
		switch {
		case (here[pattern] > 0 || mine) && n < r.perSlot && (len(here) == 0 || here[pattern] > 0):
			return place, r.perSlot - n
		case n == 0 && (awaits == 0 || r.cleared[place]) && empty == flybox.Loose:
			empty = place
		case n == 0 && kept == flybox.Loose:
			kept = place
		}
	}
	for _, free := range []flybox.Place{empty, kept} {
		if free != flybox.Loose {
			return free, r.perSlot
		}
	}
	return flybox.Loose, 0
}

// makeRoom takes flies that are not in the plan out of a slot, to where their
// kind has a slot in a box that stays, or out of the boxes.
func (r *room) makeRoom(s *flybox.State, planned, along map[journal.ID]bool) (Step, bool) {
	for _, place := range r.places {
		if len(r.flies[place]) != 1 || r.cleared[place] {
			continue
		}
		for pattern, n := range r.flies[place] {
			if planned[pattern] {
				continue
			}
			to := flybox.Loose
			for _, at := range s.Places(pattern) {
				if at.Place != flybox.Loose && !at.Gone && !along[at.Place.Box] {
					to = at.Place
					break
				}
			}
			delete(r.flies[place], pattern)
			r.cleared[place] = true
			return Step{Pattern: pattern, N: n, From: place, To: to, Out: true}, true
		}
	}
	return Step{}, false
}

// done are the moves that were made for a trip and not undone. Each is two
// entries, out of one place and into another.
func done(s *flybox.State, trip journal.ID) []Step {
	var out []Step
	if trip == "" {
		return nil
	}
	open := map[journal.ID][]flybox.Move{} // by pattern
	for _, m := range s.Moves("") {
		if m.Trip != trip || m.Why != flybox.WhyMoved || m.Deleted {
			continue
		}
		if m.Delta < 0 {
			open[m.Pattern] = append(open[m.Pattern], m)
			continue
		}
		list := open[m.Pattern]
		if i := slices.IndexFunc(list, func(o flybox.Move) bool { return o.Delta == -m.Delta }); i >= 0 {
			out = append(out, Step{Pattern: m.Pattern, N: m.Delta, From: list[i].Place, To: m.Place, Done: []journal.ID{list[i].Entry, m.Entry}})
			open[m.Pattern] = slices.Delete(slices.Clone(list), i, i+1)
		}
	}
	return out
}

// Unpack are the bodies that take back a move made for a trip: the one that
// was done by these entries.
func Unpack(s *flybox.State, trip journal.ID, done []journal.ID) ([]flybox.Body, error) {
	l, ok := s.Trip(trip)
	if !ok {
		return nil, acts.ErrUnknown
	}
	for _, step := range Pack(s, l.Body, nil, 1).Done {
		if !slices.Equal(step.Done, done) {
			continue
		}
		var bodies []flybox.Body
		for _, id := range done {
			bodies = append(bodies, flybox.Deleted{Target: id})
		}
		return bodies, nil
	}
	return nil, acts.ErrUnknown
}
