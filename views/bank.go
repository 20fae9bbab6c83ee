package views

// BankView is the field key.
type BankView struct {
	Page
	Problems []string // sentences, if any answer could not be used
	Month    Choices
	Main     []Choices // asked of everybody
	More     []Choices // behind "more to see"
	MoreOpen bool
	Length   LengthField
	Hour     Field
	WaterC   Field
	Reading  ReadingView
}

// LengthField asks for the body length with a true-size drawing.
type LengthField struct {
	Field
	Unsure   bool
	UnsureBy string // label of "cannot tell"
	Drawing  Drawing
	// Min, Max and Step of the slider, in the unit of the field.
	Min, Max, Step string
	// SliderAt is where the slider stands when nothing was typed.
	SliderAt   string
	Calibrated bool
}

// ReadingView is what the key says now.
type ReadingView struct {
	Page
	// Cautions are short warnings that apply now.
	Cautions []string
	// Idle: nothing but the month is known.
	Idle   bool
	Lead   *HatchLine // nil if something unknown leads
	Strip  string     // one line for the foot of the screen
	Fed    *FedView
	Why    []WhyLine
	Flies  []FlyLine
	Tie    *TieView // nothing in the box fits
	Next   *NextView
	Others []HatchLine
	// Compare leads to what leads and the next two side by side, "" if there
	// is nothing to compare.
	Compare string
	// Add leads to a form that adds what was seen as a hatch of one's own.
	Add string
	// Unknown is the chance that it is something this key does not hold.
	Unknown      string
	UnknownLeads bool
	// EmptyBox: no fly was ever entered.
	EmptyBox bool
}

// HatchLine is one hatch in a list.
type HatchLine struct {
	Name, Scientific, Form string
	Percent                string
	Share                  float64
	Drawing                Drawing
	Href                   string
	Own                    string // a word if the reader added it, else ""
}

// FedView says whether the fish are on it.
type FedView struct {
	Level    string // "yes", "maybe", "no"
	Word     string
	Sentence string
	// Masked: a small insect is likely eaten instead, perhaps this one.
	Masked           bool
	Small, SmallHref string
}

// WhyLine is one reason.
type WhyLine struct {
	Answer   string // "Wings: short stubs"
	Word     string // "speaks strongly for it"
	Sign     string // "for", "against", "none"
	Decibans string // "+12.3 dB"
	Marked   string // a note on how sure the trade fact is
}

// NextView is the one next look.
type NextView struct {
	Label    string // what it is for
	Sentence string
	Anchor   string // "#q-tails"
}

// FlyLine is one of the angler's own flies.
type FlyLine struct {
	Name    string
	Href    string
	Drawing Drawing
	Fit     string // in words
	For     string // the insect that it stands for, where that is not plain
	Advice  []string
	Left    string // "3 left"
	None    bool   // none left
	Own     string // what own fish did to it, "" for nothing
	Places  []PlaceLine
	// Fish puts it on in Day; nil where it does not fit.
	Fish *PostForm
}

// PlaceLine is where flies of a kind are.
type PlaceLine struct {
	Where string
	Count string
	// Take is the form that takes one out; nil where it cannot be taken.
	Take *PostForm
}

// PostForm is a button that posts hidden fields.
type PostForm struct {
	Action string
	Label  string
	Fields [][2]string
	Ask    string // address that is opened in place of posting, to ask for more
}

// TieView is what to tie where nothing in the box fits.
type TieView struct {
	Sentence string
	Lines    []string
	Drawing  Drawing
	Href     string // to a new fly filled in with this
	Enter    string // label of the link
}
