package hatchkeys_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/lucasb-eyer/go-colorful"

	"dampstone/hatchkeys"
)

// flyDay is the day of the leap year 2000 of a month and day such as "07-20".
func flyDay(t *testing.T, monthDay string) int {
	t.Helper()
	d, err := time.Parse("2006-01-02", "2000-"+monthDay)
	if err != nil {
		t.Fatalf("month and day %q: %v", monthDay, err)
	}
	return d.YearDay()
}

// flySeason is the weight of the season of h on a day, 0 outside every spell.
func flySeason(t *testing.T, h *hatchkeys.Hatch, day int) float64 {
	t.Helper()
	var w float64
	for _, s := range h.Season {
		from, to := flyDay(t, s.From), flyDay(t, s.To)
		in := from <= day && day <= to
		if from > to {
			in = day >= from || day <= to
		}
		if in {
			w = max(w, s.Weight)
		}
	}
	return w
}

// flyTop is the heaviest value of w.
func flyTop(w *hatchkeys.Weights) string {
	best, at := "", -1.0
	if w != nil {
		for v, x := range w.Of {
			if x > at || x == at && v < best {
				best, at = v, x
			}
		}
	}
	return best
}

// flyAbout tells whether hour lies in r, which may run over midnight.
func flyAbout(r *hatchkeys.Range, hour float64) bool {
	if r == nil {
		return true
	}
	if r.From <= r.To {
		return r.From <= hour && hour <= r.To
	}
	return hour >= r.From || hour <= r.To
}

func flyHatch(t *testing.T, k *hatchkeys.Key, id string) *hatchkeys.Hatch {
	t.Helper()
	h := k.Hatch(id)
	if h == nil {
		t.Fatalf("the pack has no hatch %q", id)
	}
	return h
}

func flyForm(t *testing.T, h *hatchkeys.Hatch, id string) *hatchkeys.Form {
	t.Helper()
	f := h.Form(id)
	if f == nil {
		t.Fatalf("hatch %q has no form %q", h.ID, id)
	}
	return f
}

// Records are TraitRecord_IDs of Vieira et al. 2006, A database of lotic
// invertebrate traits for North America, US Geological Survey Data Series 187.
const (
	flyDS187  = "USGS Data Series 187, records "
	flyCO     = "Herrmann, Ruiter and Unzicker 1986, Southwestern Naturalist 31:421-457, as quoted by Aquatic Insects of Gunnison County, Colorado"
	flyAlta   = "University of Alberta Museums, species page "
	flyIdaho  = "Digital Atlas of Idaho, Idaho State University, page "
	flyBrown  = "Brown, Wooster, Johnson and DeBano 2012, River Research and Applications 28:347-358"
	flyMendot = "Bouchard and Ferrington 2009, Environmental Entomology 38:250-259 (Minnesota)"
)

