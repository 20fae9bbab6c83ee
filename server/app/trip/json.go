package trip

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/plan"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// PlanInput is a trip with all that its plan rests on, as JSON.
type PlanInput struct {
	Name         string             `json:"name"`
	Region       string             `json:"region"`
	From         string             `json:"from"`
	To           string             `json:"to"`
	Today        string             `json:"today"` // empty: the day before the trip
	Waters       []flybox.TripWater `json:"waters"`
	Rods         int                `json:"rods"`
	Hours        float64            `json:"hours"`
	Skill        flybox.Skill       `json:"skill"`
	Level        float64            `json:"level"`
	Slots        *int               `json:"slots"` // absent: any number
	PerSlot      int                `json:"per_slot"`
	Evenings     *int               `json:"evenings"`
	EveningHours float64            `json:"evening_hours"`
	TieMinutes   float64            `json:"tie_minutes"`
	Working      int                `json:"working"`
	Blind        *float64           `json:"blind"`
	Rates        *flybox.TripRates  `json:"rates"`
	Temperatures []flybox.DayTemp   `json:"temperatures"`
	Flies        []PlanFly          `json:"flies"`
	History      []PlanHistory      `json:"history"`
	Seen         []PlanSeen         `json:"seen"`
}

// PlanFly is an own fly, how many are left, and how many go along if that is
// decided.
type PlanFly struct {
	flybox.Pattern
	Left int  `json:"left"`
	Take *int `json:"take"`
}

// PlanHistory is an earlier trip: flies lost or given, and rod days.
type PlanHistory struct {
	Gone    float64 `json:"gone"`
	RodDays float64 `json:"rod_days"`
}

// PlanSeen is a day on which a hatch was seen.
type PlanSeen struct {
	Hatch string `json:"hatch"`
	Date  string `json:"date"`
}

// PlanOutput is a plan as JSON.
type PlanOutput struct {
	Name      string         `json:"name,omitempty"`
	Days      []string       `json:"days"`
	RodDays   float64        `json:"rod_days"`
	Rate      float64        `json:"rate"`       // flies lost or given per rod and day
	Assumed   bool           `json:"assumed"`    // the rate is not from history
	Expected  float64        `json:"expected"`   // flies lost or given
	Low       int            `json:"low"`        // of nine trips in ten
	High      int            `json:"high"`       //
	Level     float64        `json:"level"`      // chance wished of not running out
	Slots     *int           `json:"slots"`      // null for any number
	SlotsUsed int            `json:"slots_used"` //
	Ahead     *float64       `json:"ahead_days"` // of the season; null if not known
	Hatches   []PlanHatch    `json:"hatches"`
	Lines     []PlanLine     `json:"lines"`
	Tying     PlanTying      `json:"tying"`
	Materials []PlanMaterial `json:"materials"`
	// Stands are the stages that are likely to be met, with the flies wanted at
	// hand for each and those that go along; GivenUp says in words what falls
	// short.
	Stands  []PlanStand `json:"stands"`
	GivenUp []string    `json:"given_up"`
	// Rates are flies gone per rod and day by way of fishing, for this party;
	// Blind is the share of the fishing with nothing seen.
	Rates    map[string]float64 `json:"rates"`
	Blind    float64            `json:"blind"`
	Cautions []string           `json:"cautions"`
}

// PlanHatch is a hatch by day.
type PlanHatch struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Chance []float64 `json:"chance"`
	Share  float64   `json:"share"` // of the flies used up
}

// PlanLine is one kind of fly. One that is yet to be made has no id.
type PlanLine struct {
	ID       journal.ID      `json:"id,omitempty"`
	Name     string          `json:"name,omitempty"`
	Make     *flybox.Pattern `json:"make,omitempty"`
	Take     int             `json:"take"`
	Want     int             `json:"want"`
	Need     int             `json:"need"`
	Left     int             `json:"left"`
	Tie      int             `json:"tie"`
	InTime   int             `json:"tie_in_time"`
	Expected float64         `json:"expected"`
	Enough   float64         `json:"enough"`            // chance of not running out
	AtHand   int             `json:"at_hand,omitempty"` // flies that nobody wants to stand without
	Way      string          `json:"way"`               // in which it is fished: dry, sunk or streamer
	Reason   plan.Reason     `json:"reason"`
	Text     string          `json:"text"`
	For      []PlanUse       `json:"for"`
}

// PlanUse is what a fly goes along for.
type PlanUse struct {
	Blind plan.Blind `json:"blind,omitempty"` // fishing with nothing seen, instead of a hatch
	Hatch string     `json:"hatch,omitempty"`
	Form  string     `json:"form,omitempty"`
	Flies float64    `json:"flies"`
	Score float64    `json:"score"`
}

