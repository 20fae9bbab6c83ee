package app

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
)

// canyon are the fields of a trip in the week after now, with some said
// otherwise.
func canyon(otherwise ...string) []string {
	fields := []string{"name", "Canyon float", "from", "2026-09-15", "to", "2026-09-17", "rods", "4", "hours", "9", "skill", "mixed", "region", "west-na", "level", "90",
		"water0", "Sorrel River", "type0", "tailwater"}
	for i := 0; i < len(otherwise); i += 2 {
		fields = with(fields, otherwise[i], otherwise[i+1])
	}
	return fields
}

// with are fields with one said otherwise.
func with(fields []string, name, value string) []string {
	fields = slices.Clone(fields)
	for i := 0; i < len(fields); i += 2 {
		if fields[i] == name {
			fields[i+1] = value
			return fields
		}
	}
	return append(fields, name, value)
}

// tripOf makes a trip and gives its id.
func (b *fixture) tripOf(fields ...string) string {
	b.Helper()
	w := b.send("/trip/new", fields...)
	if w.Code != http.StatusSeeOther {
		b.Fatalf("status %d: %s", w.Code, parse(b.T, w.Body.String()).byID("main"))
	}
	id, _, _ := strings.Cut(strings.TrimPrefix(w.Header().Get("Location"), "/trip/"), "?")
	return id
}

func (b *fixture) state(f func(*flybox.State)) { f(b.ledger.State()) }

// form are the fields of the nth form of a page with an action.
func (d *doc) form(action string, n int) (fields []string) {
	d.Helper()
	forms := d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == action })
	if n >= len(forms) {
		d.Fatalf("page has %d forms for %s, want one more than %d", len(forms), action, n)
	}
	for n := range forms[n].Descendants() {
		if n.Type == html.ElementNode && n.Data == "input" && attr(n, "name") != "" {
			fields = append(fields, attr(n, "name"), attr(n, "value"))
		}
	}
	return fields
}