// TestWestNAFliesFlyWhenPublished checks that adults are in season on every
// published date, and that dates at least six weeks from any published one
// stay outside every spell.
func TestWestNAFliesFlyWhenPublished(t *testing.T) {
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		hatch  string
		on     []string
		off    []string
		source string
	}{
		{"brachycentrus-occidentalis", []string{"04-16", "05-15", "06-15", "07-06"}, []string{"09-01", "01-15"}, flyCO + "; Montana April to June, " + flyDS187 + "9327"},
		{"brachycentrus-americanus", []string{"07-15", "08-15", "09-15", "10-15"}, []string{"02-01", "04-15"}, flyDS187 + "9326 (Montana), 9237 (Oregon)"},
		{"hydropsyche", []string{"05-15", "06-15", "07-15", "08-15", "09-15"}, []string{"01-15", "03-01", "11-30"}, flyDS187 + "9287 (Montana, species pooled)"},
		{"cheumatopsyche", []string{"06-15", "07-15", "08-15"}, []string{"02-15", "11-15"}, flyDS187 + "9377 (Oregon), 9286 (Montana)"},
		{"rhyacophila", []string{"03-22", "06-15", "09-20", "10-15", "11-15"}, []string{"01-15"}, flyCO + " (R. coloradensis); " + flyDS187 + "8722, 9269 (Montana)"},
		{"glossosoma", []string{"02-15", "04-15", "05-15", "06-15", "07-15", "11-15"}, []string{"12-31"}, flyDS187 + "9273, 9274, 9278 (Montana), 9366 (Oregon)"},
		{"lepidostoma", []string{"06-15", "07-15", "08-15", "09-15"}, []string{"02-01", "12-01"}, flyDS187 + "9322, 9323, 9325 (Montana), 9389, 9392 (Oregon)"},
		{"dicosmoecus", []string{"07-26", "08-25", "09-05", "10-15", "11-14"}, []string{"02-01", "05-15"}, flyDS187 + "8697 (D. gilvipes); " + flyAlta + "Dicosmoecus gilvipes"},
		{"onocosmoecus", []string{"08-15", "09-15", "10-15"}, []string{"04-15", "06-01"}, flyDS187 + "9310 (Montana), 9384 (Oregon)"},
		{"arctopsyche", []string{"06-15", "07-15", "08-10"}, []string{"03-01", "10-15"}, flyDS187 + "8768 (Colorado), 9284 (Montana); E.H. Strickland Entomological Museum, family page Arctopsychidae"},
		{"helicopsyche", []string{"04-15", "05-15", "07-15"}, []string{"01-15", "12-01"}, flyDS187 + "9329 (Montana); " + flyAlta + "Helicopsyche borealis"},
		{"limnephilus", []string{"06-12", "07-10", "08-28", "09-10"}, []string{"02-15", "04-15"}, flyCO + " (L. sublunatus, L. coloradensis, L. abbreviatus)"},
		{"mystacides", []string{"05-15", "07-15", "08-15", "09-15"}, []string{"02-01", "12-01"}, flyDS187 + "9313-9315 (Montana)"},
		{"neophylax", []string{"09-15", "10-15", "11-15"}, []string{"02-15", "06-15"}, flyDS187 + "9307, 9308 (Montana), 9387 (Oregon)"},
		{"chironomidae", []string{"12-15", "01-15", "02-15"}, nil, "Anderson, Bouchard and Ferrington 2008, NABS abstract P2839: 53 species out in December to February, Kansas"},
		{"diamesa", []string{"10-15", "12-15", "04-15", "05-15"}, []string{"07-15", "08-15"}, flyMendot},
		{"enallagma", []string{"05-28", "06-04", "08-15", "08-27"}, []string{"02-01", "12-01"}, flyAlta + "Enallagma boreale; " + flyIdaho + "Enallagma cyathigerum"},
		{"ophiogomphus", []string{"05-20", "07-15", "09-10"}, []string{"02-01", "12-01"}, flyIdaho + "Ophiogomphus severus; E.H. Strickland Entomological Museum: May to September"},
		{"melanoplus", []string{"06-20", "08-15", "10-20"}, []string{"02-01", "04-15"}, "Montana Field Guide, Melanoplus sanguinipes; University of Wyoming Entomology, Melanoplus femurrubrum"},
		{"sialis", []string{"05-25", "06-25"}, []string{"10-01", "01-15"}, "macroinvertebrates.org, genus Sialis: late spring and early summer"},
	} {
		t.Run(tt.hatch, func(t *testing.T) {
			h := flyHatch(t, k, tt.hatch)
			for _, d := range tt.on {
				if flySeason(t, h, flyDay(t, d)) == 0 {
					t.Errorf("no adults on %s; source: %s", d, tt.source)
				}
			}
			for _, d := range tt.off {
				if w := flySeason(t, h, flyDay(t, d)); w != 0 {
					t.Errorf("adults on %s with weight %g, far from every published date; source: %s", d, w, tt.source)
				}
			}
		})
	}
}

