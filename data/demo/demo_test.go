package demo

import (
	"bytes"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/match"
	"dampstone/flybox/storetest"
	"dampstone/hatchkeys"
)

func load(t *testing.T) ([]journal.Entry, *flybox.State) {
	t.Helper()
	entries, err := Entries()
	if err != nil {
		t.Fatal(err)
	}
	return entries, storetest.Fold(entries)
}

func TestEveryLineIsAnEntryThatMakesSense(t *testing.T) {
	entries, s := load(t)
	if s.Len() != len(entries) || s.Newer() != 0 || s.Broken() != 0 {
		t.Errorf("%d entries, %d folded, %d newer, %d broken", len(entries), s.Len(), s.Newer(), s.Broken())
	}
	for i, e := range entries {
		if _, err := flybox.Decode(e); err != nil {
			t.Errorf("%s: %v", e.ID, err)
		}
		if i > 0 && e.At.Compare(entries[i-1].At) <= 0 {
			t.Errorf("%s is not later than the line before", e.ID)
		}
	}
	lines := bytes.Split(bytes.TrimSpace(ledger), []byte("\n"))
	for i, line := range lines {
		if !bytes.Equal(identify(line), entries[i].Raw()) {
			t.Errorf("line %d has spaces between tokens", i+1)
		}
		if rest := bytes.ReplaceAll(entries[i].Raw(), []byte("-demo\""), nil); bytes.Contains(rest, []byte("demo-")) {
			t.Errorf("line %d has a name in place of an id: %s", i+1, rest)
		}
	}
}

func TestNothingPointsNowhere(t *testing.T) {
	_, s := load(t)
	if len(s.Strays()) != 0 {
		t.Errorf("flies in no box: %+v", s.Strays())
	}
	for _, b := range s.Boxes() {
		v, _ := s.Box(b.ID)
		if len(v.Outside) != 0 {
			t.Errorf("%s: outside its grid: %+v", b.Name, v.Outside)
		}
		for _, row := range v.Cells {
			for _, cell := range row {
				if len(cell.Contents) > 1 {
					t.Errorf("%s: two flies in %+v", b.Name, cell.Place)
				}
				for _, c := range cell.Contents {
					if !c.Known || !c.Assigned || c.Count < 0 {
						t.Errorf("%s: %+v", b.Name, c)
					}
				}
			}
		}
	}
	for _, o := range s.Outcomes() {
		if rev, ok := s.Revision(o.Body.Rev); !ok || rev.ID != o.Body.Pattern {
			t.Errorf("%s: revision %q is not of %s", o.Entry, o.Body.Rev, o.Body.Pattern)
		}
		if _, ok := s.Sighting(o.Body.Sighting); !ok {
			t.Errorf("%s: no sighting %q", o.Entry, o.Body.Sighting)
		}
		if _, ok := s.Outing(o.Body.Outing); !ok {
			t.Errorf("%s: no outing %q", o.Entry, o.Body.Outing)
		}
	}
	for _, o := range s.Orders() {
		if _, ok := s.Pattern(o.Body.Pattern); !ok {
			t.Errorf("%s: no pattern %q", o.Entry, o.Body.Pattern)
		}
	}
}

func TestSightingsSpeakOfTheKey(t *testing.T) {
	_, s := load(t)
	key, err := hatchkeys.ForRegion("west-na")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range s.Sightings() {
		if _, _, err := hatchkeys.ParseJSON(l.Body.Evidence); err != nil {
			t.Errorf("%s: evidence: %v", l.Entry, err)
		}
		if h := key.Hatch(l.Body.Hatch); h == nil || h.Form(l.Body.Form) == nil {
			t.Errorf("%s: the key has no %s %s", l.Entry, l.Body.Hatch, l.Body.Form)
		}
	}
}

func TestTheSeasonHasSomethingToShow(t *testing.T) {
	_, s := load(t)
	usedUp := 0
	for _, f := range s.Patterns() {
		if f.Left == 0 {
			usedUp++
		}
	}
	if len(s.Boxes()) != 3 || len(s.Patterns()) != 40 || usedUp < 2 {
		t.Errorf("%d boxes, %d patterns, %d used up", len(s.Boxes()), len(s.Patterns()), usedUp)
	}
	if l := s.Lineage(ID("golden-short")); len(l) != 3 || l[0].ID != ID("golden-foam") || l[2].Length >= l[1].Length {
		t.Errorf("lineage %+v", l)
	}
}

// The morning that the demo tells of: a 20 mm stonefly with stub wings at the
// edge. The shortened fly should come first, the long-winged one should not do
// as it is.
func TestTheShortenedFlyIsTheOneForTheShortWingedStonefly(t *testing.T) {
	_, s := load(t)
	q := match.CompileQuarry(match.Quarry{Group: "stonefly", Stage: "adult", Length: hatchkeys.Range{From: 20.5, To: 20.5}, Colours: []string{"#a98545", "#b8924c"}, Wings: flybox.ShortWing, Water: "tailwater"})
	r := match.RankBy(match.CompileFlies(s), &q, nil)
	if r.Matches[0].Fly.ID != ID("golden-short") || !r.Matches[0].Fits {
		t.Errorf("first is %s, %.2f", r.Matches[0].Fly.ID, r.Matches[0].Score)
	}
	for _, m := range r.Matches {
		if m.Fly.ID == ID("golden-foam") && m.Fits {
			t.Errorf("the long-winged fly fits: %.2f %+v", m.Score, m.Parts)
		}
	}
}
