package catalog

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// lean reads the catalogue without go-i18n: sentences are filled by name
// alone, {{.Name}}, which is all that the catalogue uses.
type lean struct {
	lang     string
	messages map[string]message
	fallback map[string]message // of the first language
}

// message is a sentence by plural form; one without a plural has "other".
type message map[string]string

func openLean(lang string) (source, error) {
	l := lean{lang: lang}
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

// pluralRules are the plural forms of whole numbers, not negative, by language
// (Unicode CLDR, Language Plural Rules, cardinal).
var pluralRules = map[string]func(n int) string{
	"en": func(n int) string {
		if n == 1 {
			return "one"
		}
		return "other"
	},
	"es": func(n int) string {
		switch {
		case n == 1:
			return "one"
		case n != 0 && n%1_000_000 == 0:
			return "many"
		}
		return "other"
	},
}

// matchLean picks the language for wishes, best first, each a language tag or
// a list of them as in an Accept-Language header, whose weights are taken to
// fall.
func matchLean(wishes ...string) string {
	for _, wish := range wishes {
		for one := range strings.SplitSeq(wish, ",") {
			tag, _, _ := strings.Cut(one, ";")
			base, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(tag)), "-")
			if slices.Contains(Languages, base) {
				return base
			}
		}
	}
	return Languages[0]
}

func (l lean) sentence(id string, count *int, data Data) (string, bool) {
	m, lang := l.messages[id], l.lang
	if m == nil {
		m, lang = l.fallback[id], Languages[0]
	}
	form := "other"
	if count != nil {
		n := *count
		if n < 0 {
			n = -n
		}
		form = pluralRules[lang](n)
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
