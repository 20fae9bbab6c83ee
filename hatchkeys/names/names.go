// Package names finds hatches by what anglers call them.
package names

import (
	"cmp"
	"slices"
	"sort"
	"strings"

	"dampstone/hatchkeys"
)

// Of are all names of a hatch: the usual one in a language first, then others
// in it, those of other languages, and the scientific one.
func Of(h *hatchkeys.Hatch, lang string) []string {
	out := []string{h.Name(lang)}
	add := func(name string) {
		if name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, n := range h.Also[lang] {
		add(n)
	}
	langs := make([]string, 0, len(h.Names))
	for l := range h.Names {
		langs = append(langs, l)
	}
	slices.Sort(langs)
	for _, l := range langs {
		add(h.Names[l])
		for _, n := range h.Also[l] {
			add(n)
		}
	}
	add(h.Scientific)
	return out
}

// Search are the hatches of a key that a text finds by any of their names:
// those first whose usual name it begins, then those that have it as a name,
// then those with its words in one. Case, accents and punctuation do not
// count, words may be left off in the middle, and sedge and caddis, grey and
// gray are the same. An empty text finds all, by name.
func Search(k *hatchkeys.Key, text, lang string) []*hatchkeys.Hatch {
	type found struct {
		h    *hatchkeys.Hatch
		rank int
		name string
	}
	wanted := words(text)
	var list []found
	for i := range k.Pack.Hatches {
		h := &k.Pack.Hatches[i]
		rank := -1
		for n, name := range Of(h, lang) {
			have := words(name)
			r := -1
			switch {
			case len(wanted) == 0:
				r = 0
			case slices.Equal(have, wanted):
				r = 1
				if n == 0 {
					r = 0
				}
			case begins(have, wanted):
				r = 2
			case all(have, wanted):
				r = 3
			}
			if r >= 0 && n > 0 && r != 1 && len(wanted) > 0 {
				r += 2 // not the usual name
			}
			if r >= 0 && (rank < 0 || r < rank) {
				rank = r
			}
		}
		if rank >= 0 {
			list = append(list, found{h, rank, strings.Join(words(h.Name(lang)), " ")})
		}
	}
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i], list[j]
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.name, b.name)) < 0
	})
	out := make([]*hatchkeys.Hatch, len(list))
	for i, f := range list {
		out[i] = f.h
	}
	return out
}

func begins(have, wanted []string) bool {
	return len(have) >= len(wanted) && slices.EqualFunc(have[:len(wanted)], wanted, strings.HasPrefix)
}

// all tells whether each wanted word begins a word of the name.
func all(have, wanted []string) bool {
	for _, w := range wanted {
		if !slices.ContainsFunc(have, func(h string) bool { return strings.HasPrefix(h, w) }) {
			return false
		}
	}
	return true
}

// same are words that anglers use for one another.
var same = map[string]string{
	"sedge": "caddis", "sedges": "caddis", "caddisfly": "caddis", "caddises": "caddis", "gray": "grey", "sulfur": "sulphur", "tricoptero": "friganea", "tricopteros": "friganea",
	"drakes": "drake", "duns": "dun", "midges": "midge", "hoppers": "hopper", "stones": "stone", "stonefly": "stone", "stoneflies": "stone",
}

var plain = strings.NewReplacer("á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u", "ü", "u", "ñ", "n", "'", "", "\u2019", "")

// words are a name's words as they are compared.
func words(text string) []string {
	text = plain.Replace(strings.ToLower(text))
	out := strings.FieldsFunc(text, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127) })
	for i, w := range out {
		if s, ok := same[w]; ok {
			out[i] = s
		}
	}
	return out
}
