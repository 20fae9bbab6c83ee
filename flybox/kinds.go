package flybox

import (
	"encoding/json"
	"slices"

	"dampstone/flybox/journal"
)

// The kinds that this version knows.
const (
	KindPattern  journal.Kind = "pattern"
	KindBox      journal.Kind = "box"
	KindSlot     journal.Kind = "slot"
	KindStock    journal.Kind = "stock"
	KindSighting journal.Kind = "sighting"
	KindOutcome  journal.Kind = "outcome"
	KindOuting   journal.Kind = "outing"
	KindRig      journal.Kind = "rig"
	KindTrip     journal.Kind = "trip"
	KindOrder    journal.Kind = "order"
	KindNote     journal.Kind = "note"
	KindHatch    journal.Kind = "hatch"
	KindTripLine journal.Kind = "trip-line"
	KindReturn   journal.Kind = "trip-return"
	KindRecipe   journal.Kind = "recipe"
	KindMaterial journal.Kind = "material"
	KindStation  journal.Kind = "station"
	KindReading  journal.Kind = "reading"
	KindDeleted  journal.Kind = "deleted"

	KindMaterialMove journal.Kind = "material-move"
)

// Kinds lists the kinds that this version knows.
var Kinds = []journal.Kind{
	KindPattern, KindBox, KindSlot, KindStock, KindSighting, KindOutcome, KindOuting, KindRig,
	KindTrip, KindOrder, KindNote, KindHatch, KindTripLine, KindReturn, KindRecipe, KindMaterial, KindMaterialMove, KindStation, KindReading, KindDeleted,
}

// Body is what an entry says. The bodies of this package are Pattern, Box,
// Slot, StockMove, Sighting, Outcome, Outing, Rig, Trip, TripLine, TripReturn,
// Order, Note, Hatch, Recipe, Material, MaterialMove, Station, Reading and Deleted.
//
// Most bodies describe a thing with an ID of its own, and a later entry with
// the same ID replaces what an earlier one said. An empty ID in a body means
// the id of the entry, which is enough for a thing that nothing in the same
// call refers to.
type Body interface {
	Kind() journal.Kind
	// Check lists what is wrong with the body.
	Check() journal.Problems

	clean() Body       // a copy with white space trimmed and colours in lower case
	register() regName // what the body overwrites, without the entry's own id
}

// regName names a register: a thing by its id, a slot, a line of a trip, or
// the recipe of a pattern.
type regName struct {
	id     journal.ID
	slot   slotKey
	line   lineKey
	recipe journal.ID
}

// Limits of what a body may hold.
const (
	MaxName       = 120  // characters in a name
	MaxNote       = 4000 // characters in a note
	MaxEvidence   = 8 << 10
	MaxCount      = 999 // flies in one move, order or target, up or down
	MaxBoxRows    = 40
	MaxBoxColumns = 40
	MaxRods       = 100
	MaxNamedRods  = 6     // rods of an outing that are told apart
	MaxFlies      = 3     // on one rig
	MaxFishMM     = 2500. // length of a fish
	MinHook       = 2
	MaxHook       = 28
	MinShank      = 0.5 // shank length multiplier
	MaxShank      = 3.0
	MinBeadMM     = 1.0 // of beads that are sold: common practice, no source
	MaxBeadMM     = 8.0
	MinLengthMM   = 1.0 // overall length of a fly
	MaxLengthMM   = 200.0
	MaxHours      = 24.0 // on the water per day
	MinWaterC     = -5.0 // water temperature, degrees Celsius
	MaxWaterC     = 45.0
)

// Pattern creates a fly, or revises it: each entry is a revision, its id the
// revision's id, and the newest revision of an ID is the fly as it is now.
type Pattern struct {
	ID     journal.ID `json:"id,omitempty"`
	Parent journal.ID `json:"parent,omitempty"` // revision it was made from, perhaps of another pattern
	Name   string     `json:"name"`
	Style  Style      `json:"style"`
	Hook   int        `json:"hook,omitempty"`      // size number, MinHook to MaxHook; 0 if not known
	Shank  float64    `json:"shank,omitempty"`     // shank length as a multiple of the standard; 0 means 1
	Length float64    `json:"length_mm,omitempty"` // overall length measured with a ruler, mm, without tails; 0 if not measured
	Body   string     `json:"body,omitempty"`      // colours as #rrggbb
	Wing   string     `json:"wing,omitempty"`
	Under  string     `json:"under,omitempty"`   // underside, if it differs from the body
	Floats Float      `json:"floats,omitempty"`  // empty: as its style does
	Wings  Posture    `json:"posture,omitempty"` // empty: as its style does
	Bead   Bead       `json:"bead,omitempty"`    // empty: none
	BeadMM float64    `json:"bead_mm,omitempty"` // its diameter, MinBeadMM to MaxBeadMM; 0 if not known
	Wire   bool       `json:"wire,omitempty"`    // weighted with turns of wire under the body
	Jig    bool       `json:"jig,omitempty"`     // on a jig hook, so that it rides point up
	Notes  string     `json:"notes,omitempty"`
}

