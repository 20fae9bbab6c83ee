// Package queue works out what to tie next and what it takes. It does no I/O.
package queue

import (
	"cmp"
	"math"
	"slices"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/plan"
	"dampstone/flybox/sortby"
)

// For says what flies are tied for.
type For string

// The reasons to tie.
const (
	ForOrder For = "order"
	ForTrip  For = "trip"
	ForSlot  For = "slot"
)

// Trip is a trip ahead with the lines of its plan.
type Trip struct {
	ID    journal.ID
	Name  string
	Eve   string // the day before it, 2006-01-02: flies are to be tied by then
	Lines []plan.Line
}

// Job is some flies of one kind to tie for one thing.
type Job struct {
	For     For
	Thing   journal.ID   // id of the order or trip; empty for a slot
	Name    string       // who or what it is for: of the order, trip or box
	Pattern journal.ID   // empty for a fly yet to be made
	Known   bool         // the pattern is known
	Fly     flybox.Fly   // zero if not Known
	New     *match.Tying // how to make it, if it is yet to be made
	Place   flybox.Place // where they go; Loose for none
	N       int
	Due     string  // 2006-01-02; empty for no date
	Late    bool    // its day is past
	Minutes float64 // for one fly
	// Assumed says that nobody entered the minutes.
	Assumed bool
	Recipe  *flybox.Recipe // nil if there is none
	Short   []Need         // materials that are not there for it, those before it in the queue served first
}

// AllMinutes is the time for the whole job.
func (j Job) AllMinutes() float64 { return j.Minutes * float64(j.N) }

// Queue is what to tie.
type Queue struct {
	Jobs    []Job // what is due first stands first
	Flies   int
	Minutes float64
	// Needs are all materials that the recipes ask for, in the order in which
	// they are needed; NoRecipe is how many flies have none.
	Needs    []Need
	NoRecipe int
}

// Evenings is how many evenings of some hours the queue takes.
func (q Queue) Evenings(hours float64) int {
	if hours <= 0 {
		return 0
	}
	return int(math.Ceil(q.Minutes/(60*hours) - 1e-9))
}

// Need is a material that recipes ask for.
type Need struct {
	Name, Colour string
	Unit         flybox.Unit
	Amount       float64 // asked for; 0 where no recipe says how much
	Have         float64 // on hand, never negative
	Counted      bool    // somebody keeps count of it
	Flies        int
}

// Buy is how much is missing.
func (n Need) Buy() float64 { return math.Max(n.Amount-n.Have, 0) }

// Missing tells whether it has to be bought: there is less than asked for, or
// nobody has counted it.
func (n Need) Missing() bool { return !n.Counted || n.Buy() > 1e-9 }

// Make gathers the jobs: open orders, what the plans of trips lack, and slots
// with fewer flies than wanted. A fly is asked for once: what is tied for a
// trip fills the slots, and what comes back from one trip goes on the next.
// Flies that wait to be handed over are nobody else's.
func Make(s *flybox.State, trips []Trip, today string) Queue {
	var q Queue
	orders := s.OrdersNow()
	free := map[journal.ID]int{} // flies that can go on a trip
	for _, f := range s.Patterns() {
		free[f.ID] = max(f.Left, 0)
	}
	for _, o := range orders {
		free[o.Pattern] = max(free[o.Pattern]-o.Waiting(), 0)
		if n := o.ToTie(); n > 0 && o.Open() {
			q.Jobs = append(q.Jobs, Job{For: ForOrder, Thing: o.ID, Name: o.For, Pattern: o.Pattern, N: n, Due: o.Due})
		}
	}
	trips = slices.Clone(trips)
	sortby.Stable(trips, func(a, b *Trip) int { return cmp.Or(cmp.Compare(a.Eve, b.Eve), cmp.Compare(a.ID, b.ID)) })
	short := shortSlots(s)
	asked := map[journal.ID]int{}
	for _, t := range trips {
		for _, l := range t.Lines {
			j := Job{For: ForTrip, Thing: t.ID, Name: t.Name, Due: t.Eve}
			if l.New != nil {
				if j.New, j.N = l.New, l.Want; j.N > 0 {
					q.Jobs = append(q.Jobs, j)
				}
				continue
			}
			id := l.Fly.ID
			n := max(l.Want-free[id], 0)
			free[id] = max(free[id]+n-int(math.Round(l.Demand.Mean)), 0)
			if n == 0 {
				continue
			}
			asked[id] += n
			j.Pattern, j.N = id, n
			if at := short[id]; len(at) > 0 {
				j.Place = at[0].place
			}
			q.Jobs = append(q.Jobs, j)
		}
	}
	for _, f := range s.Patterns() {
		for _, at := range short[f.ID] {
			covered := min(asked[f.ID], at.n)
			asked[f.ID] -= covered
			if n := at.n - covered; n > 0 {
				q.Jobs = append(q.Jobs, Job{For: ForSlot, Name: at.box, Pattern: f.ID, Place: at.place, N: n})
			}
		}
	}
	q.fill(s, today)
	return q
}

