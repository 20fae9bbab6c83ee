package flybox

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"dampstone/flybox/journal"
)

var beetle = Pattern{ID: "p", Name: "Foam beetle", Style: Beetle, Hook: 14}

func TestTheLastRecipeCountsAndGoesWithItsFly(t *testing.T) {
	first := Recipe{ID: "p", Minutes: 9, Lines: []RecipeLine{{Name: "Foam", Amount: 12, Unit: Millimetres, Colour: "Black"}}}
	second := first
	second.Minutes, second.Steps = 7, "Tie in the foam. Fold it."
	s := foldOf(t, beetle, first, second)
	if l, ok := s.Recipe("p"); !ok || l.Body.Minutes != 7 || len(s.Recipes()) != 1 {
		t.Errorf("recipe %+v %v", l, ok)
	}
	if _, ok := foldOf(t, beetle, second, Deleted{Target: "p"}).Recipe("p"); ok {
		t.Error("the recipe outlives its fly")
	}
	if _, ok := foldOf(t, beetle, second, Deleted{Target: "p"}, beetle).Recipe("p"); !ok {
		t.Error("a fly that comes back has lost its recipe")
	}
	if _, ok := foldOf(t, beetle, second, Recipe{ID: "p"}).Recipe("p"); ok {
		t.Error("an empty recipe is one")
	}
	if foldOf(t, beetle, first).Digest() == foldOf(t, beetle, second).Digest() {
		t.Error("the recipe does not show in the digest")
	}
}

func TestRecipeKeepsFieldsOfANewerVersion(t *testing.T) {
	var b Recipe
	if err := json.Unmarshal([]byte(`{"id":"p","minutes":9,"vise":{"jaw":2}}`), &b); err != nil {
		t.Fatal(err)
	}
	b.Minutes = 8
	var got map[string]any
	if err := json.Unmarshal(entryAt(t, "e", 0, "a", b.clean()).RawBody(), &got); err != nil {
		t.Fatal(err)
	}
	if at, _ := got["vise"].(map[string]any); at["jaw"] != 2.0 || got["minutes"] != 8.0 {
		t.Errorf("written as %v", got)
	}
}

func TestRecipeNamesAreThoseOfItsFields(t *testing.T) {
	var names []string
	for f := range reflect.TypeFor[Recipe]().Fields() {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" {
			names = append(names, name)
		}
	}
	if !slices.Equal(names, recipeNames) {
		t.Errorf("fields %v, names %v", names, recipeNames)
	}
}

func TestWhatIsOnHandIsASum(t *testing.T) {
	counted := 100.0
	entries := []journal.Entry{
		entryAt(t, "m", 1, "a", Material{ID: "foam", Name: " Black  foam", Unit: Millimetres}),
		entryAt(t, "e1", 2, "a", MaterialMove{Material: "foam", Delta: 100, Why: MaterialCounted, Counted: &counted}),
		entryAt(t, "e2", 3, "a", MaterialMove{Material: "foam", Delta: -12.3, Why: MaterialUsed, Tie: "x"}),
		entryAt(t, "e3", 3, "b", MaterialMove{Material: "foam", Delta: -12.3, Why: MaterialUsed, Tie: "y"}), // another device
		entryAt(t, "e4", 4, "b", MaterialMove{Material: "foam", Delta: 50, Why: MaterialBought}),
		entryAt(t, "e5", 5, "b", Deleted{Target: "e4"}),
	}
	rng := rand.New(rand.NewPCG(7, 1))
	digest := ""
	for range 20 {
		rng.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		s := Fold(entries)
		m, ok := s.MaterialOnHand("foam")
		if !ok || math.Abs(m.Amount-75.4) > 1e-9 {
			t.Fatalf("on hand %+v %v, want 75.4", m, ok)
		}
		if d := s.Digest(); digest != "" && d != digest {
			t.Fatal("the order of arrival shows")
		} else {
			digest = d
		}
	}
	if (Material{Name: " Black  foam", Unit: Millimetres}).Key() != (RecipeLine{Name: "black FOAM", Unit: Millimetres}).Key() {
		t.Error("a recipe does not find its material")
	}
}