// Box is a fly box with a grid of slots, rows counted from the top.
type Box struct {
	ID      journal.ID `json:"id,omitempty"`
	Name    string     `json:"name"`
	Rows    int        `json:"rows"`
	Columns int        `json:"columns"`
	Note    string     `json:"note,omitempty"`
}

// Place is a slot in a box, row and slot counted from 1. The zero Place is
// "loose": flies that are in no box.
type Place struct {
	Box  journal.ID `json:"box"`
	Row  int        `json:"row"`
	Slot int        `json:"slot"`
}

// Loose is where flies are that are in no box.
var Loose = Place{}

// Slot says that a pattern belongs in a slot and how many of it are wanted
// there, or with Off that it does not belong there any more. Two patterns may
// belong in one slot: two devices that assign different flies keep both.
type Slot struct {
	Place
	Pattern journal.ID `json:"pattern"`
	Want    int        `json:"want"`
	Off     bool       `json:"off,omitempty"`
}

type slotKey struct {
	place   Place
	pattern journal.ID
}

// Why flies came or went.
type Why string

// The reasons.
const (
	WhyTied    Why = "tied"
	WhyBought  Why = "bought"
	WhyLost    Why = "lost"
	WhyGiven   Why = "given"
	WhyRetired Why = "retired"
	WhyCounted Why = "counted" // put right after counting
	WhyMoved   Why = "moved"   // between places
)

// Whys lists the reasons.
var Whys = []Why{WhyTied, WhyBought, WhyLost, WhyGiven, WhyRetired, WhyCounted, WhyMoved}

// StockMove adds Delta flies of a pattern at a place. Counts are the sums of
// moves. A mistaken move is undone with Deleted, by its entry's id.
type StockMove struct {
	Pattern journal.ID `json:"pattern"`
	Place   *Place     `json:"place,omitempty"` // nil: loose
	Delta   int        `json:"delta"`           // -MaxCount to MaxCount; not 0 unless counted
	Why     Why        `json:"why"`
	Counted *int       `json:"counted,omitempty"` // with WhyCounted: how many were there
	Trip    journal.ID `json:"trip,omitempty"`    // the trip that it was packed for, or was lost on
	Outing  journal.ID `json:"outing,omitempty"`  // the outing that it was lost on
	Outcome journal.ID `json:"outcome,omitempty"` // the fish that it was lost to
	Order   journal.ID `json:"order,omitempty"`   // the order that it was tied for, or given away for
	Tie     journal.ID `json:"tie,omitempty"`     // names one tying; the moves of the material that it used name it too
	Note    string     `json:"note,omitempty"`
}

// Sighting is an insect that was seen and named.
type Sighting struct {
	ID       journal.ID      `json:"id,omitempty"`
	When     string          `json:"when"`               // RFC 3339 with the local offset
	Hatch    string          `json:"hatch"`              // id in the key, or "unknown"
	Form     string          `json:"form,omitempty"`     // id of the form in the key
	Evidence json.RawMessage `json:"evidence,omitempty"` // answers given, a JSON object
	Water    string          `json:"water,omitempty"`    // name of the water
	Place    string          `json:"place,omitempty"`    // name of the place on it
	Note     string          `json:"note,omitempty"`
}

// Result is what a fish did.
type Result string

// The results.
const (
	Take    Result = "take"
	Refusal Result = "refusal"
	Follow  Result = "follow"
	Lost    Result = "lost" // hooked (perhaps foul) and lost
)

// Results lists the results.
var Results = []Result{Take, Refusal, Follow, Lost}

// Ending is how a take ended; a fish that was hooked and lost is a Result of
// its own.
type Ending string

// The endings.
const (
	Landed Ending = "landed"
	Missed Ending = "missed" // the fish took, and was not hooked
)

// Endings lists them.
var Endings = []Ending{Landed, Missed}

// Reason is why the angler thinks that a fish turned off.
type Reason string

