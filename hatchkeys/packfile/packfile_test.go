package packfile_test

import (
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"dampstone/hatchkeys"
	"dampstone/hatchkeys/compact"
	"dampstone/hatchkeys/packfile"
)

const sources = `memory:
  cite: From memory
  standing: from-memory
`

const defaults = `caddis/adult:
  share: 1
  fed: 0.5
  wings: {roof: 100, source: memory}
`

// hatch is a sound hatch file. Its lines are counted from 1.
const hatch = `id: sedge
scientific: Examplus fictus
group: caddis
name: {en: Made-up sedge, es: Frigánea inventada}
abundance: 1
season:
  - {from: 05-01, to: 06-30, source: memory}
waters: {freestone: 1, stillwater: 0.1, source: memory}
water_c: {from: 8, to: 15, source: memory}
trend: {falling: 2, source: memory}
forms:
  - stage: adult
    length: {from: 6, to: 9, source: memory}
    colour: {body: ["#3a3a32"], wing: "#6f675c", source: memory}
    hours: {from: 20, to: 2, source: memory}
    doing: {resting: 60, fluttering: 40, source: memory}
`

// folder is a pack folder with the sound files, changed by edits of the form
// file, old, new.
func folder(t *testing.T, edits ...[3]string) fstest.MapFS {
	t.Helper()
	text := map[string]string{"sources/a.yaml": sources, "defaults/caddis.yaml": defaults, "test/sedge.yaml": hatch}
	for _, e := range edits {
		if strings.Count(text[e[0]], e[1]) != 1 {
			t.Fatalf("%q stands %d times in %s", e[1], strings.Count(text[e[0]], e[1]), e[0])
		}
		text[e[0]] = strings.Replace(text[e[0]], e[1], e[2], 1)
	}
	fsys := fstest.MapFS{}
	for name, s := range text {
		fsys[name] = &fstest.MapFile{Data: []byte(s)}
	}
	return fsys
}

// names tells whether the error text points at a line of a file.
func names(text, file string, line int) bool {
	at := regexp.MustCompile(fmt.Sprintf(`(?s)%s:(%d:|.*\bline %d:)`, regexp.QuoteMeta(file), line, line))
	return at.MatchString(text)
}

func TestSoundHatchIsReadWithItsDefaults(t *testing.T) {
	p, err := packfile.Read(folder(t), "test")
	if err != nil {
		t.Fatal(err)
	}
	if p.ID != "test" || len(p.Hatches) != 1 || len(p.Hatches[0].Forms) != 1 {
		t.Fatalf("got %+v", p)
	}
	h := p.Hatches[0]
	f := h.Forms[0]
	if h.Names["es"] != "Frigánea inventada" || h.Season[0].Weight != 1 {
		t.Errorf("names %v, season %+v; a season with no weight is the main one", h.Names, h.Season)
	}
	if f.ID != "adult" || f.Wings == nil || f.Wings.Of["roof"] != 100 || f.Fed != 0.5 {
		t.Errorf("form %+v lacks the defaults of caddis/adult", f)
	}
	if f.Hours == nil || f.Hours.From != 20 || f.Hours.To != 2 {
		t.Errorf("hours %+v, want 20 to 2 over midnight", f.Hours)
	}
	if want := (hatchkeys.Source{Cite: "From memory", Standing: "from-memory"}); p.Sources["memory"] != want {
		t.Errorf("sources %+v, want memory %+v", p.Sources, want)
	}
}

func TestFormOverridesItsDefaults(t *testing.T) {
	p, err := packfile.Read(folder(t, [3]string{"test/sedge.yaml", "  - stage: adult\n",
		"  - stage: adult\n    sex: female\n    fed: 0.9\n    wings: {spread: 1, source: memory}\n"}), "test")
	if err != nil {
		t.Fatal(err)
	}
	f := p.Hatches[0].Forms[0]
	if f.ID != "adult-female" || f.Fed != 0.9 || f.Wings.Of["spread"] != 1 || f.Wings.Of["roof"] != 0 {
		t.Errorf("form %+v, wings %+v", f, f.Wings)
	}
}

