package views

// HatchView is all about one hatch, in the light of what was answered.
type HatchView struct {
	Page
	Name, Scientific, Group string
	Back                    string // address of the key with the same answers
	Percent                 string // "" if nothing was answered
	Own                     string // a word if the reader added it, else ""
	Edit                    string // address of the form that changes it, if the reader added it
	Compare, CompareWith    string // address and words of the comparison with the likeliest others
	Fed                     *FedView
	Cautions                []string
	Months                  []MonthMark
	MonthsText              string
	Facts                   []string   // water temperature, waters, trend
	Current                 FormView   // the stage in question
	Others                  []FormView // the other stages
	Flies                   []FlyLine
	FliesFor                string // name of the form that the flies are for
	Tie                     *TieView
	EmptyBox                bool
	On                      PostForm // says in Day that the fish are on this form
	Results                 string   // address of what fish on it did to own flies, "" if there were none
	Notes                   NotesView
	Sources                 []string
}

// MonthMark is one month of the calendar strip.
type MonthMark struct {
	Name  string  // one or three letters
	Share float64 // 0 to 1 of full season
	Now   bool
}

// FormView is one stage of a hatch.
type FormView struct {
	ID      string
	Name    string
	Length  string
	Hours   string
	Drawing Drawing
	Tactics []string
	Current bool // the flies below are for this one
	Href    string
}

// NotesView is what the reader noted about a hatch, and the way to note more.
type NotesView struct {
	Lines    []string
	Action   string
	Problems []string
	Water    Field
	Note     Field
	Hidden   [][2]string
}
