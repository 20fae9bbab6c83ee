package flybox

import "dampstone/flybox/journal"

// Limits of readings. Levels are above the zero of a staff, which may lie deep
// in the bed or high above the sea.
const (
	MinLevelM = -100.0
	MaxLevelM = 9000.0
)

// Station is where the level of a water is read: a staff, or a stone with a
// mark.
type Station struct {
	ID    journal.ID `json:"id,omitempty"`
	Name  string     `json:"name"`
	Water string     `json:"water,omitempty"`
	Note  string     `json:"note,omitempty"` // where its zero is
}

// Reading is what was read at a station by eye.
type Reading struct {
	ID      journal.ID `json:"id,omitempty"`
	Station journal.ID `json:"station"`
	When    string     `json:"when"`              // RFC 3339 with the local offset
	LevelM  *float64   `json:"level_m,omitempty"` // metres above its zero; nil if not read
	WaterC  *float64   `json:"water_c,omitempty"` // degrees Celsius; nil if not read
}

// Kind of each body.
func (Station) Kind() journal.Kind { return KindStation }
func (Reading) Kind() journal.Kind { return KindReading }

func (b Station) register() regName { return regName{id: b.ID} }
func (b Reading) register() regName { return regName{id: b.ID} }

func (b Station) clean() Body { trim(&b.Name, &b.Water, &b.Note); return b }
func (b Reading) clean() Body { trim(&b.When); return b }

// Check lists what is wrong with the station.
func (b Station) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Text("name", b.Name, MaxName, true)
	p.Text("water", b.Water, MaxName, false)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the reading. It holds a level or a temperature.
func (b Reading) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.ID("station", b.Station, true)
	p.Moment("when", b.When, true)
	if b.LevelM != nil {
		p.Number("level_m", *b.LevelM, MinLevelM, MaxLevelM)
	}
	if b.WaterC != nil {
		p.Number("water_c", *b.WaterC, MinWaterC, MaxWaterC)
	}
	if b.LevelM == nil && b.WaterC == nil {
		p.Add("level_m", journal.CodeRequired, journal.Detail{})
	}
	return p
}

// Station is one station, unless it is unknown or deleted.
func (s *State) Station(id journal.ID) (Logged[Station], bool) { return one(s, s.stations, id) }

// Stations are all stations, the one that was described last first.
func (s *State) Stations() []Logged[Station] {
	return logged(s, s.stations, func(Station) string { return "" })
}

// Reading is one reading, unless it is unknown or deleted.
func (s *State) Reading(id journal.ID) (Logged[Reading], bool) { return one(s, s.readings, id) }

// ReadingsOf are the readings of a station, newest first; of all for "".
func (s *State) ReadingsOf(station journal.ID) []Logged[Reading] {
	return loggedIf(s, s.readings, func(b Reading) string { return b.When }, func(b Reading) bool { return station == "" || b.Station == station })
}