// TestWestNAFliesHavePublishedSizes checks lengths in mm. "within" wants the
// pack's range to hold all of the published one.
func TestWestNAFliesHavePublishedSizes(t *testing.T) {
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name        string
		hatch, form string
		holds       [2]float64 // the pack's range holds this one; zero: not tested
		under       float64    // the pack's range ends at or under this; zero: not tested
		source      string
	}{
		{"sister sedges are small", "cheumatopsyche", "adult", [2]float64{}, 9, flyDS187 + "2511, 2526, 2528: works on adults class them under 9 mm"},
		{"spotted sedges reach the middle class", "hydropsyche", "adult", [2]float64{9, 9}, 16, flyDS187 + "2563, 2564: works on adults class them at 9-16 mm"},
		{"a summer grannom's body is shorter than its longest fore wing", "brachycentrus-americanus", "adult", [2]float64{7, 7}, 13, "Flint 1984, Smithsonian Contributions to Zoology 398, as quoted by the Encyclopedia of Life, page 604114: fore wings 7-13 mm"},
		{"an October caddis of 30 mm body plus wing has a shorter body", "dicosmoecus", "adult", [2]float64{}, 30, "Mason 1995, University of Oregon"},
		{"a pupa is about as long as the larva out of its case", "dicosmoecus", "pupa", [2]float64{25, 25}, 36, "Mason 1995, University of Oregon: 25 mm; " + flyDS187 + "321, 8697: 26-36 mm, may include the case"},
		{"snail-case caddis are no longer than their larvae", "helicopsyche", "adult", [2]float64{}, 8, flyDS187 + "273, 13317: 7-8 mm"},
		{"saddle-case caddis are no longer than their larvae", "glossosoma", "adult", [2]float64{}, 12, flyDS187 + "267, 268, 1096, 1133: 4-12 mm"},
		{"grey spotted sedges are no longer than their larvae", "arctopsyche", "adult", [2]float64{}, 30, flyDS187 + "8768, 10116: 20-30 mm"},
		{"winter midges are no longer than their larvae", "diamesa", "adult", [2]float64{}, 10, flyDS187 + "10212: 10 mm"},
		{"lake midges are no longer than their larvae", "chironomus", "pupa", [2]float64{}, 18, flyDS187 + "5732: 18 mm"},
		{"black flies average 3.2 mm and stay under 6", "simulium", "adult", [2]float64{3.2, 3.2}, 6, "Animal Diversity Web, University of Michigan, Simulium venustum"},
		{"boreal bluets", "enallagma", "adult-male", [2]float64{28, 36}, 40, flyAlta + "Enallagma boreale"},
		{"northern bluets", "enallagma", "adult-female", [2]float64{26, 33}, 40, flyIdaho + "Enallagma cyathigerum"},
		{"bluet nymphs", "enallagma", "nymph-ashore", [2]float64{16, 20}, 23, flyIdaho + "Enallagma cyathigerum"},
		{"snaketails", "ophiogomphus", "adult", [2]float64{50, 52}, 55, "Abbott, OdonataCentral, Ophiogomphus severus: 50-52 mm"},
		{"snaketail nymphs", "ophiogomphus", "nymph-ashore", [2]float64{25, 27}, 28, flyIdaho + "Ophiogomphus severus; " + flyDS187 + "2919: 28 mm"},
		{"migratory grasshopper males", "melanoplus", "adult", [2]float64{18, 26}, 35, "Montana Field Guide, Melanoplus sanguinipes"},
		{"migratory grasshopper females", "melanoplus", "adult", [2]float64{20, 29}, 35, "Montana Field Guide, Melanoplus sanguinipes"},
		{"alderflies", "sialis", "adult", [2]float64{13, 18}, 20, "The Canadian Encyclopedia, Alderfly"},
		{"ants up to the middle of carpenter ant workers", "ant", "adult", [2]float64{7, 10}, 13, "Encyclopedia of Life, page 467589: workers of Camponotus modoc 7-13 mm"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			l := flyForm(t, flyHatch(t, k, tt.hatch), tt.form).Length
			if tt.holds[1] > 0 && (l.From > tt.holds[0] || l.To < tt.holds[1]) {
				t.Errorf("%s %s is %g-%g mm, want it to hold %g-%g; source: %s", tt.hatch, tt.form, l.From, l.To, tt.holds[0], tt.holds[1], tt.source)
			}
			if l.To > tt.under {
				t.Errorf("%s %s reaches %g mm, want at most %g; source: %s", tt.hatch, tt.form, l.To, tt.under, tt.source)
			}
		})
	}
}

