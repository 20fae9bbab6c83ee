package match

import "sync/atomic"

// Table holds the Utility of each of a list of flies for each of a list of
// quarries, worked out once for a quarry when it is first asked for. It is
// safe for concurrent use, and good until the flies change.
type Table struct {
	flies    []CompiledFly
	quarries []CompiledQuarry
	columns  []atomic.Pointer[[]float64] // by quarry
}

// NewTable makes a table. The quarries are numbered as the caller numbers the
// forms of a key. The slices must not change afterwards.
func NewTable(flies []CompiledFly, quarries []CompiledQuarry) *Table {
	return &Table{flies, quarries, make([]atomic.Pointer[[]float64], len(quarries))}
}

// Len is the number of flies.
func (t *Table) Len() int { return len(t.flies) }

// Fly is one of the flies.
func (t *Table) Fly(i int) *CompiledFly { return &t.flies[i] }

// Utility is what tying fly i on is worth for quarry j.
func (t *Table) Utility(i, j int) float64 {
	column := t.columns[j].Load()
	if column == nil {
		fresh := make([]float64, len(t.flies))
		for k := range t.flies {
			fresh[k] = Utility(&t.flies[k], &t.quarries[j])
		}
		column = &fresh
		t.columns[j].Store(column) // another goroutine may have stored the same
	}
	return (*column)[i]
}
