//go:build !js

package catalog

import (
	"encoding/json"
	"fmt"
	"sync"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
)

func open(lang string) (source, error) { return openFull(lang) }

var matcher = language.NewMatcher(tags())

func tags() (list []language.Tag) {
	for _, lang := range Languages {
		list = append(list, language.Make(lang))
	}
	return list
}

func match(wishes ...string) string {
	_, i := language.MatchStrings(matcher, wishes...)
	return Languages[i]
}

// full reads the catalogue with go-i18n.
type full struct{ localizer *i18n.Localizer }

func openFull(lang string) (source, error) {
	b, err := bundle()
	if err != nil {
		return nil, err
	}
	return full{i18n.NewLocalizer(b, lang)}, nil
}

var bundle = sync.OnceValues(func() (*i18n.Bundle, error) {
	b := i18n.NewBundle(language.English)
	b.RegisterUnmarshalFunc("json", json.Unmarshal)
	for _, lang := range Languages {
		if _, err := b.LoadMessageFileFS(files, lang+".json"); err != nil {
			return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
		}
	}
	return b, nil
})

func (f full) sentence(id string, count *int, data Data) (string, bool) {
	c := i18n.LocalizeConfig{MessageID: id, TemplateData: data}
	if count != nil {
		c.PluralCount = *count
	}
	s, err := f.localizer.Localize(&c)
	return s, err == nil
}