// TestWestNAFliesBehaveAsPublished checks single facts that are neither a date
// nor a length.
func TestWestNAFliesBehaveAsPublished(t *testing.T) {
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	hatch := func(id string) *hatchkeys.Hatch { return flyHatch(t, k, id) }
	form := func(id, f string) *hatchkeys.Form { return flyForm(t, hatch(id), f) }
	for _, tt := range []struct {
		fact   string
		wrong  func() string // what is wrong, or empty
		source string
	}{
		{"spring grannoms swarm about 16:00", func() string {
			if !flyAbout(form("brachycentrus-occidentalis", "adult").Hours, 16) {
				return "no adults at 16:00"
			}
			return ""
		}, flyDS187 + "10008 (Idaho)"},
		{"the spring grannom comes before the summer one", func() string {
			a, b := hatch("brachycentrus-occidentalis"), hatch("brachycentrus-americanus")
			if x, y := flyDay(t, a.Season[0].From), flyDay(t, b.Season[0].From); x >= y {
				return fmt.Sprintf("main spells start on day %d and %d", x, y)
			}
			return ""
		}, flyCO},
		{"snail-case caddis lay in the evening, not in the morning", func() string {
			h := form("helicopsyche", "egg-layer-female").Hours
			if !flyAbout(h, 20) || flyAbout(h, 9) {
				return fmt.Sprintf("hours %+v", h)
			}
			return ""
		}, flyAlta + "Helicopsyche borealis"},
		{"snail-case caddis are pale straw yellow", func() string {
			c, err := colorful.Hex(form("helicopsyche", "adult").Colour.Body[0])
			if err != nil {
				return err.Error()
			}
			if hue, _, light := c.Hcl(); light < 0.65 || hue < 60 || hue > 110 {
				return fmt.Sprintf("hue %.0f, lightness %.2f", hue, light)
			}
			return ""
		}, flyAlta + "Helicopsyche borealis"},
		{"October caddis are orange", func() string {
			for _, hex := range form("dicosmoecus", "adult").Colour.Body {
				c, err := colorful.Hex(hex)
				if err != nil {
					return err.Error()
				}
				if hue, chroma, _ := c.Hcl(); hue < 40 || hue > 90 || chroma < 0.3 {
					return fmt.Sprintf("%s: hue %.0f, chroma %.2f", hex, hue, chroma)
				}
			}
			return ""
		}, "iNaturalist guide page 117860, October Caddis Dicosmoecus (Oregon)"},
		{"no level trend where taking most of the flow moved no date", func() string {
			for _, id := range []string{"glossosoma", "helicopsyche"} {
				if hatch(id).Trend != nil {
					return id + " has a trend"
				}
			}
			return ""
		}, flyBrown},
		{"late-summer giant sedges lay above the water at the edge", func() string {
			f := form("onocosmoecus", "egg-layer-female")
			if got := flyTop(f.Where); got != "edge" || f.Where.Of["riffle"] > 0 {
				return "mostly at " + got
			}
			return ""
		}, "Hoffmann and Resh 2003, Freshwater Biology 48:1064-1077"},
		{"summer fliers live in lakes", func() string {
			if got := flyTop(&hatch("limnephilus").Waters); got != "stillwater" {
				return got
			}
			return ""
		}, flyCO},
		{"grey spotted sedges live in clear cold running water", func() string {
			w := hatch("arctopsyche").Waters
			if flyTop(&w) != "freestone" || w.Of["stillwater"] > 0.1 {
				return fmt.Sprint(w.Of)
			}
			return ""
		}, "E.H. Strickland Entomological Museum, family page Arctopsychidae"},
		{"winter midges stop as the water warms past 10 C", func() string {
			if c := hatch("diamesa").WaterC; c == nil || c.To != 10 {
				return fmt.Sprintf("%+v", c)
			}
			return ""
		}, flyMendot},
		{"winter midges leave their skins in the film", func() string {
			if got := flyTop(form("diamesa", "pupa").Shucks); got != "film" {
				return got
			}
			return ""
		}, flyMendot},
		{"alderflies hold their wings like a roof and have no tails", func() string {
			f := form("sialis", "adult")
			if flyTop(f.Wings) != "roof" || flyTop(f.Tails) != "0" {
				return fmt.Sprint(f.Wings.Of, f.Tails.Of)
			}
			return ""
		}, "Missouri Department of Conservation, Field Guide, Alderflies"},
		{"alderflies are about at midday", func() string {
			if !flyAbout(form("sialis", "adult").Hours, 12) {
				return "not at 12:00"
			}
			return ""
		}, "The Canadian Encyclopedia, Alderfly"},
		{"male bluets are blue", func() string {
			c, err := colorful.Hex(form("enallagma", "adult-male").Colour.Body[0])
			if err != nil {
				return err.Error()
			}
			if hue, _, _ := c.Hcl(); hue < 220 || hue > 290 {
				return fmt.Sprintf("hue %.0f", hue)
			}
			return ""
		}, flyIdaho + "Enallagma cyathigerum"},
		{"nothing of the alderfly hatches from the water", func() string {
			h := hatch("sialis")
			if i := slices.IndexFunc(h.Forms, func(f hatchkeys.Form) bool {
				return f.Stage == hatchkeys.Pupa || f.Stage == hatchkeys.Emerger || f.Stage == hatchkeys.NymphAshore
			}); i >= 0 {
				return "has " + h.Forms[i].ID
			}
			return ""
		}, "Encyclopedia article Alderfly (stored copy): pupates on land"},
	} {
		t.Run(tt.fact, func(t *testing.T) {
			if wrong := tt.wrong(); wrong != "" {
				t.Errorf("%s; source: %s", wrong, tt.source)
			}
		})
	}
}

