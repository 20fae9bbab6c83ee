package hatchkeys_test

import (
	"testing"

	"dampstone/hatchkeys"
)

// What parts two hatches, by the values of the packs and their sources.
func TestDiffer(t *testing.T) {
	gills, wings, tails := hatchkeys.Question(hatchkeys.Gills), hatchkeys.Question(hatchkeys.Wings), hatchkeys.Question(hatchkeys.Tails)
	rows := []struct {
		name, line string
		of         []string
		differ     []hatchkeys.Question
		alike      []hatchkeys.Question
	}{
		{"the golden stoneflies part by gill tufts, even as adults", `{"region":"west-na","month":6,"wings":"flat"}`,
			[]string{"hesperoperla", "calineuria"}, []hatchkeys.Question{gills}, []hatchkeys.Question{wings, tails, hatchkeys.WaterC}},
		{"short wings and late summer part Claassenia", `{"region":"west-na","month":8,"wings":["short","flat"],"length_mm":21}`,
			[]string{"claassenia", "hesperoperla"}, []hatchkeys.Question{wings, hatchkeys.Month}, []hatchkeys.Question{tails}},
		{"a stonefly against a mayfly", `{"region":"west-na","month":7,"hour":14,"doing":"fluttering"}`,
			[]string{"hesperoperla", "tricorythodes"}, []hatchkeys.Question{hatchkeys.Length, wings, tails, hatchkeys.Colour}, nil},
		{"one of three is enough", `{"region":"west-na","month":6,"wings":"flat","doing":"fluttering"}`,
			[]string{"hesperoperla", "calineuria", "salmonfly"}, []hatchkeys.Question{gills, hatchkeys.Length, hatchkeys.Colour}, []hatchkeys.Question{wings, tails}},
		{"a hatch against itself", `{"region":"west-na"}`, []string{"salmonfly", "salmonfly"}, nil, hatchkeys.Questions},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			r := read(t, row.line)
			var list []*hatchkeys.Ranked
			for _, id := range row.of {
				h := r.Find(id)
				list = append(list, h)
				t.Logf("%s: %s", id, h.Form.ID)
			}
			for _, a := range row.differ {
				if !r.Differ(a, list...) {
					t.Errorf("alike in %v", a)
				}
			}
			for _, a := range row.alike {
				if r.Differ(a, list...) {
					t.Errorf("apart in %v", a)
				}
			}
			if len(list) == 2 {
				for _, a := range hatchkeys.Questions {
					if r.Differ(a, list[0], list[1]) != r.Differ(a, list[1], list[0]) {
						t.Errorf("%v depends on the order", a)
					}
				}
			}
		})
	}
}

func TestWhatIsNotKnownIsNoDifference(t *testing.T) {
	r := read(t, `{"region":"west-na"}`)
	for i := range r.Ranked {
		x, y := &r.Ranked[0], &r.Ranked[i]
		if (x.Weights(hatchkeys.Gills) == nil || y.Weights(hatchkeys.Gills) == nil) && r.Differ(hatchkeys.Question(hatchkeys.Gills), x, y) {
			t.Errorf("%s and %s differ in gills that nobody described", x.Hatch.ID, y.Hatch.ID)
		}
		if (x.Form.Hours == nil || y.Form.Hours == nil) && r.Differ(hatchkeys.Hour, x, y) {
			t.Errorf("%s and %s differ in hours that are not known", x.Hatch.ID, y.Hatch.ID)
		}
		if (x.Hatch.WaterC == nil || y.Hatch.WaterC == nil) && r.Differ(hatchkeys.WaterC, x, y) {
			t.Errorf("%s and %s differ in water temperature that is not known", x.Hatch.ID, y.Hatch.ID)
		}
	}
}
