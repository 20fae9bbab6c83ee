package flybox

import (
	"cmp"
	"slices"

	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
)

// Revision is one version of a pattern.
type Revision struct {
	Pattern
	Rev journal.ID // id of the entry
	At  journal.Stamp
}

func (r *Revision) order() order { return order{r.At, r.Rev} }

// Fly is a pattern as it is now.
type Fly struct {
	Revision
	Left int // flies in all places; may be negative, see State
}

// Logged is something in the journal with the entry that says it last.
type Logged[T any] struct {
	Body  T
	Entry journal.ID
	At    journal.Stamp
}

// Patterns are all patterns that are not deleted, by name, then id.
func (s *State) Patterns() []Fly {
	out := make([]Fly, 0, len(s.patterns))
	for id := range s.patterns {
		if f, ok := s.Pattern(id); ok {
			out = append(out, f)
		}
	}
	sortby.Stable(out, func(a, b *Fly) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out
}

// Pattern is the pattern with an id, unless it is unknown or deleted.
func (s *State) Pattern(id journal.ID) (Fly, bool) {
	r := s.patterns[id]
	if r == nil || !s.alive(id, r.head.order()) {
		return Fly{}, false
	}
	return Fly{*r.head, s.count[id]}, true
}

// Revision is any revision of any pattern, deleted or not.
func (s *State) Revision(rev journal.ID) (Revision, bool) {
	r := s.revisions[rev]
	if r == nil {
		return Revision{}, false
	}
	return *r, true
}

// Lineage is every revision of a pattern and what they were made from, perhaps
// revisions of other patterns, oldest first. Parents that have not arrived yet
// are left out.
func (s *State) Lineage(id journal.ID) []Revision {
	r := s.patterns[id]
	if r == nil {
		return nil
	}
	found := map[journal.ID]*Revision{}
	follow := func(rev *Revision) {
		for rev != nil && found[rev.Rev] == nil {
			found[rev.Rev] = rev
			rev = s.revisions[rev.Parent]
		}
	}
	for _, rev := range r.all {
		follow(rev)
	}
	out := make([]Revision, 0, len(found))
	for _, rev := range found {
		out = append(out, *rev)
	}
	sortby.Stable(out, func(a, b *Revision) int { return compareOrder(a.order(), b.order()) })
	return out
}

func compareOrder(a, b order) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.id, b.id)) }

// BoxInfo is a box at a glance.
type BoxInfo struct {
	Box
	At    journal.Stamp
	Count int // flies in it, where not negative
	Want  int // flies wanted in it
	Short int // flies missing from slots that hold fewer than wanted
}

// holds counts n flies of a pattern in one place of the box.
func (b *BoxInfo) holds(n int) { b.Count += max(n, 0) }

// wants counts a slot that has n of the flies wanted in it.
func (b *BoxInfo) wants(want, n int) {
	b.Want += want
	b.Short += max(want-max(n, 0), 0)
}

// BoxView is a box with all that is in it.
type BoxView struct {
	BoxInfo
	Cells   [][]Cell // Rows lists of Columns cells
	Outside []Cell   // flies or assignments beyond the grid, if the box was made smaller
}

// Cell is one place and the patterns that are, or belong, there.
type Cell struct {
	Place    Place
	Contents []Content
}

// Content is a pattern in a place.
type Content struct {
	Pattern  journal.ID
	Fly      Fly  // zero if not Known
	Known    bool // false if the pattern is deleted or has not arrived yet
	Assigned bool // belongs here
	Want     int
	Count    int // is here; may be negative, see State
}

