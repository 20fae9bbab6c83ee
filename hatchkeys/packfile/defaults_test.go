package packfile_test

import (
	"encoding/json"
	"os"
	"reflect"
	"testing"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/packfile"
)

func TestCompiledDefaultsAreFresh(t *testing.T) {
	want, err := packfile.ReadDefaults(os.DirFS("../packs"))
	if err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile("../packs/defaults.json")
	if err != nil {
		t.Fatal(err)
	}
	var got *hatchkeys.Defaults
	if err := json.Unmarshal(raw, &got); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Error("packs/defaults.json is older than the files; run go generate ./hatchkeys")
	}
	for key, f := range got.Forms {
		h := hatchkeys.Hatch{Forms: []hatchkeys.Form{f}}
		for _, id := range h.SourceIDs() {
			if got.Sources[id].Cite == "" {
				t.Errorf("%s: source %q is not there", key, id)
			}
		}
	}
}
