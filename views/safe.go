package views

// SafeView is where a ledger is taken out to a file and read in again.
type SafeView struct {
	Page
	Entries string // how many there are
	File    string // name of the file that is offered
	Problem string // why a file could not be read at all
	Done    []string
	Bad     []string // lines that were set aside
	Typed   string   // pasted text that could not be read
	MaxSize string
}
