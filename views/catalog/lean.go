package catalog

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
)

// lean reads the catalogue without go-i18n: sentences are filled by name
// alone, {{.Name}}, which is all that the catalogue uses.
type lean struct {
	lang     string
	messages map[string]message
}

// message is a sentence, or one by plural form, among them "other".
type message struct {
	other string
	forms map[string]string // nil where there is no plural
}

func openLean(lang string) (source, error) {
	messages, err := readFile(lang)
	return lean{lang, messages}, err
}

// fallback are the sentences of the first language.
var fallback = sync.OnceValue(func() map[string]message {
	messages, _ := readFile(Languages[0]) // it has been read, or nothing can be said
	return messages
})

func readFile(lang string) (map[string]message, error) {
	raw, err := files.ReadFile(lang + ".json")
	if err != nil {
		return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
	}
	if len(raw) > 0 && raw[0] != '{' {
		return readLines(string(raw)), nil
	}
	out, err := readJSON(raw)
	if err != nil {
		return nil, fmt.Errorf("load catalogue %q: %w", lang, err)
	}
	return out, nil
}

func readJSON(raw []byte) (map[string]message, error) {
	var texts map[string]any
	if err := json.Unmarshal(raw, &texts); err != nil {
		return nil, err
	}
	out := make(map[string]message, len(texts))
	for id, v := range texts {
		switch v := v.(type) {
		case string:
			out[id] = message{other: v}
		case map[string]any:
			m := message{forms: map[string]string{}}
			for form, text := range v {
				m.forms[form], _ = text.(string)
			}
			m.other = m.forms["other"]
			out[id] = m
		}
	}
	return out, nil
}

// Signs that end a record and a part of one (ISO 646), which no text has.
const (
	endRecord = "\x1e"
	endPart   = "\x1f"
)

// Lines is a catalogue of JSON in a form that is read in a tenth of the
// time: the phone's engine has it in place of the JSON. Each record is an id
// and a text, or an id and forms with their texts.
func Lines(raw []byte) ([]byte, error) {
	all, err := readJSON(raw)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	for _, id := range slices.Sorted(maps.Keys(all)) {
		parts := []string{id, all[id].other}
		if forms := all[id].forms; forms != nil {
			parts = parts[:1]
			for _, form := range slices.Sorted(maps.Keys(forms)) {
				parts = append(parts, form, forms[form])
			}
		}
		for _, p := range parts {
			if strings.ContainsAny(p, endRecord+endPart) || b.Len() == 0 && strings.HasPrefix(p, "{") {
				return nil, fmt.Errorf("sentence %q has a sign that ends one", id)
			}
		}
		b.WriteString(strings.Join(parts, endPart) + endRecord)
	}
	return []byte(b.String()), nil
}

func readLines(text string) map[string]message {
	out := make(map[string]message, strings.Count(text, endRecord))
	for record := range strings.SplitSeq(text, endRecord) {
		id, rest, ok := strings.Cut(record, endPart)
		if !ok {
			continue // after the last
		}
		first, more, plural := strings.Cut(rest, endPart)
		if !plural {
			out[id] = message{other: first}
			continue
		}
		m := message{forms: map[string]string{}}
		for form := first; ; {
			m.forms[form], more, plural = strings.Cut(more, endPart)
			if !plural {
				break
			}
			form, more, _ = strings.Cut(more, endPart)
		}
		m.other = m.forms["other"]
		out[id] = m
	}
	return out
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
	m, ok := l.messages[id]
	lang := l.lang
	if !ok {
		if m, ok = fallback()[id]; !ok {
			return "", false
		}
		lang = Languages[0]
	}
	text := m.other
	if count != nil {
		n := *count
		if n < 0 {
			n = -n
		}
		if form := pluralRules[lang](n); m.forms != nil {
			text, ok = m.forms[form]
		} else {
			ok = form == "other"
		}
	}
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
