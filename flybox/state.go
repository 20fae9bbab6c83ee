package flybox

import (
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"runtime"

	"dampstone/flybox/journal"
)

// State is what a set of entries amounts to. It is the same for the same set
// whatever the order in which it was applied, and applying an entry twice
// equals applying it once.
//
//   - What is said about a thing is a register: the entry with the greatest
//     (stamp, id) wins.
//   - A deletion hides a thing whose winning entry is older; an edit made
//     later shows it again.
//   - Counts are sums over moves that are not deleted. They may be negative
//     when two devices took the same fly; that calls for a recount.
//
// A State that a Ledger has handed out is never changed again: it may be kept,
// and read by many at once.
type State struct {
	seen map[journal.ID]struct{}
	dead map[journal.ID]order // newest deletion by target

	patterns  map[journal.ID]*patternRegister
	revisions map[journal.ID]*Revision
	boxes     registers[Box]
	sightings registers[Sighting]
	outcomes  registers[Outcome]
	outings   registers[Outing]
	rigs      registers[Rig]
	trips     registers[Trip]
	returns   registers[TripReturn]
	orders    registers[Order]
	notes     registers[Note]
	hatches   registers[Hatch]
	recipes   registers[Recipe] // by pattern
	materials registers[Material]
	stations  registers[Station]
	readings  registers[Reading]

	materialMoves map[journal.ID]materialMove // by entry id

	slots map[Place]map[journal.ID]*register[Slot] // by pattern
	lines map[lineKey]*register[TripLine]
	moves map[journal.ID]*move         // by entry id
	count map[journal.ID]int           // by pattern
	at    map[Place]map[journal.ID]int // by pattern, without zeros

	newer  int                   // entries of kinds or formats not known here
	broken map[journal.ID]string // entries that a device of this version could not have written: code by id
}

// order places an entry among all others.
type order struct {
	at journal.Stamp
	id journal.ID
}

func (o order) after(p order) bool {
	if c := o.at.Compare(p.at); c != 0 {
		return c > 0
	}
	return o.id > p.id
}

// register holds the body that won.
type register[T any] struct {
	head order
	body T
}

type registers[T any] map[journal.ID]*register[T]

func (m registers[T]) put(id journal.ID, o order, body T) {
	if r := m[id]; r == nil || o.after(r.head) {
		m[id] = &register[T]{o, body} // a new one: states share them
	}
}

type patternRegister struct {
	head *Revision
	all  []*Revision // in order of arrival
}

type move struct {
	order   order
	pattern journal.ID
	place   Place
	delta   int
	why     Why
	counted *int
	trip    journal.ID
	outing  journal.ID
	outcome journal.ID
	of      journal.ID // the order
	tie     journal.ID
	note    string
}

// NewState is the state of no entries.
func NewState() *State {
	return &State{
		seen: map[journal.ID]struct{}{}, dead: map[journal.ID]order{},
		patterns: map[journal.ID]*patternRegister{}, revisions: map[journal.ID]*Revision{},
		boxes: registers[Box]{}, sightings: registers[Sighting]{}, outcomes: registers[Outcome]{},
		outings: registers[Outing]{}, rigs: registers[Rig]{}, trips: registers[Trip]{}, returns: registers[TripReturn]{}, orders: registers[Order]{}, notes: registers[Note]{},
		hatches: registers[Hatch]{}, recipes: registers[Recipe]{}, materials: registers[Material]{}, stations: registers[Station]{}, readings: registers[Reading]{}, materialMoves: map[journal.ID]materialMove{},
		slots: map[Place]map[journal.ID]*register[Slot]{}, lines: map[lineKey]*register[TripLine]{}, moves: map[journal.ID]*move{},
		count: map[journal.ID]int{}, at: map[Place]map[journal.ID]int{}, broken: map[journal.ID]string{},
	}
}

// clone is a state of its own with all that this one holds.
func (s *State) clone() *State {
	c := *s
	c.seen, c.dead, c.broken = maps.Clone(s.seen), maps.Clone(s.dead), maps.Clone(s.broken)
	c.patterns, c.revisions = maps.Clone(s.patterns), maps.Clone(s.revisions)
	c.boxes, c.sightings, c.outcomes, c.outings = maps.Clone(s.boxes), maps.Clone(s.sightings), maps.Clone(s.outcomes), maps.Clone(s.outings)
	c.rigs, c.trips, c.returns, c.orders = maps.Clone(s.rigs), maps.Clone(s.trips), maps.Clone(s.returns), maps.Clone(s.orders)
	c.notes, c.hatches, c.recipes, c.materials = maps.Clone(s.notes), maps.Clone(s.hatches), maps.Clone(s.recipes), maps.Clone(s.materials)
	c.stations, c.readings = maps.Clone(s.stations), maps.Clone(s.readings)
	c.materialMoves, c.lines, c.moves, c.count = maps.Clone(s.materialMoves), maps.Clone(s.lines), maps.Clone(s.moves), maps.Clone(s.count)
	c.slots, c.at = cloneTwice(s.slots), cloneTwice(s.at)
	return &c
}

