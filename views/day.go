package views

// DayView is the section Day: the outing that runs, or the way to start one,
// and those that are past.
type DayView struct {
	Page
	Cautions []string
	Now      *OutingNow
	// Running are the other outings that have not ended.
	Running []OutingLine
	Start   *OutingForm
	Past    []OutingLine
	Showing string // "1 to 20 of 34 outings", "" if there is none
	More    string // address of older ones, "" at the end
	Results string // address, "" while there is nothing to learn from
}

// OutingNow is the outing that runs.
type OutingNow struct {
	Where, Since string
	Href         string
	Forgotten    *Forgotten
	Rods         []RodTab  // none where there is one rod
	Flies        []RigLine // that are tied on, the uppermost first
	On           string    // what the fish are on, in words
	OnHref       string    // to say it
	Change       string    // address of the choice of a fly while none is on
	Add          string    // address of the choice of one more, "" if as many are on as may be
	Hang         *PostForm // hangs a sinking fly below a dry one
	Taps         []Tap
	Gone         []PostForm // the fly is lost
	Last         string     // what was noted last, "" for nothing
	Undo         *PostForm
	SayLabel     string // of Says
	Says         []Say  // what else may be said of the fish that was noted last
	FishHref     string // address of its kind and length, "" where there is none
	Counts       string // the whole outing in words
	Today        string // the whole day, "" if it is the same
	Try          *TryView
	End          PostForm
}

// RodTab leads to a rod of the outing.
type RodTab struct {
	Name, Href string
	Now        bool // it is on the screen
}

// Say says something of a fish, or takes it back where it was Said.
type Say struct {
	PostForm
	Said bool
}

// WhichView asks which fly of a rig it was.
type WhichView struct {
	Page
	What, Code string // what the fish did
	Back       string
	Flies      []RigLine // the uppermost first
}

// FishView asks for kind and length of a fish.
type FishView struct {
	Page
	What, Back, Action, FormID string
	Problems                   []string
	Kind, Length               Field
	Hidden                     [][2]string
}

// Forgotten is an outing that nobody ended.
type Forgotten struct {
	Sentence string
	End      PostForm
}

// RigLine is a fly that is or may be tied on.
type RigLine struct {
	Name, Sub, Left string
	Href            string
	Drawing         Drawing
	Why             string    // a word on why it is offered, "" for none
	Put             *PostForm // ties it on, or names it
	// Of a fly that is tied on:
	Place  string    // on the leader, "" where it is the only one
	Change string    // address of the choice of another
	Off    *PostForm // takes it off
}

// Tap is one of the large buttons.
type Tap struct {
	PostForm
	Code  string // "take", "refusal", "follow", "lost"
	Count string
}

// TryView is what to show the next fish.
type TryView struct {
	Sentence string
	Put      *PostForm // nil if it is on already
}

// OutingLine is one outing in a list.
type OutingLine struct {
	When, Where, Counts, Href string
}

// OutingForm starts or changes an outing.
type OutingForm struct {
	Action    string
	FormID    string
	Problems  []string
	Carry     [][2]string // hidden: what is tied on once it runs
	CarryText string      // the same in words
	Water     Field
	Place     Field
	Rods      Field
	Names     Field // of the rods
	WaterC    Field
	// Only of a change.
	StartDay, StartClock Field
	EndDay, EndClock     Field
	Note                 Field
}

// OutingView is one outing with all that happened.
type OutingView struct {
	Page
	Where, When string
	Note        string
	Facts       []string
	Running     bool
	Day         string // address of the running one
	Edit        string
	End         *PostForm
	Results     string // address of what its fish say, "" if there were none
	Lines       []TimeLine
	More        string
	Remove      PostForm
}

// TimeLine is something that happened on an outing.
type TimeLine struct {
	Clock, What, Sub string
	Code             string // of an outcome, else ""
	Remove           *PostForm
}

// OutingFormView changes an outing.
type OutingFormView struct {
	Page
	Back string
	Form OutingForm
}

// RigView is the change of fly.
type RigView struct {
	Page
	On      string // what the fish are on
	OnHref  string
	Fits    []RigLine
	NoFit   string // a sentence where nothing fits, else ""
	Lately  []RigLine
	Query   string
	Found   []RigLine
	Showing string
	Back    string
	Hidden  [][2]string // kept in the search
}

// OnView is the choice of what the fish are on.
type OnView struct {
	Page
	Seen    []OnLine
	Likely  []OnLine
	Nothing PostForm
}

// OnLine is a form of a hatch that the fish may be on.
type OnLine struct {
	Name, Form, Percent string
	Drawing             Drawing
	Href                string
	Choose              PostForm
}
