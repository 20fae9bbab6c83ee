package catalog

import (
	"encoding/json"
	"fmt"
	"strings"

	"golang.org/x/text/feature/plural"
	"golang.org/x/text/language"
)

// lean reads the catalogue without go-i18n: sentences are filled by name
// alone, {{.Name}}, which is all that the catalogue uses.
type lean struct {
	tag      language.Tag
	messages map[string]message
	fallback map[string]message // of the first language
}

// message is a sentence by plural form; one without a plural has "other".
type message map[string]string

func openLean(lang string) (source, error) {
	l := lean{tag: language.Make(lang)}
	var err error
	if l.messages, err = readFile(lang); err != nil {
		return nil, err
	}
	l.fallback, err = readFile(Languages[0])
	return l, err
}

func readFile(lang string) (map[string]message, error) {
	raw, err := files.ReadFile(lang + ".json")
	if err != nil {
		return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
	}
	var texts map[string]any
	if err := json.Unmarshal(raw, &texts); err != nil {
		return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
	}
	out := make(map[string]message, len(texts))
	for id, v := range texts {
		switch v := v.(type) {
		case string:
			out[id] = message{"other": v}
		case map[string]any:
			m := message{}
			for form, text := range v {
				m[form], _ = text.(string)
			}
			out[id] = m
		}
	}
	return out, nil
}

var formNames = map[plural.Form]string{
	plural.Other: "other", plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many",
}

func (l lean) sentence(id string, count *int, data Data) (string, bool) {
	m, tag := l.messages[id], l.tag
	if m == nil {
		m, tag = l.fallback[id], language.Make(Languages[0])
	}
	form := "other"
	if count != nil {
		n := *count
		if n < 0 {
			n = -n
		}
		form = formNames[plural.Cardinal.MatchPlural(tag, n, 0, 0, 0, 0)]
	}
	text, ok := m[form]
	if !ok {
		return "", false
	}
	return fill(text, data), true
}

// fill puts data in place of {{.Name}}.
func fill(text string, data Data) string {
	if !strings.Contains(text, "{{") {
		return text
	}
	var b strings.Builder
	for {
		before, rest, found := strings.Cut(text, "{{.")
		b.WriteString(before)
		if !found {
			return b.String()
		}
		name, after, _ := strings.Cut(rest, "}}")
		if v, ok := data[name]; ok {
			fmt.Fprint(&b, v)
		} else {
			b.WriteString("<no value>") // as text/template writes it
		}
		text = after
	}
}