// TestBrokenFilesAreRefusedWithFileAndLine holds one mistake a row. A key that
// is missing altogether is a mistake of line 1.
func TestBrokenFilesAreRefusedWithFileAndLine(t *testing.T) {
	const sedge, caddis, cites = "test/sedge.yaml", "defaults/caddis.yaml", "sources/a.yaml"
	for _, tt := range []struct {
		name, file, old, new string
		line                 int
		want                 string // part of the message
	}{
		{"not YAML", sedge, "name: {en", "name: }{en", 3, "line"}, // the YAML library counts the line before
		{"unknown key of a hatch", sedge, "abundance: 1", "abundence: 1", 5, "abundence"},
		{"unknown key of a season", sedge, "{from: 05-01", "{form: 05-01", 7, "form"},
		{"unknown key of a form", sedge, "    hours:", "    hour:", 15, `"hour"`},
		{"unknown key of a length", sedge, "length: {from: 6", "length: {min: 6", 13, `"min"`},
		{"unknown key of a colour", sedge, "wing: \"#6f675c\"", "wings: \"#6f675c\"", 14, `"wings"`},
		{"key given twice", sedge, "group: caddis", "group: caddis\ngroup: midge", 4, "group"},
		{"a list where a mapping belongs", sedge, "length: {from: 6, to: 9, source: memory}", "length: [6, 9]", 13, "mapping"},
		{"weights as a list", sedge, "doing: {resting: 60, fluttering: 40, source: memory}", "doing: [resting]", 16, "mapping"},
		{"text for a number", sedge, "from: 6,", "from: six,", 13, "six"},
		{"id unlike the file name", sedge, "id: sedge", "id: other", 1, `"other"`},
		{"no scientific name", sedge, "scientific: Examplus fictus", "scientific: \"\"", 2, "scientific"},
		{"unknown group", sedge, "group: caddis", "group: caddisfly", 3, `"caddisfly"`},
		{"no Spanish name", sedge, ", es: Frigánea inventada", "", 4, `"es"`},
		{"no English name", sedge, "en: Made-up sedge, ", "", 4, `"en"`},
		{"abundance of nought", sedge, "abundance: 1", "abundance: 0", 5, "abundance"},
		{"abundance over 5", sedge, "abundance: 1", "abundance: 6", 5, "abundance"},
		{"abundance that is no number", sedge, "abundance: 1", "abundance: .nan", 5, "abundance"},
		{"no season", sedge, "season:\n  - {from: 05-01, to: 06-30, source: memory}\n", "", 1, "season"},
		{"day that does not exist", sedge, "to: 06-30", "to: 06-31", 7, `"06-31"`},
		{"month that does not exist", sedge, "from: 05-01", "from: 13-01", 7, `"13-01"`},
		{"month as a word", sedge, "from: 05-01", "from: May", 7, `"May"`},
		{"season over its main weight", sedge, "to: 06-30,", "to: 06-30, weight: 1.5,", 7, "weight"},
		{"season with a weight under nought", sedge, "to: 06-30,", "to: 06-30, weight: -1,", 7, "weight"},
		{"season with no source", sedge, "to: 06-30, source: memory", "to: 06-30", 7, "no source"},
		{"no waters", sedge, "waters: {freestone: 1, stillwater: 0.1, source: memory}\n", "", 1, "waters"},
		{"water over 1", sedge, "freestone: 1,", "freestone: 2,", 8, "freestone"},
		{"unknown kind of water", sedge, "freestone: 1,", "canal: 1,", 8, `"canal"`},
		{"waters with no source", sedge, "stillwater: 0.1, source: memory", "stillwater: 0.1", 8, "no source"},
		{"water temperature backwards", sedge, "from: 8, to: 15", "from: 15, to: 8", 9, "water_c"},
		{"water hotter than any river", sedge, "to: 15", "to: 59", 9, "water_c"},
		{"unknown trend", sedge, "falling: 2", "plunging: 2", 10, `"plunging"`},
		{"no forms", sedge, hatch[strings.Index(hatch, "forms:"):], "forms: []\n", 11, "forms"},
		{"unknown stage", sedge, "stage: adult", "stage: imago", 12, `"imago"`},
		{"stage without defaults", sedge, "stage: adult", "stage: pupa", 12, "caddis/pupa"},
		{"unknown sex", sedge, "stage: adult", "stage: adult\n    sex: queen", 12, `"queen"`},
		{"form given twice", sedge, "forms:\n", "forms:\n  - stage: adult\n    length: {from: 6, to: 9, source: memory}\n    colour: {body: [\"#3a3a32\"], source: memory}\n", 15, `"adult" stands twice`},
		{"no length", sedge, "    length: {from: 6, to: 9, source: memory}\n", "", 12, "length"},
		{"length backwards", sedge, "from: 6, to: 9", "from: 9, to: 6", 13, "length"},
		{"length of nought", sedge, "from: 6, to: 9", "from: 0, to: 9", 13, "length"},
		{"insect as long as an arm", sedge, "from: 6, to: 9", "from: 6, to: 900", 13, "length"},
		{"length with no source", sedge, "to: 9, source: memory", "to: 9", 13, "no source"},
		{"length with an unknown source", sedge, "to: 9, source: memory", "to: 9, source: hearsay", 13, `"hearsay"`},
		{"no colour", sedge, "    colour: {body: [\"#3a3a32\"], wing: \"#6f675c\", source: memory}\n", "", 12, "colour"},
		{"no body colour", sedge, `body: ["#3a3a32"]`, "body: []", 14, "body"},
		{"colour by name", sedge, `"#3a3a32"`, "olive", 14, `"olive"`},
		{"colour in capitals", sedge, `"#3a3a32"`, `"#3A3A32"`, 14, "#3A3A32"},
		{"short colour", sedge, `"#6f675c"`, `"#67c"`, 14, "#67c"},
		{"colour with no source", sedge, `wing: "#6f675c", source: memory`, `wing: "#6f675c"`, 14, "no source"},
		{"hour 25", sedge, "from: 20, to: 2", "from: 20, to: 25", 15, "hours"},
		{"unknown trait value", sedge, "resting: 60", "sleeping: 60", 16, `"sleeping"`},
		{"trait value given twice", sedge, "resting: 60", "fluttering: 60", 16, `"fluttering" stands twice`},
		{"weight under nought", sedge, "resting: 60", "resting: -60", 16, `"resting"`},
		{"weight that is no number", sedge, "resting: 60", "resting: often", 16, `"resting"`},
		{"weights that sum to nought", sedge, "resting: 60, fluttering: 40", "resting: 0, fluttering: 0", 16, "no weight"},
		{"weights with no source", sedge, "fluttering: 40, source: memory", "fluttering: 40", 16, "no source"},
		{"share of nought", sedge, "stage: adult", "stage: adult\n    share: 0", 12, "share"},
		{"fed over 1", sedge, "stage: adult", "stage: adult\n    fed: 2", 12, "fed"},
		{"length that is no number", sedge, "from: 6,", "from: .nan,", 13, "NaN"},
		{"endless length", sedge, "to: 9", "to: .inf", 13, "+Inf"},
		{"length without an end", sedge, "from: 6, to: 9,", "from: 6,", 13, "to is missing"},
		{"length without a beginning", sedge, "from: 6, to: 9,", "to: 9,", 13, "from is missing"},
		{"length with an empty end", sedge, "to: 9,", "to: ,", 13, "to is missing"},
		{"water temperature that is no number", sedge, "from: 8,", "from: .nan,", 9, "NaN"},
		{"endlessly cold water", sedge, "from: 8,", "from: -.inf,", 9, "-Inf"},
		{"water temperature without an end", sedge, "from: 8, to: 15,", "from: 8,", 9, "to is missing"},
		{"hours that are no number", sedge, "to: 2,", "to: .nan,", 15, "NaN"},
		{"hours without a beginning", sedge, "from: 20, to: 2,", "to: 2,", 15, "from is missing"},
		{"season without an end", sedge, "from: 05-01, to: 06-30,", "from: 05-01,", 7, "month and day"},
		{"season with a weight of nought", sedge, "to: 06-30,", "to: 06-30, weight: 0,", 7, "weight"},
		{"season that is no number", sedge, "to: 06-30,", "to: 06-30, weight: .nan,", 7, "weight"},
		{"season as text", sedge, "  - {from: 05-01, to: 06-30, source: memory}", "  - May", 7, "mapping"},
		{"empty season", sedge, "  - {from: 05-01, to: 06-30, source: memory}", "  -", 6, "season is empty"},
		{"weight that is not finite", sedge, "resting: 60", "resting: .inf", 16, "resting"},
		{"water that is no number", sedge, "freestone: 1,", "freestone: .nan,", 8, "freestone"},
		{"name that is only blanks", sedge, "en: Made-up sedge", "en: ' '", 4, `"en"`},
		{"empty colour", sedge, `"#3a3a32"`, `""`, 14, "colour"},
		{"unknown look", sedge, "abundance: 1", "abundance: 1\nlike: butterfly", 6, `"butterfly"`},
		{"share that is no number", sedge, "stage: adult", "stage: adult\n    share: .nan", 12, "share"},
		{"unknown tactic", sedge, "    hours:", "    tactics: [twitch, juggle]\n    hours:", 15, `"juggle"`},
		{"empty tactic", sedge, "    hours:", "    tactics: [twitch, \"\"]\n    hours:", 15, `""`},
		{"tactic given twice", sedge, "    hours:", "    tactics: [twitch, at-dusk, twitch]\n    hours:", 15, `"twitch" stands twice`},
		{"two documents in a file", sedge, "    doing: {resting: 60, fluttering: 40, source: memory}\n", "---\nid: sedge\n", 16, "second document"},
		{"unknown trait value in the defaults", caddis, "roof: 100", "tent: 100", 4, `"tent"`},
		{"defaults with no source", caddis, ", source: memory", "", 4, "no source"},
		{"defaults with an unknown source", caddis, "source: memory", "source: hearsay", 4, `"hearsay"`},
		{"defaults with a share of nought", caddis, "share: 1", "share: 0", 2, "share"},
		{"defaults with an unknown tactic", caddis, "fed: 0.5", "tactics: [juggle]", 3, `"juggle"`},
		{"defaults with hours that are no number", caddis, "fed: 0.5", "hours: {from: .nan, to: 2, source: memory}", 3, "NaN"},
		{"defaults for an unknown group", caddis, "caddis/adult:", "caddisfly/adult:", 1, "caddisfly/adult"},
		{"defaults for an unknown stage", caddis, "caddis/adult:", "caddis/imago:", 1, "caddis/imago"},
		{"defaults with a length", caddis, "fed: 0.5", "length: {from: 6, to: 9, source: memory}", 1, "belong in the hatch files"},
		{"defaults with nothing in them", caddis, defaults[strings.Index(defaults, "\n"):], "\n", 1, "mapping"},
		{"defaults as a list", caddis, defaults, "- caddis/adult\n", 1, "mapping"},
		{"unknown standing of a source", cites, "standing: from-memory", "standing: certain", 1, `"certain"`},
		{"source without a citation", cites, "cite: From memory", `cite: ""`, 1, "citation"},
		{"source given twice", cites, "  standing: from-memory\n", "  standing: from-memory\nmemory:\n  cite: Again\n  standing: from-memory\n", 4, `"memory"`},
		{"unknown key in the defaults", caddis, "fed: 0.5", "feed: 0.5", 3, `"feed"`},
		{"unknown key in the sources", cites, "standing:", "trust:", 3, "trust"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p, err := packfile.Read(folder(t, [3]string{tt.file, tt.old, tt.new}), "test")
			if err == nil {
				t.Fatalf("no error, read %+v", p)
			}
			if !names(err.Error(), tt.file, tt.line) {
				t.Errorf("%q does not name %s, line %d", err, tt.file, tt.line)
			}
			if !strings.Contains(err.Error(), tt.want) {
				t.Errorf("%q does not say %q", err, tt.want)
			}
		})
	}
}

