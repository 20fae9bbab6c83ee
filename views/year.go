package views

// YearView is the hatches of a region over the year.
type YearView struct {
	Page
	Query  string
	Region string
	Moved  string // the calendar is moved to the place of the water; "" if not
	Count  string
	Months []string
	Today  float64 // where today stands in the chart
	Lines  []YearLine
}

// YearLine is one hatch with its weeks.
type YearLine struct {
	Name       string
	Also       string // other names
	Scientific string
	Own        string // that the reader added it
	Href       string
	Area       string    // path of the hill
	Text       string    // the same in words
	Seen       []float64 // where own sightings stand
	SeenText   string
}