// PlanStand is a stage of a hatch that is likely to be met.
type PlanStand struct {
	Hatch  string  `json:"hatch"`
	Form   string  `json:"form"`
	Chance float64 `json:"chance"`
	Number int     `json:"number"` // flies wanted at hand
	Have   int     `json:"have"`   // that go along and fit
}

// wayCodes are the ways of fishing as JSON has them.
var wayCodes = map[plan.Way]string{plan.Dry: "dry", plan.Sunk: "sunk", plan.StreamerWay: "streamer"}

// PlanTying is the work before.
type PlanTying struct {
	Flies    int     `json:"flies"`
	InTime   int     `json:"in_time"`
	Hours    float64 `json:"hours"`
	Evenings int     `json:"evenings"`
	Minutes  float64 `json:"minutes_a_fly"`
}

// PlanMaterial is something that the work needs.
type PlanMaterial struct {
	Material string `json:"material"`
	Hook     int    `json:"hook,omitempty"`
	Colour   string `json:"colour,omitempty"`
	Flies    int    `json:"flies"`
}

// PlanTrip reads one trip as JSON and plans it in a language of the
// catalogue. A field that is not known is an error.
func PlanTrip(raw []byte, lang string) (*PlanOutput, error) {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var in PlanInput
	if err := dec.Decode(&in); err != nil {
		return nil, fmt.Errorf("read trip: %w", err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("read trip: more than one JSON value")
	}
	page := views.Page{T: catalog.For(lang), U: measure.Units{Comma: lang == "es"}}
	r, err := in.request(page)
	if err != nil {
		return nil, err
	}
	p := plan.Make(r)
	return planOutput(page, caches.Planned{Trip: r.Trip, Plan: p, Region: in.Region, Learned: len(in.History)}), nil
}

// request is what the plan is made of, or what is wrong with the input.
func (in *PlanInput) request(page views.Page) (r plan.Request, err error) {
	trip := flybox.Trip{
		Name: cmp.Or(in.Name, "-"), Region: in.Region, From: in.From, To: in.To, Waters: in.Waters, Rods: in.Rods, Hours: in.Hours, Skill: in.Skill,
		Level: in.Level, PerSlot: in.PerSlot, Evenings: in.Evenings, EveningHours: in.EveningHours, TieMinutes: in.TieMinutes, Temperatures: in.Temperatures, Working: in.Working, Blind: in.Blind, Rates: in.Rates,
	}
	bad := trip.Check()
	for i, w := range in.Waters {
		if w.Type != "" && hatchkeys.Water.Index(w.Type) < 0 {
			bad = append(bad, journal.Problem{Field: fmt.Sprintf("waters[%d].type", i), Code: journal.CodeUnknown, Detail: journal.Detail{Got: journal.Of(screen.Clip(w.Type))}})
		}
	}
	if _, _, n := trip.Days(); len(bad) == 0 && n > plan.MaxDays {
		bad = append(bad, journal.Problem{Field: "to", Code: codeLongTrip, Detail: journal.Detail{Max: journal.Of(plan.MaxDays), Got: journal.Of(n)}})
	}
	r = plan.Request{Trip: trip, Slots: plan.NoLimit, Rate: plan.AssumedRate, Fixed: map[journal.ID]int{}}
	if in.Slots != nil {
		r.Slots = *in.Slots
		screen.InRange("slots", r.Slots, 0, flybox.MaxTripBoxes*flybox.MaxBoxRows*flybox.MaxBoxColumns, &bad)
	}
	first, _, _ := trip.Days()
	r.Today = first.AddDate(0, 0, -1)
	if in.Today != "" {
		if r.Today, err = time.Parse(time.DateOnly, in.Today); err != nil {
			bad = append(bad, journal.Problem{Field: "today", Code: journal.CodeNotDate, Detail: journal.Detail{Got: journal.Of(screen.Clip(in.Today))}})
		}
	}
	ids := map[journal.ID]bool{}
	for i, f := range in.Flies {
		at := fmt.Sprintf("flies[%d].", i)
		problems := f.Check()
		switch {
		case f.ID == "":
			problems = append(problems, journal.Problem{Field: "id", Code: journal.CodeRequired})
		case ids[f.ID]:
			problems = append(problems, journal.Problem{Field: "id", Code: journal.CodeInconsist})
		}
		ids[f.ID] = true
		screen.InRange("left", f.Left, 0, 1<<20, &problems)
		if f.Take != nil {
			screen.InRange("take", *f.Take, 0, flybox.MaxCount, &problems)
			r.Fixed[f.ID] = *f.Take
		}
		for _, p := range problems {
			p.Field = at + p.Field
			bad = append(bad, p)
		}
		r.Flies = append(r.Flies, match.CompileFly(flybox.Fly{Revision: flybox.Revision{Pattern: f.Pattern}, Left: f.Left}))
	}
	for i, h := range in.History {
		if next := r.Rate.Learn(h.Gone, h.RodDays); next != r.Rate {
			r.Rate = next
		} else {
			bad = append(bad, journal.Problem{Field: fmt.Sprintf("history[%d]", i), Code: journal.CodeInconsist})
		}
	}
	var seen []hatchkeys.Seen
	for i, s := range in.Seen {
		day, err := time.Parse(time.DateOnly, s.Date)
		if err != nil {
			bad = append(bad, journal.Problem{Field: fmt.Sprintf("seen[%d].date", i), Code: journal.CodeNotDate, Detail: journal.Detail{Got: journal.Of(screen.Clip(s.Date))}})
		}
		seen = append(seen, hatchkeys.Seen{Hatch: s.Hatch, Month: int(day.Month()), Day: day.Day()})
	}
	if len(bad) > 0 {
		var lines []string
		for i := range bad {
			lines = append(lines, bad[i].Field+": "+screen.ProblemText(page, &bad[i]))
		}
		return r, errors.New(strings.Join(lines, " "))
	}
	key, err := hatchkeys.ForRegion(in.Region)
	if err != nil {
		return r, fmt.Errorf("%w; use one of %v", err, hatchkeys.Regions())
	}
	r.Key = key.WithSightings(seen)
	r.Quarries = match.CompileForms(r.Key)
	return r, nil
}

func planOutput(page views.Page, pl caches.Planned) *PlanOutput {
	p := pl.Plan
	out := &PlanOutput{
		Name: pl.Trip.Name, Days: []string{}, RodDays: words.Round(p.RodDays), Rate: words.Round(p.Rate.Mean()), Assumed: pl.Learned == 0,
		Expected: words.Round(p.All.Mean), Low: p.All.Quantile(0.05), High: p.All.Quantile(0.95), Level: p.Level, SlotsUsed: p.Used,
		Hatches: []PlanHatch{}, Lines: []PlanLine{}, Materials: []PlanMaterial{}, Stands: []PlanStand{}, GivenUp: []string{}, Rates: map[string]float64{}, Cautions: tripCautions(page.T, pl.Trip),
		Tying: PlanTying{Flies: p.Tying.Wanted, InTime: p.Tying.Possible, Hours: words.Round(p.Tying.Hours), Evenings: p.Tying.Evenings, Minutes: p.Tying.Minutes},
	}
	if p.Slots >= 0 {
		out.Slots = &p.Slots
	}
	if p.AheadKnown {
		ahead := words.Round(p.Ahead)
		out.Ahead = &ahead
	}
	for _, d := range p.Days {
		out.Days = append(out.Days, d.Format(time.DateOnly))
	}
	for _, o := range p.Hatches {
		h := PlanHatch{ID: o.Hatch.ID, Name: o.Hatch.Name(page.T.Lang), Chance: slices.Clone(o.Chance), Share: words.Round(o.Share)}
		for i := range h.Chance {
			h.Chance[i] = words.Round(h.Chance[i])
		}
		out.Hatches = append(out.Hatches, h)
	}
	for _, l := range p.Lines {
		line := PlanLine{
			ID: l.Fly.ID, Name: l.Fly.Name, Take: l.Take, Want: l.Want, Need: l.Need, Left: l.Left(), Tie: l.Tie, InTime: l.ByThen,
			Expected: words.Round(l.Demand.Mean), Enough: words.Round(l.Enough()), Reason: l.Reason, Text: reasonText(page, pl, l), For: []PlanUse{},
		}
		if l.New != nil {
			pattern := l.New.Pattern()
			line.Make = &pattern
		}
		for _, u := range l.Uses {
			use := PlanUse{Blind: u.Blind, Flies: words.Round(u.Flies), Score: words.Round(u.Score)}
			if u.Blind == "" {
				use.Hatch, use.Form = u.Hatch.ID, u.Form.ID
			}
			line.For = append(line.For, use)
		}
		line.AtHand = l.AtHand
		line.Way = wayCodes[l.Way]
		out.Lines = append(out.Lines, line)
	}
	for _, s := range p.Stands {
		out.Stands = append(out.Stands, PlanStand{Hatch: s.Hatch.ID, Form: s.Form.ID, Chance: words.Round(s.Chance), Number: s.Number, Have: s.Have})
	}
	out.GivenUp = append(out.GivenUp, givenUp(page, pl)...)
	for way, x := range p.GoneBy {
		out.Rates[wayCodes[plan.Way(way)]] = words.Round(x)
	}
	out.Blind = words.Round(p.Blind)
	for _, m := range p.Needs() {
		out.Materials = append(out.Materials, PlanMaterial{m.Code, m.Hook, m.Colour, m.Flies})
	}
	return out
}
