package hatchkeys_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/lucasb-eyer/go-colorful"

	"dampstone/hatchkeys"
)

// Sources that stand at more than one southern fact.
const (
	southTraits       = "Phillips and Smith 2018, New Zealand freshwater macroinvertebrate trait database, NIWA, size classes"
	southShmak        = "NIWA, Stream Health Monitoring and Assessment Kit, macroinvertebrate field guide"
	southNesameletus  = "Te Papa Press, Small swimming mayfly Nesameletus ornatus"
	southFauna46      = "Hitchings and Staniczek 2003, Fauna of New Zealand 46"
	southGills        = "McLellan and Zwick 2007, Illiesia 3(4):20-42"
	southLightTraps   = "Ward et al. 1996, Aquatic Insects 18:157-174"
	southAIPA         = "AIPA, key to Ephemeroptera of Patagonia (node 1337)"
	southStagBeetle   = "encyclopedia article Chiasognathus grantii; University of Nebraska State Museum"
	southGrasshoppers = "SINAVIMO, Dichroplus elongatus"
)

// southYear is the middle of every month.
var southYear = []string{"01-15", "02-15", "03-15", "04-15", "05-15", "06-15", "07-15", "08-15", "09-15", "10-15", "11-15", "12-15"}

// southAway wants the hatch out of season on every given day.
func southAway(hatch string, days ...string) check {
	return onHatch(hatch, func(h *hatchkeys.Hatch) error {
		for _, d := range days {
			if w := spellWeight(h, leapDay(d)); w > 0 {
				return fmt.Errorf("season has weight %g on %s", w, d)
			}
		}
		return nil
	})
}

// southHue wants the commonest body colour of the forms between two hues in
// degrees of the HSV circle.
func southHue(from, to float64, hatch string, forms ...string) check {
	var checks []check
	for _, form := range forms {
		checks = append(checks, onForm(hatch, form, func(f *hatchkeys.Form) error {
			c, err := colorful.Hex(f.Colour.Body[0])
			if err != nil {
				return err
			}
			hue, _, _ := c.Hsv()
			if math.Mod(hue-from+360, 360) > math.Mod(to-from+360, 360) {
				return fmt.Errorf("colour %s has hue %.0f, want %g to %g", f.Colour.Body[0], hue, from, to)
			}
			return nil
		}))
	}
	return all(checks...)
}

// southDark wants the commonest body colour below a CIE lightness (0 to 1).
func southDark(most float64, hatch, form string) check {
	return onForm(hatch, form, func(f *hatchkeys.Form) error {
		c, err := colorful.Hex(f.Colour.Body[0])
		if err != nil {
			return err
		}
		if l, _, _ := c.Lab(); l > most {
			return fmt.Errorf("colour %s has lightness %.2f", f.Colour.Body[0], l)
		}
		return nil
	})
}

// southWaterOf wants one kind of water to weigh more for a hatch than for
// others.
func southWaterOf(value, hatch string, than ...string) check {
	var own float64
	checks := []check{onHatch(hatch, func(h *hatchkeys.Hatch) error { own = h.Waters.Of[value]; return nil })}
	for _, other := range than {
		checks = append(checks, onHatch(other, func(h *hatchkeys.Hatch) error {
			if own <= h.Waters.Of[value] {
				return fmt.Errorf("%s has weight %g, for %s %g", value, h.Waters.Of[value], hatch, own)
			}
			return nil
		}))
	}
	return all(checks...)
}

// southSunk wants the tactic for females that lay under water.
func southSunk(hatches ...string) check {
	var checks []check
	for _, h := range hatches {
		checks = append(checks, onForm(h, "egg-layer-female", func(f *hatchkeys.Form) error {
			if !slices.Contains(f.Tactics, "sunk-egg-layer") {
				return fmt.Errorf("tactics %v", f.Tactics)
			}
			return nil
		}))
	}
	return all(checks...)
}

