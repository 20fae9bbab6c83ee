package hatchkeys

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
)

// The file is written by testdata/reference/naive_bayes.py, which says what is
// in it: posteriors of scikit-learn 1.2.1.
const referenceFile = "testdata/reference/naive_bayes.csv"

// referenceRows are the rows of one set and kind, less those two columns.
func referenceRows(t *testing.T, set, kind string) [][]string {
	t.Helper()
	f, err := os.Open(referenceFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for _, row := range all {
		if row[0] == set && row[1] == kind {
			rows = append(rows, row[2:])
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s has no rows %s, %s", referenceFile, set, kind)
	}
	return rows
}

func numbers(t *testing.T, text []string) []float64 {
	t.Helper()
	out := make([]float64, len(text))
	for i, s := range text {
		var err error
		if out[i], err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// plainKey is a key of n hatches of one form each, without season, water,
// error of observers or anything unknown: there the key is naive Bayes.
func plainKey(priors []float64) *Key {
	k := &Key{Pack: &Pack{}}
	for i, p := range priors {
		k.Pack.Hatches = append(k.Pack.Hatches, Hatch{ID: strconv.Itoa(i), Abundance: p, Forms: []Form{{ID: "x"}}})
		k.hatches = append(k.hatches, hatchTable{year: 1, anyWater: 1, first: i, n: 1})
		k.forms = append(k.forms, formTable{hatch: i, share: 1})
	}
	return k
}

// wantPosterior compares to 1e-9; what the key keeps for the unknown is 1e-12.
func wantPosterior(t *testing.T, what string, r *Reading, want []float64) {
	t.Helper()
	for i, p := range want {
		if got := r.FormProbability(i); got-p > 1e-9 || p-got > 1e-9 {
			t.Errorf("%s, class %d: %.12f, scikit-learn %.12f", what, i, got, p)
		}
	}
}

func TestPosteriorsEqualAReferenceNaiveBayes(t *testing.T) {
	traits := []Trait{Shucks, Wings, Tails, Doing, Where, Gills, Fish}
	var priors []float64
	for _, row := range referenceRows(t, "random", "prior") {
		priors = append(priors, numbers(t, row[1:])...)
	}
	key := plainKey(priors)
	for _, row := range referenceRows(t, "random", "trait") {
		at := numbers(t, row[:2])
		tr, p := traits[int(at[1])], numbers(t, row[2:])
		if len(p) != len(tr.Values()) {
			t.Fatalf("%s has %d values, the reference %d", tr, len(tr.Values()), len(p))
		}
		copy(key.forms[int(at[0])].traits[tr][:], p)
	}
	queries := referenceRows(t, "random", "query")
	for i, row := range queries {
		values, want := numbers(t, row[:len(traits)]), numbers(t, row[len(traits):])
		var e Evidence
		for j, v := range values {
			if v >= 0 {
				e.Choices[traits[j]], _ = OneOf(traits[j], traits[j].Values()[int(v)])
			}
		}
		wantPosterior(t, "query "+strconv.Itoa(i), key.Read(e), want)
	}
	if len(priors) < 5 || len(queries) < 200 {
		t.Errorf("%d classes, %d queries", len(priors), len(queries))
	}
}

// TestPosteriorsOfWordsInTurn reads a document a word at a time, each reading
// the prior of the next: example 13.1 of Manning, Raghavan and Schuetze 2008
// (published joint 0.0003 against 0.0001).
func TestPosteriorsOfWordsInTurn(t *testing.T) {
	var priors []float64
	class := map[string]int{}
	for i, row := range referenceRows(t, "multinomial", "prior") {
		class[row[0]] = i
		priors = append(priors, numbers(t, row[1:])...)
	}
	type wordOf struct {
		class int
		word  string
	}
	p := map[wordOf]float64{}
	word := map[string]int{}
	for _, row := range referenceRows(t, "multinomial", "word") {
		if _, ok := word[row[1]]; !ok {
			word[row[1]] = len(word)
		}
		p[wordOf{class[row[0]], row[1]}] = numbers(t, row[2:])[0]
	}
	for _, row := range referenceRows(t, "multinomial", "query") {
		prior := priors
		var r *Reading
		for _, w := range strings.Fields(row[0]) {
			key := plainKey(prior)
			for name, i := range word {
				for c := range prior {
					key.forms[c].traits[Doing][i] = p[wordOf{c, name}]
				}
			}
			var e Evidence
			e.Choices[Doing], _ = OneOf(Doing, Doing.Values()[word[w]])
			r = key.Read(e)
			prior = []float64{r.FormProbability(0), r.FormProbability(1)}
		}
		wantPosterior(t, row[0], r, numbers(t, row[1:]))
	}
}
