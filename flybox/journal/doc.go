// Package journal is what every ledger is made of: immutable entries with ids
// and stamps, what can be wrong with them, and the stores that keep them.
package journal
