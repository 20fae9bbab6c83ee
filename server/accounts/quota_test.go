package accounts

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/people"
	"dampstone/server/sync"
)

// sightings are n of them, with the ids of a run of their own.
func sightings(t *testing.T, run string, n int) (list []journal.Entry) {
	t.Helper()
	for i := range n {
		id := fmt.Sprintf("%s-%05d", run, i)
		list = append(list, sighting(t, journal.ID(id), journal.ID(id+"-thing"), i))
	}
	return list
}

// try sends entries and says what became of it.
func (d device) try(entries ...journal.Entry) (status int, code string, used float64) {
	d.b.Helper()
	w := d.do("POST", "/sync", "application/json", syncBody(entries...))
	var answer struct {
		Code string  `json:"code"`
		Used float64 `json:"used"`
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
		d.b.Fatal(err)
	}
	return w.Code, answer.Code, answer.Used
}

func TestAPersonKeepsNoMoreThanTheirShare(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.accounts.Quota = Quota{Entries: 100, Day: 1000}
	owner, bo := b.pair(""), b.pair("Bo")
	first := sightings(t, "bo-1", 90)
	if status, _, used := bo.try(first...); status != http.StatusOK || used != 0.9 {
		t.Errorf("90 of 100: %d, used %g", status, used)
	}
	if status, code, _ := bo.try(sightings(t, "bo-2", 11)...); status != http.StatusInsufficientStorage || code != sync.CodeShare {
		t.Errorf("101 of 100: %d %s", status, code)
	}
	if n := len(bo.holds()); n != 90 {
		t.Errorf("%d are kept, want 90", n)
	}
	// What is here already is named as stored, whatever the share.
	if status, _, _ := bo.try(append(first, sightings(t, "bo-3", 10)...)...); status != http.StatusOK {
		t.Errorf("what is known, and ten that fit: %d", status)
	}
	if status, _, used := bo.try(first...); status != http.StatusOK || used != 1 {
		t.Errorf("what is known: %d, used %g", status, used)
	}
	// A form on the server's own screen says so and keeps what was typed.
	w := bo.post("/box/new", "name", "One box more", "rows", "4", "columns", "6")
	if w.Code != http.StatusInsufficientStorage || !strings.Contains(w.Body.String(), "Your share of this server is used up") {
		t.Errorf("a form: %d %s", w.Code, w.Body)
	}
	// The owner's disk is the owner's.
	if status, _, used := owner.try(sightings(t, "o", 300)...); status != http.StatusOK || used != 0 {
		t.Errorf("the owner: %d, used %g", status, used)
	}
	if s := b.accounts.Stats(); s.Added != 400 || s.Refused < 12 || s.People != 2 || s.Open != 2 {
		t.Errorf("figures: %+v", s)
	}
}

func TestAPersonAddsNoMoreInADayThanTheirShare(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.accounts.Quota = Quota{Day: 50}
	bo, ana := b.pair("Bo"), b.pair("Ana")
	if status, _, used := bo.try(sightings(t, "bo-1", 50)...); status != http.StatusOK || used != 1 {
		t.Errorf("50 of 50: %d, used %g", status, used)
	}
	if status, code, _ := bo.try(sightings(t, "bo-2", 1)...); status != http.StatusInsufficientStorage || code != sync.CodeToday {
		t.Errorf("one more: %d %s", status, code)
	}
	if status, _, _ := ana.try(sightings(t, "ana", 20)...); status != http.StatusOK {
		t.Errorf("somebody else: %d", status)
	}
	b.clock.Add(int64(24 * time.Hour))
	if status, _, _ := bo.try(sightings(t, "bo-2", 1)...); status != http.StatusOK {
		t.Errorf("the day after: %d", status)
	}
}

