// Package demo holds an invented season, for trying the program out: see
// README.md.
package demo

import (
	"bytes"
	_ "embed"
	"fmt"
	"regexp"

	"github.com/google/uuid"

	"dampstone/flybox/journal"
)

//go:embed ledger.jsonl
var ledger []byte

// space is the name space of the ids (RFC 9562, section 6.6): arbitrary.
var space = uuid.MustParse("0e4a3f53-5a0e-4f63-8f3c-2a7b8d6c1e90")

// ID is the id of an entry or thing that ledger.jsonl calls demo-NAME. Names
// are for those who read the file; ids look like those of any other ledger.
func ID(name string) journal.ID { return journal.ID(uuid.NewSHA1(space, []byte(name)).String()) }

// Journal is the id of the journal, the same wherever the demo runs: what a
// browser holds of it is of no other ledger.
func Journal() journal.ID { return ID("journal") }

// named finds names of entries and things: whole strings.
var named = regexp.MustCompile(`"demo-([a-z0-9-]+)"`)

// Entries is the whole journal, oldest first. Merge it into an empty ledger.
func Entries() ([]journal.Entry, error) {
	var out []journal.Entry
	number := 0
	for line := range bytes.Lines(ledger) {
		number++
		e, err := journal.ParseEntry(identify(line))
		if err != nil {
			return nil, fmt.Errorf("read demo, line %d: %w", number, err)
		}
		out = append(out, e)
	}
	return out, nil
}

// identify puts ids in place of names.
func identify(line []byte) []byte {
	return named.ReplaceAllFunc(line, func(name []byte) []byte {
		return fmt.Appendf(nil, "%q", ID(string(name[len(`"demo-`):len(name)-1])))
	})
}
