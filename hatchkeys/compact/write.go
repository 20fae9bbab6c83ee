package compact

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
)

// Marshal writes what v points to. The same value gives the same bytes.
func Marshal(v any) ([]byte, error) {
	p := reflect.ValueOf(v)
	if p.Kind() != reflect.Pointer || p.IsNil() {
		return nil, fmt.Errorf("write %T: want a pointer to a value", v)
	}
	hash, err := shape(p.Type().Elem())
	if err != nil {
		return nil, fmt.Errorf("write %T: %w", v, err)
	}
	w := &writer{texts: map[string]int{}, numbers: map[uint64]int{}}
	w.write(p.Elem()) // counts how often each text and number is used
	texts, numbers := places(w.texts), places(w.numbers)
	w.placed, w.out = true, binary.LittleEndian.AppendUint64(nil, hash)
	w.number(len(texts))
	for _, s := range texts {
		w.number(len(s))
	}
	for _, s := range texts {
		w.out = append(w.out, s...)
	}
	w.number(len(numbers))
	for _, bits := range numbers {
		w.out = binary.LittleEndian.AppendUint64(w.out, bits)
	}
	w.write(p.Elem())
	return w.out, nil
}

// writer writes values twice: first to learn of texts and numbers, then with
// the place of each in its table.
type writer struct {
	texts   map[string]int // uses, then places
	numbers map[uint64]int
	placed  bool
	out     []byte
}

// places turns uses into places, the most used first, whose places take the
// fewest bytes.
func places[K cmp.Ordered](uses map[K]int) []K {
	keys := slices.SortedFunc(maps.Keys(uses), func(a, b K) int {
		return cmp.Or(cmp.Compare(uses[b], uses[a]), cmp.Compare(a, b))
	})
	for i, k := range keys {
		uses[k] = i
	}
	return keys
}

func (w *writer) number(n int) { w.out = binary.AppendUvarint(w.out, uint64(n)) }

func (w *writer) text(s string) { place(w, w.texts, s) }

func place[K comparable](w *writer, table map[K]int, k K) {
	if !w.placed {
		table[k]++
		return
	}
	w.number(table[k])
}

func (w *writer) write(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		w.text(v.String())
	case reflect.Float64:
		place(w, w.numbers, math.Float64bits(v.Float()))
	case reflect.Bool:
		w.some(v.Bool(), 0)
	case reflect.Pointer:
		if w.some(!v.IsNil(), 0) {
			w.write(v.Elem())
		}
	case reflect.Slice:
		if w.some(!v.IsNil(), v.Len()) {
			for i := range v.Len() {
				w.write(v.Index(i))
			}
		}
	case reflect.Map:
		if w.some(!v.IsNil(), v.Len()) {
			keys := v.MapKeys()
			slices.SortFunc(keys, func(a, b reflect.Value) int { return cmp.Compare(a.String(), b.String()) })
			for _, k := range keys {
				w.text(k.String())
				w.write(v.MapIndex(k))
			}
		}
	case reflect.Struct:
		for _, i := range fields(v.Type()) {
			w.write(v.Field(i))
		}
	}
}

// some writes whether there is something, and of how many parts: 0 for
// nothing.
func (w *writer) some(is bool, parts int) bool {
	n := 0
	if is {
		n = 1 + parts
	}
	w.number(n)
	return is
}
