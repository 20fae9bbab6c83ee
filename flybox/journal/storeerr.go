package journal

import "errors"

// Errors of a Store that a person can do something about. Stores wrap them.
var (
	// ErrFull says that there is no space left; nothing was added.
	ErrFull = errors.New("no space left")
	// ErrShare says that the person's share of the server is used up, ErrToday
	// what they may add in a day; nothing was added.
	ErrShare = errors.New("share used up")
	ErrToday = errors.New("share of the day used up")
	// ErrReadOnly says that the journal cannot be written.
	ErrReadOnly = errors.New("journal cannot be written")
)
