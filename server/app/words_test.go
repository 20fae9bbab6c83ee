package app

import (
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/foam"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/plan"
	"dampstone/hatchkeys"
	"dampstone/hatchkeys/advice"
	"dampstone/hatchkeys/feeding"
	"dampstone/server/app/screen"
	"dampstone/server/app/setup"
	"dampstone/server/app/words"
	"dampstone/server/sync"
	"dampstone/views/catalog"
)

// Ids that the code puts together from codes: each must have its sentence.
func codeIDs(t *testing.T) (ids []string) {
	add := func(prefix string, codes ...string) {
		for _, c := range codes {
			ids = append(ids, prefix+c)
		}
	}
	for _, a := range hatchkeys.Questions {
		add("ask.", a.String())
		add("next.", a.String())
	}
	for _, tr := range hatchkeys.Traits {
		add("value."+tr.String()+".", tr.Values()...)
	}
	for _, s := range hatchkeys.Swatches {
		add("colour.", s.Name)
	}
	for _, g := range hatchkeys.Groups {
		add("group.", string(g))
	}
	for _, s := range hatchkeys.Stages {
		add("stage.", string(s))
	}
	add("own.like.", hatchkeys.Likes...)
	add("own.abundance.", "1", "2", "3", "4")
	for _, s := range flybox.Styles {
		add("style.", string(s))
	}
	for _, f := range flybox.Floats {
		add("floats.", string(f))
	}
	for _, region := range hatchkeys.Regions() {
		add("region.", region)
		k, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range k.Pack.Hatches {
			for _, f := range h.Forms {
				add("tactic.", f.Tactics...)
			}
		}
	}
	for _, why := range flybox.Reasons {
		add("day.why.", string(why))
	}
	for _, end := range flybox.Endings {
		add("day.end.", string(end))
	}
	add("fly.bead.", "glass", "brass", "tungsten")
	add("advice.", match.TrimLength, match.TrimTail, match.ClipAbove, match.BehindDry, match.TrimWing, match.TrimHackle, match.DarkenBody, match.ColourUnder, match.Grease, match.Degrease, match.AddShot, match.SinkIt)
	add("misfit.", match.PartShape, match.PartColour, match.PartFloats, match.PartWings)
	for _, r := range []plan.Reason{plan.ReasonLevel, plan.ReasonSlots, plan.ReasonTime, plan.ReasonFixed, plan.ReasonNew, plan.ReasonNothing, plan.ReasonStand, plan.ReasonBlind} {
		add("trip.why.", string(r))
	}
	for _, b := range []plan.Blind{plan.BlindNymph, plan.BlindScud, plan.BlindWorm, plan.BlindEgg, plan.BlindStreamer, plan.BlindSearch, plan.BlindPupa} {
		add("trip.blind.", string(b))
	}
	for _, s := range flybox.Skills {
		add("trip.skill.", string(s))
	}
	add("trip.material.", plan.Materials...)
	add("trip.basis.", "ahead", "behind")
	for _, w := range foam.Wires {
		add("foam.wire.", string(w))
	}
	add("foam.help.", foam.Changes...)
	for _, w := range flybox.MaterialWhys {
		add("material.why.", string(w))
	}
	add("amount.", "piece", "turn", "piece.part", "turn.part", "unit.piece", "unit.turn")
	add("bench.", "due", "overdue", "time", "time.assumed")
	add("foam.", "fold.no", "fold.yes", "unsure.density", "unsure.weighed", "ride.high", "ride.mid", "ride.low", "ride.sinks", "sit.level", "sit.tail-down", "sit.head-down",
		"lie.rights", "lie.flat", "lie.tender", "lie.rolls")
	for _, kind := range flybox.Kinds {
		add("quarantine.kind.", string(kind))
	}
	for _, group := range []string{"refused", "untaken", "broken"} {
		add("quarantine.", group, group+".hint")
	}
	add("ledger.", "apart", "join")
	add("sync.", screen.ExchangeStates...)
	add("quarantine.why.", journal.CodeUnreadable, journal.CodeNotJSON, journal.CodeNotUTF8, journal.CodeNotObject, journal.CodeTooLong, journal.CodeIDTaken, journal.CodeRange,
		journal.CodeRequired, journal.CodeUnknown, journal.CodeInconsist, sync.CodeNotConfirmed)
	for _, r := range flybox.Results {
		add("day.tap.", string(r))
		add("day.count.", string(r))
	}
	add("results.points.", words.ChangeCodes...)
	add("results.change.", words.ChangeCodes...)
	add("results.better.", "sure", "likely", "unsure", "few")
	add("results.weight", "", ".clear")
	add("hatch.season", "", ".peak", ".few")
	for did := range screen.Flashes {
		add("did.", did)
	}
	add("foam.holds.", string(foam.HoldsUp), string(foam.MayHold), string(foam.PullsDown))
	add("foam.bead.", "tungsten", "brass")
	for _, c := range advice.Codes {
		add("how.", string(c))
	}
	for _, r := range feeding.Reasons {
		add("fed.reason.", string(r))
	}
	add("fed.", string(feeding.Yes), string(feeding.Maybe), string(feeding.NotYet), string(feeding.NotKnown))
	return ids
}

