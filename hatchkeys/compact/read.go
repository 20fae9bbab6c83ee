package compact

import (
	"encoding/binary"
	"fmt"
	"math"
	"reflect"
)

// Unmarshal reads what Marshal wrote into what v points to. The error is
// ErrShape or ErrDamaged.
func Unmarshal(data []byte, v any) error {
	p := reflect.ValueOf(v)
	if p.Kind() != reflect.Pointer || p.IsNil() {
		return fmt.Errorf("read into %T: want a pointer to a value", v)
	}
	hash, err := shape(p.Type().Elem())
	if err != nil {
		return fmt.Errorf("read into %T: %w", v, err)
	}
	if len(data) < hashBytes || binary.LittleEndian.Uint64(data) != hash {
		return fmt.Errorf("read into %T: %w", v, ErrShape)
	}
	r := &reader{rest: data[hashBytes:], structs: map[reflect.Type][]int{}}
	r.tables()
	r.read(p.Elem())
	if r.failed || len(r.rest) > 0 {
		return fmt.Errorf("read into %T: %w", v, ErrDamaged)
	}
	return nil
}

type reader struct {
	rest    []byte
	texts   []string
	numbers []float64
	failed  bool
	structs map[reflect.Type][]int // what fields said
}

func (r *reader) tables() {
	ends := make([]int, r.length())
	size := 0
	for i := range ends {
		size += r.length()
		ends[i] = size
	}
	if size > len(r.rest) {
		r.fail()
		return
	}
	all := string(r.rest[:size]) // one text, of which the others are parts
	r.rest = r.rest[size:]
	r.texts = make([]string, len(ends))
	begin := 0
	for i, end := range ends {
		r.texts[i], begin = all[begin:end], end
	}
	n := r.length()
	if n > len(r.rest)/8 {
		r.fail()
		return
	}
	r.numbers = make([]float64, n)
	for i := range r.numbers {
		r.numbers[i] = math.Float64frombits(binary.LittleEndian.Uint64(r.rest[8*i:]))
	}
	r.rest = r.rest[8*n:]
}

// fail gives up: what is read from here on is nothing.
func (r *reader) fail() { r.failed, r.rest = true, nil }

// length is a number of things that take a byte each at least.
func (r *reader) length() int {
	n := r.number()
	if n > len(r.rest) {
		r.fail()
		return 0
	}
	return n
}

func (r *reader) number() int {
	x, n := binary.Uvarint(r.rest)
	if n <= 0 || x > math.MaxInt32 {
		r.fail()
		return 0
	}
	r.rest = r.rest[n:]
	return int(x)
}

// some is a number of parts that follow, and whether there is something at
// all.
func (r *reader) some() (parts int, is bool) {
	n := r.number()
	if n-1 > len(r.rest) {
		r.fail()
		return 0, false
	}
	return n - 1, n > 0
}

func (r *reader) text() string { return entry(r, r.texts) }

func entry[T any](r *reader, table []T) (v T) {
	n := r.number()
	if n >= len(table) {
		r.fail()
		return v
	}
	return table[n]
}

func (r *reader) read(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(r.text())
	case reflect.Float64:
		v.SetFloat(entry(r, r.numbers))
	case reflect.Bool:
		_, is := r.some()
		v.SetBool(is)
	case reflect.Pointer:
		if _, is := r.some(); is {
			v.Set(reflect.New(v.Type().Elem()))
			r.read(v.Elem())
		}
	case reflect.Slice:
		if n, is := r.some(); is {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
			for i := range n {
				r.read(v.Index(i))
			}
		}
	case reflect.Map:
		r.readMap(v)
	case reflect.Struct:
		for _, i := range r.fields(v.Type()) {
			r.read(v.Field(i))
		}
	}
}

func (r *reader) fields(t reflect.Type) []int {
	known, ok := r.structs[t]
	if !ok {
		known = fields(t)
		r.structs[t] = known
	}
	return known
}

func (r *reader) readMap(v reflect.Value) {
	n, is := r.some()
	if !is {
		return
	}
	// Nearly all maps of a pack are weights; by reflection each of their
	// numbers would be a thing of its own on the heap.
	if m, ok := v.Addr().Interface().(*map[string]float64); ok {
		*m = make(map[string]float64, n)
		for range n {
			key := r.text()
			(*m)[key] = entry(r, r.numbers)
		}
		return
	}
	v.Set(reflect.MakeMapWithSize(v.Type(), n))
	for range n {
		key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		key.SetString(r.text())
		r.read(value)
		v.SetMapIndex(key, value)
	}
}
