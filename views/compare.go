package views

// CompareView sets two or three hatches side by side.
type CompareView struct {
	Page
	Back     string // address of the key with the same answers
	Cautions []string
	Cards    []CompareCard // the likeliest first
	Apart    []CompareRow  // what differs
	Alike    []CompareRow  // what is much the same
	Ratios   []RatiosView  // from the likeliest to each of the others
}

// CompareCard is one of the hatches.
type CompareCard struct {
	Number string // by which the rows name it
	HatchLine
}

// CompareRow is one thing to compare, with a cell for each hatch.
type CompareRow struct {
	Label string
	Wide  bool // too wide for columns: the cells stand one below the other
	Cells []CompareCell
}

// CompareCell is what one hatch has there.
type CompareCell struct {
	Number  string
	Texts   []string
	Colours []ColourWord // in place of texts
	Months  []MonthMark  // above the text
	Unsaid  bool         // nothing is known
}

// ColourWord is a colour with its name.
type ColourWord struct{ Hex, Word string }

// RatiosView is what would have to be seen for another hatch to lead.
type RatiosView struct {
	Heading string
	Ahead   string // by how much the likeliest leads
	Lines   []RatioLine
}

// RatioLine is one answer that would turn the odds.
type RatioLine struct {
	Answer   string // "Tails: two"
	Word     string // "speaks clearly for it"
	Decibans string
	Enough   string // a word where this alone would do, else ""
}
