package flybox

import (
	"cmp"

	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
)

// OrderNow is an order with what was done for it. What was done is the sum of
// moves that name the order, so two devices that tie for it both count.
type OrderNow struct {
	Order
	Entry  journal.ID
	At     journal.Stamp
	Tied   int // for it, those handed over included
	Handed int // over
}

// ToTie is how many are still to be tied.
func (o OrderNow) ToTie() int { return max(o.Count-o.Tied, 0) }

// Waiting is how many are tied and not handed over yet.
func (o OrderNow) Waiting() int { return max(o.Tied-o.Handed, 0) }

// Open tells whether any is still to be handed over.
func (o OrderNow) Open() bool { return o.Handed < o.Count }

// OrdersNow are all orders with what was done for them: those due first, those
// without a date last.
func (s *State) OrdersNow() []OrderNow {
	tied, given := s.orderSums()
	var out []OrderNow
	for _, l := range s.Orders() {
		out = append(out, orderNow(l, tied, given))
	}
	sortby.Stable(out, func(a, b *OrderNow) int {
		if (a.Due == "") != (b.Due == "") {
			return cmp.Compare(b.Due, a.Due)
		}
		return cmp.Or(cmp.Compare(a.Due, b.Due), cmp.Compare(a.For, b.For), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// OrderNow is one order, unless it is unknown or deleted.
func (s *State) OrderNow(id journal.ID) (OrderNow, bool) {
	l, ok := s.Order(id)
	if !ok {
		return OrderNow{}, false
	}
	tied, given := s.orderSums()
	return orderNow(l, tied, given), true
}

func orderNow(l Logged[Order], tied, given map[journal.ID]int) OrderNow {
	o := OrderNow{Order: l.Body, Entry: l.Entry, At: l.At, Handed: max(l.Body.Done+given[l.Body.ID], 0)}
	// Flies from stock may be handed over that nobody tied for the order.
	o.Tied = max(l.Body.Done+tied[l.Body.ID], o.Handed)
	return o
}

func (s *State) orderSums() (tied, given map[journal.ID]int) {
	tied, given = map[journal.ID]int{}, map[journal.ID]int{}
	for id, m := range s.moves {
		if m.of == "" || !s.alive(id, m.order) {
			continue
		}
		switch m.why {
		case WhyTied:
			tied[m.of] += m.delta
		case WhyGiven:
			given[m.of] -= m.delta
		}
	}
	return tied, given
}