// Boxes are all boxes that are not deleted, by name, then id.
func (s *State) Boxes() []BoxInfo {
	infos := make(map[journal.ID]*BoxInfo, len(s.boxes))
	for id, r := range s.boxes {
		if s.alive(id, r.head) {
			infos[id] = &BoxInfo{Box: r.body, At: r.head.at}
		}
	}
	for place, here := range s.at {
		if b := infos[place.Box]; b != nil {
			for _, n := range here {
				b.holds(n)
			}
		}
	}
	for place, here := range s.slots {
		if b := infos[place.Box]; b != nil {
			for pattern, r := range here {
				if !r.body.Off {
					b.wants(r.body.Want, s.at[place][pattern])
				}
			}
		}
	}
	out := make([]BoxInfo, 0, len(infos))
	for _, b := range infos {
		out = append(out, *b)
	}
	sortby.Stable(out, func(a, b *BoxInfo) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out
}

// Box is a box with its grid, unless it is unknown or deleted.
func (s *State) Box(id journal.ID) (BoxView, bool) {
	r := s.boxes[id]
	if r == nil || !s.alive(id, r.head) {
		return BoxView{}, false
	}
	v := BoxView{BoxInfo: BoxInfo{Box: r.body, At: r.head.at}}
	v.Cells = make([][]Cell, v.Rows)
	for row := range v.Cells {
		v.Cells[row] = make([]Cell, v.Columns)
		for slot := range v.Cells[row] {
			v.Cells[row][slot].Place = Place{id, row + 1, slot + 1}
		}
	}
	for _, place := range s.placesUsed(func(p Place) bool { return p.Box == id }) {
		cell := s.Cell(place)
		for _, c := range cell.Contents {
			v.holds(c.Count)
			if c.Assigned {
				v.wants(c.Want, c.Count)
			}
		}
		if place.Row <= v.Rows && place.Slot <= v.Columns {
			v.Cells[place.Row-1][place.Slot-1] = cell
		} else {
			v.Outside = append(v.Outside, cell)
		}
	}
	return v, true
}

// Strays are flies that lie in boxes that are deleted or have not arrived
// yet. Loose flies are not strays.
func (s *State) Strays() []Cell {
	var out []Cell
	for _, place := range s.placesUsed(func(p Place) bool { return p != Loose && !s.hasBox(p.Box) }) {
		if len(s.at[place]) > 0 {
			out = append(out, s.Cell(place))
		}
	}
	return out
}

func (s *State) hasBox(id journal.ID) bool {
	r := s.boxes[id]
	return r != nil && s.alive(id, r.head)
}

// placesUsed are the places that hold something or that something is assigned
// to, sorted.
func (s *State) placesUsed(wanted func(Place) bool) []Place {
	var out []Place
	for p := range s.at {
		if wanted(p) {
			out = append(out, p)
		}
	}
	for p, here := range s.slots {
		if _, both := s.at[p]; both || !wanted(p) {
			continue
		}
		for _, r := range here {
			if !r.body.Off {
				out = append(out, p)
				break
			}
		}
	}
	sortby.Stable(out, func(a, b *Place) int { return comparePlaces(*a, *b) })
	return out
}

func comparePlaces(a, b Place) int {
	return cmp.Or(cmp.Compare(a.Box, b.Box), cmp.Compare(a.Row, b.Row), cmp.Compare(a.Slot, b.Slot))
}

// Cell is what is, or belongs, in a place: what is assigned first, then by
// name and id.
func (s *State) Cell(place Place) Cell {
	cell := Cell{Place: place}
	add := func(pattern journal.ID) {
		c := Content{Pattern: pattern, Count: s.at[place][pattern]}
		if r := s.slots[place][pattern]; r != nil && !r.body.Off {
			c.Assigned, c.Want = true, r.body.Want
		}
		c.Fly, c.Known = s.Pattern(pattern)
		cell.Contents = append(cell.Contents, c)
	}
	for pattern := range s.at[place] {
		add(pattern)
	}
	for pattern, r := range s.slots[place] {
		if _, here := s.at[place][pattern]; !here && !r.body.Off {
			add(pattern)
		}
	}
	sortby.Stable(cell.Contents, func(a, b *Content) int {
		if a.Assigned != b.Assigned {
			if a.Assigned {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.Fly.Name, b.Fly.Name), cmp.Compare(a.Pattern, b.Pattern))
	})
	return cell
}

// Count is the number of flies of a pattern in all places.
func (s *State) Count(pattern journal.ID) int { return s.count[pattern] }

// CountAt is the number of flies of a pattern in one place.
func (s *State) CountAt(pattern journal.ID, place Place) int { return s.at[place][pattern] }

// Placement is where flies of a pattern are.
type Placement struct {
	Place   Place
	BoxName string // empty if loose, or if the box is deleted or unknown
	Gone    bool   // the box is deleted or unknown
	Count   int
}

// Places are where the flies of a pattern are, by box name and place, loose
// ones last.
func (s *State) Places(pattern journal.ID) []Placement {
	var out []Placement
	for place, here := range s.at {
		n, is := here[pattern]
		if !is {
			continue
		}
		p := Placement{Place: place, Count: n}
		if place != Loose {
			if s.hasBox(place.Box) {
				p.BoxName = s.boxes[place.Box].body.Name
			} else {
				p.Gone = true
			}
		}
		out = append(out, p)
	}
	rank := func(p Placement) int {
		switch {
		case p.Place == Loose:
			return 2
		case p.Gone:
			return 1
		}
		return 0
	}
	sortby.Stable(out, func(a, b *Placement) int {
		return cmp.Or(cmp.Compare(rank(*a), rank(*b)), cmp.Compare(a.BoxName, b.BoxName), comparePlaces(a.Place, b.Place))
	})
	return out
}

// Move is a stock move in the journal.
type Move struct {
	Entry   journal.ID
	At      journal.Stamp
	Pattern journal.ID
	Place   Place
	Delta   int
	Why     Why
	Counted *int
	Trip    journal.ID
	Outing  journal.ID `json:",omitempty"`
	Outcome journal.ID `json:",omitempty"`
	Order   journal.ID `json:",omitempty"`
	Tie     journal.ID `json:",omitempty"`
	Note    string
	Deleted bool
}

func (s *State) moveOf(id journal.ID, m *move) Move {
	return Move{id, m.order.at, m.pattern, m.place, m.delta, m.why, m.counted, m.trip, m.outing, m.outcome, m.of, m.tie, m.note, !s.alive(id, m.order)}
}

// Moves are the moves of a pattern (of every pattern if it is empty), oldest
// first, with those that were deleted.
func (s *State) Moves(pattern journal.ID) []Move {
	var out []Move
	for id, m := range s.moves {
		if pattern == "" || m.pattern == pattern {
			out = append(out, s.moveOf(id, m))
		}
	}
	sortby.Stable(out, func(a, b *Move) int { return compareOrder(order{a.At, a.Entry}, order{b.At, b.Entry}) })
	return out
}

// Lists of what is not deleted, newest first: by what each says of its time,
// then by stamp.

// Sightings are all sightings, newest first.
func (s *State) Sightings() []Logged[Sighting] {
	return logged(s, s.sightings, func(b Sighting) string { return b.When })
}

// Outcomes are all outcomes, newest first.
func (s *State) Outcomes() []Logged[Outcome] {
	return logged(s, s.outcomes, func(b Outcome) string { return b.When })
}

// Outings are all outings, newest first.
func (s *State) Outings() []Logged[Outing] {
	return logged(s, s.outings, func(b Outing) string { return b.Start })
}

// Rigs are what was fished on all outings, newest first.
func (s *State) Rigs() []Logged[Rig] {
	return logged(s, s.rigs, func(b Rig) string { return b.When })
}

// Trips are all trips, latest first.
func (s *State) Trips() []Logged[Trip] {
	return logged(s, s.trips, func(b Trip) string { return b.From })
}

// Orders are all orders, latest due date first.
func (s *State) Orders() []Logged[Order] {
	return logged(s, s.orders, func(b Order) string { return b.Due })
}

// Notes are all notes, newest first.
func (s *State) Notes() []Logged[Note] { return logged(s, s.notes, func(Note) string { return "" }) }

// NotesAbout are the notes about one thing, newest first.
func (s *State) NotesAbout(id journal.ID) []Logged[Note] {
	return slices.DeleteFunc(s.Notes(), func(n Logged[Note]) bool { return n.Body.About != id })
}

// Sighting is one sighting, unless it is unknown or deleted.
func (s *State) Sighting(id journal.ID) (Logged[Sighting], bool) { return one(s, s.sightings, id) }

// Outcome is one outcome, unless it is unknown or deleted.
func (s *State) Outcome(id journal.ID) (Logged[Outcome], bool) { return one(s, s.outcomes, id) }

// Outing is one outing, unless it is unknown or deleted.
func (s *State) Outing(id journal.ID) (Logged[Outing], bool) { return one(s, s.outings, id) }

// Trip is one trip, unless it is unknown or deleted.
func (s *State) Trip(id journal.ID) (Logged[Trip], bool) { return one(s, s.trips, id) }

// Order is one order, unless it is unknown or deleted.
func (s *State) Order(id journal.ID) (Logged[Order], bool) { return one(s, s.orders, id) }

// Note is one note, unless it is unknown or deleted.
func (s *State) Note(id journal.ID) (Logged[Note], bool) { return one(s, s.notes, id) }

func one[T any](s *State, m registers[T], id journal.ID) (Logged[T], bool) {
	r := m[id]
	if r == nil || !s.alive(id, r.head) {
		return Logged[T]{}, false
	}
	return Logged[T]{r.body, r.head.id, r.head.at}, true
}

func logged[T any](s *State, m registers[T], when func(T) string) []Logged[T] {
	return loggedIf(s, m, when, func(T) bool { return true })
}

// loggedIf is logged of what keep wants.
func loggedIf[T any](s *State, m registers[T], when func(T) string, keep func(T) bool) []Logged[T] {
	var places []placed
	var found []*register[T]
	for id, r := range m {
		if keep(r.body) && s.alive(id, r.head) {
			places = append(places, placed{unixOf(when(r.body), r.head.at), r.head, len(found)})
			found = append(found, r)
		}
	}
	sortPlaced(places)
	out := make([]Logged[T], len(places))
	for i, p := range places {
		r := found[p.i]
		out[i] = Logged[T]{r.body, r.head.id, r.head.at}
	}
	return out
}

// placed is where something stands in a list, newest first.
type placed struct {
	at int64 // Unix milliseconds
	o  order
	i  int
}

// sortPlaced is apart from loggedIf so that the sort is compiled once, not for
// every kind of entry: it matters for what a phone fetches.
func sortPlaced(list []placed) {
	sortby.Stable(list, func(a, b *placed) int { return cmp.Or(cmp.Compare(b.at, a.at), compareOrder(b.o, a.o)) })
}