func TestBrokenFoldersAreRefused(t *testing.T) {
	second := func(name, text string) fstest.MapFS {
		f := folder(t)
		f[name] = &fstest.MapFile{Data: []byte(text)}
		return f
	}
	for _, tt := range []struct {
		name   string
		fsys   fstest.MapFS
		region string
		want   []string
	}{
		{"region without files", folder(t), "atlantis", []string{"atlantis"}},
		{"empty hatch file", second("test/empty.yaml", ""), "test", []string{"test/empty.yaml"}},
		{"source in two files", second("sources/b.yaml", sources), "test", []string{"sources/b.yaml:1:", `"memory"`, "sources/a.yaml:1 "}},
		{"defaults in two files", second("defaults/z.yaml", defaults), "test", []string{"defaults/z.yaml:1:", `"caddis/adult"`, "defaults/caddis.yaml:1 "}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := packfile.Read(tt.fsys, tt.region)
			if err == nil {
				t.Fatal("no error")
			}
			for _, w := range tt.want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%q does not say %s", err, w)
				}
			}
		})
	}
}

func TestAllMistakesOfAllFilesComeTogether(t *testing.T) {
	fsys := folder(t,
		[3]string{"test/sedge.yaml", "from: 6, to: 9", "from: 9, to: 6"},
		[3]string{"test/sedge.yaml", "resting: 60", "sleeping: 60"})
	fsys["test/other.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(strings.Replace(hatch, "id: sedge", "id: other", 1), "freestone: 1,", "canal: 1,", 1))}
	_, err := packfile.Read(fsys, "test")
	if err == nil {
		t.Fatal("no error")
	}
	for _, want := range []string{"test/sedge.yaml:13:", "test/sedge.yaml:16:", "test/other.yaml:8:"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q lacks %s", err, want)
		}
	}
}