func TestTripFromPlanToWhatItTeaches(t *testing.T) {
	b := newFixture(t, true)
	b.get("/trip", http.StatusOK).wants("Trips", "Past trips", "Canyon float, two boats")
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")))...)
	href := "/trip/" + id
	d := b.get(href, http.StatusOK)
	d.wants("Canyon float", "15 September 2026 to 17 September 2026, 3 days", "Sorrel River, Tailwater below a dam", "Flies to take", "of 48 slots", "Hatches by day", "Rising water", "assumed")

	// The short-winged golden stonefly is about in September, and its fly is in
	// the plan. Common practice, no source.
	line := d.byID(string("line-" + demo.ID("golden-short")))
	if !strings.Contains(line, "Short-winged golden stonefly") {
		t.Errorf("the line of the short-winged fly says %q", line)
	}

	// Overruled, and given back.
	d = b.saved(href+"/line/"+string(demo.ID("golden-short")), "take."+string(demo.ID("golden-short")), "9")
	if line = d.byID(string("line-" + demo.ID("golden-short"))); !strings.Contains(line, "You decided") {
		t.Errorf("the overruled line says %q", line)
	}

	// A fly that no hatch asks for goes along as well.
	d = b.saved(href+"/line", "fly", string(demo.ID("winter-stone")), "take", "2")
	if line = d.byID(string("line-" + demo.ID("winter-stone"))); !strings.Contains(line, "You decided") {
		t.Errorf("the added line says %q", line)
	}
	if w := b.send(href+"/line", "fly", string(demo.ID("winter-stone")), "take", "some"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("some of a fly: status %d", w.Code)
	}

	// Packed, one move at a time, each tick once, and one taken back.
	pack := href + "/pack"
	d = b.get(pack, http.StatusOK)
	moves := len(d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == pack }))
	if moves == 0 {
		t.Fatal("there is nothing to pack")
	}
	first := d.form(pack, 0)
	before := b.entries()
	b.saved(pack, first...)
	b.saved(pack, first...)
	if got := b.entries() - before; got != 2 {
		t.Errorf("two taps made %d entries, want the two of one move", got)
	}
	d = b.get(pack, http.StatusOK)
	d.wants("Packed so far")
	undo := d.form(pack, moves-1) // the done ones come last
	b.saved(pack, undo...).wants("Taken back")
	if w := b.send(pack, with(undo, "form", "another")...); w.Code != http.StatusNotFound {
		t.Errorf("taking back what was taken back: status %d", w.Code)
	}
	for range 60 {
		d = b.get(pack, http.StatusOK)
		if strings.Contains(d.text(), "All is in its place") {
			break
		}
		b.saved(pack, d.form(pack, 0)...)
	}
	d.wants("All is in its place")

	// Back: two of the first kind are missing, one of the second is found.
	d = b.get(href+"/back", http.StatusOK)
	fields := d.form(href+"/back", 0)
	changed := []string{}
	for i := 0; i < len(fields); i += 2 {
		if !strings.HasPrefix(fields[i], "back.") || len(changed) == 2 {
			continue
		}
		n := screen.Atoi(fields[i+1])
		if len(changed) == 0 && n >= 2 {
			fields[i+1] = screen.Itoa(n - 2)
			changed = append(changed, strings.TrimPrefix(fields[i], "back."))
		} else if len(changed) == 1 {
			fields[i+1] = screen.Itoa(n + 1)
			changed = append(changed, strings.TrimPrefix(fields[i], "back."))
		}
	}
	was := map[string]int{}
	for _, fly := range changed {
		was[fly] = b.left(fly)
	}
	d = b.saved(href+"/back", fields...)
	d.wants("2 flies lost or given", "The plan expected about", "With 1 counted trip")
	if a, c := b.left(changed[0]), b.left(changed[1]); a != was[changed[0]]-2 || c != was[changed[1]]+1 {
		t.Errorf("left %d and %d, were %v", a, c, was)
	}
	b.state(func(s *flybox.State) {
		lost := 0
		for _, m := range s.Moves(journal.ID(changed[0])) {
			if string(m.Trip) == id && m.Why == flybox.WhyLost {
				lost -= m.Delta
			}
		}
		back, ok := s.Return(journal.ID(id))
		if lost != 2 || !ok || back.Body.Lost() != 2 || back.Body.RodDays != 13.5 {
			t.Errorf("%d moves say lost, the count is %v %+v; want 2 lost in 13.5 rod days", lost, ok, back.Body)
		}
	})

	// The next plan has learned: Gamma(2+2, 1+13.5) has mean 0.28.
	next := b.tripOf(canyon("name", "Another")...)
	b.get("/trip/"+next, http.StatusOK).wants("0.3 flies lost or given per rod and day, learned from 1 counted trip")
	b.get(href, http.StatusOK).wants("This trip has been counted", "assumed, nobody has published a figure")

	// Counted again: one more is missing. The forecast stays what it was.
	var forecast float64
	b.state(func(s *flybox.State) { l, _ := s.Return(journal.ID(id)); forecast = l.Body.Expected })
	d = b.get(href+"/back", http.StatusOK)
	fields = d.form(href+"/back", 0)
	for i := 0; i < len(fields); i += 2 {
		if fields[i] == "back."+changed[1] {
			fields[i+1] = screen.Itoa(screen.Atoi(fields[i+1]) - 1)
		}
	}
	b.saved(href+"/back", fields...).wants("3 flies lost or given")
	b.state(func(s *flybox.State) {
		if l, _ := s.Return(journal.ID(id)); l.Body.Expected != forecast {
			t.Errorf("the forecast was %g and is %g", forecast, l.Body.Expected)
		}
	})

	b.saved(href + "/remove").wants("Trips")
	b.get(href, http.StatusNotFound)
	b.state(func(s *flybox.State) {
		if len(s.Returns()) != 0 {
			t.Error("the count outlives its trip")
		}
	})
}

