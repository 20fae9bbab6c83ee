package flybox

import (
	"bytes"
	"encoding/json"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"dampstone/hatchkeys/colour"
)

// text checks a string of at most most characters.
func (p *Problems) text(field, s string, most int, required bool) {
	if s == "" {
		if required {
			p.add(field, CodeRequired, Detail{})
		}
		return
	}
	if n := utf8.RuneCountInString(s); n > most {
		p.add(field, CodeTooLong, Detail{Max: Of(most), Got: Of(n)})
	}
	multiline := most > MaxName
	for _, r := range s {
		if unicode.IsControl(r) && !(multiline && (r == '\n' || r == '\t')) {
			p.add(field, CodeControl, Detail{})
			return
		}
	}
}

func (p *Problems) integer(field string, got, low, high int) {
	if got < low || got > high {
		p.add(field, CodeRange, Detail{Min: Of(low), Max: Of(high), Got: Of(got)})
	}
}

func (p *Problems) number(field string, got, low, high float64) {
	if !(got >= low && got <= high) { // also catches NaN
		p.add(field, CodeRange, Detail{Min: Of(low), Max: Of(high), Got: Of(got)})
	}
}

func (p *Problems) id(field, got string, required bool) {
	switch {
	case got == "" && required:
		p.add(field, CodeRequired, Detail{})
	case got != "" && !isID(got):
		p.add(field, CodeNotID, Detail{Got: Of(clip(got))})
	}
}

func (p *Problems) colour(field, got string) {
	if got != "" && !colour.Valid(got) {
		p.add(field, CodeNotColour, Detail{Got: Of(clip(got))})
	}
}

// moment reads an RFC 3339 time; ok is false if there is none or it is bad.
func (p *Problems) moment(field, got string, required bool) (t time.Time, ok bool) {
	if got == "" {
		if required {
			p.add(field, CodeRequired, Detail{})
		}
		return t, false
	}
	t, err := time.Parse(time.RFC3339, got)
	if err != nil {
		p.add(field, CodeNotTime, Detail{Got: Of(clip(got))})
	}
	return t, err == nil
}

func (p *Problems) day(field, got string, required bool) (t time.Time, ok bool) {
	if got == "" {
		if required {
			p.add(field, CodeRequired, Detail{})
		}
		return t, false
	}
	t, err := time.Parse(time.DateOnly, got)
	if err != nil {
		p.add(field, CodeNotDate, Detail{Got: Of(clip(got))})
	}
	return t, err == nil
}

// place checks a slot in a box. Rows beyond the box as it is now are allowed:
// the box may be larger on another device.
func (p *Problems) place(pl Place) {
	p.id("box", pl.Box, true)
	p.integer("row", pl.Row, 1, MaxBoxRows)
	p.integer("slot", pl.Slot, 1, MaxBoxColumns)
}

// Check lists what is wrong with the pattern.
func (b Pattern) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.id("parent", b.Parent, false)
	p.text("name", b.Name, MaxName, true)
	oneOf(&p, "style", b.Style, Styles)
	if b.Hook != 0 {
		p.integer("hook", b.Hook, MinHook, MaxHook)
	}
	if b.Shank != 0 {
		p.number("shank", b.Shank, MinShank, MaxShank)
	}
	if b.Length != 0 {
		p.number("length_mm", b.Length, MinLengthMM, MaxLengthMM)
	}
	if b.Hook == 0 && b.Length == 0 {
		p.add("hook", CodeRequired, Detail{}) // one of the two, or nothing is known of its size
	}
	p.colour("body", b.Body)
	p.colour("wing", b.Wing)
	p.colour("under", b.Under)
	if b.Floats != "" {
		oneOf(&p, "floats", b.Floats, Floats)
	}
	if b.Wings != "" {
		oneOf(&p, "posture", b.Wings, Postures)
	}
	p.text("notes", b.Notes, MaxNote, false)
	return p
}

// Check lists what is wrong with the box.
func (b Box) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.text("name", b.Name, MaxName, true)
	p.integer("rows", b.Rows, 1, MaxBoxRows)
	p.integer("columns", b.Columns, 1, MaxBoxColumns)
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the assignment.
func (b Slot) Check() (p Problems) {
	p.place(b.Place)
	p.id("pattern", b.Pattern, true)
	p.integer("want", b.Want, 0, MaxCount)
	return p
}

