package storetest

import (
	"bytes"
	_ "embed"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

//go:embed testdata/season.jsonl
var season []byte

// Season is the invented season that the kept files of older formats were made
// of. It does not change.
func Season(t testing.TB) (out []journal.Entry) {
	t.Helper()
	for line := range bytes.Lines(season) {
		e, err := journal.ParseEntry(line)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}

// Fold is the state of entries.
func Fold(entries []journal.Entry) *flybox.State {
	s := flybox.NewState()
	s.Apply(entries...)
	return s
}
