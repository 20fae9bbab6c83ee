package flybox

import (
	"cmp"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"dampstone/flybox/journal"
	"dampstone/flybox/sortby"
)

// Limits of recipes and materials.
const (
	MaxRecipeLines = 40
	MaxAmount      = 100000.0 // of a material, in its unit
	MaxMinutes     = 240.0    // to tie one fly
)

// Unit is what a material is counted in.
type Unit string

// The units.
const (
	Pieces      Unit = "piece"
	Millimetres Unit = "mm"
	Turns       Unit = "turn" // of thread, wire or hackle round the hook
)

// Units lists the units.
var Units = []Unit{Pieces, Millimetres, Turns}

// Recipe is what one fly is tied of. Its ID is that of the pattern: there is
// one for each, the last one counts, and it goes and comes back with the
// pattern. A recipe that says nothing takes the one before away.
type Recipe struct {
	ID      journal.ID   `json:"id"`
	Minutes float64      `json:"minutes,omitempty"` // to tie one; 0 if not known
	Lines   []RecipeLine `json:"lines,omitempty"`   // in the order in which they are tied in
	Steps   string       `json:"steps,omitempty"`

	unknown map[string]json.RawMessage // fields of a newer version
}

// RecipeLine is one material of a recipe.
type RecipeLine struct {
	Name   string  `json:"name"`
	Amount float64 `json:"amount,omitempty"` // for one fly, in Unit; 0 if not said
	Unit   Unit    `json:"unit,omitempty"`
	Colour string  `json:"colour,omitempty"` // in words
	Note   string  `json:"note,omitempty"`
}

// Empty tells whether the recipe says nothing.
func (b Recipe) Empty() bool { return b.Minutes == 0 && len(b.Lines) == 0 && b.Steps == "" }

// Material is something to tie with that is counted. Recipes find it by name,
// colour and unit, so that two devices that enter the same one share it.
type Material struct {
	ID     journal.ID `json:"id,omitempty"`
	Name   string     `json:"name"`
	Colour string     `json:"colour,omitempty"`
	Unit   Unit       `json:"unit"`
	Note   string     `json:"note,omitempty"`
}

// MaterialKey is what a material is found by.
type MaterialKey struct {
	Name, Colour string // in lower case
	Unit         Unit
}

// Key is what the material is found by.
func (b Material) Key() MaterialKey { return MaterialKey{fold(b.Name), fold(b.Colour), b.Unit} }

// Key is the material that the line asks for.
func (l RecipeLine) Key() MaterialKey { return MaterialKey{fold(l.Name), fold(l.Colour), l.Unit} }