// Check lists what is wrong with the move.
func (b StockMove) Check() (p Problems) {
	p.id("pattern", b.Pattern, true)
	if b.Place != nil {
		p.place(*b.Place)
	}
	oneOf(&p, "why", b.Why, Whys)
	switch {
	case b.Why == WhyCounted && b.Counted == nil:
		p.add("counted", CodeRequired, Detail{})
	case b.Why != WhyCounted && b.Counted != nil:
		p.add("counted", CodeInconsist, Detail{})
	case b.Counted != nil:
		p.integer("counted", *b.Counted, 0, MaxCount)
	case b.Delta == 0:
		p.add("delta", CodeRequired, Detail{})
	}
	// Putting a count right may take more than one move's worth: both ends of
	// the range are a full MaxCount away from a sum that has run wrong.
	most := MaxCount
	if b.Why == WhyCounted {
		most = 1 << 30
	}
	p.integer("delta", b.Delta, -most, most)
	p.id("trip", b.Trip, false)
	p.id("outing", b.Outing, false)
	p.id("outcome", b.Outcome, false)
	p.id("order", b.Order, false)
	p.id("tie", b.Tie, false)
	switch b.Why {
	case WhyTied, WhyBought:
		if b.Delta < 0 {
			p.add("delta", CodeInconsist, Detail{Got: Of(b.Delta)})
		}
	case WhyLost, WhyGiven, WhyRetired:
		if b.Delta > 0 {
			p.add("delta", CodeInconsist, Detail{Got: Of(b.Delta)})
		}
	}
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the sighting.
func (b Sighting) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.moment("when", b.When, true)
	p.text("hatch", b.Hatch, MaxName, true)
	p.text("form", b.Form, MaxName, false)
	if len(b.Evidence) > MaxEvidence {
		p.add("evidence", CodeTooLong, Detail{Max: Of(MaxEvidence), Got: Of(len(b.Evidence))})
	} else if raw := bytes.TrimSpace(b.Evidence); len(raw) > 0 && (raw[0] != '{' || !json.Valid(raw)) {
		p.add("evidence", CodeNotObject, Detail{})
	}
	p.text("water", b.Water, MaxName, false)
	p.text("place", b.Place, MaxName, false)
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the outcome.
func (b Outcome) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.moment("when", b.When, true)
	oneOf(&p, "result", b.Result, Results)
	p.id("pattern", b.Pattern, true)
	p.id("rev", b.Rev, false)
	p.text("hatch", b.Hatch, MaxName, false)
	p.text("form", b.Form, MaxName, false)
	p.id("sighting", b.Sighting, false)
	p.id("outing", b.Outing, false)
	p.text("water", b.Water, MaxName, false)
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the outing.
func (b Outing) Check() (p Problems) {
	p.id("id", b.ID, false)
	start, ok := p.moment("start", b.Start, true)
	end, ended := p.moment("end", b.End, false)
	if ok && ended && end.Before(start) {
		p.add("end", CodeBackwards, Detail{})
	}
	p.text("water", b.Water, MaxName, false)
	p.text("place", b.Place, MaxName, false)
	p.integer("rods", b.Rods, 0, MaxRods)
	p.id("trip", b.Trip, false)
	if b.WaterC != nil {
		p.number("water_c", *b.WaterC, MinWaterC, MaxWaterC)
	}
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the rig.
func (b Rig) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.moment("when", b.When, true)
	p.id("outing", b.Outing, true)
	p.id("pattern", b.Pattern, false)
	p.id("rev", b.Rev, false)
	p.text("hatch", b.Hatch, MaxName, false)
	p.text("form", b.Form, MaxName, false)
	return p
}

// Check lists what is wrong with the order.
func (b Order) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.text("for", b.For, MaxName, true)
	p.id("pattern", b.Pattern, true)
	p.integer("count", b.Count, 1, MaxCount)
	p.integer("done", b.Done, 0, MaxCount)
	p.day("due", b.Due, false)
	p.text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the note.
func (b Note) Check() (p Problems) {
	p.id("id", b.ID, false)
	p.id("about", b.About, false)
	p.text("text", b.Text, MaxNote, true)
	return p
}

// Check lists what is wrong with the deletion.
func (b Deleted) Check() (p Problems) {
	p.id("target", b.Target, true)
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
	trim(&b.When, &b.Hatch, &b.Form, &b.Water, &b.Note)
	return b
}

func (b Outing) clean() Body {
	trim(&b.Start, &b.End, &b.Water, &b.Place, &b.Note)
	return b
}

func (b Rig) clean() Body {
	trim(&b.When, &b.Hatch, &b.Form)
	return b
}

func (b Order) clean() Body   { trim(&b.For, &b.Due, &b.Note); return b }
func (b Note) clean() Body    { trim(&b.Text); return b }
func (b Deleted) clean() Body { return b }