func TestAMistakeInSharedFilesIsReportedOnce(t *testing.T) {
	fsys := folder(t, [3]string{"defaults/caddis.yaml", "roof: 100", "tent: 100"}, [3]string{"sources/a.yaml", "standing: from-memory", "standing: certain"})
	fsys["test/other.yaml"] = &fstest.MapFile{Data: []byte(strings.Replace(hatch, "id: sedge", "id: other", 1))}
	_, err := packfile.Read(fsys, "test")
	if err == nil {
		t.Fatal("no error")
	}
	if got := strings.Split(err.Error(), "\n"); len(got) != 2 {
		t.Errorf("%d mistakes, want the tent and the standing alone:\n%v", len(got), err)
	}
}

// packs is the folder of the real packs.
var packs = os.DirFS("../packs")

func TestRealPacksAreReadTheSameTwice(t *testing.T) {
	for _, region := range hatchkeys.PackFolders {
		a, err := packfile.Read(packs, region)
		if err != nil {
			t.Fatal(err)
		}
		b, err := packfile.Read(packs, region)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(a, b) {
			t.Errorf("pack %q differs between two readings", region)
		}
		if _, err := hatchkeys.NewKey(a); err != nil {
			t.Errorf("pack %q makes no key: %v", region, err)
		}
	}
}

