package views

// PairView is for a device that is not paired yet.
type PairView struct {
	Page
	Problem string
	Code    string // that is about to be used
	Person  string // whose ledger it opens, in a sentence
	Until   string
	Device  string // name to begin with
}

// PeopleView lists who may use the server, and with what.
type PeopleView struct {
	Page
	Problem string
	Owner   bool // the reader may add people and change others
	Shares  bool
	Crew    []string // names of the others who share
	People  []PersonView
}

// PersonView is one person with their devices.
type PersonView struct {
	ID, Name string
	Self     bool
	Devices  []DeviceView
}

// DeviceView is one device.
type DeviceView struct {
	ID, Name, Paired string
	Here             bool // the one that asks
}

// InviteView shows the link that pairs a device.
type InviteView struct {
	Page
	Whose, Until string
	Link, Code   string
	QR           string // path of the dark modules
	QRSize       int    // modules in a row, with the quiet zone
	Here         bool   // the link works on this computer only
}
