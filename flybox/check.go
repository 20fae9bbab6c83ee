package flybox

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"dampstone/flybox/journal"
)

// checkPlace checks a slot in a box. Rows beyond the box as it is now are allowed:
// the box may be larger on another device.
func checkPlace(p *journal.Problems, pl Place) {
	p.ID("box", pl.Box, true)
	p.Integer("row", pl.Row, 1, MaxBoxRows)
	p.Integer("slot", pl.Slot, 1, MaxBoxColumns)
}

// Check lists what is wrong with the pattern.
func (b Pattern) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.ID("parent", b.Parent, false)
	p.Text("name", b.Name, MaxName, true)
	oneOf(&p, "style", b.Style, Styles)
	if b.Hook != 0 {
		p.Integer("hook", b.Hook, MinHook, MaxHook)
	}
	if b.Shank != 0 {
		p.Number("shank", b.Shank, MinShank, MaxShank)
	}
	if b.Length != 0 {
		p.Number("length_mm", b.Length, MinLengthMM, MaxLengthMM)
	}
	if b.Hook == 0 && b.Length == 0 {
		p.Add("hook", journal.CodeRequired, journal.Detail{}) // one of the two, or nothing is known of its size
	}
	p.Colour("body", b.Body)
	p.Colour("wing", b.Wing)
	p.Colour("under", b.Under)
	if b.Floats != "" {
		oneOf(&p, "floats", b.Floats, Floats)
	}
	if b.Wings != "" {
		oneOf(&p, "posture", b.Wings, Postures)
	}
	if b.Bead != "" {
		oneOf(&p, "bead", b.Bead, Beads)
	}
	if b.BeadMM != 0 {
		p.Number("bead_mm", b.BeadMM, MinBeadMM, MaxBeadMM)
	}
	p.Text("notes", b.Notes, MaxNote, false)
	return p
}

// Check lists what is wrong with the box.
func (b Box) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Text("name", b.Name, MaxName, true)
	p.Integer("rows", b.Rows, 1, MaxBoxRows)
	p.Integer("columns", b.Columns, 1, MaxBoxColumns)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the assignment.
func (b Slot) Check() (p journal.Problems) {
	checkPlace(&p, b.Place)
	p.ID("pattern", b.Pattern, true)
	p.Integer("want", b.Want, 0, MaxCount)
	return p
}