func cloneTwice[K, L comparable, V any](m map[K]map[L]V) map[K]map[L]V {
	out := make(map[K]map[L]V, len(m))
	for k, inner := range m {
		out[k] = maps.Clone(inner)
	}
	return out
}

// Apply adds entries to the state.
func (s *State) Apply(entries ...journal.Entry) {
	for i, e := range entries {
		s.apply(e)
		if i%breath == breath-1 {
			runtime.Gosched()
		}
	}
}

// breath is after how many entries of a long season others are let through,
// whose screens would wait for as long as the runtime lets one go on.
const breath = 200

// Has tells whether the entry was applied.
func (s *State) Has(id journal.ID) bool {
	_, ok := s.seen[id]
	return ok
}

// Len is the number of entries applied, of any kind.
func (s *State) Len() int { return len(s.seen) }

// Newer is the number of entries that only a newer version understands. They
// are kept and passed on.
func (s *State) Newer() int { return s.newer }

// Broken is the number of entries that are kept but make no sense: damaged in
// the store, or written by something else.
func (s *State) Broken() int { return len(s.broken) }

// BrokenIDs are the ids of those entries, each with the code of what is wrong.
func (s *State) BrokenIDs() map[journal.ID]string { return maps.Clone(s.broken) }

func (s *State) apply(e journal.Entry) {
	if e.ID == "" || s.Has(e.ID) {
		return
	}
	s.seen[e.ID] = struct{}{}
	body, err := Decode(e)
	if err != nil {
		if isNewer(err) {
			s.newer++
		} else {
			s.broken[e.ID] = Bad{Err: err}.Code()
		}
		return
	}
	o := order{e.At, e.ID}
	id := body.register().id
	if id == "" {
		id = e.ID
	}
	switch b := body.(type) {
	case Pattern:
		b.ID = id
		s.applyPattern(b, o)
	case Box:
		b.ID = id
		s.boxes.put(id, o, b)
	case Sighting:
		b.ID = id
		s.sightings.put(id, o, b)
	case Outcome:
		b.ID = id
		s.outcomes.put(id, o, b)
	case Outing:
		b.ID = id
		s.outings.put(id, o, b)
	case Rig:
		b.ID = id
		s.rigs.put(id, o, b)
	case Trip:
		b.ID = id
		s.trips.put(id, o, b)
	case Order:
		b.ID = id
		s.orders.put(id, o, b)
	case Note:
		b.ID = id
		s.notes.put(id, o, b)
	case Hatch:
		b.ID = id
		s.hatches.put(id, o, b)
	case TripReturn:
		s.returns.put(id, o, b)
	case Recipe:
		s.recipes.put(b.ID, o, b)
	case Material:
		b.ID = id
		s.materials.put(id, o, b)
	case Station:
		b.ID = id
		s.stations.put(id, o, b)
	case Reading:
		b.ID = id
		s.readings.put(id, o, b)
	case MaterialMove:
		s.materialMoves[e.ID] = materialMove{o, b}
	case TripLine:
		s.applyLine(b, o)
	case Slot:
		s.applySlot(b, o)
	case StockMove:
		s.applyMove(b, o)
	case Deleted:
		s.applyDeleted(b.Target, o)
	}
}

func (s *State) applyPattern(b Pattern, o order) {
	rev := &Revision{Pattern: b, Rev: o.id, At: o.at}
	s.revisions[o.id] = rev
	var r patternRegister
	if old := s.patterns[b.ID]; old != nil {
		r = *old
	}
	r.all = append(r.all, rev) // past the end of what another state reads
	if r.head == nil || o.after(r.head.order()) {
		r.head = rev
	}
	s.patterns[b.ID] = &r
}

func (s *State) applySlot(b Slot, o order) {
	here := s.slots[b.Place]
	if here == nil {
		here = map[journal.ID]*register[Slot]{}
		s.slots[b.Place] = here
	}
	registers[Slot](here).put(b.Pattern, o, b)
}

func (s *State) applyMove(b StockMove, o order) {
	m := &move{order: o, pattern: b.Pattern, place: b.At(), delta: b.Delta, why: b.Why, counted: b.Counted, trip: b.Trip, outing: b.Outing, outcome: b.Outcome, of: b.Order, tie: b.Tie, note: b.Note}
	s.moves[o.id] = m
	if s.alive(o.id, o) {
		s.sum(m, m.delta)
	}
}

func (s *State) applyDeleted(target journal.ID, o order) {
	m, isMove := s.moves[target]
	wasAlive := isMove && s.alive(target, m.order)
	if d, ok := s.dead[target]; !ok || o.after(d) {
		s.dead[target] = o
	}
	if wasAlive && !s.alive(target, m.order) {
		s.sum(m, -m.delta)
	}
}

