package app

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/day"
)

// clock moves the clock of a bench.
func (b *fixture) clock(clock time.Time) { b.app.Now = func() time.Time { return clock } }

// startDay starts an outing with a fly on and gives the outing's id.
func (b *fixture) startDay(fields ...string) (id string) {
	b.Helper()
	b.saved("/day", append([]string{"water", "Sorrel River", "place", "Cinder Bend", "rods", "2"}, fields...)...)
	b.state(func(s *flybox.State) { id = string(s.Running()[0].Body.ID) })
	return id
}

// tapForm are the fields of the button for a result.
func (d *doc) tapForm(id, result string, gone bool) []string {
	d.Helper()
	for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == "/day/"+id+"/tap" }) {
		fields, got, isGone := []string{}, "", false
		for n := range f.Descendants() {
			if n.Type == html.ElementNode && n.Data == "input" {
				fields = append(fields, attr(n, "name"), attr(n, "value"))
				switch attr(n, "name") {
				case "result":
					got = attr(n, "value")
				case "gone":
					isGone = true
				}
			}
		}
		if got == result && isGone == gone {
			return fields
		}
	}
	d.Fatalf("no button for %q, gone %v:\n%s", result, gone, d.text())
	return nil
}

func (b *fixture) outcomes(id string) (n int) {
	b.state(func(s *flybox.State) { n = len(s.OutcomesOf(journal.ID(id))) })
	return n
}

