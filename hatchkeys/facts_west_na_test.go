package hatchkeys_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"dampstone/hatchkeys"
)

// A check compares the pack with one published fact.
type check func(*hatchkeys.Pack) error

func all(checks ...check) check {
	return func(p *hatchkeys.Pack) error {
		var errs []error
		for _, c := range checks {
			errs = append(errs, c(p))
		}
		return errors.Join(errs...)
	}
}

func onHatch(id string, f func(*hatchkeys.Hatch) error) check {
	return func(p *hatchkeys.Pack) error {
		i := slices.IndexFunc(p.Hatches, func(h hatchkeys.Hatch) bool { return h.ID == id })
		if i < 0 {
			return fmt.Errorf("no hatch %q", id)
		}
		if err := f(&p.Hatches[i]); err != nil {
			return fmt.Errorf("%s: %w", id, err)
		}
		return nil
	}
}

func onForm(hatch, form string, f func(*hatchkeys.Form) error) check {
	return onHatch(hatch, func(h *hatchkeys.Hatch) error {
		m := h.Form(form)
		if m == nil {
			return fmt.Errorf("no form %q", form)
		}
		if err := f(m); err != nil {
			return fmt.Errorf("%s: %w", form, err)
		}
		return nil
	})
}

// measured wants every published length in mm inside the range of the form.
func measured(hatch, form string, lengths ...float64) check {
	return onForm(hatch, form, func(f *hatchkeys.Form) error {
		for _, mm := range lengths {
			if mm < f.Length.From || mm > f.Length.To {
				return fmt.Errorf("length %g to %g mm leaves out %g", f.Length.From, f.Length.To, mm)
			}
		}
		return nil
	})
}

// within wants the range of every form inside the published range in mm.
func within(hatch string, from, to float64, forms ...string) check {
	var checks []check
	for _, form := range forms {
		checks = append(checks, onForm(hatch, form, func(f *hatchkeys.Form) error {
			if f.Length.From < from || f.Length.To > to {
				return fmt.Errorf("length %g to %g mm, published %g to %g", f.Length.From, f.Length.To, from, to)
			}
			return nil
		}))
	}
	return all(checks...)
}

// smaller wants the middle of the first form's range below the second's.
func smaller(hatch, form, than string) check {
	var mm float64
	return all(
		onForm(hatch, form, func(f *hatchkeys.Form) error { mm = f.Length.From + f.Length.To; return nil }),
		onForm(hatch, than, func(f *hatchkeys.Form) error {
			if mm >= f.Length.From+f.Length.To {
				return fmt.Errorf("%s is not smaller", form)
			}
			return nil
		}))
}

// moreOf wants one form commoner than another.
func moreOf(hatch, form, than string) check {
	var share float64
	return all(
		onForm(hatch, form, func(f *hatchkeys.Form) error { share = f.Share; return nil }),
		onForm(hatch, than, func(f *hatchkeys.Form) error {
			if share <= f.Share {
				return fmt.Errorf("%s has share %g, %s has %g", form, share, than, f.Share)
			}
			return nil
		}))
}

// share wants the weight of a trait's value, as a part of all its values, in
// a range.
func share(trait hatchkeys.Trait, value string, least, most float64, hatch string, forms ...string) check {
	var checks []check
	for _, form := range forms {
		checks = append(checks, onForm(hatch, form, func(f *hatchkeys.Form) error {
			w := map[hatchkeys.Trait]*hatchkeys.Weights{
				hatchkeys.Wings: f.Wings, hatchkeys.Tails: f.Tails, hatchkeys.Doing: f.Doing,
				hatchkeys.Where: f.Where, hatchkeys.Shucks: f.Shucks, hatchkeys.Gills: f.Gills,
			}[trait]
			if w == nil {
				return fmt.Errorf("says nothing of %s", trait)
			}
			var sum float64
			for _, x := range w.Of {
				sum += x
			}
			if got := w.Of[value] / sum; got < least || got > most {
				return fmt.Errorf("%s %s has share %.2f, want %.2f to %.2f", trait, value, got, least, most)
			}
			return nil
		}))
	}
	return all(checks...)
}

func winged(value, hatch string, forms ...string) check {
	return share(hatchkeys.Wings, value, 0.9, 1, hatch, forms...)
}

func tailed(n, hatch string, forms ...string) check {
	return share(hatchkeys.Tails, n, 0.95, 1, hatch, forms...)
}

