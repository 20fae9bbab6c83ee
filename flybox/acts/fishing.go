package acts

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// ErrUnknown: there is no such thing in the state, or not any more.
var ErrUnknown = errors.New("nothing by that id")

// ErrFull: no more can be added.
var ErrFull = errors.New("as many as may be")

// StartOuting are the bodies of an outing that starts, on the trip of its day,
// with a rig if that has a fly on or says what the fish are on. Of the fly the
// newest revision is taken. ErrUnknown if there is no such fly.
func StartOuting(s *flybox.State, o flybox.Outing, rig flybox.Rig) ([]flybox.Body, error) {
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil {
		o.Trip = TripOn(s, start)
	}
	bodies := []flybox.Body{o}
	if rig.Pattern == "" && rig.Hatch == "" {
		return bodies, nil
	}
	if rig.Pattern != "" {
		fly, ok := s.Pattern(rig.Pattern)
		if !ok {
			return nil, ErrUnknown
		}
		rig.Rev = fly.Rev
	}
	rig.When, rig.Outing = o.Start, o.ID
	return append(bodies, rig), nil
}

// TripOn is the trip of a day, "" if there is none or more than one.
func TripOn(s *flybox.State, at time.Time) (id journal.ID) {
	day := at.Format(time.DateOnly)
	for _, l := range s.Trips() {
		if l.Body.From <= day && day <= l.Body.To {
			if id != "" {
				return ""
			}
			id = l.Body.ID
		}
	}
	return id
}

// On is what fish are on; both ids are empty for "nothing known".
type On struct{ Hatch, Form string }

// Change is what changes on the rig of a rod.
type Change struct {
	Rod   int        // from 1; 0 means the first
	Fly   journal.ID // to tie on, "" for none; of it the newest revision is taken
	Place int        // of the fly, counted up the leader: 0 is the point
	// Hang ties the fly on below the others, as a nymph below a dry fly.
	Hang bool
	Off  bool // the fly at Place comes off, and no other goes on
	On   *On  // what the fish are on; nil: as it is
}

// ChangeRig is the rig of a rod with a change made; what is not given stays as
// it is. A place above the uppermost fly means the next one up. ErrUnknown if
// there is no such fly or outing, ErrFull if there are as many flies on as may
// be.
func ChangeRig(s *flybox.State, outing journal.ID, c Change, now time.Time) ([]flybox.Body, error) {
	if _, ok := s.Outing(outing); !ok {
		return nil, ErrUnknown
	}
	old := s.RigNow(outing, c.Rod).Body
	rig := flybox.Rig{When: now.Format(time.RFC3339), Outing: outing, Rod: c.Rod, Hatch: old.Hatch, Form: old.Form}
	flies := slices.Clone(old.Flies())
	if c.Fly != "" {
		f, ok := s.Pattern(c.Fly)
		if !ok {
			return nil, ErrUnknown
		}
		fly := flybox.Tied{Pattern: f.ID, Rev: f.Rev}
		switch {
		case !c.Hang && c.Place >= 0 && c.Place < len(flies):
			flies[c.Place] = fly
		case len(flies) == flybox.MaxFlies:
			return nil, ErrFull
		case c.Hang:
			flies = slices.Insert(flies, 0, fly)
		default:
			flies = append(flies, fly)
		}
	} else if c.Off && c.Place >= 0 && c.Place < len(flies) {
		flies = slices.Delete(flies, c.Place, c.Place+1)
	}
	if len(flies) > 0 {
		rig.Pattern, rig.Rev, rig.Above = flies[0].Pattern, flies[0].Rev, flies[1:]
	}
	if c.On != nil {
		rig.Hatch, rig.Form = c.On.Hatch, c.On.Form
	}
	return []flybox.Body{rig}, nil
}

// Fish is what a fish did to a fly.
type Fish struct {
	ID    journal.ID // of the outcome
	Rod   int        // from 1; 0 means the first
	Shown journal.ID // the rig that was on the screen; "" for that which is on now
	Place int        // of the fly on it, counted up the leader: 0 is the point
	Did   flybox.Result
	Gone  bool // the fly is gone, with the fish or (Did empty) without
}

// NoteFish are the bodies for what one fish did and for a fly that is gone.
// The fly is one of the rig that was shown, if that is of the outing, else of
// the one that is on now; ErrUnknown if there is none.
func NoteFish(s *flybox.State, outing journal.ID, f Fish, now time.Time) ([]flybox.Body, error) {
	l, ok := s.Outing(outing)
	if !ok {
		return nil, ErrUnknown
	}
	rig := s.RigNow(outing, f.Rod).Body
	if r, ok := s.Rig(f.Shown); ok && r.Body.Outing == outing {
		rig = r.Body
	}
	flies := rig.Flies()
	if f.Place < 0 || f.Place >= len(flies) {
		return nil, ErrUnknown
	}
	fly := flies[f.Place]
	var bodies []flybox.Body
	if f.Did == "" {
		f.ID = ""
	} else {
		bodies = append(bodies, flybox.Outcome{
			ID: f.ID, When: now.Format(time.RFC3339), Result: f.Did, Pattern: fly.Pattern, Rev: fly.Rev, Rod: rig.Rod,
			Hatch: rig.Hatch, Form: rig.Form, Sighting: sightingFor(s, rig, now), Outing: outing, Water: l.Body.Water,
		})
	}
	if f.Gone {
		move := Lose(s, fly.Pattern)
		move.Outing, move.Outcome, move.Trip = outing, f.ID, l.Body.Trip
		bodies = append(bodies, move)
	}
	return bodies, nil
}

