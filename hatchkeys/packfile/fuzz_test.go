package packfile_test

import (
	"testing"
	"testing/fstest"

	"dampstone/hatchkeys/packfile"
)

// FuzzRead: any text in place of a file gives a pack or says what is wrong.
func FuzzRead(f *testing.F) {
	f.Add("test/sedge.yaml", hatch)
	f.Add("sources/a.yaml", sources)
	f.Add("defaults/caddis.yaml", defaults)
	for _, text := range []string{"", "{}", "[]", "id: &a [*a]", "id: sedge\nid: sedge\n", "- - - -", "id: sedge\nforms: {a: b}\n", "season: [{from: 99-99, to: 0, source: memory}]", "a: !!binary x", "\xff", "? {a: b}\n: c\n"} {
		f.Add("test/sedge.yaml", text)
		f.Add("defaults/caddis.yaml", text)
		f.Add("sources/a.yaml", text)
	}
	f.Fuzz(func(t *testing.T, name, text string) {
		fsys := fstest.MapFS{}
		for at, sound := range map[string]string{"sources/a.yaml": sources, "defaults/caddis.yaml": defaults, "test/sedge.yaml": hatch} {
			if at == name {
				sound = text
			}
			fsys[at] = &fstest.MapFile{Data: []byte(sound)}
		}
		p, err := packfile.Read(fsys, "test")
		if (p == nil) == (err == nil) {
			t.Errorf("%s %q gives %v and %v", name, text, p, err)
		}
	})
}