// readBuilt reads a compiled file.
func readBuilt(t *testing.T, name string, v any) {
	t.Helper()
	raw, err := os.ReadFile("../packs/built/" + name + ".pack")
	if err != nil {
		t.Fatal(err)
	}
	if err := compact.Unmarshal(raw, v); err != nil {
		t.Fatalf("%s: %v: run go generate ./hatchkeys", name, err)
	}
}

// TestCompiledPacksAreFresh compares the embedded files with the hand-edited
// ones; go generate ./hatchkeys compiles them anew.
func TestCompiledPacksAreFresh(t *testing.T) {
	for _, region := range hatchkeys.PackFolders {
		p, err := packfile.Read(packs, region)
		if err != nil {
			t.Fatal(err)
		}
		var got hatchkeys.Pack
		readBuilt(t, region, &got)
		if !reflect.DeepEqual(&got, p) {
			t.Errorf("packs/built/%s.pack is stale: run go generate ./hatchkeys", region)
		}
	}
}

// TestEveryValueOfTheCompiledPacksHasAKnownSource looks at the compiled files
// themselves: every range, set of weights and colour names a source that the
// pack carries, and the pack carries no source that nothing names.
func TestEveryValueOfTheCompiledPacksHasAKnownSource(t *testing.T) {
	for _, region := range hatchkeys.PackFolders {
		var compiled hatchkeys.Pack
		readBuilt(t, region, &compiled)
		raw, err := json.Marshal(compiled)
		if err != nil {
			t.Fatal(err)
		}
		var pack struct {
			Sources map[string]hatchkeys.Source
			Hatches []any
		}
		if err := json.Unmarshal(raw, &pack); err != nil {
			t.Fatal(err)
		}
		used := map[string]bool{}
		var walk func(at string, v any)
		walk = func(at string, v any) {
			switch v := v.(type) {
			case []any:
				for i, x := range v {
					walk(fmt.Sprintf("%s[%d]", at, i), x)
				}
			case map[string]any:
				_, span := v["from"]
				_, weights := v["of"]
				_, colour := v["body"]
				if span || weights || colour {
					id, _ := v["source"].(string)
					if s, ok := pack.Sources[id]; !ok || s.Cite == "" {
						t.Errorf("%s: %s has source %q, which the pack does not carry", region, at, id)
					}
					used[id] = true
				}
				for k, x := range v {
					walk(at+"."+k, x)
				}
			}
		}
		walk("hatches", pack.Hatches)
		for id := range pack.Sources {
			if !used[id] {
				t.Errorf("%s: source %q is named by nothing", region, id)
			}
		}
		if len(used) == 0 {
			t.Errorf("%s: no source is named", region)
		}
	}
}
