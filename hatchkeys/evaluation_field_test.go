package hatchkeys_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"dampstone/hatchkeys"
)

// fieldRow is what a careful angler would see of an insect as a source
// describes it: written from the source, not from the packs.
type fieldRow struct {
	evidence string // JSON of the key; "colour" may be the name of a swatch
	// want are the hatches that are right, by id. More than one only where
	// the source does not part them.
	want   string
	source string // key of fieldSources
}

// late are rows that were written after the packs and the key were done with
// and scored once, to see how far the rest had been worked to.
type fieldSet struct {
	region     string
	rows, late []fieldRow
}

var fieldSets = []fieldSet{
	{"west-na", fieldWest, fieldWestLate},
	{"east-na", fieldEast, fieldEastLate},
	{"europe", fieldEurope, fieldEuropeLate},
	{"south", fieldSouth, fieldSouthLate},
}

var namedColour = regexp.MustCompile(`"colour":"([a-z]+)"`)

// fieldEvidence reads the evidence of a row.
func fieldEvidence(t *testing.T, region, text string) hatchkeys.Evidence {
	t.Helper()
	text = namedColour.ReplaceAllStringFunc(text, func(m string) string {
		name := namedColour.FindStringSubmatch(m)[1]
		for _, s := range hatchkeys.Swatches {
			if s.Name == name {
				return fmt.Sprintf(`"colour":%q`, s.Hex)
			}
		}
		return m
	})
	_, e, err := hatchkeys.ParseJSON([]byte(`{"region":"` + region + `",` + strings.TrimPrefix(text, "{")))
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return e
}

// fieldScore counts how often a right hatch leads, and is among three.
type fieldScore struct{ n, first, third int }

func (s fieldScore) String() string {
	return fmt.Sprintf("%d rows: first %.1f %%, among three %.1f %%", s.n, 100*float64(s.first)/float64(s.n), 100*float64(s.third)/float64(s.n))
}

func (s *fieldScore) add(o fieldScore) { s.n += o.n; s.first += o.first; s.third += o.third }

// scoreField reads every row and prints those whose hatch does not lead.
func scoreField(t *testing.T, region string, rows []fieldRow) (s fieldScore) {
	t.Helper()
	key, err := hatchkeys.ForRegion(region)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		cite, ok := fieldSources[row.source]
		if !ok {
			t.Errorf("%s: source %q is not known", row.evidence, row.source)
		}
		for _, id := range strings.Fields(row.want) {
			if key.Hatch(id) == nil {
				t.Errorf("%s: %s has no hatch %q", row.evidence, region, id)
			}
		}
		r := key.Read(fieldEvidence(t, region, row.evidence))
		place := 0
		for i := range 3 {
			if place == 0 && strings.Contains(" "+row.want+" ", " "+r.Ranked[i].Hatch.ID+" ") {
				place = i + 1
			}
		}
		s.n++
		if place >= 1 {
			s.third++
		}
		if place == 1 && r.Leader() != nil {
			s.first++
			continue
		}
		var b strings.Builder
		for _, h := range r.Ranked[:4] {
			fmt.Fprintf(&b, " %s %.2f", h.Hatch.ID, h.Probability)
		}
		t.Logf("%s %s\n  want %s (%s)\n  got%s, unknown %.2f", region, row.evidence, row.want, cite, b.String(), r.Unknown)
	}
	return s
}

func TestEvaluationOnFieldDescriptions(t *testing.T) {
	var all, late fieldScore
	for _, set := range fieldSets {
		s := scoreField(t, set.region, set.rows)
		t.Logf("%s: %v", set.region, s)
		all.add(s)
		if len(set.late) > 0 {
			s = scoreField(t, set.region, set.late)
			t.Logf("%s, written last: %v", set.region, s)
			late.add(s)
		}
	}
	t.Logf("all regions: %v", all)
	if late.n > 0 {
		t.Logf("all regions, written last: %v", late)
	}
	all.add(late)
	if all.n < 70 {
		t.Errorf("%d rows, want 70 or more", all.n)
	}
	if float64(all.third) < 0.95*float64(all.n) || float64(all.first) < 0.80*float64(all.n) {
		t.Errorf("%v; want 80 %% and 95 %%", all)
	}
}

// TestEvaluationOnFieldDescriptionsSpoilt reads the same rows with one answer
// missing, each in turn, and with the length misjudged by a sixth either way:
// no row may rest on one answer alone.
func TestEvaluationOnFieldDescriptionsSpoilt(t *testing.T) {
	var dropped, misjudged fieldScore
	for _, set := range fieldSets {
		key, err := hatchkeys.ForRegion(set.region)
		if err != nil {
			t.Fatal(err)
		}
		score := func(s *fieldScore, e hatchkeys.Evidence, want string) {
			r := key.Read(e)
			s.n++
			for i := range 3 {
				if strings.Contains(" "+want+" ", " "+r.Ranked[i].Hatch.ID+" ") {
					s.third++
					if i == 0 && r.Leader() != nil {
						s.first++
					}
					break
				}
			}
		}
		for _, row := range append(append([]fieldRow{}, set.rows...), set.late...) {
			e := fieldEvidence(t, set.region, row.evidence)
			for _, a := range hatchkeys.Questions {
				less := e
				switch {
				case !e.Given(a):
					continue
				case a == hatchkeys.Month:
					less.Month, less.Day = 0, 0
				case a == hatchkeys.Length:
					less.LengthMM = 0
				case a == hatchkeys.Colour:
					less.Colour = ""
				case a == hatchkeys.Hour:
					less.Hour = nil
				case a == hatchkeys.WaterC:
					less.WaterC = nil
				default:
					less.Choices[a] = hatchkeys.Choice{}
				}
				score(&dropped, less, row.want)
			}
			for _, by := range []float64{5.0 / 6, 7.0 / 6} {
				off := e
				off.LengthMM *= by
				score(&misjudged, off, row.want)
			}
		}
	}
	t.Logf("one answer missing: %v", dropped)
	t.Logf("length a sixth off: %v", misjudged)
	for _, s := range []fieldScore{dropped, misjudged} {
		if float64(s.third) < 0.85*float64(s.n) || float64(s.first) < 0.65*float64(s.n) {
			t.Errorf("%v; want 65 %% and 85 %%", s)
		}
	}
}
