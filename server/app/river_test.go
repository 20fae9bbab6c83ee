package app

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// A staff is added and read through a morning: what is said of the water grows
// with the readings, and nothing says that it is safe.
func TestAStaffThroughAMorning(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/river", http.StatusOK)
	d.wants("Staff at Cinder Bend", "0.76 m · 13 °C", "too old to say how the water is now", "No level and no trend makes wading safe")
	d = b.submits(d, "/river", "name", "  Bridge pier ", "water", "Ember Creek")
	d.wants("Bridge pier", "Nothing read here yet", "too few to tell")
	var id journal.ID
	b.state(func(s *flybox.State) {
		for _, l := range s.Stations() {
			if l.Body.Name == "Bridge pier" {
				id = l.Body.ID
			}
		}
	})
	href := "/river/" + string(id)
	read := func(after time.Duration, level string) *doc {
		t.Helper()
		b.clock(now.Add(after))
		return b.submits(b.get(href, http.StatusOK), href+"/read", "level_m", level)
	}
	for i, level := range []string{"1,20", "1.19", "1.17", "1.16"} {
		d = read(time.Duration(i)*20*time.Minute, level)
	}
	d.wants("1.16 m, 0 minutes ago", "4 readings: too few to tell")
	d = read(80*time.Minute, "1.14")
	d.wants("falling 4.5 cm an hour", "Last 2 hours")
	if strings.Contains(d.text(), "Go to the bank now") {
		t.Error("a falling level is called rising")
	}
	if n := len(d.all(func(n *html.Node) bool { return n.Data == "circle" })); n != 5 {
		t.Errorf("%d readings are drawn", n)
	}
	// A release: the caution stands before everything else that is said.
	for i := range 6 {
		d = read(time.Duration(100+20*i)*time.Minute, fmt.Sprintf("1.%d", 60+i%2))
		if i == 0 {
			d.wants("Go to the bank now")
		}
	}
	d.wants("It jumped up by 43.5", "as where water is released")
	if text := d.text(); strings.Contains(strings.ToLower(text), "safe to") {
		t.Error("something is called safe")
	}
	b.get("/river", http.StatusOK).wants("Bridge pier", "Last 2 hours: ")

	// A slip of the thumb is taken back.
	b.state(func(s *flybox.State) {
		if n := len(s.ReadingsOf(id)); n != 11 {
			t.Errorf("%d readings", n)
		}
	})
	d = b.saved(href+"/undo", d.form(href+"/undo", 0)...)
	b.state(func(s *flybox.State) {
		if n := len(s.ReadingsOf(id)); n != 10 {
			t.Errorf("%d readings after one was taken back", n)
		}
	})
	b.saved(href+"/undo", d.form(href+"/undo", 0)...)
	b.saved(href+"/remove", d.form(href+"/remove", 0)...)
	b.get(href, http.StatusNotFound)
}

func TestReadingsThatAreWrong(t *testing.T) {
	b := newFixture(t, true)
	href := string("/river/" + demo.ID("staff"))
	for _, c := range []struct{ level, water, wants string }{
		{"", "", "Level now"}, {"knee deep", "", "knee deep"}, {"1e9", "", "1e9"}, {"1.2", "200", "200"},
	} {
		d := b.get(href, http.StatusOK)
		d = b.sent(href+"/read", http.StatusUnprocessableEntity, d.filled(href+"/read", "level_m", c.level, "water_c", c.water))
		if d.value("level_m") != c.level || d.value("water_c") != c.water {
			t.Errorf("%+v: what was typed is gone: %q, %q", c, d.value("level_m"), d.value("water_c"))
		}
		d.wants("Not saved yet")
	}
	d := b.get("/river", http.StatusOK)
	d = b.sent("/river", http.StatusUnprocessableEntity, d.filled("/river", "water", "Sorrel River", "name", " "))
	if d.value("water") != "Sorrel River" {
		t.Errorf("what was typed is gone: %q", d.value("water"))
	}
	b.get("/river/ghost", http.StatusNotFound)
	b.sent("/river/ghost/read", http.StatusNotFound, b.get(href, http.StatusOK).filled(href+"/read", "level_m", "1"))
	// In feet, as the person chose.
	b.prefs = "lang=es&len=in"
	d = b.get(href, http.StatusOK)
	d.wants("2,49 ft")
	b.submits(d, href+"/read", "level_m", "4.40")
	b.state(func(s *flybox.State) {
		if m := s.ReadingsOf(demo.ID("staff"))[0].Body.LevelM; m == nil || *m < 1.34111 || *m > 1.34113 {
			t.Errorf("4.40 ft are kept as %v m", m)
		}
	})
}