// The facts were published; the numbers stand as printed. Lengths are of the
// body without tails. Size classes are those that the full-grown water stage
// may reach.
var southFacts = []struct {
	fact, source string
	check        check
}{
	{"Nesameletus adults are 12 to 14 mm long", southNesameletus, within("nesameletus", 12, 14, "dun", "egg-layer-female", "spent")},
	{"Nesameletus nymphs are 11 to 18 mm long", southNesameletus, all(within("nesameletus", 11, 18, "nymph-ashore", "shuck"), measured("nesameletus", "nymph-ashore", 11, 18))},
	{"many shucks of Nesameletus stand on dry stones by the edge in December and January", southNesameletus, all(
		share(hatchkeys.Shucks, "dry-rocks", 0.6, 1, "nesameletus", "shuck"), share(hatchkeys.Where, "edge", 0.5, 1, "nesameletus", "shuck"), inFull("nesameletus", "12-15", "01-15"))},
	{"the adult Nesameletus has two obvious tails", southNesameletus, share(hatchkeys.Tails, "2", 0.8, 1, "nesameletus", "dun", "egg-layer-female", "spent")},
	{"Nesameletus nymphs have three tails and swim", southFauna46, all(tailed("3", "nesameletus", "nymph-ashore"), share(hatchkeys.Doing, "swimming-ashore", 0.5, 1, "nesameletus", "nymph-ashore"))},
	{"New Zealand mayfly adults have three tails", southFauna46, all(tailed("3", "deleatidium", "dun", "egg-layer-female", "spent"), tailed("3", "zephlebia", "dun", "spent"))},
	{"New Zealand mayflies hold the wings upright", southFauna46, all(winged("upright", "deleatidium", "dun"), winged("upright", "coloburiscus", "dun"), winged("upright", "zephlebia", "dun"))},
	{"adult Leptophlebiidae are 5 to 15 mm long", "Towns and Peters 1996, Fauna of New Zealand 36", all(within("deleatidium", 5, 15, "egg-layer-female", "spent"), within("zephlebia", 5, 15, "egg-layer-female", "spent"))},
	{"Deleatidium nymphs are at most 15 mm long", southShmak, within("deleatidium", 0, 15, "nymph")},
	{"mayflies, stoneflies and caddis were most in December and January near Hamilton", "Collier and Smith 1995, New Zealand Natural Sciences 22:1-9", all(inFull("deleatidium", "12-05", "01-25"), inFull("stenoperla", "12-15", "01-15"), inFull("aoteapsyche", "12-15", "01-15"))},
	{"Coloburiscus nymphs are in the class of 10 to 20 mm, 20 mm at most", southTraits + "; " + southShmak, within("coloburiscus", 10, 20, "nymph-ashore")},
	{"the middle tail of a Coloburiscus nymph is very short", southShmak, share(hatchkeys.Tails, "2", 0.6, 1, "coloburiscus", "nymph-ashore", "shuck")},
	{"nymphs of Zephlebia dentata and Austroclima sepia are in the class of 5 to 10 mm", southTraits, within("zephlebia", 5, 10, "nymph")},
	{"Ameletopsis nymphs are in the class of 10 to 20 mm", southTraits, within("ameletopsis", 10, 20, "nymph")},
	{"Ichthybotus nymphs are in the class of 20 to 40 mm", southTraits, within("ichthybotus", 20, 40, "nymph")},

	{"nymphs of Stenoperla and Megaleptoperla are in the class of 20 to 40 mm", southTraits, all(within("stenoperla", 20, 40, "nymph-ashore"), within("megaleptoperla", 20, 40, "nymph-ashore"))},
	{"nymphs of Zelandoperla are in the class of 10 to 20 mm, of Zelandobius 5 to 10 mm", southTraits, all(within("zelandoperla", 10, 20, "nymph-ashore"), within("zelandobius", 5, 10, "nymph-ashore"))},
	{"most adult Stenoperla are green", "encyclopedia article Stenoperla prasina, citing Newman 1845", southHue(65, 160, "stenoperla", "adult-male", "adult-female", "egg-layer-female")},
	{"some male Stenoperla are short-winged", "Helson 1934, Transactions of the Royal Society of New Zealand 64:214-248", share(hatchkeys.Wings, "short", 0.01, 0.5, "stenoperla", "adult-male")},
	{"Stenoperla nymphs have gill threads on the abdomen, not between the tails", "Antarctoperlaria of New Zealand, citing Helson 1934 and McLellan 1996", share(hatchkeys.Gills, "no", 0.9, 1, "stenoperla", "nymph-ashore")},
	{"adult Austroperla are black", "Antarctoperlaria of New Zealand, citing Thomson 1934", all(southDark(0.3, "austroperla", "adult"), southDark(0.3, "austroperla", "egg-layer-female"))},
	{"last-stage nymphs of Zelandoperla maungatuaensis of 13.2 and 17.6 mm", "Foster, McCulloch and Waters 2019, as cited by the encyclopedia", measured("zelandoperla", "nymph-ashore", 13.2, 17.6)},
	{"most alpine kinds of Zelandobius and Gripopterygidae are wingless, the rest winged", "McLellan, Biogeography of aquatic insects in New Zealand", all(
		share(hatchkeys.Wings, "flat", 0.5, 0.97, "zelandoperla", "adult"), share(hatchkeys.Wings, "flat", 0.5, 0.97, "zelandobius", "adult"))},
	{"Gripopterygidae have a rosette of gills between the tails", southGills, all(
		share(hatchkeys.Gills, "yes", 0.6, 1, "megaleptoperla", "nymph-ashore"), share(hatchkeys.Gills, "yes", 0.6, 1, "zelandoperla", "nymph-ashore"),
		share(hatchkeys.Gills, "yes", 0.6, 1, "zelandobius", "nymph-ashore"), share(hatchkeys.Gills, "yes", 0.6, 1, "limnoperla", "nymph-ashore"))},
	{"of the Gripopterygidae only Notoperla has none", southGills, share(hatchkeys.Gills, "no", 0.9, 1, "notoperla", "nymph-ashore", "shuck")},
	{"last-stage Antarctoperlinae of 9.0, 12.0, 12.5 and 13.0 mm", southGills, measured("limnoperla", "nymph-ashore", 9, 12, 12.5, 13)},
	{"only Antarctoperla and Limnoperla live in reservoirs and wide rivers", "Wais 1984, Annales de Limnologie 20:115-122", southWaterOf("tailwater", "limnoperla", "klapopteryx", "diamphipnoa", "notoperla")},
	{"Notoperla comes out from November to January and from January to April, the second kind being six times as many", "Epele and Miserendino 2011, Fundamental and Applied Limnology 178:219-229", all(
		about("notoperla", "11-15", "12-15"), inFull("notoperla", "01-20", "02-15", "03-15", "04-10"))},
	{"most stoneflies of South America are 10 to 20 mm to the wing tips, a few 40 to 50 mm", "Latin American insects, chapter Stoneflies", all(
		within("limnoperla", 0, 20, "adult", "egg-layer-female"), within("diamphipnoa", 20, 50, "adult", "egg-layer-female"))},

	{"Ameletopsidae nymphs of Patagonia are 20 to 30 mm long and live in strong current", southAIPA, all(within("chiloporter", 20, 30, "nymph"), share(hatchkeys.Where, "riffle", 0.4, 1, "chiloporter", "nymph"))},
	{"Chiloporter comes out in November in Neuquen and somewhat later farther south", southAIPA, all(inFull("chiloporter", "11-15", "11-25"), about("chiloporter", "12-15"))},
	{"Baetidae nymphs of Patagonia are 5 to 10 mm long", southAIPA, within("andesiops", 5, 10, "nymph")},
	{"adult Andesiops are 4.0 to 5.0 mm long", "Nieto 2004, Studies on Neotropical Fauna and Environment 39:95-101", within("andesiops", 4, 5, "egg-layer-female", "spent")},

	{"Hydrobiosidae and Hydroptilidae fly in every month", southLightTraps, all(about("hydrobiosis", southYear...), about("psilochorema", southYear...), about("oxyethira", southYear...))},
	{"other caddis families break in the middle of winter", southLightTraps, all(
		about("aoteapsyche", "12-15"), southAway("aoteapsyche", "06-25", "07-15"), about("olinga", "12-15"), southAway("olinga", "06-25", "07-15"),
		about("pycnocentrodes", "12-15"), southAway("pycnocentrodes", "06-25", "07-15"), about("hudsonema", "12-15"), southAway("hudsonema", "06-25", "07-15"),
		about("triplectides", "12-15"), southAway("triplectides", "06-25", "07-15"))},
	{"net spinners and free-living caddis fly for longer than cased grazers", "Composition and flight periodicity of adult caddisflies in New Zealand hill-country catchments (abstract)", all(
		about("aoteapsyche", "10-20", "05-10"), southAway("olinga", "10-20", "05-10"))},
	{"Olinga swarms at dusk", "Te Papa Press, Smooth-cased caddis Olinga feredayi", all(hours("olinga", "adult", 20, 21), share(hatchkeys.Doing, "swarming", 0.4, 1, "olinga", "adult"))},
	{"Hydrobiosis, Triplectides and Oxyethira lay under water", southTraits + ", egg laying", southSunk("hydrobiosis", "triplectides", "oxyethira")},
	{"Mastigoptila and Brachysetodes come out in spring and summer", "Hydrobiologia, doi 10.1007/s10750-011-0768-3", all(about("mastigoptila", "10-25", "12-15", "02-15"), about("brachysetodes", "11-20", "01-15", "02-15"))},

	{"toebiters of 25 mm are typical and 50 mm is reached", "Entomological Society of New Zealand, insect cards; NIWA, January 2013", measured("archichauliodes", "nymph-ashore", 25, 50)},
	{"dobsonflies are active at dusk and in the night", "TERRAIN Taranaki, Dobsonfly", hours("archichauliodes", "adult", 20, 23, 1)},
	{"sandflies are 2 to 3 mm long, about 2.5 mm", "Landcare Research, Sandflies; Te Ara 1966, Sandflies", all(within("austrosimulium", 2, 3, "adult"), measured("austrosimulium", "adult", 2.5))},
	{"sandflies are velvety black and fly by day", "Te Ara 1966, Sandflies", all(southDark(0.25, "austrosimulium", "adult"), hours("austrosimulium", "adult", 7, 13, 20))},
	{"Aphrophila adults are most in late November and early December", "Winterbourn 1996, Aquatic Insects 18:45-53", inFull("aphrophila", "11-25", "12-08")},
	{"redcoat damselflies fly from October to mid March", "Te Papa Press, Redcoat damselfly", inFull("xanthocnemis", "10-15", "12-31", "01-01", "03-10")},
	{"female redcoats reach 39 mm, males are slightly shorter and red", "Te Papa Press, Redcoat damselfly", all(
		within("xanthocnemis", 20, 39, "adult-female"), smaller("xanthocnemis", "adult-male", "adult-female"), southHue(340, 20, "xanthocnemis", "adult-male"))},
	{"Rhionaeschna lives in still water", "von Ellenrieder 2001, Odonatologica 30:299-325", southWaterOf("stillwater", "rhionaeschna", "stenoperla", "limnoperla", "klapopteryx")},

	{"chorus cicadas are over 20 mm long and at their height about February", "encyclopedia article Amphipsalta zelandica", all(measured("cicada", "adult", 21), inFull("cicada", "02-10", "02-20"))},
	{"manuka beetles fly by day in November and December", "Townsend, Dunbar and Jackson 2018, New Zealand Plant Protection 71", all(inFull("pyronota", "11-15", "12-20"), hours("pyronota", "adult", 11, 15))},
	{"manuka beetles are bright green and 9 to 10 mm long", "Puketi Forest Trust; encyclopedia article Pyronota festiva", all(measured("pyronota", "adult", 9, 10), southHue(90, 150, "pyronota", "adult"))},
	{"grass grub beetles are about from October to January, at dusk and in the early evening", "Te Ara 1966, Grass grub", all(inFull("brown-beetle", "10-15", "12-15", "01-20"), hours("brown-beetle", "adult", 20, 21))},
	{"male stag beetles are 60 to 90 mm long, females 25 to 37 mm, and fly before dark", southStagBeetle, all(
		within("stag-beetle", 60, 90, "adult-male"), within("stag-beetle", 25, 37, "adult-female"), hours("stag-beetle", "adult-male", 20, 21))},
	{"passionvine hoppers are 5 to 6 mm long and about from summer to early winter", "Martin 2017, Interesting Insects factsheet, Landcare Research", all(within("scolypopa", 5, 6, "adult"), about("scolypopa", "02-15", "04-15", "05-25"))},
	{"male Phaulacridium are 10 to 15 mm long, females 20 to 30 mm", "TERRAIN Taranaki, Phaulacridium marginale", all(within("phaulacridium", 10, 15, "adult-male"), within("phaulacridium", 20, 30, "adult-female"))},
	{"Phaulacridium is short-winged", "TERRAIN Taranaki, Phaulacridium marginale", share(hatchkeys.Wings, "short", 0.85, 1, "phaulacridium", "adult-male", "adult-female")},
	{"Dichroplus elongatus is adult from December to April; males 17 to 20 mm, females 19 to 28 mm", southGrasshoppers, all(inFull("tucura", "12-15", "02-15", "04-05"), measured("tucura", "adult", 20, 28))},
	{"New Zealand blue blowflies are 9.5 to 15 mm long and blue", "Entomological Society of New Zealand, insect cards", all(within("blowfly", 9.5, 15, "adult"), southHue(200, 260, "blowfly", "adult"))},
	{"blue blowflies are liveliest at the height of summer", "Bug of the Year 2025, Entomological Society of New Zealand", inFull("blowfly", "12-31", "01-15", "02-15")},
	{"the larva of the willow gall sawfly grows to 6 mm", "Harris, Otago Daily Times, 26 March 2018", all(within("willow-grub", 0, 6, "nymph"), measured("willow-grub", "nymph", 6))},
	{"willow sawflies are 8 to 10 mm long and breed from late spring to autumn", "Martin 2015, Interesting Insects factsheet, Landcare Research", all(within("willow-sawfly", 8, 10, "adult"), about("willow-sawfly", "11-25", "01-15", "04-15"))},
	{"the larva of the willow sawfly is green", "Ministry of Agriculture, New Zealand, 26 February 1997", southHue(75, 150, "willow-sawfly", "nymph")},
}

