package flybox

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
)

// Limits of what a trip may hold.
const (
	MaxWaters       = 8
	MaxTripBoxes    = 60
	MaxReturnLines  = 500  // an entry holds no more
	MaxWorking      = 24   // flies for a rod
	MaxRate         = 50.0 // flies gone per rod and day
	MaxTemperatures = 400
	MaxPerSlot      = 99
	MaxTieMinutes   = 240.0
	MaxEvenings     = 366

	minLevel, maxLevel = 0.5, 0.999
)

// Skill says how a party fishes, for how many flies it loses.
type Skill string

// The skills.
const (
	Novice    Skill = "novice"
	Mixed     Skill = "mixed"
	Practised Skill = "practised"
)

// Skills lists the skills.
var Skills = []Skill{Novice, Mixed, Practised}

// Trip is a trip to stock boxes for. What is zero or empty is not said; the
// planner then assumes something and says so.
type Trip struct {
	ID        journal.ID   `json:"id,omitempty"`
	Name      string       `json:"name"`
	From      string       `json:"from"` // first day, 2006-01-02
	To        string       `json:"to"`   // last day
	Water     string       `json:"water,omitempty"`
	WaterType string       `json:"water_type,omitempty"` // kind of water, a code of the key
	Waters    []TripWater  `json:"waters,omitempty"`     // more waters, or the same with where they lie
	Region    string       `json:"region,omitempty"`     // id of the key's pack
	Rods      int          `json:"rods"`
	Hours     float64      `json:"hours,omitempty"` // on the water per day
	Skill     Skill        `json:"skill,omitempty"`
	Boxes     []journal.ID `json:"boxes,omitempty"`    // ids of the boxes that go along
	PerSlot   int          `json:"per_slot,omitempty"` // flies that a slot takes
	Level     float64      `json:"level,omitempty"`    // chance wished of not running out of a fly, 0.5 to 0.999
	// Evenings are those left for tying; nil: all until the first day.
	Evenings     *int      `json:"evenings,omitempty"`
	EveningHours float64   `json:"evening_hours,omitempty"` // of tying in an evening
	TieMinutes   float64   `json:"tie_minutes,omitempty"`   // to tie one fly
	Temperatures []DayTemp `json:"temperatures,omitempty"`  // of the water, by day
	// Working is how many flies for a rod nobody wants to stand without where
	// fish are on something; 0 for what the planner assumes.
	Working int `json:"working,omitempty"`
	// Blind is the share of the fishing with nothing seen, 0 to 1; nil for
	// what the planner assumes.
	Blind *float64 `json:"blind,omitempty"`
	// Rates are flies gone per rod and day of fishing in one way; nil for what
	// the planner assumes or has learned.
	Rates *TripRates `json:"rates,omitempty"`
	Note  string     `json:"note,omitempty"`

	unknown map[string]json.RawMessage // fields of a newer version
}

// TripRates are flies gone per rod and day, by the way of fishing; 0 where
// nothing is said.
type TripRates struct {
	Dry      float64 `json:"dry,omitempty"`
	Sunk     float64 `json:"sunk,omitempty"`
	Streamer float64 `json:"streamer,omitempty"`
}

// TripWater is a water of a trip.
type TripWater struct {
	Name     string   `json:"name,omitempty"`
	Type     string   `json:"type,omitempty"`       // a code of the key
	Altitude *float64 `json:"altitude_m,omitempty"` // above the sea in metres
	Latitude *float64 `json:"latitude,omitempty"`   // degrees from the equator
}

// DayTemp is the least and greatest water temperature of a day, in degrees
// Celsius.
type DayTemp struct {
	Date string  `json:"date"` // 2006-01-02
	Min  float64 `json:"min_c"`
	Max  float64 `json:"max_c"`
}

// TripLine overrules the plan of a trip for one pattern: so many go along.
// With Off the plan decides again.
type TripLine struct {
	Trip    journal.ID `json:"trip"`
	Pattern journal.ID `json:"pattern"`
	Take    int        `json:"take"`
	Off     bool       `json:"off,omitempty"`
}

type lineKey struct{ trip, pattern journal.ID }

// TripReturn is the count after a trip. Its ID is that of the trip: there is
// one for each, the last one counts, and it goes when the trip is deleted.
type TripReturn struct {
	ID      journal.ID `json:"id"`
	When    string     `json:"when"`     // RFC 3339 with the local offset
	RodDays float64    `json:"rod_days"` // on the water, in days of the planner for a party of usual skill
	// Expected is how many flies the plan thought would be lost or given, Low
	// to High the range that holds nine trips in ten.
	Expected float64      `json:"expected"`
	Low      int          `json:"low"`
	High     int          `json:"high"`
	Lines    []ReturnLine `json:"lines,omitempty"`
	Note     string       `json:"note,omitempty"`
}

