package views

// BoxesView is the list of boxes and of all flies.
type BoxesView struct {
	Page
	Query   string // what the list is narrowed to
	Boxes   []BoxLine
	Flies   []FlyLine
	Showing string // "12 of 340 flies"
	More    string // address of the next part of a long list, "" at its end
	Empty   bool
}

// BoxLine is one box in the list.
type BoxLine struct {
	Name, Size, Holds, Href string
}

// BoxView is one box with its slots.
type BoxView struct {
	Page
	Name, Sub string
	ID        string
	Rows      []SlotRow
	Edit      string // address
	// Outside are flies whose slot lies outside a box that was made smaller.
	Outside []FlyLine
}

// SlotRow is one row of a box.
type SlotRow struct {
	Name  string
	Slots []SlotView
}

// SlotView is one slot of a box.
type SlotView struct {
	Label   string // "row 2, slot 3: small olive dun, 4 left"
	Count   string
	Href    string
	Drawing Drawing
	Low     bool // fewer than wanted
	Empty   bool
}

// FlyView is one fly.
type FlyView struct {
	Page
	Name, Sub string
	Drawing   Drawing
	Facts     []string
	Notes     string
	Left      string
	Fish      *PostForm // puts it on in Day; nil if none is left
	Places    []PlaceView
	Loose     *PlaceView // out of the box, on the patch
	Edit      string     // address
	Lineage   []LineageLine
	CountForm CountForm
	Remove    PostForm
	Suits     []HatchLine // hatches that it suits
	Fished    []FishedLine
	Recipe    RecipeView
	Foam      string // address of its foam body, "" for a fly without
}

// PlaceView is where flies of this kind are, with what can be done there.
type PlaceView struct {
	Where, Count string
	Does         []PostForm
}

// LineageLine is an earlier form of the fly.
type LineageLine struct{ When, What string }

// CountForm counts, adds or assigns.
type CountForm struct {
	Action   string
	Problems []string
	Place    Choices // slots that hold this fly, and loose
	Count    Field
	Why      Choices
	FormID   string
}

// FlyFormView adds or changes a fly.
type FlyFormView struct {
	Page
	Heading  string
	Lead     string // why it is filled in as it is, "" if there is no reason
	Action   string
	Back     string
	Problems []string
	Name     Field
	Style    Choices
	Hook     Choices
	Shank    Choices
	Length   Field
	Body     Field
	Wing     Field
	Under    Field
	Differs  bool // the underside has a colour of its own
	Floats   Choices
	Bead     Choices
	BeadMM   Field
	Wire     Field // checked if it has a value
	Jig      Field
	Box      Choices
	Row      Field
	Slot     Field
	Count    Field
	Want     Field
	Notes    Field
	FormID   string
	Parent   string
	New      bool
}

// BoxFormView adds or changes a box.
type BoxFormView struct {
	Page
	Heading  string
	Action   string
	Back     string
	Problems []string
	Name     Field
	Rows     Field
	Columns  Field
	FormID   string
	Remove   *PostForm
}
