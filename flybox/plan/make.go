package plan

import (
	"cmp"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/sortby"
	"dampstone/hatchkeys"
)

// Request is what a plan is made of.
type Request struct {
	Trip  flybox.Trip
	Today time.Time // the day on the person's calendar
	// Key holds the hatches of the trip's region, with what the person learned;
	// Quarries are its forms as flies are matched to them, by the key's index.
	Key      *hatchkeys.Key
	Quarries []match.CompiledQuarry
	Flies    []match.CompiledFly // own flies, with how many are left
	Fixed    map[journal.ID]int  // numbers that the person decided, by pattern
	Slots    int                 // in the boxes that go along, or NoLimit
	Rate     Rate                // of flies lost or given
}

// Plan says what to take.
type Plan struct {
	Days    []time.Time // midnight UTC
	Hatches []Outlook   // those first that use up most
	Lines   []Line      // those first of which most are used up
	// All is how many flies the trip uses up; RodDays is what it rests on.
	All     Demand
	RodDays float64
	Rate    Rate
	Level   float64
	PerSlot int
	Slots   int // NoLimit for any number
	Used    int // slots that the flies to take need
	// Ahead is how many days the season runs ahead, where AheadKnown.
	Ahead      float64
	AheadKnown bool
	Tying      Tying
	// Stands are the stages that are likely to be met, with how many flies
	// that go along fit them.
	Stands []Stand
	// Blind is the share of the fishing with nothing seen.
	Blind float64
	// GoneBy are flies gone per rod and day, by Way, for the party as it is.
	GoneBy [ways]float64
}

// Missed are the stages for which less goes along than is wanted at hand.
func (p Plan) Missed() []Stand {
	var out []Stand
	for _, s := range p.Stands {
		if s.Have < s.Number {
			out = append(out, s)
		}
	}
	return out
}

// Tying is the work before a trip.
type Tying struct {
	Evenings     int
	EveningHours float64
	Minutes      float64 // for one fly
	Wanted       int     // flies
	Possible     int     // of those, in the evenings
	Hours        float64 // for all that are wanted
}

// Reason says what decided a line.
type Reason string

// The reasons.
const (
	ReasonLevel   Reason = "level"   // as many as the level asks for
	ReasonSlots   Reason = "slots"   // fewer, since slots run out
	ReasonTime    Reason = "time"    // fewer, since there are no more and no time to tie them
	ReasonFixed   Reason = "fixed"   // the person decided
	ReasonNew     Reason = "new"     // nothing own will do: to be tied and entered
	ReasonNothing Reason = "nothing" // not worth a slot
	ReasonStand   Reason = "stand"   // not to stand without
	ReasonBlind   Reason = "blind"   // fished where nothing is seen
)

// Line is one kind of fly.
type Line struct {
	Fly    flybox.Fly   // zero for one yet to be made
	New    *match.Tying // how to make it; nil for an own fly
	Demand Demand
	Uses   []Use // what it is for, the most first
	Way    Way
	AtHand int     // flies that nobody wants to stand without; 0 for none
	Stands []Stand // what for

	rodDays float64
	Need    int // that meet the level, were there no other bound
	Want    int // within the slots
	Take    int // of those, that can go along: there or tied by then
	Tie     int // missing from Want
	ByThen  int // of those, that can be tied in time
	Fixed   bool
	Reason  Reason
}

// Left is how many there are, never negative.
func (l Line) Left() int { return max(l.Fly.Left, 0) }

// Enough is the chance that what goes along does not run out.
func (l Line) Enough() float64 { return l.Demand.AtMost(l.Take) }

// Make makes a plan.
func Make(r Request) Plan {
	p := Plan{Rate: r.Rate, Level: r.Trip.Level, PerSlot: r.Trip.PerSlot, Slots: r.Slots}
	if p.Level == 0 {
		p.Level = AssumedLevel
	}
	if p.PerSlot == 0 {
		p.PerSlot = AssumedPerSlot
	}
	first, _, n := r.Trip.Days()
	for d := range min(n, MaxDays) {
		p.Days = append(p.Days, first.AddDate(0, 0, d))
	}
	p.Ahead, p.AheadKnown = Ahead(r.Trip.Temperatures, first)
	var perDay float64
	p.RodDays, perDay = RodDays(r.Trip)
	p.Blind = blindShare(r.Trip)
	p.Hatches = outlooks(r.Key, r.Trip, p.Ahead, perDay*(1-p.Blind))
	seen := &fits{quarries: map[*match.CompiledQuarry][]fit{}}
	kinds := standIns(p.Hatches, r.Key, r.Quarries, r.Flies, seen, r.Trip.Skill, r.Rate.Mean())
	kinds = blind(kinds, len(r.Flies), r.Trip, p.RodDays*p.Blind, r.Rate.Mean())
	p.Stands = stands(p.Hatches, r.Key, r.Quarries, r.Trip)
	kinds = assign(p.Stands, kinds, len(r.Flies), p.Hatches, seen)
	sum(kinds, p.Hatches)
	pace := paces(r.Trip, r.Rate, kinds)
	for way, x := range pace {
		p.GoneBy[way] = x * r.Rate.Mean() * skillFactor(string(r.Trip.Skill))
	}
	of := p.lines(kinds, r.Fixed, pace)
	p.all(r.Rate, r.Trip.Rates)
	p.decide(r.Trip, r.Today)
	counted(p.Stands, kinds, seen, func(kind int) int {
		if at, ok := of[kind]; ok {
			return p.Lines[at].Take
		}
		return 0
	})
	sortby.Stable(p.Lines, func(a, b *Line) int { return cmp.Compare(b.Demand.Mean, a.Demand.Mean) })
	return p
}