func leapDay(monthDay string) int {
	d, err := time.Parse("2006-01-02", "2000-"+monthDay)
	if err != nil {
		panic(err)
	}
	return d.YearDay()
}

// spellWeight is the weight of the season on a day, 0 outside every spell.
func spellWeight(h *hatchkeys.Hatch, day int) (w float64) {
	for _, s := range h.Season {
		from, to := leapDay(s.From), leapDay(s.To)
		if from <= day && day <= to || from > to && (day >= from || day <= to) {
			w = max(w, s.Weight)
		}
	}
	return w
}

// about wants the hatch in season, in any spell, on every given day.
func about(hatch string, days ...string) check {
	return onHatch(hatch, func(h *hatchkeys.Hatch) error {
		for _, d := range days {
			if spellWeight(h, leapDay(d)) == 0 {
				return fmt.Errorf("not in season on %s", d)
			}
		}
		return nil
	})
}

// inFull wants the main spell on every given day.
func inFull(hatch string, days ...string) check {
	return onHatch(hatch, func(h *hatchkeys.Hatch) error {
		for _, d := range days {
			if w := spellWeight(h, leapDay(d)); w < 1 {
				return fmt.Errorf("season has weight %g on %s", w, d)
			}
		}
		return nil
	})
}

// mainSpell is the first and last day of the spell of full weight.
func mainSpell(h *hatchkeys.Hatch) (from, to int) {
	i := slices.IndexFunc(h.Season, func(s hatchkeys.Season) bool { return s.Weight == 1 })
	if i < 0 {
		return 0, 0
	}
	return leapDay(h.Season[i].From), leapDay(h.Season[i].To)
}

// spells hands the main spells of two hatches to want.
func spells(a, b string, want func(aFrom, aTo, bFrom, bTo int) error) check {
	var aFrom, aTo int
	return all(
		onHatch(a, func(h *hatchkeys.Hatch) error { aFrom, aTo = mainSpell(h); return nil }),
		onHatch(b, func(h *hatchkeys.Hatch) error {
			bFrom, bTo := mainSpell(h)
			return want(aFrom, aTo, bFrom, bTo)
		}))
}

func earlier(a, b string) check {
	return spells(a, b, func(aFrom, aTo, bFrom, bTo int) error {
		if aFrom+aTo >= bFrom+bTo {
			return fmt.Errorf("middle of the season is not after that of %s", a)
		}
		return nil
	})
}

// hours wants the form about at each hour of the day.
func hours(hatch, form string, at ...float64) check {
	return onForm(hatch, form, func(f *hatchkeys.Form) error {
		if f.Hours == nil {
			return errors.New("says nothing of hours")
		}
		for _, h := range at {
			in := f.Hours.From <= h && h <= f.Hours.To
			if f.Hours.From > f.Hours.To {
				in = h >= f.Hours.From || h <= f.Hours.To
			}
			if !in {
				return fmt.Errorf("not about at %g (%g to %g)", h, f.Hours.From, f.Hours.To)
			}
		}
		return nil
	})
}

// warmth wants the published water temperatures in the hatch's range.
func warmth(hatch string, celsius ...float64) check {
	return onHatch(hatch, func(h *hatchkeys.Hatch) error {
		if h.WaterC == nil {
			return errors.New("says nothing of temperature")
		}
		for _, c := range celsius {
			if c < h.WaterC.From || c > h.WaterC.To {
				return fmt.Errorf("%g to %g C leaves out %g", h.WaterC.From, h.WaterC.To, c)
			}
		}
		return nil
	})
}

// Sources that stand at more than one fact.
const (
	strickland = "E.H. Strickland Entomological Museum, University of Alberta, Claassenia sabulosa (id 2130)"
	ds187      = "Vieira et al. 2006, US Geological Survey Data Series 187"
	sheldon    = "Sheldon 1999, Great Basin Naturalist 59(2), article 8"
	npn        = "USA National Phenology Network, species profile Pteronarcys californica"
	gunnison   = "Aquatic Insects of Gunnison County, Colorado"
	inat       = "iNaturalist guide page (identification guide, Oregon) "
	textbook   = "college textbook of entomology, chapter Ephemerida, p. 223"
)

