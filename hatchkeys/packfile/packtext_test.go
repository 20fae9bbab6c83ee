package packfile_test

import (
	"os"
	"reflect"
	"testing"
	"testing/fstest"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/packfile"
	"dampstone/hatchkeys/packtext"
)

// What a reader is given to start a contribution from is a pack file that
// says what they entered.
func TestALocalHatchIsWrittenAsAPackFile(t *testing.T) {
	raw := `{"name":{"en":"Invented \"red\" drake: a <b>#1</b>"},"scientific":"Examplus fictus","group":"terrestrial","like":"beetle","abundance":0.6,
		"season":[{"from":"12-20","to":"01-10"},{"from":"06-01","to":"06-02","weight":0.5}],"waters":{"of":{"stillwater":1,"tailwater":0.5}},"water_c":{"from":4,"to":9.5},"trend":{"of":{"rising":2}},
		"forms":[{"stage":"adult","sex":"female","share":2,"fed":0.7,"length":{"from":5.5,"to":7},"hours":{"from":21,"to":2},"colour":{"body":["#8a4526","#2b2825"],"wing":"#cccccc","dark":"#111111"},
			"wings":{"of":{"none":1}},"tails":{"of":{"0":1}},"doing":{"of":{"resting":2,"blown-in":1}},"where":{"of":{"edge":1}},"shucks":{"of":{"none":1}},"gills":{"of":{"no":1}},"fish":{"of":{"edge":1}},"tactics":["twitch"]},
			{"stage":"nymph","length":{"from":6,"to":8},"colour":{"body":["#7f9440"]}}]}`
	want, bad := hatchkeys.ParseLocal([]byte(raw))
	if bad != nil {
		t.Fatal(bad)
	}
	text := packtext.PackText(want, "examplus")
	fsys := fstest.MapFS{
		"mine/examplus.yaml": {Data: []byte(text)},
		"sources/own.yaml":   {Data: []byte("own-examplus: {cite: Somebody, standing: common-practice}\n")},
	}
	for _, folder := range []string{"defaults", "sources"} {
		files, err := os.ReadDir("../packs/" + folder)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			body, err := os.ReadFile("../packs/" + folder + "/" + f.Name())
			if err != nil {
				t.Fatal(err)
			}
			fsys[folder+"/"+f.Name()] = &fstest.MapFile{Data: body}
		}
	}
	p, err := packfile.Read(fsys, "mine")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	got := p.Hatches[0]
	if got.Names["en"] != want.Names["en"] || got.Scientific != want.Scientific || got.Like != want.Like || got.Abundance != want.Abundance ||
		len(got.Season) != 2 || got.Season[1].Weight != 0.5 || !reflect.DeepEqual(got.Waters.Of, want.Waters.Of) || got.WaterC.To != 9.5 || got.Trend.Of["rising"] != 2 {
		t.Errorf("got %+v\n%s", got, text)
	}
	for i, f := range want.Forms {
		g := got.Forms[i]
		if g.ID != f.ID || g.Length.From != f.Length.From || !reflect.DeepEqual(g.Colour.Body, f.Colour.Body) {
			t.Errorf("form %d: %+v", i, g)
		}
	}
	f, g := want.Forms[0], got.Forms[0]
	if g.Share != f.Share || g.Fed != f.Fed || g.Hours.To != 2 || !reflect.DeepEqual(g.Tactics, f.Tactics) || g.Colour.Wing != f.Colour.Wing ||
		!reflect.DeepEqual(g.Doing.Of, f.Doing.Of) || !reflect.DeepEqual(g.Gills.Of, f.Gills.Of) || !reflect.DeepEqual(g.Fish.Of, f.Fish.Of) {
		t.Errorf("got %+v\n%s", g, text)
	}
}

func TestSlug(t *testing.T) {
	for name, want := range map[string]string{"Examplus fictus": "examplus-fictus", "  ¡Ñandú 2!  ": "and-2", "": "hatch", "蜉蝣": "hatch"} {
		if got := packtext.Slug(name); got != want {
			t.Errorf("Slug(%q) = %q, want %q", name, got, want)
		}
	}
}