// Described is what an angler says of a fish after it was noted; nil: as it is.
type Described struct {
	Why    *flybox.Reason // of a refusal or follow; empty: not said
	End    *flybox.Ending // of a take; empty: not said
	Lost   bool           // it was hooked and lost
	Fish   *string        // kind
	FishMM *float64
}

// DescribeFish is an outcome of an outing with more said of it. What does not
// go with what the fish did is dropped: a fish that was taken for lost has no
// ending. ErrUnknown if there is no such outcome, or not any more.
func DescribeFish(s *flybox.State, outing, outcome journal.ID, d Described) ([]flybox.Body, error) {
	l, ok := s.Outcome(outcome)
	if !ok || l.Body.Outing != outing {
		return nil, ErrUnknown
	}
	o := l.Body
	if d.Why != nil {
		o.Why = *d.Why
	}
	if d.End != nil {
		o.Result, o.End = flybox.Take, *d.End
	}
	if d.Lost {
		o.Result = flybox.Lost
	}
	if d.Fish != nil {
		o.Fish = *d.Fish
	}
	if d.FishMM != nil {
		o.FishMM = *d.FishMM
	}
	if o.Result != flybox.Refusal && o.Result != flybox.Follow {
		o.Why = ""
	}
	if o.Result != flybox.Take {
		o.End = ""
	}
	if o == l.Body {
		return nil, nil
	}
	return []flybox.Body{o}, nil
}

// sightingFor is the sighting of today that the fish are on, if one was noted.
func sightingFor(s *flybox.State, rig flybox.Rig, now time.Time) journal.ID {
	if rig.Hatch == "" {
		return ""
	}
	for l := range s.SightingsOf(rig.Hatch) {
		if at, err := time.Parse(time.RFC3339, l.Body.When); err == nil && sameDay(at, now) && l.Body.Form == rig.Form {
			return l.Body.ID
		}
	}
	return ""
}

// sameDay tells whether two moments are on one day, each by its own clock.
func sameDay(a, b time.Time) bool { return a.Format(time.DateOnly) == b.Format(time.DateOnly) }

// UndoFish takes back an outcome of an outing, with the fly that was lost to
// it, or the loss of a fly by its entry. What is gone already stays gone.
func UndoFish(s *flybox.State, outing, target journal.ID) ([]flybox.Body, error) {
	if _, ok := s.Outing(outing); !ok {
		return nil, ErrUnknown
	}
	var bodies []flybox.Body
	if o, ok := s.Outcome(target); ok && o.Body.Outing == outing {
		bodies = append(bodies, flybox.Deleted{Target: target})
	}
	for _, m := range s.LossesOf(outing) {
		if m.Outcome == target || m.Entry == target {
			bodies = append(bodies, flybox.Deleted{Target: m.Entry})
		}
	}
	return bodies, nil
}

// EndOuting ends an outing, at its start if that is later. One that has ended
// stays as it is.
func EndOuting(s *flybox.State, outing journal.ID, end time.Time) ([]flybox.Body, error) {
	l, ok := s.Outing(outing)
	if !ok {
		return nil, ErrUnknown
	}
	o := l.Body
	if o.End != "" {
		return nil, nil
	}
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil && end.Before(start) {
		end = LastMoment(s, o)
	}
	o.End = end.Format(time.RFC3339)
	return []flybox.Body{o}, nil
}

// LastMoment is when anything was last noted on an outing, to the second, by
// the clock of the place.
func LastMoment(s *flybox.State, o flybox.Outing) time.Time {
	last, _ := time.Parse(time.RFC3339, o.Start)
	see := func(at time.Time) {
		if at.After(last) {
			last = at.In(last.Location())
		}
	}
	seeText := func(when string) {
		if at, err := time.Parse(time.RFC3339, when); err == nil {
			see(at)
		}
	}
	for _, l := range s.OutcomesOf(o.ID) {
		seeText(l.Body.When)
	}
	for _, l := range s.RigsOf(o.ID) {
		seeText(l.Body.When)
	}
	for _, m := range s.LossesOf(o.ID) {
		see(m.At.Time())
	}
	return last.Truncate(time.Second)
}

// Lose is the move that takes one fly of a pattern out of stock: a loose one
// if there is one, since that is the one on the line; otherwise out of the
// slot that it belongs in, or another that holds one; loose if none is on
// record anywhere, which then calls for a recount.
func Lose(s *flybox.State, pattern journal.ID) flybox.StockMove {
	move := flybox.StockMove{Pattern: pattern, Delta: -1, Why: flybox.WhyLost}
	if s.CountAt(pattern, flybox.Loose) > 0 {
		return move
	}
	var first flybox.Placement
	spare := true // first does not belong there
	for _, at := range s.Places(pattern) {
		if at.Count <= 0 || at.Place == flybox.Loose {
			continue
		}
		extra := !slices.ContainsFunc(s.Cell(at.Place).Contents, func(c flybox.Content) bool { return c.Pattern == pattern && c.Assigned })
		if move.Place == nil || spare && !extra || spare == extra && before(at.Place, first.Place) {
			first, spare = at, extra
			move.Place = first.Place.Ref()
		}
	}
	return move
}

func before(a, b flybox.Place) bool {
	return cmp.Or(cmp.Compare(a.Box, b.Box), cmp.Compare(a.Row, b.Row), cmp.Compare(a.Slot, b.Slot)) < 0
}