// What was noted as lost while fishing is part of the count, not lost twice.
func TestLossesNotedOnTheWaterCountOnce(t *testing.T) {
	b, box, fly := stocked(t)
	id := b.tripOf(canyon("from", "2026-09-12", "to", "2026-09-12", "boxes", box)...)
	move := "/box/fly/" + fly + "/move"
	b.saved(move, "do", "take", "box", box, "row", "2", "slot", "3")
	b.saved(move, "do", "lost", "box", "", "row", "0", "slot", "0")
	d := b.get("/trip/"+id+"/back", http.StatusOK)
	d.wants("3 on record. 1 noted as lost or given")
	b.saved("/trip/"+id+"/back", "back."+fly, "2").wants("Saved: 2 flies lost or given.", "2 flies lost or given")
	if b.left(fly) != 2 {
		t.Errorf("%d left, want 2", b.left(fly))
	}
	b.state(func(s *flybox.State) {
		if l, _ := s.Return(journal.ID(id)); len(l.Body.Lines) != 1 || l.Body.Lines[0].Took != 4 || l.Body.Lines[0].Back != 2 {
			t.Errorf("%+v", l.Body)
		}
	})
}

func TestRefusedTripsKeepWhatWasTyped(t *testing.T) {
	b := newFixture(t, false)
	for _, c := range []struct {
		name, value string
		want        string
	}{
		{"name", "", "Name of the trip: This is needed."},
		{"from", "2026-02-30", "First day: “2026-02-30” is not a date."},
		{"to", "2026-09-14", "Last day: The last day is before the first."},
		{"to", "2027-09-14", "Last day: At most 92 days at a time; this is 365."},
		{"rods", "many", "Rods: “many” is not a number."},
		{"rods", "0", "Rods: Must be from 1 to 100."},
		{"hours", "30", "Hours a day: Must be from 0.5 to 24."},
		{"skill", "expert", "Party: That choice is not known."},
		{"region", "moon", "Region: That choice is not known."},
		{"level", "120", "Chance of not running out: That choice is not known."},
		{"type0", "lava", "Kind of water: That choice is not known."},
		{"alt0", "99999", "Height: Must be from -100 m to 5000 m."},
		{"lat0", "north", "Latitude: “north” is not a number."},
		{"per_slot", "1000", "Flies in a slot: Must be from 0 to 99."},
		{"evenings", "x", "Evenings for tying: “x” is not a number."},
		{"tie_minutes", "0", "Minutes to tie a fly: Must be from 1 to 240."},
		{"temperatures", "2026-05-01 6 11\nyesterday 7", "Line 2, “yesterday 7”, is no date"},
		{"temperatures", "2026-05-01 11 6", "Line 1, “2026-05-01 11 6”, is no date"},
	} {
		fields := canyon(c.name, c.value)
		before := b.entries()
		w := b.send("/trip/new", with(fields, "note", "bring <rope> & boat")...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || b.entries() != before {
			t.Errorf("%s %q: status %d, %d entries made", c.name, c.value, w.Code, b.entries()-before)
			continue
		}
		d.wants(c.want)
		if got := d.value("note"); got != "bring <rope> & boat" {
			t.Errorf("%s: the note became %q", c.name, got)
		}
		if got := d.value("water0"); got != "Sorrel River" {
			t.Errorf("%s: the water became %q", c.name, got)
		}
		if c.name != "skill" && c.name != "region" && c.name != "level" && c.name != "type0" {
			if got := d.value(c.name); strings.Join(strings.Fields(got), " ") != strings.Join(strings.Fields(c.value), " ") {
				t.Errorf("%s: %q became %q", c.name, c.value, got)
			}
		}
	}
}

func TestRefusedCountsKeepWhatWasTyped(t *testing.T) {
	b, box, fly := stocked(t)
	id := b.tripOf(canyon("boxes", box)...)
	before := b.entries()
	for _, value := range []string{"", "two", "-1", "1000", "1.5"} {
		w := b.send("/trip/"+id+"/back", "back."+fly, value)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || d.value("back."+fly) != value {
			t.Errorf("%q: status %d, field %q", value, w.Code, d.value("back."+fly))
		}
		d.wants("Golden stubs:")
		w = b.send("/trip/"+id+"/line/"+fly, "take."+fly, value)
		if d = parse(t, w.Body.String()); w.Code != http.StatusUnprocessableEntity || d.value("take."+fly) != value {
			t.Errorf("line %q: status %d, field %q", value, w.Code, d.value("take."+fly))
		}
	}
	for _, fields := range [][]string{
		{"fly", fly, "n", "99", "from", "2.3." + box, "to", "loose"},
		{"fly", fly, "n", "1", "from", "2.3." + box, "to", "1.1.gone"},
		{"fly", fly, "n", "0", "from", "2.3." + box, "to", "loose"},
		{"fly", fly, "n", "1", "from", "x", "to", "loose"},
		{"fly", "gone", "n", "1", "from", "2.3." + box, "to", "loose"},
		{"undo", "id-1 id-2"},
		{},
	} {
		if w := b.send("/trip/"+id+"/pack", fields...); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v: status %d", fields, w.Code)
		}
	}
	for _, path := range []string{"/trip/gone", "/trip/gone/edit", "/trip/gone/pack", "/trip/gone/back", "/trip/gone/card", "/trip/gone/card.txt", "/trip/gone/trip.ics"} {
		b.get(path, http.StatusNotFound)
	}
	for _, path := range []string{"/trip/gone/edit", "/trip/gone/remove", "/trip/gone/pack", "/trip/gone/back", "/trip/gone/line/" + fly} {
		if w := b.send(path, canyon("take", "1", "fly", fly)...); w.Code != http.StatusNotFound {
			t.Errorf("POST %s: status %d", path, w.Code)
		}
	}
	if b.entries() != before {
		t.Errorf("%d entries made", b.entries()-before)
	}
}