func TestRecipeAndMaterialBounds(t *testing.T) {
	lines := make([]RecipeLine, MaxRecipeLines+1)
	for i := range lines {
		lines[i].Name = "x"
	}
	minus := -1.0
	for name, c := range map[string]struct {
		body Body
		want string
	}{
		"recipe":                     {Recipe{ID: "p", Minutes: 9, Lines: lines[:3]}, ""},
		"recipe of nothing":          {Recipe{}, "id " + journal.CodeRequired},
		"five hours":                 {Recipe{ID: "p", Minutes: 300}, "minutes " + journal.CodeRange},
		"too many lines":             {Recipe{ID: "p", Lines: lines}, "lines " + journal.CodeRange},
		"line without a name":        {Recipe{ID: "p", Lines: []RecipeLine{{Amount: 3, Unit: Turns}}}, "name " + journal.CodeRequired},
		"amount without a unit":      {Recipe{ID: "p", Lines: []RecipeLine{{Name: "x", Amount: 3}}}, "unit " + journal.CodeRequired},
		"amount of less than none":   {Recipe{ID: "p", Lines: []RecipeLine{{Name: "x", Amount: -3, Unit: Turns}}}, "amount " + journal.CodeRange},
		"material":                   {Material{Name: "x", Unit: Pieces}, ""},
		"material in stone":          {Material{Name: "x", Unit: "stone"}, "unit " + journal.CodeUnknown},
		"bought less than none":      {MaterialMove{Material: "m", Delta: -3, Why: MaterialBought}, "delta " + journal.CodeInconsist},
		"used less than none":        {MaterialMove{Material: "m", Delta: 3, Why: MaterialUsed}, "delta " + journal.CodeInconsist},
		"counted without a count":    {MaterialMove{Material: "m", Delta: 3, Why: MaterialCounted}, "counted " + journal.CodeRequired},
		"counted less than none":     {MaterialMove{Material: "m", Delta: 3, Why: MaterialCounted, Counted: &minus}, "counted " + journal.CodeRange},
		"no number":                  {MaterialMove{Material: "m", Delta: math.NaN(), Why: MaterialBought}, "delta " + journal.CodeRange},
		"nothing":                    {MaterialMove{Material: "m", Why: MaterialUsed}, "delta " + journal.CodeRequired},
		"tied for something odd":     {StockMove{Pattern: "p", Delta: 1, Why: WhyTied, Order: "a b"}, "order " + journal.CodeNotID},
		"a tying with an odd name":   {StockMove{Pattern: "p", Delta: 1, Why: WhyTied, Tie: "\n"}, "tie " + journal.CodeNotID},
		"tied and named as it must ": {StockMove{Pattern: "p", Delta: 1, Why: WhyTied, Order: "o", Tie: "t-1"}, ""},
	} {
		got := ""
		if p := c.body.Check(); len(p) > 0 {
			got = p[0].Field + " " + p[0].Code
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// Two phones without signal tie for the same order: both count. One takes its
// own back.
func TestTwoDevicesTieForOneOrder(t *testing.T) {
	entries := []journal.Entry{
		entryAt(t, "o", 1, "a", Order{ID: "o", For: "the second boat", Pattern: "p", Count: 12, Done: 2, Due: "2026-08-20"}),
		entryAt(t, "a1", 2, "a", StockMove{Pattern: "p", Delta: 3, Why: WhyTied, Order: "o", Tie: "t1"}),
		entryAt(t, "b1", 2, "b", StockMove{Pattern: "p", Delta: 4, Why: WhyTied, Order: "o", Tie: "t2"}),
		entryAt(t, "b2", 3, "b", StockMove{Pattern: "p", Delta: 1, Why: WhyTied, Order: "o", Tie: "t3"}),
		entryAt(t, "b3", 4, "b", Deleted{Target: "b2"}),
		entryAt(t, "a2", 5, "a", StockMove{Pattern: "p", Delta: -5, Why: WhyGiven, Order: "o"}),
		entryAt(t, "x", 5, "a", StockMove{Pattern: "p", Delta: -1, Why: WhyGiven}),
	}
	rng := rand.New(rand.NewPCG(9, 1))
	for range 20 {
		rng.Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
		o, ok := Fold(entries).OrderNow("o")
		if !ok || o.Tied != 9 || o.Handed != 7 || o.ToTie() != 3 || o.Waiting() != 2 || !o.Open() {
			t.Fatalf("order %+v", o)
		}
	}
	// Handed over from what was in the box: nothing is left to tie.
	s := foldOf(t, Order{ID: "o", For: "x", Pattern: "p", Count: 3}, StockMove{Pattern: "p", Delta: -3, Why: WhyGiven, Order: "o"})
	if o, _ := s.OrderNow("o"); o.Open() || o.ToTie() != 0 || o.Waiting() != 0 {
		t.Errorf("order %+v", o)
	}
}