// The facts were published; the numbers stand as printed. Lengths are of the
// body without tails. Series 187 gives one length a record, mostly of mature
// nymphs; its seasons are read here as the months of the calendar season.
var westNAFacts = []struct {
	fact, source string
	check        check
}{
	{"male Claassenia is 19.6 mm long", strickland, measured("claassenia", "adult-male", 19.6)},
	{"female Claassenia is 31.4 mm long", strickland, measured("claassenia", "adult-female", 31.4)},
	{"male Claassenia is short-winged", strickland + "; " + ds187, winged("short", "claassenia", "adult-male")},
	{"female Claassenia has long wings", strickland, share(hatchkeys.Wings, "flat", 0.8, 1, "claassenia", "adult-female", "egg-layer-female")},
	{"Claassenia nymphs of 24 and 32 mm", ds187 + ", records 122, 3873", measured("claassenia", "nymph-ashore", 24, 32)},
	{"Claassenia is out in August and September on the Gunnison", gunnison + ", Claassenia sabulosa", inFull("claassenia", "08-15", "09-15")},
	{"Claassenia is out from late June to mid July in Alberta", strickland, about("claassenia", "06-28", "07-14")},
	{"Claassenia is busy from 20 to 22 h", ds187 + ", record 10461, Rio Conejos", hours("claassenia", "egg-layer-female", 20, 21, 22)},
	{"male Claassenia runs along the cobbles of the edge", ds187 + ", records 122, 10461", share(hatchkeys.Where, "edge", 0.6, 1, "claassenia", "adult-male")},
	{"Claassenia comes when Calineuria has finished", inat + "117856", spells("calineuria", "claassenia", func(_, aTo, bFrom, _ int) error {
		if bFrom <= aTo {
			return errors.New("main season starts before that of Calineuria ends")
		}
		return nil
	})},

	{"adult salmonflies are 30 to 50 mm long", npn, within("salmonfly", 30, 50, "adult-male", "adult-female", "egg-layer-female")},
	{"male salmonflies are the smaller", npn, smaller("salmonfly", "adult-male", "adult-female")},
	{"adult salmonflies hold full wings flat", npn, winged("flat", "salmonfly", "adult-male", "adult-female")},
	{"salmonflies have two tails", npn, tailed("2", "salmonfly", "adult-male", "adult-female", "shuck", "nymph-ashore")},
	{"salmonfly nymphs of 42 and 50 mm", ds187 + ", records 157, 5163", measured("salmonfly", "nymph-ashore", 42, 50)},
	{"salmonflies come out mid to late May at spring-fed sites, mid June at snowmelt sites", "Gregory et al. 2000, Freshwater Biology 45:75-83", inFull("salmonfly", "05-18", "05-28", "06-15")},
	{"salmonflies come out in early June on Rock Creek, Montana", sheldon, inFull("salmonfly", "06-05")},
	{"salmonflies come five to seven weeks early on a warm river", "Rockwell and Newell 2009, Western North American Naturalist 69(2), article 18", about("salmonfly", "04-28", "05-08")},
	{"salmonflies carrying eggs fly kilometres upstream", ds187 + ", record 10829", onHatch("salmonfly", func(h *hatchkeys.Hatch) error {
		if !h.Travels {
			return errors.New("does not travel")
		}
		return nil
	})},
	{"salmonflies peak before Calineuria", sheldon, earlier("salmonfly", "calineuria")},
	{"Calineuria peaks before Claassenia", inat + "117856", earlier("calineuria", "claassenia")},
	{"Hesperoperla takes longer than Calineuria and overlaps it", sheldon, spells("calineuria", "hesperoperla", func(aFrom, aTo, bFrom, bTo int) error {
		if bTo-bFrom <= aTo-aFrom || bFrom > aTo || aFrom > bTo {
			return fmt.Errorf("days %d to %d against %d to %d", bFrom, bTo, aFrom, aTo)
		}
		return nil
	})},
	{"more females than males in salmonfly and Hesperoperla", sheldon, all(moreOf("salmonfly", "adult-female", "adult-male"), moreOf("hesperoperla", "adult-female", "adult-male"))},
	{"more males than females in Calineuria", sheldon, moreOf("calineuria", "adult-male", "adult-female")},

	{"adult Calineuria are 20 to 30 mm long, males clearly smaller", inat + "117855", all(within("calineuria", 20, 30, "adult-male", "adult-female"), smaller("calineuria", "adult-male", "adult-female"))},
	{"the shuck of Hesperoperla shows gill tufts between the tails", inat + "117855", share(hatchkeys.Gills, "yes", 0.6, 1, "hesperoperla", "shuck", "nymph-ashore")},
	{"the shuck of Calineuria shows none", inat + "117855", share(hatchkeys.Gills, "yes", 0, 0.05, "calineuria", "shuck", "nymph-ashore")},
	{"Hesperoperla nymphs of 23, 24 and 29 mm", ds187 + ", records 5500, 112, 3875", measured("hesperoperla", "nymph-ashore", 23, 24, 29)},
	{"Hesperoperla is out in June and July on the Gunnison", gunnison + ", Hesperoperla pacifica", inFull("hesperoperla", "06-15", "07-15")},
	{"golden stoneflies have four full wings", "US National Park Service, Klamath Network, July 2012", all(
		winged("flat", "hesperoperla", "adult-male", "adult-female"), winged("flat", "calineuria", "adult-male", "adult-female"))},
	{"Doroneuria nymphs of 22, 24 and 34 mm", ds187 + ", records 3692, 107, 5501", measured("doroneuria", "nymph-ashore", 22, 24, 34)},
	{"the least salmonfly peaks in late June on the Gunnison", gunnison + ", Pteronarcella badia, citing Fuller and Stewart 1977", inFull("pteronarcella", "06-21", "06-30")},
	{"least salmonfly nymphs of 19 and 21 mm", ds187 + ", records 154, 5165", measured("pteronarcella", "nymph-ashore", 19, 21)},
	{"adult Skwala are 15 to 25 mm long", inat + "117857", within("skwala", 15, 25, "adult-male", "adult-female", "egg-layer-female")},
	{"male Skwala are often, not always, short-winged", inat + "117857", share(hatchkeys.Wings, "short", 0.5, 0.9, "skwala", "adult-male")},
	{"female Skwala have full wings", inat + "117857", winged("flat", "skwala", "adult-female")},
	{"Skwala is out from late March to mid April at Missoula", "Missoula Butterfly House and Insectarium, Skwala stonefly", inFull("skwala", "03-25", "04-15")},
	{"most small winter stoneflies are 4 to 10 mm long", "encyclopedia article Capniidae", within("snowfly", 4, 10, "adult-male", "adult-female")},
	{"adult Capnia are out in winter and into spring", ds187 + ", 18 of 39 records winter to spring, 13 winter only", all(inFull("snowfly", "01-15", "02-15"), about("snowfly", "04-15"))},
	{"adult Zapada are 5 to 8 mm long and peak from mid March to mid April", "bugeric.blogspot.com, 26 March 2014 (Colorado Front Range)", all(within("zapada", 5, 8, "adult"), inFull("zapada", "03-15", "04-15"))},
	{"Zapada haysi is on the snow in April and May", gunnison + ", Zapada haysi", about("zapada", "04-15", "05-20")},
	{"Isoperla nymphs of 8, 13, 14 and 16 mm", ds187 + ", records 802, 133, 5082, 805", measured("isoperla", "nymph-ashore", 8, 13, 14, 16)},
	{"Isogenoides adults are about from late June to early July", "Sandberg and Stewart 2005, Illiesia 1(4):21-32", inFull("isogenoides", "06-25", "07-05")},
	{"Isogenoides has 1.85 males to a female", "Sandberg and Stewart 2005, Illiesia 1(4):21-32", moreOf("isogenoides", "adult-male", "adult-female")},
	{"Isogenoides females come down to the water to release eggs", "Sandberg and Stewart 2005, Illiesia 1(4):21-32", share(hatchkeys.Doing, "dipping-eggs", 0.5, 1, "isogenoides", "egg-layer-female")},

	{"green drakes have three tails", inat + "117603", tailed("3", "drunella-grandis", "dun", "egg-layer-female", "spent", "nymph")},
	{"green drake duns and spinners are 12 to 16 mm long", inat + "117603", within("drunella-grandis", 12, 16, "dun", "egg-layer-female", "spent")},
	{"a Drunella grandis nymph of 13 mm", ds187 + ", record 650", measured("drunella-grandis", "nymph", 13)},
	{"Drunella doddsii comes out from late spring to early summer in Montana", "Montana Field Guide, Drunella doddsii", about("drunella-grandis", "06-01", "06-25", "07-05")},
	{"small green drake duns are 7 to 12 mm long", inat + "117603", within("drunella-flavilinea", 7, 12, "dun")},
	{"nymphs of Drunella flavilinea of 10 mm and coloradensis of 11 mm", ds187 + ", records 527, 651", measured("drunella-flavilinea", "nymph", 10, 11)},
	{"pale duns have three tails", inat + "117599", tailed("3", "ephemerella-excrucians", "dun", "egg-layer-female", "spent")},
	{"pale duns are 6 to 12 mm long", inat + "117599", within("ephemerella-excrucians", 6, 12, "dun", "egg-layer-female", "spent")},
	{"Ephemerella inermis is met in Idaho in water of 10 to 17.8 C", ds187 + ", record 44, The Mayflies of Idaho", warmth("ephemerella-excrucians", 10, 17.8)},
	{"adult Ephemerellidae have three tails", textbook, all(tailed("3", "ephemerella-infrequens", "dun", "spent"), tailed("3", "serratella", "dun", "spent"), tailed("3", "timpanoga", "dun", "spent"))},
	{"adult Leptophlebiidae have three tails", textbook, all(tailed("3", "paraleptophlebia-debilis", "dun", "spent"), tailed("3", "paraleptophlebia-spring", "dun", "spent"))},
	{"Timpanoga nymphs of 14 and 15 mm", ds187 + ", records 516, 529", measured("timpanoga", "nymph", 14, 15)},
	{"western march browns have two tails", inat + "117602", tailed("2", "rhithrogena-morrisoni", "dun", "egg-layer-female", "spent")},
	{"western march brown nymphs have three tails", inat + "117602", tailed("3", "rhithrogena-morrisoni", "nymph")},
	{"Rhithrogena morrisoni is out from February to April", ds187 + ", record 12491", about("rhithrogena-morrisoni", "02-20", "03-15", "04-15")},
	{"adult Heptageniidae have two tails", inat + "117602", all(tailed("2", "epeorus-longimanus", "dun", "spent"), tailed("2", "epeorus-albertae", "dun-male", "dun-female"),
		tailed("2", "cinygmula", "dun", "spent"), tailed("2", "heptagenia", "dun", "spent"))},
	{"Epeorus nymphs have two tails", inat + "117602", all(tailed("2", "epeorus-longimanus", "nymph"), tailed("2", "epeorus-albertae", "nymph"))},
	{"an Epeorus longimanus nymph of 10 mm and an albertae nymph of 9 mm", ds187 + ", records 841, 843", all(measured("epeorus-longimanus", "nymph", 10), measured("epeorus-albertae", "nymph", 9))},
	{"Cinygmula reticulata is out from April to November in Oregon", ds187 + ", record 12486", about("cinygmula", "04-20", "06-15", "08-15", "10-20")},
	{"speckled lake mayflies have two tails and are 6 to 12 mm long", inat + "117600", all(tailed("2", "callibaetis", "dun", "egg-layer-female", "spent"), within("callibaetis", 6, 12, "dun", "spent"))},
	{"Callibaetis nymphs of 10 and 12 mm", ds187 + ", records 961, 652", measured("callibaetis", "nymph", 10, 12)},
	{"speckled lake mayflies prefer still water", inat + "117600", onHatch("callibaetis", func(h *hatchkeys.Hatch) error {
		for v, w := range h.Waters.Of {
			if v != "stillwater" && w >= h.Waters.Of["stillwater"] {
				return fmt.Errorf("%s has weight %g", v, w)
			}
		}
		return nil
	})},
	{"Siphlonurus nymphs of 13, 15 and 16 mm", ds187 + ", records 486, 659, 3098", measured("siphlonurus", "nymph-ashore", 13, 15, 16)},
	{"Siphlonurus climbs or crawls out to hatch", ds187 + ", records 487, 2859", share(hatchkeys.Shucks, "film", 0, 0, "siphlonurus", "shuck", "nymph-ashore")},
	{"Siphlonurus is out from spring to autumn in Idaho", ds187 + ", record 12, The Mayflies of Idaho", about("siphlonurus", "05-25", "07-15", "09-25")},
	{"Siphlonurus is a two-tailed mayfly", inat + "117600", tailed("2", "siphlonurus", "dun", "adult-male", "egg-layer-female", "spent")},
	{"Ameletus climbs partly out of the water to hatch", ds187 + ", record 2858", share(hatchkeys.Shucks, "film", 0, 0, "ameletus", "shuck", "nymph-ashore")},
	{"Ameletus velox nymphs of 12, 13 and 16 mm", ds187 + ", records 499, 660, 3100", measured("ameletus", "nymph-ashore", 12, 13, 16)},
	{"Acentrella insignificans has broods in June and July and in September", ds187 + ", record 986", inFull("tiny-olive", "06-20", "07-20", "09-15")},
	{"Baetis tricaudatus is out in every month at low elevations in Idaho", ds187 + ", record 14, The Mayflies of Idaho", about("baetis", "01-15", "02-15", "03-15", "04-15", "05-15", "06-15", "07-15", "08-15", "09-15", "10-15", "11-15", "12-15")},
	{"Baetis tricaudatus nymphs of 6 and 7 mm", ds187 + ", records 663, 988, 3101", measured("baetis", "nymph", 6, 7)},
	{"Tricorythodes has three tails", "Barnard, Tricorythodes in Idaho, 15 July 2017", tailed("3", "tricorythodes", "dun-female", "adult-male", "egg-layer-female", "spent")},
	{"Tricorythodes falls spent from about 9 h in July", "Barnard, Tricorythodes in Idaho, 15 July 2017", all(about("tricorythodes", "07-15"), hours("tricorythodes", "spent", 9, 10))},
	{"Tricorythodes lays in riffles", "Annals of the Entomological Society of America 71:876-881, 1978", share(hatchkeys.Where, "riffle", 0.5, 1, "tricorythodes", "egg-layer-female")},
	{"Tricorythodes is met in Idaho in water of 12.2 to 24.4 C", ds187 + ", record 46, The Mayflies of Idaho", warmth("tricorythodes", 12.2, 24.4)},
	{"Ephoron is met in Idaho in water of 12 to 24 C", ds187 + ", record 1, The Mayflies of Idaho", warmth("ephoron", 12, 24)},
	{"Ephoron is out in summer in Utah and in autumn in Idaho", ds187 + ", records 1948, 1", about("ephoron", "08-20", "09-05")},
	{"a Serratella tibialis nymph of 8 mm", ds187 + ", record 526", measured("serratella", "nymph", 8)},
	{"Heptagenia nymphs of 11 mm, out from summer to autumn in Idaho", ds187 + ", records 889, 890, 862, 25", all(measured("heptagenia", "nymph", 11), about("heptagenia", "07-15", "09-05"))},
}

