package flybox

import (
	"errors"
	"time"
)

// ErrUnknown: there is no such thing in the state, or not any more.
var ErrUnknown = errors.New("nothing by that id")

// StartOuting are the bodies of an outing that starts, on the trip of its day,
// with a rig if that has a fly on or says what the fish are on. Of the fly the
// newest revision is taken. ErrUnknown if there is no such fly.
func (s *State) StartOuting(o Outing, rig Rig) ([]Body, error) {
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil {
		o.Trip = s.TripOn(start)
	}
	bodies := []Body{o}
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
func (s *State) TripOn(at time.Time) (id string) {
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
func (s *State) ChangeRig(outing, fly string, on *On, now time.Time) ([]Body, error) {
	if _, ok := s.Outing(outing); !ok {
		return nil, ErrUnknown
	}
	rig := s.RigNow(outing).Body
	rig = Rig{When: now.Format(time.RFC3339), Outing: outing, Pattern: rig.Pattern, Rev: rig.Rev, Hatch: rig.Hatch, Form: rig.Form}
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
	return []Body{rig}, nil
}

// NoteFish are the bodies for what one fish did (empty: no fish) and for a fly
// that is gone with it or without. The fly is the one of the rig that was
// shown, if that is of the outing, else the one that is on now; ErrUnknown if
// there is none. id names the outcome.
func (s *State) NoteFish(outing, shown string, did Result, gone bool, id string, now time.Time) ([]Body, error) {
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
	var bodies []Body
	if did == "" {
		id = ""
	} else {
		bodies = append(bodies, Outcome{
			ID: id, When: now.Format(time.RFC3339), Result: did, Pattern: rig.Pattern, Rev: rig.Rev,
			Hatch: rig.Hatch, Form: rig.Form, Sighting: s.sightingFor(rig, now), Outing: outing, Water: l.Body.Water,
		})
	}
	if gone {
		move := s.Lose(rig.Pattern)
		move.Outing, move.Outcome, move.Trip = outing, id, l.Body.Trip
		bodies = append(bodies, move)
	}
	return bodies, nil
}

// sightingFor is the sighting of today that the fish are on, if one was noted.
func (s *State) sightingFor(rig Rig, now time.Time) string {
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
func (s *State) UndoFish(outing, target string) ([]Body, error) {
	if _, ok := s.Outing(outing); !ok {
		return nil, ErrUnknown
	}
	var bodies []Body
	if o, ok := s.Outcome(target); ok && o.Body.Outing == outing {
		bodies = append(bodies, Deleted{Target: target})
	}
	for _, m := range s.LossesOf(outing) {
		if m.Outcome == target || m.Entry == target {
			bodies = append(bodies, Deleted{Target: m.Entry})
		}
	}
	return bodies, nil
}

// EndOuting ends an outing, at its start if that is later. One that has ended
// stays as it is.
func (s *State) EndOuting(outing string, end time.Time) ([]Body, error) {
	l, ok := s.Outing(outing)
	if !ok {
		return nil, ErrUnknown
	}
	o := l.Body
	if o.End != "" {
		return nil, nil
	}
	if start, err := time.Parse(time.RFC3339, o.Start); err == nil && end.Before(start) {
		end = s.LastMoment(o)
	}
	o.End = end.Format(time.RFC3339)
	return []Body{o}, nil
}

// LastMoment is when anything was last noted on an outing, to the second, by
// the clock of the place.
func (s *State) LastMoment(o Outing) time.Time {
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
