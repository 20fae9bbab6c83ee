package hatchkeys

import (
	"fmt"
	"testing"
)

// rigidKey is a yes-or-no key made of the same packs: an answer that the pack
// does not list for a form strikes it out, and the hatches that keep a form
// share the probability evenly. When all are struck out it says unknown.
type rigidKey struct {
	key *Key
	// One tally for each floor: the share that is spread over all candidates,
	// without which one slip would cost an endless log loss.
	floors  []float64
	tallies []*tally
	swatch  map[string]int // nearest to a colour of the pack
}

func newRigidKey(key *Key) *rigidKey {
	r := &rigidKey{key: key, floors: []float64{0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9}, swatch: map[string]int{}}
	for _, f := range r.floors {
		r.tallies = append(r.tallies, newTally(fmt.Sprintf("rigid key, floor %.2f", f)))
	}
	return r
}

func (r *rigidKey) add(e *Evidence, truth int) {
	left := r.left(e)
	n := len(r.key.hatches) + 1
	for i, floor := range r.floors {
		p := make([]float64, n)
		fill(p, floor/float64(n))
		for _, h := range left {
			p[h] += (1 - floor) / float64(len(left))
		}
		r.tallies[i].add(forecast{p, truth})
	}
}

// best is the tally with the floor that, with hindsight, suits the rigid key
// best.
func (r *rigidKey) best() *tally {
	best := r.tallies[0]
	for _, t := range r.tallies {
		if t.meanLoss() < best.meanLoss() {
			best = t
		}
	}
	return best
}

// left are the hatches that no answer strikes out, or the unknown alone.
func (r *rigidKey) left(e *Evidence) []int {
	var left []int
	for i := range r.key.Pack.Hatches {
		h := &r.key.Pack.Hatches[i]
		if !allowsHatch(h, e) {
			continue
		}
		for j := range h.Forms {
			if r.allowsForm(&h.Forms[j], e) {
				left = append(left, i)
				break
			}
		}
	}
	if left == nil {
		return []int{len(r.key.Pack.Hatches)}
	}
	return left
}

func allowsHatch(h *Hatch, e *Evidence) bool {
	if e.Month != 0 {
		ok := false
		first, last := monthDays[e.Month-1], monthDays[e.Month]-1
		if e.Day > 0 {
			first = min(first+e.Day-1, last)
			last = first
		}
		for _, s := range h.Season {
			from, err1 := dayOf(s.From)
			to, err2 := dayOf(s.To)
			for d := first; d <= last && err1 == nil && err2 == nil; d++ {
				ok = ok || daysOutside(d, from, to) == 0
			}
		}
		if !ok {
			return false
		}
	}
	if e.WaterC != nil && h.WaterC != nil && (*e.WaterC < h.WaterC.From || *e.WaterC > h.WaterC.To) {
		return false
	}
	return listed(&h.Waters, &e.Choices[Water], Water)
}

func (r *rigidKey) nearest(hex string) int {
	i, ok := r.swatch[hex]
	if !ok {
		i = nearestSwatch(mustColour(hex))
		r.swatch[hex] = i
	}
	return i
}

func (r *rigidKey) allowsForm(f *Form, e *Evidence) bool {
	if e.LengthMM != 0 && (e.LengthMM < f.Length.From || e.LengthMM > f.Length.To) {
		return false
	}
	if e.Hour != nil && aboutAt(f.Hours, *e.Hour) < 1 {
		return false
	}
	if e.Colour != "" {
		ok := false
		for _, hex := range f.Colour.Body {
			ok = ok || r.nearest(hex) == r.nearest(e.Colour)
		}
		if !ok {
			return false
		}
	}
	for _, t := range Traits {
		if w := f.Weights(t); w != nil && !listed(w, &e.Choices[t], t) {
			return false
		}
	}
	return true
}

// listed tells whether one of the values answered has some weight.
func listed(w *Weights, c *Choice, t Trait) bool {
	if !c.given {
		return true
	}
	for _, v := range t.Values() {
		if c.Has(t, v) && w.Of[v] > 0 {
			return true
		}
	}
	return false
}

func TestRigidKeyStrikesOutByOneAnswer(t *testing.T) {
	key, err := ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	r := newRigidKey(key)
	has := func(line, id string) bool {
		_, e, err := ParseJSON([]byte(line))
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range r.left(&e) {
			if h < len(key.Pack.Hatches) && key.Pack.Hatches[h].ID == id {
				return true
			}
		}
		return false
	}
	if !has(`{"region":"west-na","month":9,"length_mm":20,"wings":"short"}`, "claassenia") {
		t.Error("struck out though every answer is in the pack")
	}
	for _, line := range []string{
		`{"region":"west-na","month":1,"length_mm":20,"wings":"short"}`,
		`{"region":"west-na","month":9,"length_mm":14,"wings":"short"}`,
		`{"region":"west-na","month":9,"length_mm":20,"wings":"upright"}`,
		`{"region":"west-na","month":9,"length_mm":20,"hour":14,"wings":"short"}`,
	} {
		if has(line, "claassenia") {
			t.Errorf("%s: one answer outside the pack does not strike it out", line)
		}
	}
	_, e, _ := ParseJSON([]byte(`{"region":"west-na","month":1,"length_mm":90}`))
	if left := r.left(&e); len(left) != 1 || left[0] != len(key.Pack.Hatches) {
		t.Errorf("left %v, want the unknown alone", left)
	}
}
