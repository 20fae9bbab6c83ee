package views

// AsideView lists entries that were set aside so that the others could go on.
type AsideView struct {
	Page
	Nothing bool
	Newer   string // how many entries a newer version wrote; "" if none
	Groups  []AsideGroup
	File    string // name of the file that is offered; "" for none
	SyncDo  bool   // asking the server again makes sense
}

// AsideGroup are entries that were set aside for one reason.
type AsideGroup struct {
	Title, Hint string
	Items       []AsideItem
}

// AsideItem is one entry.
type AsideItem struct {
	What, When, Why string
	Raw             string // as it is written; "" if it is not here
}
