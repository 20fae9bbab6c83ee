package views

// FoamView is a foam body to cut, with how it floats.
type FoamView struct {
	Page
	Back, BackText string
	Problems       []string
	// Pieces are true to scale; none if the measures cannot be cut.
	Pieces        []FoamPiece
	Ruler         FoamPiece
	Caption       string // on paper, the measures in a line
	Scale         string
	Calibrated    bool
	Notice        string
	Legend        []string
	Unit, Degrees string // that the fields are in, for the address
	Fly           string // id of the fly that it is for

	Length, Width, Segments, Taper, Head Field
	Thick, Layers, Step, Legs            Field
	Density, Water                       Field
	Fold, Hook, Shank, Wire              Choices

	Words, Range string
	Facts        []FoamFact
	Help         []FoamHelp
	NoHelp       bool // something is amiss, and no single change mends it
	Unsure       []string
	Cautions     []string
}

// FoamPiece is a drawing for the screen and the same for paper.
type FoamPiece struct {
	Title         string
	Screen, Paper Drawing
}

// FoamFact is a result with its range.
type FoamFact struct{ Label, Value, Hint string }

// FoamHelp is a change that would help, and what it leads to.
type FoamHelp struct{ What, Then, Href string }
