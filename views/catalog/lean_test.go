package catalog

import (
	"maps"
	"reflect"
	"strings"
	"testing"
)

// The form that the phone's engine has says what the JSON says.
func TestLinesSayTheSame(t *testing.T) {
	for _, lang := range Languages {
		raw, err := files.ReadFile(lang + ".json")
		if err != nil {
			t.Fatal(err)
		}
		want, err := readJSON(raw)
		if err != nil {
			t.Fatal(err)
		}
		lines, err := Lines(raw)
		if err != nil {
			t.Fatal(err)
		}
		got := readLines(string(lines))
		if len(got) < 1000 || !maps.EqualFunc(got, want, func(a, b message) bool { return reflect.DeepEqual(a, b) }) {
			t.Errorf("%s: %d sentences of %d, or not the same", lang, len(got), len(want))
		}
		if lines[0] == '{' {
			t.Error("lines begin as JSON does")
		}
	}
	for _, bad := range []string{`{"a":"x\u001e"}`, `{"a":{"one":"x\u001f","other":"y"}}`, `{"{a":"x"}`, `[`} {
		if _, err := Lines([]byte(bad)); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
	odd := `{"a":"","b":{"other":"{{.Count}}","one":"","many":"x\ny"},"c":"\ttwo"}`
	lines, err := Lines([]byte(odd))
	if err != nil {
		t.Fatal(err)
	}
	want, _ := readJSON([]byte(odd))
	if got := readLines(string(lines)); !reflect.DeepEqual(got, want) {
		t.Errorf("%q became %v, want %v", strings.ReplaceAll(string(lines), "\x1e", "|"), got, want)
	}
}

func BenchmarkLines(b *testing.B) {
	raw, err := files.ReadFile("en.json")
	if err != nil {
		b.Fatal(err)
	}
	lines, err := Lines(raw)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("JSON", func(b *testing.B) {
		for b.Loop() {
			if _, err := readJSON(raw); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("lines", func(b *testing.B) {
		for b.Loop() {
			readLines(string(lines))
		}
	})
}
