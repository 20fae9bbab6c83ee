// Package flybox holds an angler's own flies: patterns, recipes, boxes, stock,
// materials, sightings, takes and refusals, trips and orders, kept as an
// append-only journal of immutable entries. How well flies stand for an insect
// is told by flybox/match.
//
// State is a pure fold over the entries: the same set of entries gives the
// same State in whatever order they arrive, so merging two devices is set
// union. Stock is a sum over moves and is never stored. Deleting is an entry.
//
// The package does no I/O of its own: a Store is handed in, and so are the
// clock and the source of ids. It compiles for GOOS=js GOARCH=wasm.
//
// A new fact about something that exists already gets a kind of its own,
// keyed by the id of that thing, rather than a field in a body that older
// versions rewrite: an older version that revises a pattern writes the fields
// that it knows. A change that widens what a body may hold raises its format
// number; a version that does not know the number keeps and passes on the
// entry without folding it.
package flybox