// The reasons.
const (
	Drag    Reason = "drag"
	Leader  Reason = "leader" // line or leader seen
	Depth   Reason = "depth"
	AtStage Reason = "stage"
	TooBig  Reason = "big"
	TooFine Reason = "small"
	Tint    Reason = "colour"
	Outline Reason = "shape"
	Unnamed Reason = "other"
)

// Reasons lists them, the usual first (common practice, no source).
var Reasons = []Reason{Drag, Leader, Depth, AtStage, TooBig, TooFine, Tint, Outline, Unnamed}

// Presented tells whether the reason is how the fly was shown, and not the fly.
func (r Reason) Presented() bool { return r == Drag || r == Leader || r == Depth }

// Outcome is what one fish did to one fly.
type Outcome struct {
	ID       journal.ID `json:"id,omitempty"`
	When     string     `json:"when"` // RFC 3339 with the local offset
	Result   Result     `json:"result"`
	Pattern  journal.ID `json:"pattern"`
	Rev      journal.ID `json:"rev,omitempty"`   // revision of the pattern that was fished
	Hatch    string     `json:"hatch,omitempty"` // what the fish were on
	Form     string     `json:"form,omitempty"`
	Sighting journal.ID `json:"sighting,omitempty"`
	Outing   journal.ID `json:"outing,omitempty"`
	Rod      int        `json:"rod,omitempty"`  // see Outing
	Why      Reason     `json:"why,omitempty"`  // of a refusal or follow, as the angler sees it
	End      Ending     `json:"end,omitempty"`  // of a take
	Fish     string     `json:"fish,omitempty"` // kind of fish
	FishMM   float64    `json:"fish_mm,omitempty"`
	Water    string     `json:"water,omitempty"`
	Note     string     `json:"note,omitempty"`
}

// Outing is time on the water.
type Outing struct {
	ID    journal.ID `json:"id,omitempty"`
	Start string     `json:"start"`         // RFC 3339 with the local offset
	End   string     `json:"end,omitempty"` // empty while it lasts
	Water string     `json:"water,omitempty"`
	Place string     `json:"place,omitempty"`
	Rods  int        `json:"rods,omitempty"`
	// Names of the first MaxNamedRods rods, mostly of who fishes them. Rigs and
	// outcomes give a rod by its number, from 1; 0 means the first, too.
	Names []string   `json:"rod_names,omitempty"`
	Trip  journal.ID `json:"trip,omitempty"`
	// WaterC is the temperature of the water in degrees Celsius; nil if it was
	// not measured.
	WaterC *float64 `json:"water_c,omitempty"`
	Note   string   `json:"note,omitempty"`
}

// Tied is a fly that is tied on.
type Tied struct {
	Pattern journal.ID `json:"pattern"`
	Rev     journal.ID `json:"rev,omitempty"` // revision of the pattern
}

// Rig is what is fished with one rod of an outing from a moment on: the flies
// that are tied on, and what the fish are on. Either may be empty for "not
// known" or "none".
type Rig struct {
	ID      journal.ID `json:"id,omitempty"`
	When    string     `json:"when"` // RFC 3339 with the local offset
	Outing  journal.ID `json:"outing"`
	Rod     int        `json:"rod,omitempty"`     // see Outing
	Pattern journal.ID `json:"pattern,omitempty"` // at the end of the leader: the point
	Rev     journal.ID `json:"rev,omitempty"`     // revision of the pattern
	Above   []Tied     `json:"above,omitempty"`   // further up the leader: dropper, then top
	Hatch   string     `json:"hatch,omitempty"`
	Form    string     `json:"form,omitempty"`
}

// Order is a wish for flies from somebody else, to be tied.
type Order struct {
	ID      journal.ID `json:"id,omitempty"`
	For     string     `json:"for"`
	Pattern journal.ID `json:"pattern"`
	Count   int        `json:"count"`
	Done    int        `json:"done,omitempty"` // tied and handed over before the moves that name the order
	Due     string     `json:"due,omitempty"`  // 2006-01-02
	Note    string     `json:"note,omitempty"`
}

// Note is a remark, perhaps about a thing.
type Note struct {
	ID    journal.ID `json:"id,omitempty"`
	About journal.ID `json:"about,omitempty"` // id of the thing
	Text  string     `json:"text"`
}

// Deleted takes away a thing by its id, or a stock move by its entry's id.
// A later entry about the thing brings it back.
type Deleted struct {
	Target journal.ID `json:"target"`
}