func TestEditingATripChangesOnlyWhatWasChanged(t *testing.T) {
	b := newFixture(t, false)
	b.prefs = "lang=en&len=in&temp=f"
	id := b.tripOf(canyon("alt0", "4000", "lat0", "45.123", "temperatures", "2026-05-01 43 51\n2026-05-02; 44.5", "evenings", "2", "water1", "Ember Creek", "type1", "freestone")...)
	var was flybox.Trip
	b.state(func(s *flybox.State) { l, _ := s.Trip(journal.ID(id)); was = l.Body })
	if len(was.Waters) != 2 || len(was.Temperatures) != 2 || *was.Waters[0].Altitude < 1219 || *was.Waters[0].Altitude > 1219.3 || was.Temperatures[1].Min != was.Temperatures[1].Max {
		t.Fatalf("%+v", was)
	}
	d := b.get("/trip/"+id+"/edit", http.StatusOK)
	fields := canyon("alt0", d.value("alt0"), "lat0", d.value("lat0"), "temperatures", d.value("temperatures"), "evenings", d.value("evenings"), "water1", d.value("water1"), "type1", "freestone", "note", "new")
	for _, n := range d.all(func(n *html.Node) bool { return attr(n, "name") == "temperatures" }) {
		for i := range fields {
			if fields[i] == "temperatures" {
				fields[i+1] = n.FirstChild.Data // with its line breaks
			}
		}
	}
	b.saved("/trip/"+id+"/edit", fields...)
	b.state(func(s *flybox.State) {
		l, _ := s.Trip(journal.ID(id))
		if *l.Body.Waters[0].Altitude != *was.Waters[0].Altitude || *l.Body.Waters[0].Latitude != 45.123 || fmt.Sprint(l.Body.Temperatures) != fmt.Sprint(was.Temperatures) || l.Body.Note != "new" || *l.Body.Evenings != 2 {
			t.Errorf("was %+v\nis  %+v", was, l.Body)
		}
	})
}

