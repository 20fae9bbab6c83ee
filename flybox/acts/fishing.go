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

// ChangeRig is the rig of an outing with another fly on, or with something
// else that the fish are on, or both: what is not given (an empty fly, a nil
// on) stays as it is. ErrUnknown if there is no such fly or outing.
func ChangeRig(s *flybox.State, outing, fly journal.ID, on *On, now time.Time) ([]flybox.Body, error) {
	if _, ok := s.Outing(outing); !ok {
		return nil, ErrUnknown
	}
	rig := s.RigNow(outing).Body
	rig = flybox.Rig{When: now.Format(time.RFC3339), Outing: outing, Pattern: rig.Pattern, Rev: rig.Rev, Hatch: rig.Hatch, Form: rig.Form}
	if fly != "" {
		f, ok := s.Pattern(fly)
		if !ok {
			return nil, ErrUnknown
		}
		rig.Pattern, rig.Rev = f.ID, f.Rev
	}
	if on != nil {
		rig.Hatch, rig.Form = on.Hatch, on.Form
	}
	return []flybox.Body{rig}, nil
}

// NoteFish are the bodies for what one fish did (empty: no fish) and for a fly
// that is gone with it or without. The fly is the one of the rig that was
// shown, if that is of the outing, else the one that is on now; ErrUnknown if
// there is none. id names the outcome.
func NoteFish(s *flybox.State, outing, shown journal.ID, did flybox.Result, gone bool, id journal.ID, now time.Time) ([]flybox.Body, error) {
	l, ok := s.Outing(outing)
	if !ok {
		return nil, ErrUnknown
	}
	rig := s.RigNow(outing).Body
	if r, ok := s.Rig(shown); ok && r.Body.Outing == outing {
		rig = r.Body
	}
	if rig.Pattern == "" {
		return nil, ErrUnknown
	}
	var bodies []flybox.Body
	if did == "" {
		id = ""
	} else {
		bodies = append(bodies, flybox.Outcome{
			ID: id, When: now.Format(time.RFC3339), Result: did, Pattern: rig.Pattern, Rev: rig.Rev,
			Hatch: rig.Hatch, Form: rig.Form, Sighting: sightingFor(s, rig, now), Outing: outing, Water: l.Body.Water,
		})
	}
	if gone {
		move := Lose(s, rig.Pattern)
		move.Outing, move.Outcome, move.Trip = outing, id, l.Body.Trip
		bodies = append(bodies, move)
	}
	return bodies, nil
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