func TestADayOnTheWater(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/day", http.StatusOK)
	d.wants("Start fishing", "Past outings", "1 outing", "Sorrel River, Cinder Bend", "2 takes, 3 refusals, 1 follow, 1 fish lost", "If the water rises")
	if d.value("water") != "Sorrel River" || d.value("place") != "Cinder Bend" || d.value("rods") != "2" {
		t.Errorf("the form starts with %q, %q, %q; want the last outing's", d.value("water"), d.value("place"), d.value("rods"))
	}
	id := b.startDay()
	d = b.get("/day", http.StatusOK)
	d.wants("Since 06:30", "No fly tied on", "Fish are on: not said", "No fish noted yet")

	// What are they on: the key's likely ones, and what was seen.
	d = b.get("/day/on", http.StatusOK)
	d.wants("Seen lately", "Short-winged golden stonefly", "Likely at this date and hour", "Nothing that I can name")
	d = b.saved("/day/fly", "hatch", "claassenia", "stage", "adult-male", "form", "on")
	d.wants("Short-winged golden stonefly · Short-winged adult, male")

	// Two taps to a fly: what fits stands first.
	d = b.get("/day/fly", http.StatusOK)
	d.wants("Fits what they are on", "Golden foam, short wing", "All flies", "30 of 40 flies")
	d = b.saved("/day/fly", "fly", string(demo.ID("golden-short")), "form", "put")
	d.wants("Golden foam, short wing", "Short-winged golden stonefly", "Take", "Refusal", "Follow", "Fish lost")

	// Taps count, once each however often they come.
	take := d.tapForm(id, "take", false)
	b.saved("/day/"+id+"/tap", take...).wants("Take saved.", "1 take", "Saved: Take, 06:30", "Undo")
	b.saved("/day/"+id+"/tap", take...)
	if n := b.outcomes(id); n != 1 {
		t.Fatalf("%d outcomes after a double tap, want 1", n)
	}
	d = b.get("/day", http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "refusal", false)...).wants("1 take, 1 refusal")
	b.state(func(s *flybox.State) {
		o := s.OutcomesOf(journal.ID(id))[0].Body
		f, _ := s.Pattern(demo.ID("golden-short"))
		if o.Pattern != demo.ID("golden-short") || o.Rev != f.Rev || o.Hatch != "claassenia" || o.Form != "adult-male" || o.Water != "Sorrel River" || !strings.HasPrefix(o.When, "2026-09-12T06:30:00") {
			t.Errorf("outcome %+v", o)
		}
	})

	// Undo, once however often it comes; then the one before is the last.
	d = b.get("/day", http.StatusOK)
	undo := d.form("/day/"+id+"/undo", 0)
	b.saved("/day/"+id+"/undo", undo...).wants("Taken back.", "Take, 06:30")
	b.saved("/day/"+id+"/undo", undo...)
	if n := b.outcomes(id); n != 1 {
		t.Fatalf("%d outcomes after undo, want 1", n)
	}

	// A fish breaks it off: one outcome, and one fly less, in one record.
	left := func() (n int) {
		b.state(func(s *flybox.State) { n = s.Count(demo.ID("golden-short")) })
		return n
	}
	before, entries := left(), b.entries()
	d = b.get("/day", http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "lost", true)...).wants("one fly less", "A fish broke it off", "1 take, 1 fish lost")
	if left() != before-1 || b.entries() != entries+2 {
		t.Errorf("%d flies left of %d, %d entries more", left(), before, b.entries()-entries)
	}
	b.state(func(s *flybox.State) {
		m := s.LossesOf(journal.ID(id))[0]
		if m.Place == flybox.Loose || m.Outcome == "" || m.Why != flybox.WhyLost {
			t.Errorf("loss %+v, want one out of its slot, to a fish", m)
		}
	})
	b.saved("/day/"+id+"/undo", b.get("/day", http.StatusOK).form("/day/"+id+"/undo", 0)...)
	if left() != before || b.outcomes(id) != 1 {
		t.Errorf("%d flies left of %d and %d outcomes after undo", left(), before, b.outcomes(id))
	}
	// A bush: no fish, one fly less.
	d = b.get("/day", http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "", true)...).wants("Bush, stone or wood")
	if left() != before-1 || b.outcomes(id) != 1 {
		t.Errorf("%d flies left of %d and %d outcomes after a bush", left(), before, b.outcomes(id))
	}

	// End, and look at it.
	d = b.saved("/day/"+id+"/end", b.get("/day", http.StatusOK).form("/day/"+id+"/end", 0)...)
	if got := hrefs(d, "/day/results"); len(got) != 1 || got[0] != "/day/results?from=2026-09-12&to=2026-09-12&water=Sorrel+River" {
		t.Errorf("the outing leads to %q", got)
	}
	b.get("/day/results?from=2026-09-12&to=2026-09-12&water=Sorrel+River", http.StatusOK).wants("1 fish")
	d.wants("Ended.", "What happened", "Tied on: Golden foam, short wing", "Take", "1 fly lost", "2 rods")
	b.get("/day", http.StatusOK).wants("Start fishing", "2 outings")
	// Delete the take on the timeline.
	b.saved("/day/"+id+"/undo", d.form("/day/"+id+"/undo", 1)...)
	if n := b.outcomes(id); n != 0 {
		t.Errorf("%d outcomes after deleting the only one", n)
	}
}

func TestFishItFromTheKey(t *testing.T) {
	b := newFixture(t, true)
	d := b.get(september, http.StatusOK)
	fish := d.form("/day/fly", 0)
	d = b.saved("/day/fly", fish...)
	d.wants("Starts with Golden foam, short wing on, fish on Short-winged golden stonefly", "Start")
	b.saved("/day/fly", fish...).wants("Starts with Golden foam, short wing on") // back, and the same button again
	start := d.form("/day", 0)
	b.saved("/day", start...).wants("Golden foam, short wing", "Short-winged golden stonefly", "Since 06:30")
	// With an outing running one tap is enough.
	d = b.get("/hatch/baetis?form=dun", http.StatusOK)
	b.saved("/day/fly", d.form("/day/fly", 0)...).wants("Fish are on: Blue-winged olive")
	b.saved("/day/fly", "hatch", "", "stage", "", "form", "none").wants("Fish are on: not said")
}