// What goes around in a crew, and what the owner restores, is nobody's share
// of the day.
func TestACrewAndARestoreAreNotCounted(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.accounts.Quota = Quota{Day: 10}
	ana, bo := b.pair("Ana"), b.pair("Bo")
	for _, d := range []device{ana, bo} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	b.share()
	ana.give(sightings(t, "ana", 8)...)
	bo.give(sightings(t, "bo", 8)...)
	b.share()
	if n := len(bo.holds()); n != 16 {
		t.Fatalf("Bo has %d entries, want eight of each", n)
	}
	if status, code, _ := bo.try(sightings(t, "bo-2", 2)...); status != http.StatusOK {
		t.Errorf("what the crew saw counts as Bo's for the day: %d %s", status, code)
	}
	var file strings.Builder
	if err := b.accounts.Backup(t.Context(), &file); err != nil {
		t.Fatal(err)
	}
	other := newFixture(t, t.TempDir())
	other.accounts.Quota = Quota{Entries: 2, Day: 2}
	if report, err := other.accounts.Restore(t.Context(), strings.NewReader(file.String())); err != nil || report.Added < 16 {
		t.Errorf("restored %+v, %v", report, err)
	}
}

func TestAPersonIsTakenOff(t *testing.T) {
	b := newFixture(t, t.TempDir())
	owner, bo, ana := b.pair(""), b.pair("Bo"), b.pair("Ana")
	bo.give(sightings(t, "bo", 20)...)
	ana.give(sightings(t, "ana", 20)...)
	inv, err := b.accounts.Pair(t.Context(), "Bo") // a code that is still open
	if err != nil {
		t.Fatal(err)
	}
	var path string
	for _, p := range b.everybody() {
		if p.Name == "Bo" {
			path = b.accounts.ledgers.Name(p)
		}
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatal(err)
	}
	if _, err := b.accounts.Purge(t.Context(), "Owner"); !errors.Is(err, ErrOwner) {
		t.Errorf("the owner: %v", err)
	}
	if _, err := b.accounts.Purge(t.Context(), "Cy"); !errors.Is(err, people.ErrUnknown) {
		t.Errorf("nobody: %v", err)
	}
	if p, err := b.accounts.Purge(t.Context(), "bo"); err != nil || p.Name != "Bo" {
		t.Fatalf("%+v, %v", p, err)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the ledger is there still: %v", err)
	}
	if w := bo.do("GET", "/box", "", ""); w.Code != http.StatusUnauthorized {
		t.Errorf("their device: %d", w.Code)
	}
	if w := (device{b: b}).post("/pair", "code", inv.Code, "device", "another"); w.Code < 400 {
		t.Errorf("their open code: %d", w.Code)
	}
	if n := len(ana.holds()); n != 20 {
		t.Errorf("somebody else has %d entries", n)
	}
	if w := owner.do("GET", "/box", "", ""); w.Code != http.StatusOK {
		t.Errorf("the owner: %d", w.Code)
	}
	list, err := b.accounts.List(t.Context())
	if err != nil || len(list) != 2 {
		t.Errorf("%d people, %v", len(list), err)
	}
	// Who comes again begins anew.
	again := b.pair("Bo")
	if n := len(again.holds()); n != 0 {
		t.Errorf("a new Bo has %d entries", n)
	}
}