func TestEveryCodeHasItsWords(t *testing.T) {
	for _, lang := range catalog.Languages {
		text := catalog.For(lang)
		for _, id := range codeIDs(t) {
			if !text.Has(id) {
				t.Errorf("%s: no sentence %q", lang, id)
			}
		}
	}
}

func TestEveryHatchHasANameInEveryLanguage(t *testing.T) {
	for _, region := range hatchkeys.Regions() {
		k, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]string{}
		for _, h := range k.Pack.Hatches {
			for _, lang := range catalog.Languages {
				name := h.Names[lang]
				if other := seen[lang+name]; name == "" || other != "" {
					t.Errorf("%s: %s is named %q in %s, as is %q", region, h.ID, name, lang, other)
				}
				seen[lang+name] = h.ID
			}
		}
	}
}

// literal finds ids written out in the sources.
var literal = regexp.MustCompile(`\.(?:S|F|N)\("([a-z0-9][a-z0-9._-]*)"`)

// TestSourcesAndCatalogueAgree: every id written out in a source has its
// sentence, and no sentence is without use.
func TestSourcesAndCatalogueAgree(t *testing.T) {
	var sources strings.Builder
	for _, pattern := range []string{"*.go", "*/*.go", "../*.go", "../accounts/*.go", "../../views/*.templ"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			b, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			sources.Write(b)
		}
	}
	used := codeIDs(t)
	for _, m := range literal.FindAllStringSubmatch(sources.String(), -1) {
		id := m[1]
		used = append(used, id)
		if !strings.HasSuffix(id, ".") && !catalog.For("en").Has(id) {
			t.Errorf("a source asks for %q, which the catalogue lacks", id)
		}
	}
	// Put together from a prefix and a code that a form or a thing gives.
	prefixes := []string{"ask.", "bad.", "care.", "date.", "did.", "do.", "fed.", "field.", "fit.", "fly.length", "form.", "lang.", "month.", "nav.", "problem.", "setup.", "sex.", "standing.", "tie.", "unit.", "value.", "waterline.", "why."}
	for _, id := range catalog.IDs() {
		if slices.Contains(used, id) || slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(id, p) }) {
			continue
		}
		t.Errorf("nothing uses %q", id)
	}
}

// bareID is a catalogue id shown in place of its sentence.
var bareID = regexp.MustCompile(`\b(?:quarantine|ask|value|reading|fed|why|next|stage|style|tactic|box|fly|field|bad|did|do|care|setup|sync|problem|tie|advice|misfit|hatch|place|left|fit|form|size|unit|region|month|group|sex|trip|day|results|bench|foam|order|recipe|material|shop)\.[a-z0-9][a-z0-9.-]*[a-z0-9]\b`)

func TestNoScreenShowsABareID(t *testing.T) {
	b := newFixture(t, true)
	var fly, box string
	fly, box = string(b.ledger.State().Patterns()[0].ID), string(b.ledger.State().Boxes()[0].ID)
	paths := []string{"/", september, "/?fish=none&doing=fluttering&where=riffle&tails=2&hour=22&water_c=21&gills=no&wind=upstream&water=tailwater&colour=%23c46a22&trend=rising",
		"/box", "/box/new", "/box/" + box, "/box/" + box + "/edit", "/box/fly/new", "/box/fly/" + fly, "/box/fly/" + fly + "/edit", "/setup", "/setup/size", "/day", "/day/fly", "/day/on", "/day/results", string("/day/" + demo.ID("outing")), string("/day/" + demo.ID("outing") + "/edit"), setup.QuarantinePath, "/shell/blank", words.FoamPath, "/bench", "/bench/orders", "/bench/order/new", string("/bench/order/" + demo.ID("order-1")), "/bench/recipe/" + fly,
		"/bench/materials", "/bench/material/new", "/bench/shopping"}
	for _, region := range hatchkeys.Regions() {
		k, err := hatchkeys.ForRegion(region)
		if err != nil {
			t.Fatal(err)
		}
		for _, lang := range catalog.Languages {
			b.prefs = "lang=" + lang + "&region=" + region
			list := slices.Clone(paths)
			for _, h := range k.Pack.Hatches {
				list = append(list, "/hatch/"+h.ID)
			}
			for _, path := range list {
				if m := bareID.FindString(b.get(path, http.StatusOK).text()); m != "" {
					t.Errorf("%s in %s shows %q", path, lang, m)
				}
			}
		}
	}
}