func TestTripsWithoutAnythingToGoOn(t *testing.T) {
	b := newFixture(t, false)
	b.get("/trip", http.StatusOK).wants("No trip yet")
	b.get("/trip/new", http.StatusOK)
	id := b.tripOf(canyon("from", "2026-12-30", "to", "2027-01-02")...)
	d := b.get("/trip/"+id, http.StatusOK)
	d.wants("30 December 2026 to 2 January 2027, 4 days", "No fly of yours is in this plan", "No box goes along", "Nothing of yours fits", "Enter this fly")
	b.get("/trip/"+id+"/pack", http.StatusOK).wants("No box goes along")
	b.get("/trip/"+id+"/back", http.StatusOK).wants("nothing to count")
	b.get("/trip/"+id+"/card", http.StatusOK)
	long := b.tripOf(canyon("from", "2026-06-01", "to", "2026-07-30")...)
	b.get("/trip/"+long, http.StatusOK).wants("60 days", "This trip is over")
	// The address that enters a missing fly leads to its form.
	for _, n := range d.all(func(n *html.Node) bool { return strings.HasPrefix(attr(n, "href"), "/box/fly/new?") }) {
		b.get(attr(n, "href"), http.StatusOK)
	}
	// A trip of an older version, or of one with regions not known here.
	if _, err := b.ledger.Record(t.Context(), flybox.Trip{ID: "old", Name: "Old", From: "2026-09-20", To: "2026-09-20", Rods: 1, Region: "moon", WaterType: "lava"}); err != nil {
		t.Fatal(err)
	}
	b.get("/trip/old", http.StatusOK).wants("Old", "Water not said")
	b.get("/trip/old/edit", http.StatusOK)
}

func TestNoIdIsTwiceOnATripScreen(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")))...)
	for _, path := range []string{"/trip/new", "/trip/" + id, "/trip/" + id + "/pack", "/trip/" + id + "/back", "/trip/" + id + "/card"} {
		seen := map[string]bool{}
		for _, n := range b.get(path, http.StatusOK).all(func(n *html.Node) bool { return attr(n, "id") != "" }) {
			if id := attr(n, "id"); seen[id] {
				t.Errorf("%s: %q twice", path, id)
			} else {
				seen[id] = true
			}
		}
	}
}

func TestTripScreensInEveryLanguage(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")))...)
	for _, lang := range []string{"en", "es"} {
		b.prefs = "lang=" + lang
		for _, path := range []string{"/trip", "/trip/new", "/trip/" + id, "/trip/" + id + "/edit", "/trip/" + id + "/pack", "/trip/" + id + "/back", "/trip/" + id + "/card"} {
			text := b.get(path, http.StatusOK).text()
			if m := bareID.FindString(strings.ReplaceAll(text, "trip.ics", "")); m != "" || strings.Contains(text, "no value") {
				t.Errorf("%s in %s shows %q", path, lang, m)
			}
		}
	}
	b.get("/trip/"+id, http.StatusOK).wants("Moscas para llevar", "15 de septiembre de 2026")
}

