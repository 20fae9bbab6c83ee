package views

// ResultsView is what takes and refusals tell.
type ResultsView struct {
	Page
	Filter  ResultsFilter
	Showing string
	Empty   bool
	Groups  []ResultGroup
	More    string
}

// ResultsFilter narrows the results.
type ResultsFilter struct {
	Form     Choices // hatch and form
	Water    Choices
	From, To Field
	Clear    string // address without it, "" if nothing is narrowed
}

// ResultGroup is what fish that were on one form did.
type ResultGroup struct {
	ID, Name, Href string // Href of the hatch, "" if it is not in the key
	Drawing        Drawing
	Counts         string
	Try            *TryView
	Flies          []RateLine
	Pairs          []string // which of two is better
	Hints          []HintView
	NoHint         string
	Said           string // reasons that anglers gave, "" for none
	Presented      string // how many of them are not the fly's, "" for none
}

// FishStrip is what fish did, by day.
type FishStrip struct {
	From, To string
	Days     []FishDay
}

// FishDay is a day of a FishStrip: where it lies between the first (0) and the last
// (1), and how many fish took and did not, of the most on a day.
type FishDay struct{ X, Up, Down float64 }

// RateLine is one revision of a fly.
type RateLine struct {
	Name, Sub, Href string
	Drawing         Drawing
	Version         string // that it is not the fly as it is now, or gone
	Counts          string
	Fish            []string   // result of each fish, oldest first; nil if they are many
	Strip           *FishStrip // the same by day, nil if they are few
	Rate            string     // "64 %, likely between 42 % and 83 %"
	Words           string     // how much that says
	Few             bool
	Low, Mean, High float64 // 0 to 1
	Bar             string  // the drawing in words
}

// HintView is what the refusals point to.
type HintView struct {
	Sentence string
	Weight   string
	Alike    string // that another attribute does as well
	Change   string // address of the form with the change filled in, "" where no fly is left to change
	Label    string
	Already  string // that the fly as it is now has the change
}

// FishedLine is what fish did to a fly, in one line of its page.
type FishedLine struct{ Name, Counts, Href string }