type shortSlot struct {
	place flybox.Place
	box   string
	n     int
}

// shortSlots are the slots with fewer flies than wanted, by pattern, the
// emptiest first.
func shortSlots(s *flybox.State) map[journal.ID][]shortSlot {
	out := map[journal.ID][]shortSlot{}
	for _, b := range s.Boxes() {
		if b.Short == 0 {
			continue
		}
		v, _ := s.Box(b.ID)
		for _, row := range v.Cells {
			for _, cell := range row {
				for _, c := range cell.Contents {
					if n := c.Want - max(c.Count, 0); c.Assigned && c.Known && n > 0 {
						out[c.Pattern] = append(out[c.Pattern], shortSlot{cell.Place, b.Name, n})
					}
				}
			}
		}
	}
	for _, list := range out {
		sortby.Stable(list, func(a, b *shortSlot) int { return cmp.Compare(b.n, a.n) })
	}
	return out
}

// rank orders jobs of one day: what is promised before what is planned before
// what would be nice.
var rank = map[For]int{ForOrder: 0, ForTrip: 1, ForSlot: 2}

// fill adds flies, recipes, times and materials, and sorts.
func (q *Queue) fill(s *flybox.State, today string) {
	sortby.Stable(q.Jobs, func(a, b *Job) int {
		if (a.Due == "") != (b.Due == "") {
			return cmp.Compare(b.Due, a.Due) // those without a date last
		}
		return cmp.Or(cmp.Compare(a.Due, b.Due), cmp.Compare(rank[a.For], rank[b.For]), cmp.Compare(b.N, a.N), cmp.Compare(a.Pattern, b.Pattern))
	})
	stock := onHand(s)
	left := map[flybox.MaterialKey]float64{}
	for key, n := range stock {
		left[key] = math.Max(n, 0)
	}
	at := map[flybox.MaterialKey]int{}
	for i := range q.Jobs {
		j := &q.Jobs[i]
		j.Late = j.Due != "" && j.Due < today
		j.Minutes, j.Assumed = plan.AssumedMinutes, true
		if j.Pattern != "" {
			j.Fly, j.Known = s.Pattern(j.Pattern)
			if l, ok := s.Recipe(j.Pattern); ok {
				r := l.Body
				j.Recipe = &r
				if r.Minutes > 0 {
					j.Minutes, j.Assumed = r.Minutes, false
				}
			}
		}
		q.Flies += j.N
		q.Minutes += j.AllMinutes()
		if j.Recipe == nil || len(j.Recipe.Lines) == 0 {
			q.NoRecipe += j.N
			continue
		}
		// A material may stand in several lines of a recipe.
		var keys []flybox.MaterialKey
		amounts := map[flybox.MaterialKey]Need{}
		for _, l := range j.Recipe.Lines {
			key := l.Key()
			n, seen := amounts[key]
			if !seen {
				keys = append(keys, key)
				have, counted := stock[key]
				n = Need{Name: l.Name, Colour: l.Colour, Unit: l.Unit, Have: math.Max(have, 0), Counted: counted, Flies: j.N}
			}
			n.Amount += l.Amount * float64(j.N)
			amounts[key] = n
		}
		for _, key := range keys {
			n := amounts[key]
			if k, seen := at[key]; seen {
				q.Needs[k].Amount += n.Amount
				q.Needs[k].Flies += n.Flies
			} else {
				at[key] = len(q.Needs)
				q.Needs = append(q.Needs, n)
			}
			if n.Counted {
				n.Have = left[key]
				left[key] = math.Max(left[key]-n.Amount, 0)
			}
			if n.Missing() {
				j.Short = append(j.Short, n)
			}
		}
	}
}

