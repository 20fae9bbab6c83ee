package catalog

import (
	"encoding/json"
	"regexp"
	"slices"
	"testing"

	"github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"
)

// raw reads a catalogue file as it is.
func raw(t *testing.T, lang string) map[string]any {
	t.Helper()
	b, err := files.ReadFile(lang + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(b, &m); err != nil {
		t.Fatalf("%s: %v", lang, err)
	}
	return m
}

// wantForms are the plural forms of each language (Unicode CLDR, as read by
// go-i18n).
var wantForms = map[string][]string{"en": {"one", "other"}, "es": {"many", "one", "other"}}

var place = regexp.MustCompile(`\{\{\.[A-Za-z]+\}\}`)

func places(s string) []string {
	found := place.FindAllString(s, -1)
	slices.Sort(found)
	return slices.Compact(found)
}

func TestEveryLanguageHasEverySentence(t *testing.T) {
	base := raw(t, Languages[0])
	for _, lang := range Languages {
		texts := raw(t, lang)
		for id, v := range base {
			other, ok := texts[id]
			if !ok {
				t.Errorf("%s: %q is missing", lang, id)
				continue
			}
			switch v := v.(type) {
			case string:
				s, ok := other.(string)
				if !ok || s == "" {
					t.Errorf("%s: %q is blank or has plural forms", lang, id)
				}
				if !slices.Equal(places(v), places(s)) {
					t.Errorf("%s: %q has places %v, want %v", lang, id, places(s), places(v))
				}
			case map[string]any:
				forms, ok := other.(map[string]any)
				if !ok {
					t.Errorf("%s: %q has no plural forms", lang, id)
					continue
				}
				var names []string
				for name, text := range forms {
					names = append(names, name)
					if text == "" {
						t.Errorf("%s: %q is blank for %s", lang, id, name)
					}
				}
				if slices.Sort(names); !slices.Equal(names, wantForms[lang]) {
					t.Errorf("%s: %q has forms %v, want %v", lang, id, names, wantForms[lang])
				}
			}
		}
		for id := range texts {
			if _, ok := base[id]; !ok {
				t.Errorf("%s: %q is not in %s", lang, id, Languages[0])
			}
		}
	}
}

func TestThePhoneSaysWhatTheServerSays(t *testing.T) {
	data := Data{"Count": 3}
	for id, v := range raw(t, Languages[0]) {
		texts := []string{}
		switch v := v.(type) {
		case string:
			texts = append(texts, v)
		case map[string]any:
			for _, s := range v {
				texts = append(texts, s.(string))
			}
		}
		for _, s := range texts {
			for _, p := range places(s) {
				if name := p[3 : len(p)-2]; name != "Count" {
					data[name] = "<" + name + "> 1,5 & é"
				}
			}
		}
		_ = id
	}
	counts := []*int{nil}
	for _, n := range []int{-1, 0, 1, 2, 3, 5, 11, 21, 100, 1000000, 2000000} {
		counts = append(counts, &n)
	}
	for _, lang := range Languages {
		server, err := openFull(lang)
		if err != nil {
			t.Fatal(err)
		}
		phone, err := openLean(lang)
		if err != nil {
			t.Fatal(err)
		}
		for id, v := range raw(t, lang) {
			for _, n := range counts {
				if _, plain := v.(string); plain && n != nil {
					continue // go-i18n wants a plural form where a count is given
				}
				a, okA := server.sentence(id, n, data)
				b, okB := phone.sentence(id, n, data)
				if a != b || okA != okB {
					t.Errorf("%s: %q for %v: server %q %v, phone %q %v", lang, id, n, a, okA, b, okB)
				}
			}
		}
		if _, ok := phone.sentence("no such sentence", nil, nil); ok {
			t.Errorf("%s: the phone finds what is not there", lang)
		}
	}
}

// The phone's plural rules against those of go-i18n, which are Unicode CLDR's.
func TestThePhoneCountsAsTheServerDoes(t *testing.T) {
	for _, lang := range Languages {
		rule := pluralRules[lang]
		if rule == nil {
			t.Errorf("no plural rule for %q", lang)
			continue
		}
		b := i18n.NewBundle(language.English)
		if err := b.AddMessages(language.Make(lang), &i18n.Message{ID: "form", Zero: "zero", One: "one", Two: "two", Few: "few", Many: "many", Other: "other"}); err != nil {
			t.Fatal(err)
		}
		server := i18n.NewLocalizer(b, lang)
		for i := range 300 {
			for _, n := range []int{i, i * 1000, i * 500_000, i*1_000_000 + 1} {
				want, err := server.Localize(&i18n.LocalizeConfig{MessageID: "form", PluralCount: n})
				if err != nil {
					t.Fatal(err)
				}
				if got := rule(n); got != want {
					t.Fatalf("%s: the form of %d is %q, want %q", lang, n, got, want)
				}
			}
		}
	}
}

func TestMatch(t *testing.T) {
	for wish, want := range map[string]string{
		"": "en", "es-MX,es;q=0.9": "es", "de": "en", "ca, es;q=0.5": "es", "en-GB": "en", "ES": "es", "es-419": "es", "fr-CH, fr;q=0.9, en;q=0.8, es;q=0.7": "en",
		"fr-CH, es;q=0.8, en;q=0.7": "es", "*": "en", "de,ja,zh-Hant-TW": "en", "english": "en", ";;,,q=": "en", "\xff": "en",
	} {
		if got := Match(wish); got != want {
			t.Errorf("Match(%q) = %q, want %q", wish, got, want)
		}
		if got := matchLean(wish); got != want {
			t.Errorf("on the phone Match(%q) = %q, want %q", wish, got, want)
		}
	}
	for _, match := range []func(...string) string{Match, matchLean} {
		if got := match("de", "es", "en"); got != "es" {
			t.Errorf("of three wishes %q was chosen, want es", got)
		}
	}
}
