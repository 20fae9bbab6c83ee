package compact_test

import (
	"bytes"
	"errors"
	"math/rand"
	"reflect"
	"testing"
	"testing/quick"

	"dampstone/hatchkeys/compact"
)

// sample has what packs are made of.
type sample struct {
	Name    string
	Share   float64
	On      bool
	Words   []string
	Also    map[string][]string
	Weights *struct {
		Sourced
		Of map[string]float64
	}
	Forms []struct {
		ID    kind
		Range *struct{ From, To float64 }
	}
	ByKind map[kind]Sourced
}

type kind string

type Sourced struct{ Source string }

func TestWhatIsWrittenIsRead(t *testing.T) {
	same := func(want sample) bool {
		raw, err := compact.Marshal(&want)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := compact.Marshal(&want); err != nil || !bytes.Equal(raw, again) {
			t.Fatalf("the same value gave other bytes (%v)", err)
		}
		var got sample
		if err := compact.Unmarshal(raw, &got); err != nil {
			t.Fatal(err)
		}
		return reflect.DeepEqual(got, want)
	}
	// The seed is fixed, so that a failure comes again.
	if err := quick.Check(same, &quick.Config{Rand: rand.New(rand.NewSource(1)), MaxCount: 300}); err != nil {
		t.Error(err)
	}
	empty := sample{Words: []string{}, Also: map[string][]string{"": nil, "a": {}}, ByKind: map[kind]Sourced{}}
	if !same(sample{}) || !same(empty) {
		t.Error("nothing and empty are not told apart")
	}
}

func TestOtherShapesAreRefused(t *testing.T) {
	raw, err := compact.Marshal(&struct{ Name, Source string }{"a", "b"})
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []any{
		&struct{ Name string }{}, &struct{ Source, Name string }{},
		&struct {
			Name   string
			Source *string
		}{},
		&[]string{}, new(string), new(float64), new(bool),
	} {
		if err := compact.Unmarshal(raw, v); !errors.Is(err, compact.ErrShape) {
			t.Errorf("read into %T: %v", v, err)
		}
	}
	type list struct{ Next *list }
	for _, v := range []any{sample{}, nil, (*sample)(nil), new(int), new(any), new(map[int]string), &struct{ hidden string }{}, new(list)} {
		if _, err := compact.Marshal(v); err == nil {
			t.Errorf("%T was written", v)
		}
		if err := compact.Unmarshal(raw, v); err == nil {
			t.Errorf("%T was read into", v)
		}
	}
}

func TestFieldsLeftOut(t *testing.T) {
	type local struct {
		Name  string
		Local bool `json:"-"`
	}
	raw, err := compact.Marshal(&local{"a", true})
	if err != nil {
		t.Fatal(err)
	}
	var got local
	if err := compact.Unmarshal(raw, &got); err != nil || got != (local{"a", false}) {
		t.Errorf("%+v, %v", got, err)
	}
}

func example() sample {
	s := sample{Name: "Ephemera", Share: .25, On: true, Words: []string{"drake", "dun"}, Also: map[string][]string{"es": {"efémera"}}, ByKind: map[kind]Sourced{"a": {"b"}}}
	s.Forms = append(s.Forms, struct {
		ID    kind
		Range *struct{ From, To float64 }
	}{"dun", &struct{ From, To float64 }{15, 22}})
	return s
}

func TestDamagedBytes(t *testing.T) {
	want := example()
	raw, err := compact.Marshal(&want)
	if err != nil {
		t.Fatal(err)
	}
	for n := range raw {
		if err := compact.Unmarshal(raw[:n], new(sample)); err == nil {
			t.Errorf("%d of %d bytes were read", n, len(raw))
		}
	}
	if err := compact.Unmarshal(append(raw, 0), new(sample)); !errors.Is(err, compact.ErrDamaged) {
		t.Errorf("one byte more: %v", err)
	}
}

// FuzzUnmarshal: whatever comes is read or refused, and what was read can be
// written.
func FuzzUnmarshal(f *testing.F) {
	want := example()
	raw, err := compact.Marshal(&want)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(raw[8:])
	f.Fuzz(func(t *testing.T, body []byte) {
		var got sample
		if compact.Unmarshal(append(raw[:8:8], body...), &got) != nil {
			return
		}
		if _, err := compact.Marshal(&got); err != nil {
			t.Error(err)
		}
	})
}