// ReturnLine is the count of one pattern.
type ReturnLine struct {
	Pattern  journal.ID `json:"pattern"`
	Took     int        `json:"took"`
	Back     int        `json:"back"`
	Expected float64    `json:"expected,omitempty"` // flies that the plan thought would be lost or given
}

// Lost is how many flies were lost or given away in all.
func (b TripReturn) Lost() (n int) {
	for _, l := range b.Lines {
		n += l.Lost()
	}
	return n
}

// Lost is how many flies of the pattern were lost or given away.
func (l ReturnLine) Lost() int { return max(l.Took-l.Back, 0) }

// Kind of each body.
func (Trip) Kind() journal.Kind       { return KindTrip }
func (TripLine) Kind() journal.Kind   { return KindTripLine }
func (TripReturn) Kind() journal.Kind { return KindReturn }

func (b Trip) register() regName       { return regName{id: b.ID} }
func (b TripLine) register() regName   { return regName{line: lineKey{b.Trip, b.Pattern}} }
func (b TripReturn) register() regName { return regName{id: b.ID} }

// tripFields is Trip without its methods.
type tripFields Trip

// UnmarshalJSON keeps fields that this version does not know, so that a
// change made here does not drop what a newer version wrote.
func (b *Trip) UnmarshalJSON(raw []byte) error {
	if err := json.Unmarshal(raw, (*tripFields)(b)); err != nil {
		return err
	}
	unknown, err := unknownFields(raw, tripNames)
	b.unknown = unknown
	return err
}

// unknownFields are the fields of an object but for those with these names;
// nil if there are none.
func unknownFields(raw []byte, known []string) (map[string]json.RawMessage, error) {
	all := map[string]json.RawMessage{}
	if err := json.Unmarshal(raw, &all); err != nil {
		return nil, err
	}
	for _, name := range known {
		delete(all, name)
	}
	if len(all) == 0 {
		return nil, nil
	}
	return all, nil
}

// MarshalJSON writes the fields that it knows and those that it does not.
func (b Trip) MarshalJSON() ([]byte, error) {
	raw, err := journal.Marshal(tripFields(b))
	if err != nil {
		return nil, err
	}
	return withUnknown(raw, b.unknown)
}

// withUnknown adds fields that are not known to an object that has some.
func withUnknown(raw []byte, unknown map[string]json.RawMessage) ([]byte, error) {
	if len(unknown) == 0 {
		return raw, nil
	}
	more, err := journal.Marshal(unknown)
	if err != nil {
		return nil, err
	}
	return append(append(raw[:len(raw)-1], ','), more[1:]...), nil
}

// tripNames are the JSON names of the fields of Trip.
var tripNames = []string{"id", "name", "from", "to", "water", "water_type", "waters", "region", "rods", "hours", "skill", "boxes", "per_slot", "level",
	"evenings", "evening_hours", "tie_minutes", "temperatures", "working", "blind", "rates", "note"}

