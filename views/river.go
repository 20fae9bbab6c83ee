package views

// RiverView lists stations where the level is read.
type RiverView struct {
	Page
	Cautions []string
	Stations []StationLine
	New      StationForm
}

// StationLine is a station with what it read last.
type StationLine struct {
	Name, Water, Href string
	Last              string
	Old               bool // too old to be how the water is now
	Trend             string
	Form              ReadingForm
}

// StationForm adds a station.
type StationForm struct {
	FormID            string
	Problems          []string
	Name, Water, Note Field
}

// ReadingForm asks for what a station reads now.
type ReadingForm struct {
	Action, FormID string
	Problems       []string
	Station        string // its name
	Level, WaterC  Field
}

// StationView is a station with what was read there.
type StationView struct {
	Page
	Water, Note string
	Cautions    []string
	Last        string
	Old         bool
	Trends      []TrendLine
	Jump        string // a sudden step, "" for none
	Curve       *LevelCurve
	Form        ReadingForm
	Readings    []ReadingLine
	More        string
	Remove      PostForm
}

// TrendLine is what the level did in a window.
type TrendLine struct{ Window, Words string }

// ReadingLine is one reading.
type ReadingLine struct {
	When, Text string
	Remove     PostForm
}

// LevelCurve is the level in time.
type LevelCurve struct {
	Points              []CurvePoint
	High, Low, From, To string
}

// CurvePoint is where a reading lies: from the first (0) to the last (1), and
// from the foot of the picture (0) to its head (1).
type CurvePoint struct{ X, Y float64 }

// path is the curve on a picture of 300 by 100.
func (c LevelCurve) path() string {
	d := make([]byte, 0, 12*len(c.Points))
	for i, p := range c.Points {
		d = append(d, "ML"[min(i, 1)])
		d = append(d, fixed(4+292*p.X)...)
		d = append(d, ' ')
		d = append(d, fixed(94-88*p.Y)...)
	}
	return string(d)
}
