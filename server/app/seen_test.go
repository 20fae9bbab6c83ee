package app

import (
	"net/http"
	"strings"
	"testing"

	"dampstone/hatchkeys"
)

func TestASightingIsNotedWithItsEvidence(t *testing.T) {
	b := newFixture(t, false)
	path := "/hatch/claassenia"
	answers := "month=9&wings=short&length=22&unit=mm"
	d := b.saved(path+"/seen", "answers", answers, "stage", "adult-male", "water", "Sorrel River", "note", "below the bridge")
	d.wants("Noted.", "Seen on 1 occasion", "12 September 2026, 06:30 · Sorrel River · below the bridge")
	s := b.ledger.State()
	seen := s.Sightings()[0].Body
	region, e, err := hatchkeys.ParseJSON(seen.Evidence)
	if err != nil || region != "west-na" || e.LengthMM != 22 || seen.Form != "adult-male" || seen.When != "2026-09-12T06:30:00Z" {
		t.Errorf("%+v, %v", seen, err)
	}
	// The name of the water is offered again.
	if got := b.get(path, http.StatusOK).value("water"); got != "Sorrel River" {
		t.Errorf("water %q", got)
	}
}

func TestABadNoteKeepsWhatWasTyped(t *testing.T) {
	b := newFixture(t, false)
	w := b.send("/hatch/claassenia/seen", "answers", "month=9", "water", strings.Repeat("r", 9<<10), "note", "here")
	d := parse(t, w.Body.String())
	d.wants("at most 120 characters")
	if w.Code != http.StatusUnprocessableEntity || d.value("note") != "here" || b.entries() != 0 {
		t.Errorf("status %d, note %q", w.Code, d.value("note"))
	}
	for _, path := range []string{"/hatch/kraken/seen"} {
		if w := b.send(path, "answers", ""); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if w := b.send("/hatch/claassenia/seen", "answers", "%zz"); w.Code != http.StatusBadRequest {
		t.Errorf("spoilt answers: %d", w.Code)
	}
}

func TestSightingsSharpenTheKey(t *testing.T) {
	b := newFixture(t, false)
	before, err := b.app.Key(b.ledger.State(), "west-na")
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		b.saved("/hatch/salmonfly/seen", "answers", "")
	}
	after, err := b.app.Key(b.ledger.State(), "west-na")
	if err != nil {
		t.Fatal(err)
	}
	h := before.Hatch("salmonfly")
	if x, y := before.Months(h)[8], after.Months(after.Hatch("salmonfly"))[8]; y <= x {
		t.Errorf("September %v before, %v after", x, y)
	}
	b.saved("/box/new", "name", "B", "rows", "1", "columns", "1")
	if same, _ := b.app.Key(b.ledger.State(), "west-na"); same != after {
		t.Error("an entry about a box made the key again")
	}
}

func TestTheHomeWaterShiftsTheCalendar(t *testing.T) {
	b := newFixture(t, false)
	fields := []string{"lang", "en", "len", "mm", "temp", "c", "region", "west-na"}
	w := b.send("/setup", append(fields, "alt", "2100", "lat", "")...)
	c := w.Result().Cookies()
	if len(c) != 1 || !strings.HasSuffix(c[0].Value, "&lat=45&alt=2100") {
		t.Fatalf("cookies %v", c)
	}
	home := b.get("/?month=5&day=20", http.StatusOK).byID("reading")
	b.prefs = c[0].Value
	if high := b.get("/?month=5&day=20", http.StatusOK).byID("reading"); high == home {
		t.Error("the altitude changes nothing")
	}
	for field, value := range map[string]string{"alt": "high", "lat": "95"} {
		w := b.send("/setup", append(fields, field, value)...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || d.value(field) != value {
			t.Errorf("%s %s: status %d, field holds %q", field, value, w.Code, d.value(field))
		}
	}
}

func TestAMaskedSmallHatchIsNamed(t *testing.T) {
	b := newFixture(t, false)
	d := b.get("/?month=6&day=15&length=42&unit=mm&wings=flat&colour=%23c46a22&doing=fluttering&shucks=dry-rocks&fish=sipping", http.StatusOK)
	d.wants("eating something small", "Look closely for:")
}