// Check lists what is wrong with the trip.
func (b Trip) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Text("name", b.Name, MaxName, true)
	from, ok := p.Day("from", b.From, true)
	to, ends := p.Day("to", b.To, true)
	if ok && ends && to.Before(from) {
		p.Add("to", journal.CodeBackwards, journal.Detail{})
	}
	p.Text("water", b.Water, MaxName, false)
	p.Text("water_type", b.WaterType, MaxName, false)
	p.Integer("waters", len(b.Waters), 0, MaxWaters)
	for _, w := range b.Waters {
		p.Text("waters", w.Name, MaxName, false)
		p.Text("waters", w.Type, MaxName, false)
		if w.Altitude != nil {
			p.Number("altitude_m", *w.Altitude, hatchkeys.MinAltitude, hatchkeys.MaxAltitude)
		}
		if w.Latitude != nil {
			p.Number("latitude", *w.Latitude, -90, 90)
		}
	}
	p.Text("region", b.Region, MaxName, false)
	p.Integer("rods", b.Rods, 1, MaxRods)
	p.Number("hours", b.Hours, 0, MaxHours)
	if b.Skill != "" {
		oneOf(&p, "skill", b.Skill, Skills)
	}
	p.Integer("boxes", len(b.Boxes), 0, MaxTripBoxes)
	for _, id := range b.Boxes {
		p.ID("boxes", id, true)
	}
	p.Integer("per_slot", b.PerSlot, 0, MaxPerSlot)
	if b.Level != 0 {
		p.Number("level", b.Level, minLevel, maxLevel)
	}
	if b.Evenings != nil {
		p.Integer("evenings", *b.Evenings, 0, MaxEvenings)
	}
	p.Number("evening_hours", b.EveningHours, 0, MaxHours)
	p.Number("tie_minutes", b.TieMinutes, 0, MaxTieMinutes)
	p.Integer("working", b.Working, 0, MaxWorking)
	if b.Blind != nil {
		p.Number("blind", *b.Blind, 0, 1)
	}
	if r := b.Rates; r != nil {
		p.Number("rate_dry", r.Dry, 0, MaxRate)
		p.Number("rate_sunk", r.Sunk, 0, MaxRate)
		p.Number("rate_streamer", r.Streamer, 0, MaxRate)
	}
	p.Integer("temperatures", len(b.Temperatures), 0, MaxTemperatures)
	for _, t := range b.Temperatures {
		p.Day("temperatures", t.Date, true)
		p.Number("temperatures", t.Min, -5, 45)
		p.Number("temperatures", t.Max, -5, 45)
		if t.Max < t.Min {
			p.Add("temperatures", journal.CodeBackwards, journal.Detail{})
		}
	}
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the line.
func (b TripLine) Check() (p journal.Problems) {
	p.ID("trip", b.Trip, true)
	p.ID("pattern", b.Pattern, true)
	p.Integer("take", b.Take, 0, MaxCount)
	return p
}

// Check lists what is wrong with the count.
func (b TripReturn) Check() (p journal.Problems) {
	p.ID("id", b.ID, true)
	p.Moment("when", b.When, true)
	p.Number("rod_days", b.RodDays, 0, 1e6)
	p.Number("expected", b.Expected, 0, 1e6)
	p.Integer("low", b.Low, 0, 1<<20)
	p.Integer("high", b.High, b.Low, 1<<20)
	p.Integer("lines", len(b.Lines), 0, MaxReturnLines)
	for _, l := range b.Lines {
		p.ID("lines", l.Pattern, true)
		p.Integer("took", l.Took, 0, 1<<20)
		p.Integer("back", l.Back, 0, 1<<20)
		p.Number("expected", l.Expected, 0, 1e6)
	}
	p.Text("note", b.Note, MaxNote, false)
	return p
}

func (b Trip) clean() Body {
	trim(&b.Name, &b.From, &b.To, &b.Water, &b.WaterType, &b.Region, &b.Note)
	b.Waters = slices.Clone(b.Waters)
	for i := range b.Waters {
		trim(&b.Waters[i].Name, &b.Waters[i].Type)
	}
	return b
}

func (b TripLine) clean() Body   { return b }
func (b TripReturn) clean() Body { trim(&b.When, &b.Note); return b }

func (s *State) applyLine(b TripLine, o order) {
	key := lineKey{b.Trip, b.Pattern}
	if r := s.lines[key]; r == nil || o.after(r.head) {
		s.lines[key] = &register[TripLine]{o, b}
	}
}

// TripLines are the lines that overrule the plan of a trip (of every trip if
// it is empty), by trip and pattern.
func (s *State) TripLines(trip journal.ID) []TripLine {
	var out []TripLine
	for key, r := range s.lines {
		if !r.body.Off && (trip == "" || key.trip == trip) {
			out = append(out, r.body)
		}
	}
	sortby.Stable(out, func(a, b *TripLine) int {
		return cmp.Or(cmp.Compare(a.Trip, b.Trip), cmp.Compare(a.Pattern, b.Pattern))
	})
	return out
}

// Returns are the counts after trips, newest first.
func (s *State) Returns() []Logged[TripReturn] {
	return logged(s, s.returns, func(b TripReturn) string { return b.When })
}

// Return is the count after a trip, unless there is none.
func (s *State) Return(trip journal.ID) (Logged[TripReturn], bool) { return one(s, s.returns, trip) }

// Days are the first and last day of the trip at midnight UTC, and how many
// there are.
func (b Trip) Days() (first, last time.Time, n int) {
	first, _ = time.Parse(time.DateOnly, b.From)
	last, _ = time.Parse(time.DateOnly, b.To)
	if last.Before(first) {
		return first, first, 0
	}
	return first, last, int(last.Sub(first).Hours()/24+0.5) + 1
}

// AllWaters are the trip's waters: those listed, or the one that is named.
func (b Trip) AllWaters() []TripWater {
	if len(b.Waters) > 0 {
		return b.Waters
	}
	return []TripWater{{Name: b.Water, Type: b.WaterType}}
}