// ratio is the squared coefficient of variation.
func ratio(variance, mean float64) float64 {
	if mean == 0 {
		return 0
	}
	return variance / (mean * mean)
}

// all is how many flies go in all.
func (p *Plan) all(rate Rate, rates *flybox.TripRates) {
	var spread, paced, days float64
	for i := range p.Hatches {
		spread += p.Hatches[i].spread
	}
	p.All = rate.Over(p.RodDays, ratio(spread, p.RodDays))
	if rates == nil {
		return
	}
	for _, l := range p.Lines {
		paced += l.Demand.Mean
		days += l.rodDays
	}
	if days > 0 { // as the lines are, which hold nearly all
		p.All.Mean = paced / days * p.RodDays
	}
}

// lines makes a line of every kind that is for something; of tells which line
// each kind has.
func (p *Plan) lines(kinds []kind, fixed map[journal.ID]int, pace [ways]float64) (of map[int]int) {
	of = map[int]int{}
	at := map[int][]Stand{}
	for _, s := range p.Stands {
		if s.kind >= 0 {
			at[s.kind] = append(at[s.kind], s)
		}
	}
	for i, k := range kinds {
		n, decided := fixed[k.fly.Fly.ID]
		decided = decided && k.tying == nil
		if len(k.uses) == 0 && len(at[i]) == 0 && !decided {
			continue
		}
		l := Line{Fly: k.fly.Fly, New: k.tying, Uses: k.uses, Fixed: decided, Way: wayOf(k.fly), Stands: at[i], rodDays: k.rodDays}
		l.Demand = p.Rate.Over(k.rodDays*pace[l.Way], ratio(k.spread, k.rodDays))
		l.AtHand = atHand(l, p.Level)
		if decided {
			l.Want = n
		}
		for i := range l.Uses {
			l.Uses[i].Flies = l.Uses[i].rodDays * pace[l.Way] * p.Rate.Mean()
		}
		sortby.Stable(l.Uses, func(a, b *Use) int { return cmp.Compare(b.Flies, a.Flies) })
		of[i] = len(p.Lines)
		p.Lines = append(p.Lines, l)
	}
	return of
}

// atHand is how many flies of a kind must go along so that a working number is
// there when a stage is met: by then half of what the trip uses up is gone, as
// often as not; that it is no more is kept at the level.
func atHand(l Line, level float64) (n int) {
	for _, s := range l.Stands {
		n = max(n, s.Number)
	}
	if n == 0 {
		return 0
	}
	return n + Demand{l.Demand.Mean / 2, l.Demand.Size}.Quantile(level)
}

// decide sets the numbers: what is wished within the slots, what of that can
// be tied in time, and what then goes along.
func (p *Plan) decide(trip flybox.Trip, today time.Time) {
	items, have, want := make([]Item, len(p.Lines)), make([]int, len(p.Lines)), make([]int, len(p.Lines))
	for i := range p.Lines {
		l := &p.Lines[i]
		items[i] = Item{Demand: l.Demand, Most: NoLimit, Fixed: NoLimit}
		for _, s := range l.Stands {
			items[i].AtHand = append(items[i].AtHand, AtHand{Number: l.AtHand, Chance: s.Chance})
		}
		if l.Fixed {
			items[i].Fixed = l.Want
		}
		l.Need = max(l.Demand.Quantile(p.Level), items[i].wish(p.Level))
		have[i] = l.Left()
	}
	for i, n := range Fill(items, p.Slots, p.PerSlot, p.Level) {
		p.Lines[i].Want, want[i] = n, n
		p.Lines[i].Tie = max(n-have[i], 0)
		p.Tying.Wanted += p.Lines[i].Tie
	}
	p.tying(trip, today)
	for i, n := range Tie(items, have, want, p.Tying.Possible) {
		p.Lines[i].ByThen = n
		if items[i].Most = have[i] + n; items[i].Fixed > items[i].Most {
			items[i].Fixed = items[i].Most
		}
		if p.Lines[i].New != nil {
			items[i].Most = n
		}
	}
	for i, n := range Fill(items, p.Slots, p.PerSlot, p.Level) {
		l := &p.Lines[i]
		l.Take = n
		p.Used += slotsFor(n, p.PerSlot)
		switch {
		case l.Fixed:
			l.Reason = ReasonFixed
		case l.New != nil:
			l.Reason = ReasonNew
		case n >= l.Need && n > 0 && l.AtHand > l.Demand.Quantile(p.Level):
			l.Reason = ReasonStand
		case n >= l.Need && n > 0 && l.blindOnly():
			l.Reason = ReasonBlind
		case n >= l.Need && n > 0:
			l.Reason = ReasonLevel
		case n < l.Need && n == items[i].Most && n > 0, n < l.Need && items[i].Most == 0:
			l.Reason = ReasonTime
		case n < l.Need:
			l.Reason = ReasonSlots
		default:
			l.Reason = ReasonNothing
		}
	}
}

func (l Line) blindOnly() bool {
	for _, u := range l.Uses {
		if u.Blind == "" {
			return false
		}
	}
	return len(l.Uses) > 0
}

func (p *Plan) tying(trip flybox.Trip, today time.Time) {
	t := &p.Tying
	t.Evenings, t.EveningHours, t.Minutes = evenings(trip, today), trip.EveningHours, trip.TieMinutes
	if t.EveningHours == 0 {
		t.EveningHours = AssumedEveningHours
	}
	if t.Minutes == 0 {
		t.Minutes = AssumedMinutes
	}
	t.Hours = float64(t.Wanted) * t.Minutes / 60
	// The last fly is begun only if it can be finished; a hair for rounding.
	t.Possible = min(t.Wanted, t.Evenings*int(t.EveningHours*60/t.Minutes+1e-9))
}