// Check lists what is wrong with the move.
func (b StockMove) Check() (p journal.Problems) {
	p.ID("pattern", b.Pattern, true)
	if b.Place != nil {
		checkPlace(&p, *b.Place)
	}
	oneOf(&p, "why", b.Why, Whys)
	switch {
	case b.Why == WhyCounted && b.Counted == nil:
		p.Add("counted", journal.CodeRequired, journal.Detail{})
	case b.Why != WhyCounted && b.Counted != nil:
		p.Add("counted", journal.CodeInconsist, journal.Detail{})
	case b.Counted != nil:
		p.Integer("counted", *b.Counted, 0, MaxCount)
	case b.Delta == 0:
		p.Add("delta", journal.CodeRequired, journal.Detail{})
	}
	// Putting a count right may take more than one move's worth: both ends of
	// the range are a full MaxCount away from a sum that has run wrong.
	most := MaxCount
	if b.Why == WhyCounted {
		most = 1 << 30
	}
	p.Integer("delta", b.Delta, -most, most)
	p.ID("trip", b.Trip, false)
	p.ID("outing", b.Outing, false)
	p.ID("outcome", b.Outcome, false)
	p.ID("order", b.Order, false)
	p.ID("tie", b.Tie, false)
	switch b.Why {
	case WhyTied, WhyBought:
		if b.Delta < 0 {
			p.Add("delta", journal.CodeInconsist, journal.Detail{Got: journal.Of(b.Delta)})
		}
	case WhyLost, WhyGiven, WhyRetired:
		if b.Delta > 0 {
			p.Add("delta", journal.CodeInconsist, journal.Detail{Got: journal.Of(b.Delta)})
		}
	}
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the sighting.
func (b Sighting) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Moment("when", b.When, true)
	p.Text("hatch", b.Hatch, MaxName, true)
	p.Text("form", b.Form, MaxName, false)
	if len(b.Evidence) > MaxEvidence {
		p.Add("evidence", journal.CodeTooLong, journal.Detail{Max: journal.Of(MaxEvidence), Got: journal.Of(len(b.Evidence))})
	} else if raw := bytes.TrimSpace(b.Evidence); len(raw) > 0 && (raw[0] != '{' || !json.Valid(raw)) {
		p.Add("evidence", journal.CodeNotObject, journal.Detail{})
	}
	p.Text("water", b.Water, MaxName, false)
	p.Text("place", b.Place, MaxName, false)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the outcome.
func (b Outcome) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Moment("when", b.When, true)
	oneOf(&p, "result", b.Result, Results)
	p.ID("pattern", b.Pattern, true)
	p.ID("rev", b.Rev, false)
	p.Text("hatch", b.Hatch, MaxName, false)
	p.Text("form", b.Form, MaxName, false)
	p.ID("sighting", b.Sighting, false)
	p.ID("outing", b.Outing, false)
	p.Integer("rod", b.Rod, 0, MaxNamedRods)
	if b.Why != "" {
		oneOf(&p, "why", b.Why, Reasons)
	}
	if b.End != "" {
		oneOf(&p, "end", b.End, Endings)
	}
	p.Text("fish", b.Fish, MaxName, false)
	p.Number("fish_mm", b.FishMM, 0, MaxFishMM)
	p.Text("water", b.Water, MaxName, false)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the outing.
func (b Outing) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	start, ok := p.Moment("start", b.Start, true)
	end, ended := p.Moment("end", b.End, false)
	if ok && ended && end.Before(start) {
		p.Add("end", journal.CodeBackwards, journal.Detail{})
	}
	p.Text("water", b.Water, MaxName, false)
	p.Text("place", b.Place, MaxName, false)
	p.Integer("rods", b.Rods, 0, MaxRods)
	p.Integer("rod_names", len(b.Names), 0, MaxNamedRods)
	for _, name := range b.Names {
		p.Text("rod_names", name, MaxName, false)
	}
	p.ID("trip", b.Trip, false)
	if b.WaterC != nil {
		p.Number("water_c", *b.WaterC, MinWaterC, MaxWaterC)
	}
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the rig.
func (b Rig) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Moment("when", b.When, true)
	p.ID("outing", b.Outing, true)
	p.Integer("rod", b.Rod, 0, MaxNamedRods)
	p.ID("pattern", b.Pattern, false)
	p.ID("rev", b.Rev, false)
	p.Integer("above", len(b.Above), 0, MaxFlies-1)
	for _, f := range b.Above {
		p.ID("above", f.Pattern, true)
		p.ID("above", f.Rev, false)
	}
	p.Text("hatch", b.Hatch, MaxName, false)
	p.Text("form", b.Form, MaxName, false)
	return p
}

// Check lists what is wrong with the order.
func (b Order) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Text("for", b.For, MaxName, true)
	p.ID("pattern", b.Pattern, true)
	p.Integer("count", b.Count, 1, MaxCount)
	p.Integer("done", b.Done, 0, MaxCount)
	p.Day("due", b.Due, false)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the note.
func (b Note) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.ID("about", b.About, false)
	p.Text("text", b.Text, MaxNote, true)
	return p
}

// Check lists what is wrong with the deletion.
func (b Deleted) Check() (p journal.Problems) {
	p.ID("target", b.Target, true)
	return p
}

func trim(fields ...*string) {
	for _, f := range fields {
		*f = strings.TrimSpace(strings.ReplaceAll(*f, "\r\n", "\n"))
	}
}

func (b Pattern) clean() Body {
	trim(&b.Name, &b.Notes, &b.Body, &b.Wing, &b.Under)
	b.Body, b.Wing, b.Under = strings.ToLower(b.Body), strings.ToLower(b.Wing), strings.ToLower(b.Under)
	return b
}

func (b Box) clean() Body       { trim(&b.Name, &b.Note); return b }
func (b Slot) clean() Body      { return b }
func (b StockMove) clean() Body { trim(&b.Note); return b }

func (b Sighting) clean() Body {
	trim(&b.When, &b.Hatch, &b.Form, &b.Water, &b.Place, &b.Note)
	if string(b.Evidence) == "null" {
		b.Evidence = nil
	}
	return b
}

func (b Outcome) clean() Body {
	trim(&b.When, &b.Hatch, &b.Form, &b.Fish, &b.Water, &b.Note)
	return b
}

func (b Outing) clean() Body {
	trim(&b.Start, &b.End, &b.Water, &b.Place, &b.Note)
	b.Names = slices.Clone(b.Names)
	for i := range b.Names {
		trim(&b.Names[i])
	}
	return b
}

func (b Rig) clean() Body {
	trim(&b.When, &b.Hatch, &b.Form)
	return b
}

func (b Order) clean() Body   { trim(&b.For, &b.Due, &b.Note); return b }
func (b Note) clean() Body    { trim(&b.Text); return b }
func (b Deleted) clean() Body { return b }
