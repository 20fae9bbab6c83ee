package flybox

import (
	"bytes"
	"encoding/json"

	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
)

// Hatch adds a hatch of the reader's own water to the key of a region, or
// changes it.
type Hatch struct {
	ID     journal.ID `json:"id,omitempty"`
	Region string     `json:"region"` // id of a region of the key, perhaps one that is not known here
	// Hatch is a local hatch as hatchkeys.ParseLocal reads it, a JSON object of
	// at most hatchkeys.MaxLocalBytes. Parts that are not known here are kept.
	Hatch json.RawMessage `json:"hatch"`
}

// Kind of the body.
func (Hatch) Kind() journal.Kind { return KindHatch }

func (b Hatch) register() regName { return regName{id: b.ID} }

// Check lists what is wrong with the hatch. Fields of the hatch itself are
// named like "hatch.forms.0.length.to".
func (b Hatch) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.ID("region", journal.ID(b.Region), true)
	if len(bytes.TrimSpace(b.Hatch)) == 0 {
		p.Add("hatch", journal.CodeRequired, journal.Detail{})
		return p
	}
	_, bad := hatchkeys.ParseLocal(b.Hatch)
	for _, a := range bad {
		field := "hatch." + a.Field
		if a.Field == "hatch" {
			field = a.Field
		}
		data := journal.Detail{Got: journal.Of(journal.Clip(a.Value))}
		if a.Min != 0 || a.Max != 0 {
			data.Min, data.Max = journal.Of(a.Min), journal.Of(a.Max)
		}
		p.Add(field, a.Code, data)
	}
	return p
}

func (b Hatch) clean() Body {
	trim(&b.Region)
	return b
}

// Hatches are the hatches that the reader added, the one described last first.
func (s *State) Hatches() []Logged[Hatch] {
	return logged(s, s.hatches, func(Hatch) string { return "" })
}

// Hatch is one hatch that the reader added, unless it is unknown or deleted.
func (s *State) Hatch(id journal.ID) (Logged[Hatch], bool) { return one(s, s.hatches, id) }