// onHand sums what is there by name, colour and unit: two devices may have
// entered one material each.
func onHand(s *flybox.State) map[flybox.MaterialKey]float64 {
	out := map[flybox.MaterialKey]float64{}
	for _, m := range s.Materials() {
		out[m.Key()] += m.Amount
	}
	return out
}

// Tied are the bodies for n flies of a pattern that were tied for something:
// the flies at their place, and the counted materials of the recipe that went
// into them. tie names the tying, so that it can be taken back as one.
func Tied(s *flybox.State, pattern, order journal.ID, place flybox.Place, n int, tie journal.ID) []flybox.Body {
	move := flybox.StockMove{Pattern: pattern, Delta: n, Why: flybox.WhyTied, Order: order, Tie: tie}
	if place != flybox.Loose {
		move.Place = &place
	}
	bodies := []flybox.Body{move}
	l, ok := s.Recipe(pattern)
	if !ok {
		return bodies
	}
	used := map[journal.ID]float64{}
	var ids []journal.ID
	materials := s.Materials()
	for _, line := range l.Body.Lines {
		if line.Amount == 0 {
			continue
		}
		// Of several of one name, that of which most is there.
		best := -1
		for i, m := range materials {
			if m.Key() == line.Key() && (best < 0 || m.Amount > materials[best].Amount) {
				best = i
			}
		}
		if best < 0 {
			continue // nobody counts it
		}
		id := materials[best].ID
		if used[id] == 0 {
			ids = append(ids, id)
		}
		used[id] += line.Amount * float64(n)
	}
	for _, id := range ids {
		bodies = append(bodies, flybox.MaterialMove{Material: id, Delta: -used[id], Why: flybox.MaterialUsed, Tie: tie})
	}
	return bodies
}

// Tying is flies that were tied at once.
type Tying struct {
	Tie     journal.ID
	Pattern journal.ID
	N       int
	Order   journal.ID
	Place   flybox.Place
	At      time.Time
}

// Lately are the tyings since a moment that were not taken back, the newest
// first.
func Lately(s *flybox.State, since time.Time, most int) []Tying {
	var out []Tying
	moves := s.Moves("")
	for _, m := range slices.Backward(moves) {
		if len(out) == most || m.At.Time().Before(since) {
			break
		}
		if m.Tie != "" && m.Why == flybox.WhyTied && !m.Deleted {
			out = append(out, Tying{m.Tie, m.Pattern, m.Delta, m.Order, m.Place, m.At.Time()})
		}
	}
	return out
}

// TakeBack are the bodies that take a tying back; none if it is gone or was
// taken back already.
func TakeBack(s *flybox.State, tie journal.ID) (bodies []flybox.Body) {
	for _, m := range s.Moves("") {
		if m.Tie == tie && !m.Deleted {
			bodies = append(bodies, flybox.Deleted{Target: m.Entry})
		}
	}
	for _, m := range s.MaterialMoves("") {
		if m.Body.Tie == tie {
			bodies = append(bodies, flybox.Deleted{Target: m.Entry})
		}
	}
	return bodies
}