// Kind of each body.
func (Pattern) Kind() journal.Kind   { return KindPattern }
func (Box) Kind() journal.Kind       { return KindBox }
func (Slot) Kind() journal.Kind      { return KindSlot }
func (StockMove) Kind() journal.Kind { return KindStock }
func (Sighting) Kind() journal.Kind  { return KindSighting }
func (Outcome) Kind() journal.Kind   { return KindOutcome }
func (Outing) Kind() journal.Kind    { return KindOuting }
func (Rig) Kind() journal.Kind       { return KindRig }
func (Order) Kind() journal.Kind     { return KindOrder }
func (Note) Kind() journal.Kind      { return KindNote }
func (Deleted) Kind() journal.Kind   { return KindDeleted }

func (b Pattern) register() regName   { return regName{id: b.ID} }
func (b Box) register() regName       { return regName{id: b.ID} }
func (b Slot) register() regName      { return regName{slot: slotKey{b.Place, b.Pattern}} }
func (b StockMove) register() regName { return regName{} }
func (b Sighting) register() regName  { return regName{id: b.ID} }
func (b Outcome) register() regName   { return regName{id: b.ID} }
func (b Outing) register() regName    { return regName{id: b.ID} }
func (b Rig) register() regName       { return regName{id: b.ID} }
func (b Order) register() regName     { return regName{id: b.ID} }
func (b Note) register() regName      { return regName{id: b.ID} }
func (b Deleted) register() regName   { return regName{id: b.Target} }

// At is the place of a move.
func (b StockMove) At() Place {
	if b.Place == nil {
		return Loose
	}
	return *b.Place
}

// Decode reads the body of an entry and checks it. The error is a *Problem
// with CodeNewKind or CodeNewFormat if this version does not know the kind or
// format, otherwise it says what is wrong.
//
// It reads a body once, see journal.Entry.Once. The caller must not change
// what the body points to.
func Decode(e journal.Entry) (Body, error) {
	body, err := e.Once(func(e journal.Entry) (any, error) { return decode(e) })
	b, _ := body.(Body)
	return b, err
}

// NewEntry makes an entry of a body that has been checked.
func NewEntry(id journal.ID, at journal.Stamp, body Body) (journal.Entry, error) {
	return journal.New(id, at, body.Kind(), body, nil)
}

func decode(e journal.Entry) (Body, error) {
	if !e.Readable() {
		return nil, &journal.Problem{Field: "entry", Code: journal.CodeUnreadable}
	}
	read := readers[e.Kind]
	if read == nil {
		return nil, &journal.Problem{Field: "kind", Code: journal.CodeNewKind, Detail: journal.Detail{Got: journal.Of(string(e.Kind))}}
	}
	if e.V > journal.Format {
		return nil, &journal.Problem{Field: "v", Code: journal.CodeNewFormat, Detail: journal.Detail{Got: journal.Of(e.V)}}
	}
	b, err := read(e.RawBody())
	if err != nil {
		return nil, journal.NotJSON("body", err)
	}
	b = b.clean()
	if problems := b.Check(); len(problems) > 0 {
		return nil, problems
	}
	return b, nil
}

// isNewer tells whether err is from an entry that a newer version wrote, to be
// kept and passed on though it is not understood here.
func isNewer(err error) bool {
	p, ok := err.(*journal.Problem)
	return ok && (p.Code == journal.CodeNewKind || p.Code == journal.CodeNewFormat)
}

var readers = map[journal.Kind]func([]byte) (Body, error){
	KindPattern:  read[Pattern],
	KindBox:      read[Box],
	KindSlot:     read[Slot],
	KindStock:    read[StockMove],
	KindSighting: read[Sighting],
	KindOutcome:  read[Outcome],
	KindOuting:   read[Outing],
	KindRig:      read[Rig],
	KindTrip:     read[Trip],
	KindOrder:    read[Order],
	KindNote:     read[Note],
	KindHatch:    read[Hatch],
	KindTripLine: read[TripLine],
	KindReturn:   read[TripReturn],
	KindRecipe:   read[Recipe],
	KindMaterial: read[Material],
	KindStation:  read[Station],
	KindReading:  read[Reading],
	KindDeleted:  read[Deleted],

	KindMaterialMove: read[MaterialMove],
}

func read[B Body](raw []byte) (Body, error) {
	var b B
	err := json.Unmarshal(raw, &b)
	return b, err
}

func oneOf[T ~string](p *journal.Problems, field string, got T, allowed []T) {
	if !slices.Contains(allowed, got) {
		code := journal.CodeUnknown
		if got == "" {
			code = journal.CodeRequired
		}
		p.Add(field, code, journal.Detail{Got: journal.Of(journal.Clip(string(got)))})
	}
}

// Ref is the place as moves have it: nil for Loose.
func (p Place) Ref() *Place {
	if p == Loose {
		return nil
	}
	return &p
}
