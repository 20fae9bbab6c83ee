// Package catalog holds every sentence that a person reads, by language.
//
// On the server go-i18n reads the files. The phone's engine reads them with
// the few lines of lean.go instead: go-i18n fills sentences by text/template,
// whose look-ups by name at run time keep the linker from dropping what is
// not used, and make the engine half as large again. A test holds the two to
// the same sentences.
package catalog

import (
	"embed"
	"maps"
	"slices"
	"sync"
)

//go:embed *.json
var files embed.FS

// Languages are the languages that the catalogue has in full, the fallback
// first.
var Languages = []string{"en", "es"}

// Match picks the language of the catalogue for wishes, best first, each a
// language tag or the text of an Accept-Language header.
func Match(wishes ...string) string { return match(wishes...) }

// Data fills the places of a sentence by name.
type Data map[string]any

// source gives the sentences of one language.
type source interface {
	// sentence is the one with the id in the plural form for count (nil for
	// one that has no plural), filled with data. ok is false if there is none.
	sentence(id string, count *int, data Data) (text string, ok bool)
}

// Text is the catalogue in one language. It is safe for concurrent use.
type Text struct {
	Lang  string
	from  source
	plain sync.Map // id -> sentence without data
}

var texts sync.Map // lang -> *Text

// For returns the catalogue in lang, which must be one of Languages. A broken
// catalogue file is a fault of the build and panics; a test reads all of them.
func For(lang string) *Text {
	if t, ok := texts.Load(lang); ok {
		return t.(*Text)
	}
	from, err := open(lang)
	if err != nil {
		panic(err)
	}
	t, _ := texts.LoadOrStore(lang, &Text{Lang: lang, from: from})
	return t.(*Text)
}

// S is the sentence with the given id. An unknown id gives the id itself, so
// that the page still works and the gap shows.
func (t *Text) S(id string) string {
	if s, ok := t.plain.Load(id); ok {
		return s.(string)
	}
	s, ok := t.from.sentence(id, nil, nil)
	if !ok {
		s = id
	}
	t.plain.Store(id, s)
	return s
}

// F is the sentence filled with data.
func (t *Text) F(id string, data Data) string { return t.fill(id, nil, data) }

// N is the sentence in the plural form for n, which fills its {{.Count}}.
func (t *Text) N(id string, n int, data Data) string {
	all := Data{"Count": n}
	for k, v := range data {
		all[k] = v
	}
	return t.fill(id, &n, all)
}

func (t *Text) fill(id string, count *int, data Data) string {
	s, ok := t.from.sentence(id, count, data)
	if !ok {
		return id
	}
	return s
}

// Has tells whether the catalogue has the id.
func (t *Text) Has(id string) bool {
	_, ok := t.from.sentence(id, nil, Data{})
	return ok
}

// IDs lists the ids of all sentences.
func IDs() []string {
	all, err := readFile(Languages[0])
	if err != nil {
		panic(err) // a fault of the build, see For
	}
	return slices.Sorted(maps.Keys(all))
}