// TestWestNAFliesAreNamedFromPublishedMarks answers as an angler would who
// meets an insect with the published size, date and look.
func TestWestNAFliesAreNamedFromPublishedMarks(t *testing.T) {
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name, evidence string
		want           []string // any of these may lead
		source         string
	}{
		{"big orange roof-winged insect in October",
			`{"region":"west-na","month":10,"day":10,"water":"freestone","wings":"roof","tails":"0","length_mm":23,"colour":"#d08a4a"}`,
			[]string{"dicosmoecus"}, "iNaturalist guide page 117860; " + flyDS187 + "8697"},
		{"orange-brown roof-winged insect of 17 mm on a spring creek in mid August",
			`{"region":"west-na","month":8,"day":15,"water":"spring-creek","wings":"roof","tails":"0","length_mm":17,"colour":"#c8843f"}`,
			[]string{"onocosmoecus"}, flyDS187 + "9310 (Montana, August to September)"},
		{"small dark roof-winged swarm at 16:00 in May",
			`{"region":"west-na","month":5,"day":5,"water":"freestone","wings":"roof","tails":"0","length_mm":8,"colour":"#3a3a32","hour":16,"doing":"swarming"}`,
			[]string{"brachycentrus-occidentalis"}, flyDS187 + "9327, 10008"},
		{"blue insect of 31 mm by a lake in July",
			`{"region":"west-na","month":7,"water":"stillwater","wings":["upright","flat"],"tails":"0","length_mm":31,"colour":"#4a8fd0"}`,
			[]string{"enallagma"}, flyAlta + "Enallagma boreale"},
		{"50 mm insect with spread wings by a river in July",
			`{"region":"west-na","month":7,"water":"freestone","wings":"spread","tails":"0","length_mm":51}`,
			[]string{"ophiogomphus"}, flyIdaho + "Ophiogomphus severus"},
		{"24 mm hopper in August",
			`{"region":"west-na","month":8,"water":"freestone","doing":"hopping","where":"bank-plants","tails":"0","length_mm":24}`,
			[]string{"melanoplus"}, "University of Wyoming Entomology, Melanoplus femurrubrum"},
		{"dark two-winged insect of 6 mm on a tailwater of 4 C in January",
			`{"region":"west-na","month":1,"water":"tailwater","water_c":4,"wings":"flat","tails":"0","length_mm":6,"colour":"#2e2c2a","hour":13,"doing":"skating"}`,
			[]string{"diamesa", "chironomidae"}, flyMendot},
		{"dark roof-winged insect of 15 mm in the bushes by a lake at midday in June",
			`{"region":"west-na","month":6,"water":"stillwater","wings":"roof","tails":"0","length_mm":15,"colour":"#2c2825","hour":12,"where":"bank-plants","doing":"resting"}`,
			[]string{"sialis"}, "The Canadian Encyclopedia, Alderfly; Missouri Department of Conservation, Alderflies"},
		{"pale small roof-winged insect on a spring creek on a July evening",
			`{"region":"west-na","month":7,"water":"spring-creek","wings":"roof","tails":"0","length_mm":5,"colour":"#d8c48a","hour":20,"where":"edge"}`,
			[]string{"helicopsyche"}, flyAlta + "Helicopsyche borealis"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, e, err := hatchkeys.ParseJSON([]byte(tt.evidence))
			if err != nil {
				t.Fatal(err)
			}
			r := k.Read(e)
			lead := r.Leader()
			if lead == nil || !slices.Contains(tt.want, lead.Hatch.ID) {
				var got []string
				for _, x := range r.Ranked[:5] {
					got = append(got, fmt.Sprintf("%s %.2f", x.Hatch.ID, x.Probability))
				}
				t.Errorf("ranked %v, unknown %.2f, want %v first; source: %s", got, r.Unknown, tt.want, tt.source)
			}
		})
	}
}
