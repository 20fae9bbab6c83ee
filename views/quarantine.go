package views

// QuarantineView lists entries that were set aside so that the others could go on.
type QuarantineView struct {
	Page
	Nothing bool
	Newer   string // how many entries a newer version wrote; "" if none
	Groups  []QuarantineGroup
	File    string // name of the file that is offered; "" for none
	SyncDo  bool   // asking the server again makes sense
}

// QuarantineGroup are entries that were set aside for one reason.
type QuarantineGroup struct {
	Title, Hint string
	Items       []QuarantineItem
}

// QuarantineItem is one entry.
type QuarantineItem struct {
	What, When, Why string
	Raw             string // as it is written; "" if it is not here
}