func TestDayRefusesWhatCannotBe(t *testing.T) {
	b := newFixture(t, true)
	for _, c := range []struct {
		name   string
		fields []string
		want   []string
	}{
		{"words where numbers belong", []string{"water", "Sorrel River", "rods", "many", "water_c", "cold"}, []string{"Not saved yet", "many", "cold"}},
		{"more rods than there are", []string{"rods", "1000"}, []string{"Not saved yet", "1000"}},
		{"boiling", []string{"water_c", "99"}, []string{"Not saved yet", "99", "from -5\u00a0°C to 45\u00a0°C"}},
		{"a name without end", []string{"water", strings.Repeat("x", 200)}, []string{"Not saved yet"}},
	} {
		before := b.entries()
		w := b.send("/day", c.fields...)
		if w.Code != http.StatusUnprocessableEntity || b.entries() != before {
			t.Errorf("%s: status %d, %d entries more", c.name, w.Code, b.entries()-before)
		}
		d := parse(t, w.Body.String())
		for _, text := range c.want {
			if !strings.Contains(w.Body.String(), text) {
				t.Errorf("%s: the page lacks %q: %s", c.name, text, d.byID("main"))
			}
		}
	}
	id := b.startDay("fly", string(demo.ID("golden-short")))
	before := b.entries()
	for _, c := range []struct {
		name, path string
		fields     []string
		want       int
	}{
		{"a result that is none", "/day/" + id + "/tap", []string{"result", "nibble"}, http.StatusBadRequest},
		{"no result", "/day/" + id + "/tap", nil, http.StatusBadRequest},
		{"an unknown outing", "/day/nothing/tap", []string{"result", "take"}, http.StatusNotFound},
		{"an unknown fly", "/day/fly", []string{"fly", "nothing"}, http.StatusNotFound},
		{"start with an unknown fly", "/day", []string{"fly", "nothing"}, http.StatusNotFound},
		{"undo of nothing", "/day/" + id + "/undo", nil, http.StatusBadRequest},
		{"undo on an unknown outing", "/day/nothing/undo", []string{"entry", "x"}, http.StatusNotFound},
		{"end of an unknown outing", "/day/nothing/end", nil, http.StatusNotFound},
		{"change of an unknown outing", "/day/nothing/edit", nil, http.StatusNotFound},
		{"removal of an unknown outing", "/day/nothing/remove", nil, http.StatusNotFound},
	} {
		if w := b.send(c.path, c.fields...); w.Code != c.want {
			t.Errorf("%s: status %d, want %d", c.name, w.Code, c.want)
		}
	}
	// An outcome of another outing is not this outing's to take back.
	b.saved("/day/"+id+"/undo", "entry", string(demo.ID("outcome-1")))
	if b.entries() != before {
		t.Errorf("%d entries were written", b.entries()-before)
	}
	b.get("/day/nothing", http.StatusNotFound)
	b.get("/day/nothing/edit", http.StatusNotFound)
}