func (s *State) sum(m *move, delta int) {
	s.count[m.pattern] += delta
	if s.count[m.pattern] == 0 {
		delete(s.count, m.pattern)
	}
	here := s.at[m.place]
	if here == nil {
		here = map[journal.ID]int{}
		s.at[m.place] = here
	}
	here[m.pattern] += delta
	if here[m.pattern] == 0 {
		delete(here, m.pattern)
	}
	if len(here) == 0 {
		delete(s.at, m.place)
	}
}

// alive tells whether the thing last described at o has not been deleted
// since.
func (s *State) alive(id journal.ID, o order) bool {
	d, ok := s.dead[id]
	return !ok || o.after(d)
}

// latest is the newest of what was said about what name stands for, so that
// the next thing said can be stamped after it. ok is false if nothing was said.
func (s *State) latest(name regName) (last order, ok bool) {
	see := func(o order) {
		if !ok || o.after(last) {
			last, ok = o, true
		}
	}
	switch {
	case name.line != (lineKey{}):
		seeRegister(s.lines, name.line, see)
		return last, ok
	case name.recipe != "":
		seeRegister(s.recipes, name.recipe, see)
		return last, ok
	case name.id == "":
		seeRegister(s.slots[name.slot.place], name.slot.pattern, see)
		return last, ok
	}
	id := name.id
	if d, is := s.dead[id]; is {
		see(d)
	}
	if r := s.patterns[id]; r != nil {
		see(r.head.order())
	}
	if m, is := s.moves[id]; is {
		see(m.order)
	}
	seeRegister(s.boxes, id, see)
	seeRegister(s.sightings, id, see)
	seeRegister(s.outcomes, id, see)
	seeRegister(s.outings, id, see)
	seeRegister(s.rigs, id, see)
	seeRegister(s.trips, id, see)
	seeRegister(s.returns, id, see)
	seeRegister(s.orders, id, see)
	seeRegister(s.notes, id, see)
	seeRegister(s.hatches, id, see)
	seeRegister(s.materials, id, see)
	seeRegister(s.stations, id, see)
	seeRegister(s.readings, id, see)
	if m, is := s.materialMoves[id]; is {
		see(m.order)
	}
	return last, ok
}

func seeRegister[K comparable, T any](m map[K]*register[T], id K, see func(order)) {
	if r := m[id]; r != nil {
		see(r.head)
	}
}

// Digest is a hash of all that the state shows. Two devices with the same
// entries have the same digest.
func (s *State) Digest() string {
	sum := sha256.Sum256(s.CanonicalJSON())
	return hex.EncodeToString(sum[:])
}

// CanonicalJSON is all that the state shows, in a fixed order.
func (s *State) CanonicalJSON() []byte {
	type boxed struct {
		BoxView
		Outside []Cell
	}
	all := struct {
		Entries, Newer, Broken int
		Flies                  []Fly
		Lineages               [][]Revision
		Boxes                  []boxed
		Strays                 []Cell
		Sightings              []Logged[Sighting]
		Outcomes               []Logged[Outcome]
		Outings                []Logged[Outing]
		Rigs                   []Logged[Rig] `json:",omitempty"`
		Trips                  []Logged[Trip]
		TripLines              []TripLine           `json:",omitempty"`
		Returns                []Logged[TripReturn] `json:",omitempty"`
		Orders                 []Logged[Order]
		Notes                  []Logged[Note]
		Hatches                []Logged[Hatch]
		Recipes                []Logged[Recipe]       `json:",omitempty"`
		Materials              []OnHand               `json:",omitempty"`
		MaterialMoves          []Logged[MaterialMove] `json:",omitempty"`
		Stations               []Logged[Station]      `json:",omitempty"`
		Readings               []Logged[Reading]      `json:",omitempty"`
		Moves                  []Move
	}{
		Entries: s.Len(), Newer: s.newer, Broken: s.Broken(),
		Flies: s.Patterns(), Strays: s.Strays(),
		Sightings: s.Sightings(), Outcomes: s.Outcomes(), Outings: s.Outings(), Rigs: s.Rigs(),
		Trips: s.Trips(), TripLines: s.TripLines(""), Returns: s.Returns(), Orders: s.Orders(), Notes: s.Notes(), Hatches: s.Hatches(), Moves: s.Moves(""),
		Recipes: s.Recipes(), Materials: s.Materials(), MaterialMoves: s.MaterialMoves(""), Stations: s.Stations(), Readings: s.ReadingsOf(""),
	}
	for _, f := range all.Flies {
		all.Lineages = append(all.Lineages, s.Lineage(f.ID))
	}
	for _, b := range s.Boxes() {
		v, _ := s.Box(b.ID)
		all.Boxes = append(all.Boxes, boxed{v, v.Outside})
	}
	raw, err := journal.Marshal(all)
	if err != nil {
		// Every part was decoded from JSON or is a plain number or string.
		panic(err)
	}
	return raw
}
