package journal

import "errors"

// Errors of a Store that a person can do something about. Stores wrap them.
var (
	// ErrFull says that there is no space left; nothing was added.
	ErrFull = errors.New("no space left")
	// ErrReadOnly says that the journal cannot be written.
	ErrReadOnly = errors.New("journal cannot be written")
)
