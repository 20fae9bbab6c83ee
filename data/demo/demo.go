// Package demo holds an invented season, for trying the program out: see
// README.md.
package demo

import (
	"bytes"
	_ "embed"
	"fmt"

	"dampstone/flybox"
)

//go:embed ledger.jsonl
var ledger []byte

// Entries is the whole journal, oldest first. Merge it into an empty ledger.
func Entries() ([]flybox.Entry, error) {
	var out []flybox.Entry
	number := 0
	for line := range bytes.Lines(ledger) {
		number++
		e, err := flybox.ParseEntry(line)
		if err != nil {
			return nil, fmt.Errorf("read demo, line %d: %w", number, err)
		}
		out = append(out, e)
	}
	return out, nil
}
