// Package catalog holds every sentence that a person reads, by language.
package catalog

import (
	"embed"
	"encoding/json"
	"fmt"
	"sync"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
)

//go:embed *.json
var files embed.FS

// Languages are the languages that the catalogue has in full, the fallback
// first.
var Languages = []string{"en", "es"}

var load = sync.OnceValues(func() (*i18n.Bundle, error) {
	b := i18n.NewBundle(language.English)
	b.RegisterUnmarshalFunc("json", json.Unmarshal)
	for _, lang := range Languages {
		if _, err := b.LoadMessageFileFS(files, lang+".json"); err != nil {
			return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
		}
	}
	return b, nil
})

var matcher = language.NewMatcher([]language.Tag{language.English, language.Spanish})

// Match picks the language of the catalogue for wishes, best first, each a
// language tag or the text of an Accept-Language header.
func Match(wishes ...string) string {
	_, i := language.MatchStrings(matcher, wishes...)
	return Languages[i]
}

// Text is the catalogue in one language. It is safe for concurrent use.
type Text struct {
	Lang      string
	localizer *i18n.Localizer
	plain     sync.Map // id -> sentence without data
}

var texts sync.Map // lang -> *Text

// For returns the catalogue in lang, which must be one of Languages. A broken
// catalogue file is a fault of the build and panics; a test reads all of them.
func For(lang string) *Text {
	if t, ok := texts.Load(lang); ok {
		return t.(*Text)
	}
	b, err := load()
	if err != nil {
		panic(err)
	}
	t, _ := texts.LoadOrStore(lang, &Text{Lang: lang, localizer: i18n.NewLocalizer(b, lang)})
	return t.(*Text)
}

// Data fills the places of a sentence by name.
type Data map[string]any

// S is the sentence with the given id. An unknown id gives the id itself, so
// that the page still works and the gap shows.
func (t *Text) S(id string) string {
	if s, ok := t.plain.Load(id); ok {
		return s.(string)
	}
	s := t.localize(&i18n.LocalizeConfig{MessageID: id})
	t.plain.Store(id, s)
	return s
}

// F is the sentence filled with data.
func (t *Text) F(id string, data Data) string {
	return t.localize(&i18n.LocalizeConfig{MessageID: id, TemplateData: data})
}

// N is the sentence in the plural form for n, which fills its {{.Count}}.
func (t *Text) N(id string, n int, data Data) string {
	all := Data{"Count": n}
	for k, v := range data {
		all[k] = v
	}
	return t.localize(&i18n.LocalizeConfig{MessageID: id, PluralCount: n, TemplateData: all})
}

// Has tells whether the catalogue has the id.
func (t *Text) Has(id string) bool {
	_, err := t.localizer.Localize(&i18n.LocalizeConfig{MessageID: id, TemplateData: Data{}})
	return err == nil
}

func (t *Text) localize(c *i18n.LocalizeConfig) string {
	s, err := t.localizer.Localize(c)
	if err != nil {
		return c.MessageID
	}
	return s
}