func TestAListingSaysWhoWasHereAndHowMuchTheyKeep(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.accounts.Quota.Bytes = 1 << 20
	bo := b.pair("Bo")
	b.clock.Add(int64(50 * time.Hour))
	bo.give(sightings(t, "bo", 200)...)
	list, err := b.accounts.List(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range list {
		if l.Person.Name != "Bo" {
			continue
		}
		if l.Bytes < 20_000 || l.Used <= 0 || l.Used != float64(l.Bytes)/(1<<20) {
			t.Errorf("%d bytes, %g of the share", l.Bytes, l.Used)
		}
		if len(l.Devices) != 1 || l.Devices[0].Seen.Format(time.DateOnly) != b.now().Format(time.DateOnly) {
			t.Errorf("devices %+v, want one seen on %s", l.Devices, b.now().Format(time.DateOnly))
		}
	}
	// A file of more than the share takes nothing more.
	b.accounts.Quota.Bytes = list[len(list)-1].Bytes
	if status, code, _ := bo.try(sightings(t, "bo-2", 1)...); status != http.StatusInsufficientStorage || code != sync.CodeShare {
		t.Errorf("over the bytes: %d %s", status, code)
	}
	if status, _, _ := bo.try(sightings(t, "bo", 200)...); status != http.StatusOK {
		t.Errorf("what is known, over the bytes: %d", status)
	}
}

// What an exchange brings is on the screens at once, also where the ledger was
// folded before.
func TestScreensShowWhatExchangesBring(t *testing.T) {
	b := newFixture(t, t.TempDir())
	bo := b.pair("Bo")
	if w := bo.do("GET", "/box", "", ""); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "Golden stubs") {
		t.Fatalf("before: %d", w.Code)
	}
	e, err := flybox.NewEntry("0198c0de-0000-4000-8000-0000000000e1", journal.Stamp{MS: 1, Device: "phone"},
		flybox.Pattern{ID: "0198c0de-0000-4000-8000-0000000000f1", Name: "Golden stubs", Style: flybox.ShortWingStone, Hook: 8})
	if err != nil {
		t.Fatal(err)
	}
	bo.give(e)
	if w := bo.do("GET", "/box", "", ""); !strings.Contains(w.Body.String(), "Golden stubs") {
		t.Error("the fly that the phone brought is not shown")
	}
	// And what a screen records goes out with the next exchange.
	if w := bo.post("/box/new", "name", "Boat box", "rows", "4", "columns", "6"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if n := len(bo.holds()); n != 2 {
		t.Errorf("an exchange brings %d entries, want 2", n)
	}
}

// Somebody who pairs a phone with a new server first and restores then is the
// owner of what was restored, and so is their phone.
func TestARestoreAfterPairingIsTheOwners(t *testing.T) {
	old := newFixture(t, t.TempDir())
	was := old.pair("")
	was.give(sightings(t, "was", 12)...)
	if err := old.accounts.people.RenamePerson(old.owner().ID, "Ana", true); err != nil {
		t.Fatal(err)
	}
	var file strings.Builder
	if err := old.accounts.Backup(t.Context(), &file); err != nil {
		t.Fatal(err)
	}
	b := newFixture(t, t.TempDir())
	phone := b.pair("")
	if report, err := b.accounts.Restore(t.Context(), strings.NewReader(file.String())); err != nil || report.Added != 12 {
		t.Fatalf("%+v, %v", report, err)
	}
	if list := b.everybody(); len(list) != 1 || list[0].Name != "Ana" || !list[0].Owner {
		t.Errorf("people: %+v", list)
	}
	if n := len(phone.holds()); n != 12 {
		t.Errorf("the phone reads %d entries", n)
	}
	if w := phone.do("GET", "/people", "", ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), `action="/people/add"`) {
		t.Errorf("the phone is not the owner's: %d", w.Code)
	}
	// Once something is written the two stay apart.
	c := newFixture(t, t.TempDir())
	own := c.pair("")
	own.give(sightings(t, "own", 1)...)
	if _, err := c.accounts.Restore(t.Context(), strings.NewReader(file.String())); err != nil {
		t.Fatal(err)
	}
	if n := len(own.holds()); n != 1 || len(c.everybody()) != 2 {
		t.Errorf("%d entries, %d people", n, len(c.everybody()))
	}
}

// One member who floods the crew costs the others a bounded number of entries
// a day, and loses nothing by it: the rest comes on later days.
func TestAFloodOfSightingsGoesAroundByTheDay(t *testing.T) {
	b := newFixture(t, t.TempDir())
	eve, ana := b.pair("Eve"), b.pair("Ana")
	for _, d := range []device{eve, ana} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	b.share()
	const flood = 2600
	all := sightings(t, "eve", flood)
	for i := 0; i < flood; i += 200 {
		eve.give(all[i : i+200]...)
	}
	held := func() int {
		own, crew := ana.reads()
		if len(own) > 0 {
			t.Fatalf("%d entries of the crew are in Ana's ledger", len(own))
		}
		return len(crew)
	}
	b.share()
	first := held()
	if first < maxGivenADay || first > maxGivenADay+sharePage {
		t.Errorf("on the first day %d of %d came, want about %d", first, flood, maxGivenADay)
	}
	b.share()
	if n := held(); n != first {
		t.Errorf("more came on the same day: %d after %d", n, first)
	}
	for range 3 {
		b.clock.Add(int64(24 * time.Hour))
		b.share()
	}
	if n := held(); n != flood {
		t.Errorf("after some days %d of %d came", n, flood)
	}
}
