package views

// SetupView holds language, units, true size, and how safe the ledger is.
type SetupView struct {
	Page
	Language   Choices
	Lengths    Choices
	Degrees    Choices
	Region     Choices
	Latitude   Field
	Altitude   Field
	Problems   []string
	SizeText   string // whether true size was set
	Sync       []string
	Quarantine string // how many entries were set aside; "" if none
	SyncDo     bool   // a sync button makes sense here
	People     bool   // there is a screen for people and phones
	Cares      []string
	About      []string
}

// SizeView calibrates true size against a bank card.
type SizeView struct {
	Page
	Problems []string
	Px       Field  // CSS px per mm
	CardCm   string // a centimetre of the drawn card now, in CSS px
	Sample   Drawing
}

// ProblemView is a page that says what went wrong and what to do.
type ProblemView struct {
	Page
	Heading, Sentence, Hint string
	Ref                     string // matches the log line
}