func TestChangeAnOuting(t *testing.T) {
	b := newFixture(t, true)
	href := "/day/" + demo.ID("outing")
	d := b.get(string(href+"/edit"), http.StatusOK)
	if d.value("start_day") != "2026-08-14" || d.value("start_clock") != "05:20" || d.value("end_clock") != "11:40" || d.value("water") != "Sorrel River" {
		t.Errorf("the form has %q %q to %q on %q", d.value("start_day"), d.value("start_clock"), d.value("end_clock"), d.value("water"))
	}
	fields := []string{"water", "Ember Creek", "place", "", "rods", "1", "water_c", "14,5", "start_day", "2026-08-14", "start_clock", "5.45", "end_day", "2026-08-14", "end_clock", "11:40", "note", "Two\nlines"}
	b.saved(string(href+"/edit"), fields...).wants("Saved", "Ember Creek", "05:45", "Water 14.5")
	b.state(func(s *flybox.State) {
		o, _ := s.Outing(demo.ID("outing"))
		if o.Body.Start != "2026-08-14T05:45:00-06:00" || o.Body.End != "2026-08-14T11:40:00-06:00" || o.Body.Trip != demo.ID("trip") || o.Body.WaterC == nil || *o.Body.WaterC != 14.5 {
			t.Errorf("%+v", o.Body)
		}
	})
	for _, c := range []struct{ name, field, value, want string }{
		{"no day", "start_day", "", "start_day-error"},
		{"a day that is none", "end_day", "2026-02-31", "end_day-error"},
		{"a time that is none", "start_clock", "25:00", "start_clock-error"},
		{"the end before the start", "end_clock", "03:00", "end_clock-error"},
		{"too many rods", "rods", "101", "rods-error"},
	} {
		before := b.entries()
		w := b.send(string(href+"/edit"), with(fields, c.field, c.value)...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || d.byID(c.want) == "" || b.entries() != before {
			t.Errorf("%s: status %d, %q: %s", c.name, w.Code, d.byID(c.want), d.byID("main"))
		}
		if d.value(c.field) != c.value {
			t.Errorf("%s: %q was typed, %q is shown", c.name, c.value, d.value(c.field))
		}
	}
	b.saved(string(href+"/remove"), "form", "r").wants("Start fishing")
	b.get(string(href), http.StatusNotFound)
	b.get("/day/results", http.StatusOK).wants("7 fish") // they go on counting
}

func TestOutingOverMidnightAndForgotten(t *testing.T) {
	b := newFixture(t, true)
	evening := time.Date(2026, 9, 12, 21, 30, 0, 0, time.UTC)
	b.clock(evening)
	id := b.startDay("fly", string(demo.ID("golden-short")))
	b.clock(evening.Add(3 * time.Hour)) // half past midnight, still at it
	d := b.get("/day", http.StatusOK)
	if strings.Contains(d.text(), "still running") {
		t.Error("an outing over midnight counts as forgotten")
	}
	d.wants("Since 12 September 2026")
	b.saved("/day/"+id+"/tap", d.tapForm(id, "take", false)...).wants("1 take")
	b.clock(evening.Add(16 * time.Hour))
	d = b.get("/day", http.StatusOK)
	d.wants("is still running", "The last entry is from 13 September 2026, 00:30", "End it at that time")
	b.saved("/day/"+id+"/end", d.form("/day/"+id+"/end", 0)...)
	b.state(func(s *flybox.State) {
		o, _ := s.Outing(journal.ID(id))
		if o.Body.End != "2026-09-13T00:30:00Z" {
			t.Errorf("ended at %s, want at the last entry", o.Body.End)
		}
	})
	// A clock that was put back does not end it before it began.
	b.clock(evening)
	id = b.startDay()
	b.clock(evening.Add(-2 * time.Hour))
	b.saved("/day/"+id+"/end", "form", "back")
	b.state(func(s *flybox.State) {
		if o, _ := s.Outing(journal.ID(id)); o.Body.End != o.Body.Start {
			t.Errorf("started %s, ended %s", o.Body.Start, o.Body.End)
		}
	})
}

func TestTwoOutingsAtOnce(t *testing.T) {
	b := newFixture(t, true)
	one := b.startDay("fly", string(demo.ID("golden-short")))
	b.clock(now.Add(time.Hour))
	two := b.startDay("water", "Ember Creek", "fly", string(demo.ID("olive-dun")))
	d := b.get("/day", http.StatusOK)
	d.wants("Also running", "Olive dun, parachute")
	d = b.get("/day?at="+one, http.StatusOK)
	d.wants("Golden foam, short wing", "Also running")
	b.saved("/day/"+one+"/tap", d.tapForm(one, "take", false)...).wants("Golden foam, short wing", "1 take")
	if b.outcomes(one) != 1 || b.outcomes(two) != 0 {
		t.Errorf("%d and %d outcomes", b.outcomes(one), b.outcomes(two))
	}
}

func TestAFlyThatIsTakenAwayWhileItIsOn(t *testing.T) {
	b := newFixture(t, true)
	id := b.startDay("fly", string(demo.ID("golden-short")))
	shown := b.get("/day", http.StatusOK)
	b.saved(string("/box/fly/"+demo.ID("golden-short")+"/remove"), "form", "gone")
	b.get("/day", http.StatusOK).wants("Golden foam, short wing", "Removed from the box")
	b.saved("/day/"+id+"/tap", shown.tapForm(id, "take", false)...).wants("1 take")
	b.get("/day/results", http.StatusOK).wants("Golden foam, short wing", "Removed from the box")
	// One that never arrived on this device.
	if _, err := b.ledger.Record(context.Background(), flybox.Rig{When: now.Format(time.RFC3339), Outing: journal.ID(id), Pattern: "elsewhere"}); err != nil {
		t.Fatal(err)
	}
	d := b.get("/day", http.StatusOK)
	d.wants("A fly that is not in this ledger")
	b.saved("/day/"+id+"/tap", d.tapForm(id, "refusal", false)...)
	b.get("/day/results", http.StatusOK).wants("A fly that is not in this ledger")
	b.get("/day/"+id, http.StatusOK).wants("A fly that is not in this ledger")
	// The tap counts for the fly that the screen showed.
	b.saved("/day/fly", "fly", string(demo.ID("olive-dun")), "form", "olive")
	b.saved("/day/"+id+"/tap", d.tapForm(id, "follow", false)...)
	b.state(func(s *flybox.State) {
		if o := s.OutcomesOf(journal.ID(id)); len(o) != 3 || o[0].Body.Pattern != "elsewhere" && o[1].Body.Pattern != "elsewhere" {
			t.Errorf("%+v", o)
		}
	})
}

func TestWarmWaterIsSaid(t *testing.T) {
	b := newFixture(t, true)
	b.startDay("water_c", "20.5")
	b.get("/day", http.StatusOK).wants("Water at 20.5 °C: fish are in trouble", "If the water rises")
}

func TestFiveThousandOutcomes(t *testing.T) {
	b := newFixture(t, true)
	b.manyOutcomes(60)
	d := b.get("/day", http.StatusOK)
	d.wants("1 to 20 of 61 outings", "Older outings")
	b.get("/day?from=60", http.StatusOK).wants("61 to 61 of 61 outings", "14 July 2026")
	b.get("/day?from=9999", http.StatusOK).wants("61 to 61 of 61 outings")
	b.get("/day/results", http.StatusOK).wants("5047 fish", "a fair number")
	if n := len(b.get("/day/o3", http.StatusOK).all(func(n *html.Node) bool { return attr(n, "class") == "clock" })); n != day.PageOfTimes {
		t.Errorf("%d lines of 84 on the first part of a timeline, want %d", n, day.PageOfTimes)
	}
	b.get("/day/o3?from=60", http.StatusOK).wants("What happened")
	id := b.startDay("fly", string(demo.ID("golden-short")), "hatch", "claassenia", "stage", "adult-male")
	d = b.get("/day", http.StatusOK)
	b.saved("/day/"+id+"/tap", d.tapForm(id, "take", false)...).wants("1 take")
}

// manyOutcomes are as many outings as said, with 84 fish each.
func (b *fixture) manyOutcomes(outings int) {
	b.Helper()
	var bodies []flybox.Body
	for i := range outings {
		day := now.AddDate(0, 0, -i-1)
		bodies = append(bodies, flybox.Outing{ID: journal.ID(fmt.Sprintf("o%d", i)), Start: day.Format(time.RFC3339), End: day.Add(6 * time.Hour).Format(time.RFC3339), Water: "Sorrel River"})
		for j := range 84 {
			fly := []string{string(demo.ID("golden-short")), string(demo.ID("golden-foam")), string(demo.ID("olive-dun"))}[j%3]
			bodies = append(bodies, flybox.Outcome{When: day.Add(time.Duration(j) * time.Minute).Format(time.RFC3339), Result: flybox.Results[(i+j/3)%4], Pattern: journal.ID(fly), Hatch: "claassenia", Form: "adult-male", Outing: journal.ID(fmt.Sprintf("o%d", i)), Water: "Sorrel River"})
		}
	}
	if _, err := b.ledger.Record(context.Background(), bodies...); err != nil {
		b.Fatal(err)
	}
}
