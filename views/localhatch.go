package views

// HatchesView lists the hatches that the reader added.
type HatchesView struct {
	Page
	Lines []OwnHatch
	Full  string // a sentence where there are more than the key takes in, else ""
}

// OwnHatch is one of them.
type OwnHatch struct {
	HatchLine        // Href is empty where the hatch is of another region
	Region    string // its name
	Edit      string // address
}

// HatchFormView adds or changes a hatch of the reader's own water.
type HatchFormView struct {
	Page
	Heading    string
	Action     string
	Back       string
	Problems   []string
	FormID     string
	Name       Field
	Scientific Field
	Group      Choices
	Like       Choices
	FromMonth  Choices
	FromDay    Choices
	ToMonth    Choices
	ToDay      Choices
	Main       StageFields
	Seen       []Choices // what it looks like and does
	HoursFrom  Field
	HoursTo    Field
	Water      Choices
	Abundance  Choices
	Second     StageFields
	Remove     *PostForm // nil while it is new
	PackText   string    // to start a contribution from, "" while it is new
}

// StageFields describe one stage.
type StageFields struct {
	Stage    Choices
	From, To Field // body length
	Colour   Choices
	Given    bool // something is entered
}