// RFC 5545: CRLF at each line's end, no line over 75 octets, UID and DTSTAMP
// once in each event.
func TestCalendarFileFollowsTheStandard(t *testing.T) {
	b := newFixture(t, true)
	b.prefs = "lang=es"
	note := "Río, puente; a las 5\\6 \"de la mañana\"\nsegunda línea " + strings.Repeat("ñandú ", 40)
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")), "note", note, "rods", "30")...)
	w := b.do(httptest.NewRequest("GET", "/trip/"+id+"/trip.ics", nil))
	body := w.Body.String()
	if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "text/calendar; charset=utf-8" || !strings.Contains(w.Header().Get("Content-Disposition"), "dampstone-trip.ics") {
		t.Fatalf("status %d, %v", w.Code, w.Header())
	}
	if strings.Contains(strings.ReplaceAll(body, "\r\n", ""), "\n") || strings.Contains(strings.ReplaceAll(body, "\r\n", ""), "\r") || !strings.HasSuffix(body, "\r\n") {
		t.Error("a line does not end in CRLF")
	}
	for l := range strings.SplitSeq(body, "\r\n") {
		if len(l) > 75 {
			t.Errorf("%d octets: %q", len(l), l)
		}
		if !strings.HasPrefix(strings.ToValidUTF8(l, "\x00"), strings.ToValidUTF8(l, "")) {
			t.Errorf("a character is cut: %q", l)
		}
	}
	unfolded := strings.ReplaceAll(body, "\r\n ", "")
	ids := map[string]bool{}
	events := strings.Split(unfolded, "BEGIN:VEVENT\r\n")[1:]
	if len(events) < 3 {
		t.Errorf("%d events; want the trip, a day to pack and an evening to tie", len(events))
	}
	for _, e := range events {
		for _, name := range []string{"UID:", "DTSTAMP:", "DTSTART;VALUE=DATE:", "DTEND;VALUE=DATE:", "SUMMARY:"} {
			if strings.Count("\r\n"+e, "\r\n"+name) != 1 {
				t.Errorf("%s is not there once: %q", name, e)
			}
		}
		uid, _, _ := strings.Cut(e, "\r\n")
		if ids[uid] {
			t.Errorf("%s twice", uid)
		}
		ids[uid] = true
	}
	for _, want := range []string{
		"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:", "DTSTAMP:20260912T063000Z\r\n",
		"DTSTART;VALUE=DATE:20260915\r\nDTEND;VALUE=DATE:20260918\r\n", // the end is the day after
		`Río\, puente\; a las 5\\6 "de la mañana"\nsegunda línea `, "LOCATION:Sorrel River\\, Aguas bajo presa\r\n",
	} {
		if !strings.Contains(unfolded, want) {
			t.Errorf("file lacks %q:\n%s", want, unfolded)
		}
	}
	// Evenings lie between today and the day before.
	for _, e := range events {
		_, rest, _ := strings.Cut(e, "DTSTART;VALUE=DATE:")
		day, err := time.Parse("20060102", rest[:8])
		if err != nil || day.Before(time.Date(2026, 9, 12, 0, 0, 0, 0, time.UTC)) || strings.Contains(e, "-tie-") && day.After(time.Date(2026, 9, 14, 0, 0, 0, 0, time.UTC)) {
			t.Errorf("on %s: %q", rest[:8], e)
		}
	}
}

func TestCardSaysWhatTheScreenSays(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")), "note", "Meet at the ramp.")...)
	card := b.get("/trip/"+id+"/card", http.StatusOK)
	w := b.do(httptest.NewRequest("GET", "/trip/"+id+"/card.txt", nil))
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/plain") {
		t.Fatalf("status %d, %v", w.Code, w.Header())
	}
	lines := 0
	for l := range strings.SplitSeq(w.Body.String(), "\n") {
		if l = strings.TrimPrefix(strings.Join(strings.Fields(l), " "), "! "); l != "" {
			lines++
			card.wants(l)
		}
	}
	if lines < 15 {
		t.Errorf("only %d lines:\n%s", lines, w.Body)
	}
}

// What a party says of how it fishes is kept, shown again, used by the plan,
// and refused in words where it cannot be.
func TestATripKeepsHowItIsFished(t *testing.T) {
	b := newFixture(t, true)
	form := func(fields ...string) []string {
		return append([]string{"form", uuid.NewString(), "name", "Ways", "from", "2026-09-20", "to", "2026-09-22", "rods", "2", "region", "west-na", "level", "90", "skill", "mixed", "type0", "tailwater"}, fields...)
	}
	d := b.saved("/trip/new", form("working", "5", "blind", "20", "rate_sunk", "4.5")...)
	d.wants("4.5 sunk")
	edit := d.all(func(n *html.Node) bool { return strings.HasSuffix(attr(n, "href"), "/edit") })
	e := b.get(attr(edit[0], "href"), http.StatusOK)
	for name, want := range map[string]string{"working": "5", "blind": "20", "rate_sunk": "4.5", "rate_dry": ""} {
		if got := e.value(name); got != want {
			t.Errorf("%s is shown as %q, want %q", name, got, want)
		}
	}
	for name, bad := range map[string]string{"working": "99", "blind": "120", "rate_dry": "much"} {
		fields := form(name, bad)
		if name != "working" {
			fields = append(fields, "working", "")
		}
		w := b.send("/trip/new", fields...)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), bad) {
			t.Errorf("%s %s: status %d", name, bad, w.Code)
		}
	}
}