// fold makes names that differ in case and spaces alone the same.
func fold(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// MaterialWhy is why material came or went.
type MaterialWhy string

// The reasons.
const (
	MaterialBought  MaterialWhy = "bought"
	MaterialUsed    MaterialWhy = "used"
	MaterialCounted MaterialWhy = "counted" // put right after counting
)

// MaterialWhys lists the reasons.
var MaterialWhys = []MaterialWhy{MaterialBought, MaterialUsed, MaterialCounted}

// MaterialMove adds Delta of a material. What is on hand is the sum of moves.
type MaterialMove struct {
	Material journal.ID  `json:"material"`
	Delta    float64     `json:"delta"` // in the unit of the material
	Why      MaterialWhy `json:"why"`
	Counted  *float64    `json:"counted,omitempty"` // with MaterialCounted: how much was there
	Tie      journal.ID  `json:"tie,omitempty"`     // the tying that used it, see StockMove
}

// Kind of each body.
func (Recipe) Kind() journal.Kind       { return KindRecipe }
func (Material) Kind() journal.Kind     { return KindMaterial }
func (MaterialMove) Kind() journal.Kind { return KindMaterialMove }

func (b Recipe) register() regName       { return regName{recipe: b.ID} }
func (b Material) register() regName     { return regName{id: b.ID} }
func (b MaterialMove) register() regName { return regName{} }

type recipeFields Recipe

var recipeNames = []string{"id", "minutes", "lines", "steps"}

// UnmarshalJSON keeps fields that this version does not know.
func (b *Recipe) UnmarshalJSON(raw []byte) error {
	if err := json.Unmarshal(raw, (*recipeFields)(b)); err != nil {
		return err
	}
	unknown, err := unknownFields(raw, recipeNames)
	b.unknown = unknown
	return err
}

// MarshalJSON writes the fields that it knows and those that it does not.
func (b Recipe) MarshalJSON() ([]byte, error) {
	raw, err := journal.Marshal(recipeFields(b))
	if err != nil {
		return nil, err
	}
	return withUnknown(raw, b.unknown)
}

// Check lists what is wrong with the recipe.
func (b Recipe) Check() (p journal.Problems) {
	p.ID("id", b.ID, true)
	p.Number("minutes", b.Minutes, 0, MaxMinutes)
	p.Integer("lines", len(b.Lines), 0, MaxRecipeLines)
	for _, l := range b.Lines {
		p.Text("name", l.Name, MaxName, true)
		p.Number("amount", l.Amount, 0, MaxAmount)
		if l.Unit != "" || l.Amount != 0 {
			oneOf(&p, "unit", l.Unit, Units)
		}
		p.Text("colour", l.Colour, MaxName, false)
		p.Text("line_note", l.Note, MaxName, false)
	}
	p.Text("steps", b.Steps, MaxNote, false)
	return p
}

// Check lists what is wrong with the material.
func (b Material) Check() (p journal.Problems) {
	p.ID("id", b.ID, false)
	p.Text("name", b.Name, MaxName, true)
	p.Text("colour", b.Colour, MaxName, false)
	oneOf(&p, "unit", b.Unit, Units)
	p.Text("note", b.Note, MaxNote, false)
	return p
}

// Check lists what is wrong with the move.
func (b MaterialMove) Check() (p journal.Problems) {
	p.ID("material", b.Material, true)
	oneOf(&p, "why", b.Why, MaterialWhys)
	switch {
	case b.Why == MaterialCounted && b.Counted == nil:
		p.Add("counted", journal.CodeRequired, journal.Detail{})
	case b.Why != MaterialCounted && b.Counted != nil:
		p.Add("counted", journal.CodeInconsist, journal.Detail{})
	case b.Counted != nil:
		p.Number("counted", *b.Counted, 0, MaxAmount)
	case b.Delta == 0:
		p.Add("delta", journal.CodeRequired, journal.Detail{})
	}
	// As for flies: a count may put right a sum that has run wrong.
	most := MaxAmount
	if b.Why == MaterialCounted {
		most = 1e12
	}
	if b.Why == MaterialUsed {
		most = MaxAmount * MaxCount // of many flies at once
	}
	p.Number("delta", b.Delta, -most, most)
	if b.Why == MaterialBought && b.Delta < 0 || b.Why == MaterialUsed && b.Delta > 0 {
		p.Add("delta", journal.CodeInconsist, journal.Detail{Got: journal.Of(b.Delta)})
	}
	p.ID("tie", b.Tie, false)
	return p
}

func (b Recipe) clean() Body {
	trim(&b.Steps)
	b.Lines = slices.Clone(b.Lines)
	for i := range b.Lines {
		trim(&b.Lines[i].Name, &b.Lines[i].Colour, &b.Lines[i].Note)
	}
	return b
}

func (b Material) clean() Body     { trim(&b.Name, &b.Colour, &b.Note); return b }
func (b MaterialMove) clean() Body { return b }

// materialMove is a move with its place among all others.
type materialMove struct {
	order order
	body  MaterialMove
}

// Recipe is the recipe of a pattern, unless there is none or the pattern is
// deleted.
func (s *State) Recipe(pattern journal.ID) (Logged[Recipe], bool) {
	r := s.recipes[pattern]
	if _, ok := s.Pattern(pattern); !ok || r == nil || r.body.Empty() {
		return Logged[Recipe]{}, false
	}
	return Logged[Recipe]{r.body, r.head.id, r.head.at}, true
}

// Recipes are all recipes, by pattern.
func (s *State) Recipes() []Logged[Recipe] {
	var out []Logged[Recipe]
	for _, pattern := range slices.Sorted(maps.Keys(s.recipes)) {
		if l, ok := s.Recipe(pattern); ok {
			out = append(out, l)
		}
	}
	return out
}

// OnHand is a material and how much there is; it may be negative when more was
// used than anybody entered.
type OnHand struct {
	Material
	Amount float64
}

// Materials are all materials that are not deleted, by name, colour, unit and
// id.
func (s *State) Materials() []OnHand {
	amounts := s.amounts()
	var out []OnHand
	for _, l := range logged(s, s.materials, func(Material) string { return "" }) {
		out = append(out, OnHand{l.Body, amounts[l.Body.ID]})
	}
	sortby.Stable(out, func(a, b *OnHand) int {
		return cmp.Or(cmp.Compare(fold(a.Name), fold(b.Name)), cmp.Compare(fold(a.Colour), fold(b.Colour)), cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.ID, b.ID))
	})
	return out
}

// MaterialOnHand is one material, unless it is unknown or deleted.
func (s *State) MaterialOnHand(id journal.ID) (OnHand, bool) {
	l, ok := one(s, s.materials, id)
	if !ok {
		return OnHand{}, false
	}
	return OnHand{l.Body, s.amounts()[id]}, true
}

// amounts are the sums of moves that are not deleted, by material. They are
// summed in a fixed order: sums of fractions depend on it.
func (s *State) amounts() map[journal.ID]float64 {
	out := map[journal.ID]float64{}
	for _, m := range s.MaterialMoves("") {
		out[m.Body.Material] += m.Body.Delta
	}
	return out
}

// MaterialMoves are the moves of a material (of every one if it is empty) that
// are not deleted, oldest first.
func (s *State) MaterialMoves(material journal.ID) []Logged[MaterialMove] {
	var out []Logged[MaterialMove]
	for id, m := range s.materialMoves {
		if (material == "" || m.body.Material == material) && s.alive(id, m.order) {
			out = append(out, Logged[MaterialMove]{m.body, id, m.order.at})
		}
	}
	sortby.Stable(out, func(a, b *Logged[MaterialMove]) int { return compareOrder(order{a.At, a.Entry}, order{b.At, b.Entry}) })
	return out
}