func westNA(t *testing.T) *hatchkeys.Pack {
	t.Helper()
	k, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	return k.Pack
}

func TestWestNAAgreesWithPublishedFacts(t *testing.T) {
	p := westNA(t)
	for _, f := range westNAFacts {
		t.Run(f.fact, func(t *testing.T) {
			if err := f.check(p); err != nil {
				t.Errorf("%v\nsource: %s", err, f.source)
			}
		})
	}
}

// A fact whose check passes on a spoilt pack checks nothing.
func TestWestNAFactsFailOnASpoiltPack(t *testing.T) {
	p := spoilt(t, westNA(t))
	for _, f := range westNAFacts {
		t.Run(f.fact, func(t *testing.T) {
			if f.check(p) == nil {
				t.Errorf("passes on a pack with wrong sizes, seasons, hours and marks")
			}
		})
	}
}

// spoilt copies a pack and makes all that the checks look at wrong: sizes
// threefold, the season in a few days of November, hours by half a day,
// temperatures by 30 C, every weight moved to the next value, sexes swapped.
func spoilt(t *testing.T, p *hatchkeys.Pack) *hatchkeys.Pack {
	t.Helper()
	raw, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var q hatchkeys.Pack
	if err := json.Unmarshal(raw, &q); err != nil {
		t.Fatal(err)
	}
	for i := range q.Hatches {
		h := &q.Hatches[i]
		h.Travels = !h.Travels
		h.Season = []hatchkeys.Season{{From: "11-01", To: "11-03", Weight: 1}}
		move(hatchkeys.Water, &h.Waters)
		if h.WaterC != nil {
			h.WaterC.From, h.WaterC.To = h.WaterC.From+30, h.WaterC.To+30
		}
		for j := range h.Forms {
			f := &h.Forms[j]
			f.Length.From, f.Length.To = 3*f.Length.From, 3*f.Length.To
			if f.Hours != nil {
				f.Hours.From, f.Hours.To = f.Hours.From+12, f.Hours.To+12
			}
			move(hatchkeys.Wings, f.Wings)
			move(hatchkeys.Tails, f.Tails)
			move(hatchkeys.Doing, f.Doing)
			move(hatchkeys.Where, f.Where)
			move(hatchkeys.Shucks, f.Shucks)
			move(hatchkeys.Gills, f.Gills)
			switch f.ID {
			case "adult-male":
				f.ID = "adult-female"
			case "adult-female":
				f.ID = "adult-male"
			}
		}
	}
	return &q
}

func move(t hatchkeys.Trait, w *hatchkeys.Weights) {
	if w == nil {
		return
	}
	values, of := t.Values(), map[string]float64{}
	for i, v := range values {
		of[values[(i+1)%len(values)]] = w.Of[v]
	}
	w.Of = of
}
