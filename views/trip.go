package views

import (
	"strconv"
	"strings"
)

// TripsView lists the trips.
type TripsView struct {
	Page
	Coming, Past []TripLine
}

// TripLine is one trip in the list.
type TripLine struct{ Name, When, Where, Href string }

// TripFormView plans a new trip or changes one.
type TripFormView struct {
	Page
	Heading, Action, Back, FormID string
	Problems                      []string
	Name, From, To                Field
	Rods, Hours                   Field
	Skill                         Choices
	Region                        Choices
	Waters                        []WaterFields // the first is always shown
	Boxes                         Choices
	Level                         Choices
	PerSlot                       Field
	Evenings, EveningHours        Field
	TieMinutes                    Field
	Working, Blind                Field
	Rates                         []Field // by way of fishing
	WaysOpen                      bool    // something of these was said
	Temperatures, Note            Field
	More                          bool // what is seldom said stands open
	Remove                        *PostForm
}

// WaterFields are those of one water.
type WaterFields struct {
	Name               Field
	Type               Choices
	Altitude, Latitude Field
}

// TripView is the plan of one trip.
type TripView struct {
	Page
	Name, When, Where, Party string
	Cautions                 []string
	Sums                     []string // in numbers, the most important first
	Notices                  []string // what is wrong or missing
	Pack, Card, Count        string   // addresses
	Calendar, Edit           string
	Over                     bool       // its days are past
	Lines                    []PlanLine // own flies to take
	Few                      []PlanLine // own flies of which none are to go
	New                      []PlanLine // to be made
	Other                    *OtherForm // takes a fly that is not in the plan; nil if there is none
	Tying                    []string
	Ties                     []TieLine
	Materials                []string
	Strips                   []Strip
	MoreStrips               []Strip
	DaysFrom, DaysTo         string
	GivenUp                  []string // what falls short
	Basis                    []string // what it rests on
	Note                     string
}

// PlanLine is one kind of fly in a plan.
type PlanLine struct {
	ID      string
	Name    string
	Href    string
	Drawing Drawing
	Take    string
	Label   string   // of the number
	Have    string   // "4 left, tie 2"
	Reason  string   // for the number
	Why     []string // what the flies are for
	Line    *LineForm
	Enter   string // address where a new pattern is entered
}

// LineForm overrules a line.
type LineForm struct {
	Action, FormID string
	Take           Field
	Fixed          bool
	Release        PostForm // lets the plan decide again
}

// OtherForm takes a fly along that the plan has no use for.
type OtherForm struct {
	Action, FormID string
	Fly            Choices
	Take           Field
}

// TieLine is a kind of fly to tie.
type TieLine struct{ Name, Count, Note string }

// Strip is a hatch over the days of a trip.
type Strip struct {
	Name, Href, Text string
	Days             []float64 // 0 to 1
	Even             []bool    // days that are shaded to be counted by weeks
}

// bars are the chances as a path: a bar of 8 by 1 to 29 for each day.
func (s Strip) bars() string {
	var b strings.Builder
	for i, c := range s.Days {
		up := fixed(1 + 28*c)
		b.WriteString("M" + strconv.Itoa(i*10+1) + " 30v-" + up + "h8v" + up + "z")
	}
	return b.String()
}

// weeks shades every other week.
func (s Strip) weeks() string {
	var b strings.Builder
	for i, even := range s.Even {
		if even {
			b.WriteString("M" + strconv.Itoa(i*10) + " 0h10v30h-10z")
		}
	}
	return b.String()
}

// PackView is what to move before a trip.
type PackView struct {
	Page
	Name, When, Back string
	Lead             string
	Notices          []string
	Steps            []PackStep
	Done             []PackStep
	Lines            []PackLine // what is then in the boxes, for the sheet
}

// PackStep is one move.
type PackStep struct {
	Name, Count, From, To string
	Do                    *PostForm
}

// PackLine is a kind of fly on the sheet.
type PackLine struct{ Count, Name, Where string }

// CardView is the plan for a second guide.
type CardView struct {
	Page
	Name, Back, Text string
	Facts            []string
	Lines            []PackLine
	Hatches          []string
	Cautions         []string
	Note             string
	Made             string
}

// BackView counts what came back.
type BackView struct {
	Page
	Name, When, Back string
	Action, FormID   string
	Problems         []string
	Lead             string
	Counts           []CountLine
	Results          []string
	Table            []ResultLine
	Open             bool // the form stands open
}

// CountLine is one kind of fly to count.
type CountLine struct {
	Field
	Recorded string
	Drawing  Drawing
}

// ResultLine is one kind of fly after a trip.
type ResultLine struct{ Name, Took, Back, Lost, Expected string }