func southKey(t *testing.T) *hatchkeys.Key {
	t.Helper()
	k, err := hatchkeys.ForRegion("south")
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestSouthAgreesWithPublishedFacts(t *testing.T) {
	p := southKey(t).Pack
	for _, f := range southFacts {
		t.Run(f.fact, func(t *testing.T) {
			if err := f.check(p); err != nil {
				t.Errorf("%v\nsource: %s", err, f.source)
			}
		})
	}
}

// A fact whose check passes on a spoilt pack checks nothing.
func TestSouthFactsFailOnASpoiltPack(t *testing.T) {
	p := spoilt(t, southKey(t).Pack)
	for i := range p.Hatches {
		for j := range p.Hatches[i].Forms {
			f := &p.Hatches[i].Forms[j]
			f.Tactics = nil
			for c, hex := range f.Colour.Body {
				was, err := colorful.Hex(hex)
				if err != nil {
					t.Fatal(err)
				}
				f.Colour.Body[c] = colorful.Color{R: 1 - was.R, G: 1 - was.G, B: 1 - was.B}.Hex()
			}
		}
	}
	for _, f := range southFacts {
		t.Run(f.fact, func(t *testing.T) {
			if f.check(p) == nil {
				t.Errorf("passes on a pack with wrong sizes, seasons, hours, marks, colours and tactics")
			}
		})
	}
}

func TestSouthernSummerRunsOverTheNewYear(t *testing.T) {
	k := southKey(t)
	for _, id := range []string{"stenoperla", "deleatidium", "xanthocnemis", "tucura", "blowfly"} {
		months := k.Months(k.Hatch(id))
		december, january, july := months[time.December-1], months[time.January-1], months[time.July-1]
		if december < 0.9 || january < 0.9 || july > 0.5*min(december, january) {
			t.Errorf("%s: December %.2f, January %.2f, July %.2f", id, december, january, july)
		}
	}
}

// southTop is the weightiest value of w, or "".
func southTop(t hatchkeys.Trait, w *hatchkeys.Weights) (value string) {
	if w == nil {
		return ""
	}
	for _, v := range t.Values() {
		if w.Of[v] > w.Of[value] {
			value = v
		}
	}
	return value
}

// southTypical is what a careful angler would report of a form in the middle
// of its main spell.
func southTypical(h *hatchkeys.Hatch, f *hatchkeys.Form) (hatchkeys.Evidence, error) {
	var e hatchkeys.Evidence
	from, to := mainSpell(h)
	if to < from {
		to += 366
	}
	day := time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, (from+to)/2-1)
	e.Month, e.Day = int(day.Month()), day.Day()
	e.LengthMM = math.Sqrt(f.Length.From * f.Length.To)
	e.Colour = f.Colour.Body[0]
	if f.Hours != nil {
		width := math.Mod(f.Hours.To-f.Hours.From+24, 24)
		middle := math.Mod(f.Hours.From+width/2, 24)
		e.Hour = &middle
	}
	var errs []error
	for t, w := range map[hatchkeys.Trait]*hatchkeys.Weights{
		hatchkeys.Water: &h.Waters, hatchkeys.Wings: f.Wings, hatchkeys.Tails: f.Tails, hatchkeys.Doing: f.Doing,
		hatchkeys.Where: f.Where, hatchkeys.Shucks: f.Shucks, hatchkeys.Gills: f.Gills,
	} {
		if v := southTop(t, w); v != "" {
			c, err := hatchkeys.OneOf(t, v)
			errs = append(errs, err)
			e.Choices[t] = c
		}
	}
	return e, errors.Join(errs...)
}

func TestEverySouthernHatchLeadsForTypicalEvidenceOfItsOwn(t *testing.T) {
	k := southKey(t)
	led := map[string]bool{}
	for i := range k.FormCount() {
		h, f := k.FormAt(i)
		e, err := southTypical(h, f)
		if err != nil {
			t.Fatal(err)
		}
		if lead := k.Read(e).Leader(); lead != nil && lead.Hatch.ID == h.ID {
			led[h.ID] = true
		} else if lead != nil {
			t.Logf("%s, %s: %s leads", h.ID, f.ID, lead.Hatch.ID)
		}
	}
	for i := range k.Pack.Hatches {
		if id := k.Pack.Hatches[i].ID; !led[id] {
			t.Errorf("%s leads for none of its forms", id)
		}
	}
}
