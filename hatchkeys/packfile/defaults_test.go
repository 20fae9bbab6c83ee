package packfile_test

import (
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
	got := new(hatchkeys.Defaults)
	readBuilt(t, "defaults", got)
	if !reflect.DeepEqual(got, want) {
		t.Error("packs/built/defaults.pack is older than the files; run go generate ./hatchkeys")
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
