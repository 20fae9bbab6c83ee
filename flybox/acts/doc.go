// Package acts holds what a hand does, as rules over a state of the ledger:
// each function looks at a state and returns the bodies to record. Handlers
// parse, call these inside one look at the ledger, and show what came of it.
package acts
