package names_test

import (
	"slices"
	"testing"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/names"
)

func search(t *testing.T, region, text, lang string) (ids []string) {
	t.Helper()
	key, err := hatchkeys.ForRegion(region)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range names.Search(key, text, lang) {
		ids = append(ids, h.ID)
	}
	return ids
}

// Names that anglers use, and the insect of each region that they mean.
// Common practice, no source.
func TestWhatAnglersCallThem(t *testing.T) {
	for _, tc := range []struct {
		region, text, lang string
		first              string   // "" for any order
		among              []string // all of these are found
	}{
		{"west-na", "Pale morning dun", "en", "ephemerella-excrucians", nil},
		{"west-na", "PMD", "en", "", []string{"ephemerella-excrucians", "ephemerella-infrequens"}},
		{"west-na", "pmd", "es", "", []string{"ephemerella-excrucians"}},
		{"west-na", "Flav", "en", "drunella-flavilinea", nil},
		{"west-na", "Pink Albert", "en", "epeorus-albertae", nil},
		{"west-na", "Hecuba", "en", "timpanoga", nil},
		{"west-na", "Trico", "en", "tricorythodes", nil},
		{"east-na", "Trico", "en", "tricorythodes", nil},
		{"west-na", "Mother's Day caddis", "en", "brachycentrus-occidentalis", nil},
		{"west-na", "mothers day sedge", "en", "brachycentrus-occidentalis", nil},
		{"west-na", "Grannom", "en", "", []string{"brachycentrus-occidentalis", "brachycentrus-americanus"}},
		{"west-na", "March Brown", "en", "rhithrogena-morrisoni", nil},
		{"west-na", "Blue-winged olive", "en", "baetis", nil},
		{"west-na", "BWO", "en", "", []string{"baetis", "tiny-olive"}},
		{"west-na", "October sedge", "en", "dicosmoecus", nil},
		{"west-na", "yellow sally", "en", "", []string{"isoperla", "sallfly"}},
		{"west-na", "gray drake", "en", "siphlonurus", nil},
		{"west-na", "grey drake", "en", "siphlonurus", nil},
		{"west-na", "golden stone", "en", "", []string{"hesperoperla", "calineuria"}},
		{"west-na", "Pteronarcys", "en", "", []string{"salmonfly"}},
		{"east-na", "Hendrickson", "en", "ephemerella-subvaria", nil},
		{"east-na", "Quill Gordon", "en", "epeorus-pleuralis", nil},
		{"east-na", "Blue Quill", "en", "paraleptophlebia-adoptiva", nil},
		{"east-na", "Sulphur", "en", "ephemerella-invaria", []string{"ephemerella-dorothea"}},
		{"east-na", "sulfur", "en", "", []string{"ephemerella-invaria", "ephemerella-dorothea"}},
		{"east-na", "Light Cahill", "en", "stenacron", nil},
		{"east-na", "March Brown", "en", "maccaffertium-vicarium", nil},
		{"east-na", "Coffin fly", "en", "ephemera-guttulata", nil},
		{"east-na", "Hex", "en", "hexagenia", nil},
		{"east-na", "blue winged olive", "en", "", []string{"baetis", "drunella-cornuta", "attenella"}},
		{"europe", "Blue-winged olive", "en", "serratella", nil},
		{"europe", "Iron blue", "en", "baetis-muticus", nil},
		{"europe", "Large dark olive", "en", "baetis-rhodani", nil},
		{"europe", "Welshman's Button", "en", "sericostoma", nil},
		{"europe", "Caperer", "en", "halesus", nil},
		{"europe", "Yellow Sally", "en", "isoperla", nil},
		{"europe", "Buzzer", "en", "chironomus", nil},
		{"europe", "Angler's Curse", "en", "caenis", nil},
		{"europe", "Grannom", "en", "brachycentrus", nil},
		{"europe", "mosca de mayo", "es", "", []string{"ephemera-danica"}},
		{"europe", "Frigánea de abril", "es", "brachycentrus", nil},
		{"europe", "friganea abril", "es", "brachycentrus", nil},
		{"south", "manuka beetle", "en", "pyronota", nil},
		{"south", "chicharra", "es", "cicada", nil},
	} {
		got := search(t, tc.region, tc.text, tc.lang)
		if tc.first != "" && (len(got) == 0 || got[0] != tc.first) {
			t.Errorf("%s, %q: %v, want %s first", tc.region, tc.text, got, tc.first)
		}
		for _, id := range tc.among {
			if !slices.Contains(got, id) {
				t.Errorf("%s, %q: %v, want %s among them", tc.region, tc.text, got, id)
			}
		}
	}
}

func TestSearchOfNothingAndOfNonsense(t *testing.T) {
	for _, region := range hatchkeys.Regions() {
		key, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		if got := search(t, region, "  ", "en"); len(got) != len(key.Pack.Hatches) {
			t.Errorf("%s: %d of %d", region, len(got), len(key.Pack.Hatches))
		}
		if got := search(t, region, "zzxq \x00 <b>", "en"); len(got) != 0 {
			t.Errorf("%s: %v", region, got)
		}
		for i := range key.Pack.Hatches {
			h := &key.Pack.Hatches[i]
			for _, lang := range []string{"en", "es"} {
				for _, name := range names.Of(h, lang) {
					if got := search(t, region, name, lang); !slices.Contains(got, h.ID) {
						t.Errorf("%s: %q does not find %s", region, name, h.ID)
					}
				}
			}
		}
	}
}
