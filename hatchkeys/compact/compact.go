// Package compact writes values as bytes that a phone reads fast: texts and
// numbers stand once each in a table, and there is nothing to parse. The bytes
// are read by the same sources that wrote them, so they say nothing of names
// and kinds of fields: a hash of the type stands in front, and bytes of another
// shape are refused.
//
// It knows what packs are made of: structs, pointers, slices, maps with texts
// as keys, texts, numbers and yes or no. A field with the JSON name "-" is left
// out. What is nil comes back as nil.
package compact

import (
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"reflect"
)

// ErrShape is for bytes that were written of another type, or of an older
// shape of it.
var ErrShape = errors.New("written of another shape")

// ErrDamaged is for bytes that end too soon, or late, or that refer to what is
// not there.
var ErrDamaged = errors.New("damaged")

const hashBytes = 8

// shape is a hash of what a type consists of; the error is of a type that this
// package cannot write.
func shape(t reflect.Type) (uint64, error) {
	h := fnv.New64a()
	var describe func(t reflect.Type, within []reflect.Type) error
	describe = func(t reflect.Type, within []reflect.Type) error {
		for _, outer := range within {
			if outer == t {
				return fmt.Errorf("%s holds itself", t)
			}
		}
		within = append(within, t)
		io.WriteString(h, t.Kind().String()+";") // a hash takes all
		switch t.Kind() {
		case reflect.String, reflect.Float64, reflect.Bool:
			return nil
		case reflect.Pointer, reflect.Slice:
			return describe(t.Elem(), within)
		case reflect.Map:
			if t.Key().Kind() != reflect.String {
				break
			}
			return describe(t.Elem(), within)
		case reflect.Struct:
			for _, i := range fields(t) {
				f := t.Field(i)
				io.WriteString(h, f.Name+":")
				if !f.IsExported() {
					return fmt.Errorf("%s.%s is not exported", t, f.Name)
				}
				if err := describe(f.Type, within); err != nil {
					return err
				}
			}
			io.WriteString(h, "end;")
			return nil
		}
		return fmt.Errorf("%s is of no kind that is known", t)
	}
	err := describe(t, nil)
	return h.Sum64(), err
}

// fields are those of a struct that are written.
func fields(t reflect.Type) (written []int) {
	for i := range t.NumField() {
		if t.Field(i).Tag.Get("json") != "-" {
			written = append(written, i)
		}
	}
	return written
}
