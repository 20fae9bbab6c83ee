package accounts

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	"dampstone/server/boltstore"
	"dampstone/server/middleware"
	"dampstone/server/people"
	"dampstone/server/sync"
)

// fixture is a data folder behind the guard, with a clock that the test moves.
type fixture struct {
	*testing.T
	accounts *Service
	h        http.Handler
	clock    atomic.Int64 // nanoseconds since 1970
	logs     bytes.Buffer
}

func (b *fixture) now() time.Time { return time.Unix(0, b.clock.Load()).UTC() }

// KeptElsewhere gives what keeps people and ledgers instead of a folder; nil:
// they are in the folder. Tests of other packages set it.
var KeptElsewhere func(t *testing.T, folder string) *Elsewhere

func newFixture(t *testing.T, folder string) *fixture {
	t.Helper()
	b := &fixture{T: t}
	b.clock.Store(time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixNano())
	log := slog.New(slog.NewTextHandler(&b.logs, nil))
	var elsewhere *Elsewhere
	if KeptElsewhere != nil {
		elsewhere = KeptElsewhere(t, folder)
	}
	h, err := Open(t.Context(), Config{
		Folder: folder, Elsewhere: elsewhere, Log: log, Now: b.now,
		OpenStore: func(path string) (*boltstore.Store, error) { return boltstore.Open(path, time.Second) },
		Asset:     func(name string) string { return "/static/" + name },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { h.Close() })
	h.SetBase("http://127.0.0.1:1")
	b.accounts = h
	b.h = middleware.Guard(h, http.HandlerFunc(h.CrossOrigin), func(*http.Request) int64 { return 0 }, log)
	return b
}

func (b *fixture) owner() people.Person {
	b.Helper()
	p, err := b.accounts.Owner()
	if err != nil {
		b.Fatal(err)
	}
	return p
}

// person is the one with a name; "" is the owner.
func (b *fixture) person(name string) people.Person {
	b.Helper()
	if name == "" {
		return b.owner()
	}
	p, err := b.accounts.people.Find(name)
	if err != nil {
		b.Fatal(err)
	}
	return p
}

func (b *fixture) everybody() []people.Person {
	b.Helper()
	list, err := b.accounts.people.People()
	if err != nil {
		b.Fatal(err)
	}
	return list
}

func (b *fixture) devices(person string) []people.Device {
	b.Helper()
	list, err := b.accounts.people.Devices(person)
	if err != nil {
		b.Fatal(err)
	}
	return list
}

// device is a browser, paired or not.
type device struct {
	b      *fixture
	cookie *http.Cookie
}

func (d device) do(method, path, media, body string, headers ...string) *httptest.ResponseRecorder {
	d.b.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if media != "" {
		r.Header.Set("Content-Type", media)
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	if d.cookie != nil {
		r.AddCookie(d.cookie)
	}
	w := httptest.NewRecorder()
	d.b.h.ServeHTTP(w, r)
	return w
}

const formType = "application/x-www-form-urlencoded"

func (d device) post(path string, fields ...string) *httptest.ResponseRecorder {
	d.b.Helper()
	f := url.Values{}
	for i := 0; i < len(fields); i += 2 {
		f.Set(fields[i], fields[i+1])
	}
	return d.do("POST", path, formType, f.Encode())
}

// give sends entries and wants them stored.
func (d device) give(entries ...journal.Entry) {
	d.b.Helper()
	w := d.do("POST", "/sync", "application/json", syncBody(entries...))
	if w.Code != http.StatusOK {
		d.b.Fatalf("sync: %d %s", w.Code, w.Body)
	}
}

func syncBody(entries ...journal.Entry) string {
	req := sync.Request{Entries: []json.RawMessage{}}
	for _, e := range entries {
		req.Entries = append(req.Entries, e.Raw())
	}
	raw, _ := json.Marshal(req)
	return string(raw)
}

// reads gives what a device gets that has nothing yet: what is in the ledger of
// its person, and what others share with them.
func (d device) reads() (own, crew []journal.Entry) {
	d.b.Helper()
	var req sync.Request
	req.Entries = []json.RawMessage{}
	for {
		body, err := json.Marshal(req)
		if err != nil {
			d.b.Fatal(err)
		}
		w := d.do("POST", "/sync", "application/json", string(body))
		var resp sync.Response
		if err := json.Unmarshal(w.Body.Bytes(), &resp); w.Code != http.StatusOK || err != nil {
			d.b.Fatalf("sync: %d %s %v", w.Code, w.Body, err)
		}
		for i, raw := range slices.Concat(resp.Entries, resp.Crew) {
			e, err := journal.ParseEntry(raw)
			if err != nil {
				d.b.Fatal(err)
			}
			if i < len(resp.Entries) {
				own = append(own, e)
			} else {
				crew = append(crew, e)
			}
		}
		if !resp.More && !resp.CrewMore {
			return own, crew
		}
		req.Journal, req.After, req.Mark, req.CrewAfter, req.CrewMark = resp.Journal, resp.Next, resp.Mark, resp.CrewNext, resp.CrewMark
	}
}

// holds are the ids of what a device gets.
func (d device) holds() map[journal.ID]bool {
	d.b.Helper()
	ids := map[journal.ID]bool{}
	own, crew := d.reads()
	for _, e := range slices.Concat(own, crew) {
		ids[e.ID] = true
	}
	return ids
}

// pair makes a new device of the person with that name, or of a new person.
func (b *fixture) pair(name string) device {
	b.Helper()
	b.clock.Add(int64(time.Minute))
	inv, err := b.accounts.Pair(b.Context(), name)
	if err != nil {
		b.Fatal(err)
	}
	w := device{b: b}.post("/pair", "code", inv.Code, "device", "phone")
	if w.Code != http.StatusSeeOther || len(w.Result().Cookies()) != 1 {
		b.Fatalf("pair: %d %s", w.Code, w.Body)
	}
	return device{b, w.Result().Cookies()[0]}
}

// TestWhoIsRefused: without pairing nobody reads or writes anything.
func TestWhoIsRefused(t *testing.T) {
	b := newFixture(t, t.TempDir())
	owner := b.pair("")
	owner.give(storetest.Entry(t, "secret", 1))
	gone := b.pair("")
	if w := gone.do("GET", "/setup", "", ""); w.Code != http.StatusOK {
		t.Fatal(w.Code)
	}
	for _, d := range b.devices("")[1:] {
		if err := b.accounts.people.Revoke(d.ID, b.now()); err != nil {
			t.Fatal(err)
		}
	}
	stranger := device{b: b}
	guess := device{b, &http.Cookie{Name: owner.cookie.Name, Value: strings.Repeat("A", 43)}}
	otherName := device{b, &http.Cookie{Name: "dampstone-00000000", Value: owner.cookie.Value}}
	entry := syncBody(storetest.Entry(t, "forbidden", 2))
	fly := url.Values{"name": {"x"}, "style": {"beetle"}, "hook": {"14"}}.Encode()
	inv, err := b.accounts.Pair(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	used, err := b.accounts.Pair(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	if w := stranger.post("/pair", "code", used.Code, "device", "first"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	cross := []string{"Sec-Fetch-Site", "cross-site", "Origin", "https://elsewhere.example"}
	type row struct {
		name         string
		as           device
		method, path string
		media, body  string
		headers      []string
		status       int
	}
	var rows []row
	for name, as := range map[string]device{"unpaired": stranger, "revoked": gone, "with a guessed token": guess, "with another server's cookie": otherName} {
		for _, path := range []string{"/", "/box", "/setup", "/setup/safe/ledger", "/people", "/hatch/claassenia", "/nothing"} {
			rows = append(rows, row{name, as, "GET", path, "", "", nil, 401})
		}
		rows = append(rows,
			row{name, as, "POST", "/sync", "application/json", entry, nil, 401},
			row{name, as, "POST", "/box/fly/new", formType, fly, nil, 401},
			row{name, as, "POST", "/setup/safe", "multipart/form-data; boundary=x", "--x--", nil, 401},
			row{name, as, "POST", "/people/invite", formType, "person=" + b.owner().ID, nil, 401},
		)
	}
	rows = append(rows,
		row{"another site's page, paired", owner, "POST", "/box/fly/new", formType, fly, cross, 403},
		row{"another site's sync, paired", owner, "POST", "/sync", "application/json", entry, cross, 403},
		row{"another site's pairing", stranger, "POST", "/pair", formType, "code=" + inv.Code + "&device=x", cross, 403},
		row{"a link used a second time", stranger, "POST", "/pair", formType, "code=" + used.Code + "&device=again", nil, 403},
		row{"sync as a form", owner, "POST", "/sync", formType, entry, nil, 415},
		row{"sync by reading", owner, "GET", "/sync", "", "", nil, 405},
		row{"sync that is too large", owner, "POST", "/sync", "application/json", `{"journal":"` + strings.Repeat("x", sync.MaxBody) + `"}`, nil, 413},
		row{"a form that is too large", owner, "POST", "/people/name", formType, "name=" + strings.Repeat("x", maxForm), nil, 413},
		row{"people by the wrong method", owner, "DELETE", "/people", "", "", nil, 405},
		row{"an act by reading", owner, "GET", "/people/revoke", "", "", nil, 405},
		row{"an act that is not known", owner, "POST", "/people/burn", formType, "", nil, 404},
	)
	for _, tc := range rows {
		t.Run(tc.name+" "+tc.method+" "+tc.path, func(t *testing.T) {
			w := tc.as.do(tc.method, tc.path, tc.media, tc.body, tc.headers...)
			if w.Code != tc.status {
				t.Errorf("status %d, want %d", w.Code, tc.status)
			}
			if strings.Contains(w.Body.String(), "entry secret") || strings.Contains(w.Body.String(), `"journal"`) {
				t.Errorf("it tells something: %.300s", w.Body)
			}
			if w.Code == http.StatusUnauthorized && w.Header().Get("WWW-Authenticate") == "" {
				t.Error("401 without WWW-Authenticate")
			}
		})
	}
	if held := owner.holds(); len(held) != 1 || !held["secret"] {
		t.Errorf("the ledger holds %v, want what was there alone", held)
	}
	// A repeat of what a paired device sent changes nothing.
	owner.give(storetest.Entry(t, "secret", 1))
	if held := owner.holds(); len(held) != 1 {
		t.Errorf("a replay added something: %v", held)
	}
	// The log holds nothing of anybody.
	for _, private := range []string{owner.cookie.Value, inv.Code, "entry secret", "192.0.2.1"} {
		if strings.Contains(b.logs.String(), private) {
			t.Errorf("the log holds %q", private)
		}
	}
}

func TestCookie(t *testing.T) {
	b := newFixture(t, t.TempDir())
	for _, secure := range []bool{false, true} {
		inv, err := b.accounts.Pair(t.Context(), "")
		if err != nil {
			t.Fatal(err)
		}
		target := "http://127.0.0.1/pair"
		if secure {
			target = "https://boat.example/pair"
		}
		r := httptest.NewRequest("POST", target, strings.NewReader(url.Values{"code": {inv.Code}, "device": {"phone"}}.Encode()))
		r.Header.Set("Content-Type", formType)
		w := httptest.NewRecorder()
		b.h.ServeHTTP(w, r)
		c := w.Result().Cookies()[0]
		if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Secure != secure || c.Path != "/" || len(c.Value) != 43 {
			t.Errorf("over TLS %v: %+v", secure, c)
		}
	}
}

func TestLookingAtALinkDoesNotUseItUp(t *testing.T) {
	b := newFixture(t, t.TempDir())
	inv, err := b.accounts.Pair(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	path := strings.TrimPrefix(inv.Link, "http://127.0.0.1:1")
	for range 3 {
		if w := (device{b: b}).do("GET", path, "", ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), inv.Code) || len(w.Result().Cookies()) != 0 {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
	}
	if w := (device{b: b}).post("/pair", "code", inv.Code, "device", "phone"); w.Code != http.StatusSeeOther {
		t.Errorf("status %d", w.Code)
	}
	b.clock.Add(int64(time.Minute))
	late, err := b.accounts.Pair(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	b.clock.Add(int64(CodeLife))
	if w := (device{b: b}).post("/pair", "code", late.Code, "device", "phone"); w.Code != http.StatusForbidden {
		t.Errorf("a link that is too old: status %d", w.Code)
	}
}

func TestGuessingIsSlowedDown(t *testing.T) {
	b := newFixture(t, t.TempDir())
	slowed := false
	for range 40 {
		w := (device{b: b}).post("/pair", "code", "aaaa-bbbb-cccc-dddd", "device", "x")
		if w.Code == http.StatusTooManyRequests {
			slowed = w.Header().Get("Retry-After") != ""
		}
	}
	if !slowed {
		t.Error("forty guesses in a row were all looked at")
	}
}

func TestADeviceThatAsksWithoutEndIsSlowedDown(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	statuses := map[int]int{}
	for range deviceBurst + 500 {
		statuses[ana.do("GET", "/people/nothing", "", "").Code]++
	}
	if statuses[http.StatusTooManyRequests] == 0 || statuses[http.StatusNotFound] < deviceBurst {
		t.Errorf("answers: %v", statuses)
	}
	if w := bo.do("POST", "/sync", "application/json", `{"entries":[]}`); w.Code != http.StatusOK {
		t.Errorf("another device pays for it: %d", w.Code)
	}
}

func TestEachPersonHasALedgerOfTheirOwn(t *testing.T) {
	folder := t.TempDir()
	b := newFixture(t, folder)
	ana, bo := b.pair(""), b.pair("Bo")
	ana.give(storetest.Entry(t, "of-ana", 1))
	bo.give(storetest.Entry(t, "of-bo", 2))
	second := b.pair("bo") // the same person, whatever the case
	check := func(b *fixture) {
		t.Helper()
		for name, want := range map[journal.ID]device{"of-ana": {b, ana.cookie}, "of-bo": {b, second.cookie}} {
			if held := want.holds(); len(held) != 1 || !held[name] {
				t.Errorf("holds %v, want %s alone", held, name)
			}
		}
	}
	check(b)
	// All of it outlives the process.
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	check(newFixture(t, folder))
}

func TestOnlyTheOwnerChangesOthers(t *testing.T) {
	b := newFixture(t, t.TempDir())
	owner, bo := b.pair(""), b.pair("Bo")
	find := func(name string) people.Person {
		p, err := b.accounts.people.Find(name)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	anaID, boID := b.owner().ID, find("Bo").ID
	phone := func(person string) string { return b.devices(person)[0].ID }
	page := bo.do("GET", "/people", "", "").Body.String()
	if strings.Contains(page, anaID) || strings.Contains(page, phone(anaID)) || strings.Contains(page, `action="/people/add"`) {
		t.Error("Bo sees the owner's devices, or may add people")
	}
	for _, tc := range []struct {
		name   string
		w      *httptest.ResponseRecorder
		status int
	}{
		{"add somebody", bo.post("/people/add", "name", "Cy"), 403},
		{"invite to the owner's ledger", bo.post("/people/invite", "person", anaID), 403},
		{"rename the owner", bo.post("/people/name", "person", anaID, "name", "x"), 403},
		{"rename the owner's phone", bo.post("/people/rename", "device", phone(anaID), "name", "x"), 403},
		{"revoke the owner's phone", bo.post("/people/revoke", "device", phone(anaID)), 403},
		{"revoke by a name in place of an id", bo.post("/people/revoke", "device", "phone"), 404},
		{"invite nobody", bo.post("/people/invite", "person", "x"), 404},
		{"rename oneself", bo.post("/people/name", "person", boID, "name", "Bob"), 303},
		{"rename one's phone", bo.post("/people/rename", "device", phone(boID), "name", "waders"), 303},
		{"a name of nothing", bo.post("/people/name", "person", boID, "name", " "), 422},
		{"invite to one's own", bo.post("/people/invite", "person", boID), 200},
		{"the owner renames Bo's phone", owner.post("/people/rename", "device", phone(boID), "name", "boat"), 303},
		{"the owner adds Cy", owner.post("/people/add", "name", "Cy"), 200},
		{"the owner revokes Bo's phone", owner.post("/people/revoke", "device", phone(boID)), 303},
		{"the owner is still in", owner.do("GET", "/people", "", ""), 200},
		{"Bo is out", bo.do("GET", "/people", "", ""), 401},
	} {
		if tc.w.Code != tc.status {
			t.Errorf("%s: status %d, want %d", tc.name, tc.w.Code, tc.status)
		}
	}
	// The owner finds them by the name that the owner gave.
	if p, _, _ := b.accounts.people.Person(boID); p.Name != "Bob" || find("Bo").ID != boID || find("Cy").Owner {
		t.Error("names or rights are wrong")
	}
}

var qrPath = regexp.MustCompile(`<path d="((?:M\d+ \d+h\d+v1h-\d+z)+)"`)

func TestInvitationShowsPictureLinkAndEnd(t *testing.T) {
	b := newFixture(t, t.TempDir())
	owner := b.pair("")
	body := owner.post("/people/invite", "person", b.owner().ID).Body.String()
	link := regexp.MustCompile(`<code id="link">(http://127.0.0.1:1/pair/[a-z2-9-]{19})</code>`).FindStringSubmatch(body)
	if link == nil || !strings.Contains(body, "works once, until") || !strings.Contains(body, "on this computer only") {
		t.Fatal(body)
	}
	// The picture is that of the link.
	want, _, err := QRPath(link[1])
	if got := qrPath.FindStringSubmatch(body); err != nil || got == nil || got[1] != want {
		t.Errorf("no picture of the link (%v)", err)
	}
}

func TestNamesAreEscaped(t *testing.T) {
	b := newFixture(t, t.TempDir())
	owner := b.pair("")
	w := owner.post("/people/add", "name", `<img src=x onerror="alert(1)">`)
	if w.Code != http.StatusOK || strings.Contains(w.Body.String(), "<img") || strings.Contains(owner.do("GET", "/people", "", "").Body.String(), "<img") {
		t.Errorf("status %d, or a name became markup", w.Code)
	}
}

// ---- the crew ----

func sighting(t *testing.T, id, thing journal.ID, n int) journal.Entry {
	t.Helper()
	at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixMilli() + int64(n), Device: "suite"}
	e, err := flybox.NewEntry(id, at, flybox.Sighting{ID: thing, When: "2026-08-14T05:00:00Z", Hatch: "claassenia", Water: "Sorrel River"})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func deletion(t *testing.T, id, target journal.ID, n int) journal.Entry {
	t.Helper()
	at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixMilli() + int64(n), Device: "suite"}
	e, err := flybox.NewEntry(id, at, flybox.Deleted{Target: target})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// share waits until all that is to be shared has been. It runs beside the
// service's own sharing, which must make no difference.
func (b *fixture) share() {
	b.Helper()
	if err := b.accounts.share(b.Context()); err != nil {
		b.Fatal(err)
	}
}

func wantHeld(t *testing.T, what string, d device, want ...journal.ID) {
	t.Helper()
	held := d.holds()
	for _, id := range want {
		if !held[id] {
			t.Errorf("%s lacks %s", what, id)
		}
	}
	if len(held) != len(want) {
		t.Errorf("%s holds %v, want %v", what, held, want)
	}
}

// of gives the id that something of a person has in the ledgers of others.
func (b *fixture) of(name string) func(id journal.ID) journal.ID {
	b.Helper()
	p := b.person(name)
	return func(id journal.ID) journal.ID { return crewID(p.ID, id) }
}

func TestACrewSharesSightingsAndNothingElse(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo, cy := b.pair(""), b.pair("Bo"), b.pair("Cy")
	ofAna, ofBo := b.of(""), b.of("Bo")
	ana.give(sighting(t, "before", "", 1))
	join := func(d device) {
		t.Helper()
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	join(ana)
	ana.give(sighting(t, "alone", "", 2))
	b.share()
	join(bo)
	ana.give(sighting(t, "seen", "s1", 3), storetest.Entry(t, "note", 4))
	bo.give(storetest.Entry(t, "bo-note", 5), deletion(t, "bo-deletes", ofAna("s1"), 6), sighting(t, "bo-edits", ofAna("s1"), 7))
	b.share()
	wantHeld(t, "Bo", bo, ofAna("seen"), "bo-note", "bo-deletes", "bo-edits")
	// What came from Ana is not Bo's to change or to give on.
	wantHeld(t, "Ana", ana, "before", "alone", "seen", "note")
	wantHeld(t, "Cy", cy)

	join(cy)
	ana.give(sighting(t, "for-both", "s2", 8), deletion(t, "takes-back", "s2", 9), deletion(t, "of-a-fly", "fly", 10))
	bo.give(sighting(t, "of-bo", "", 11))
	b.share()
	wantHeld(t, "Cy", cy, ofAna("for-both"), ofAna("takes-back"), ofBo("of-bo"))

	// Who stops gives and gets no more; what was shared stays.
	if w := bo.post("/people/share", "shares", "no"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	bo.give(sighting(t, "bo-again", "", 12))
	ana.give(sighting(t, "last", "", 13))
	b.share()
	wantHeld(t, "Cy in the end", cy, ofAna("for-both"), ofAna("takes-back"), ofBo("of-bo"), ofAna("last"))
	wantHeld(t, "Bo in the end", bo, ofAna("seen"), "bo-note", "bo-deletes", "bo-edits", ofAna("for-both"), ofAna("takes-back"), "of-bo", "bo-again")
}

// hostile is an entry that somebody in the crew may write to harm another.
func hostile(t *testing.T, raw string) journal.Entry {
	t.Helper()
	e, err := journal.ParseEntry([]byte(raw))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// Whatever a member writes, nothing of another's is changed, and nothing but
// hatch, day, water, place and note of a sighting leaves a ledger.
func TestNothingInACrewHarmsAnother(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, eve := b.pair(""), b.pair("Eve")
	fly, box := "5cc610ad-dc4c-4b37-a7c5-ad5d25f1fdc9", "c1d5c268-c355-4d5c-8965-375cfee550cd"
	ana.give(
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534223","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"pattern","body":{"id":"`+fly+`","name":"Golden foam","style":"foam-stone","hook":8}}`),
		hostile(t, `{"id":"adfa842a-a940-4a2b-a7e6-0f64e5b267f3","at":"2026-08-14T05:00:01.000Z-0000-a","v":1,"kind":"box","body":{"id":"`+box+`","name":"Boat box","rows":2,"columns":2}}`))
	for _, d := range []device{ana, eve} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	// Eve knows Ana's ids, and writes what she likes under them.
	eve.give(
		hostile(t, `{"id":"demo-001","at":"2026-08-14T05:00:00.000Z-0000-e","v":1,"kind":"sighting","body":{"when":"2026-08-14T05:00:00Z","hatch":"claassenia"}}`),
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534224","at":"2026-08-14T05:00:02.000Z-0000-e","v":1,"kind":"sighting","body":{"id":"`+fly+`","when":"2026-08-14T05:00:00Z","hatch":"claassenia"}}`),
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534225","at":"2026-08-14T05:00:03.000Z-0000-e","v":1,"kind":"sighting","body":{"id":"`+box+`","when":"2026-08-14T05:00:00Z","hatch":"claassenia"}}`),
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534226","at":"9999-12-31T00:00:00.000Z-0000-e","v":1,"kind":"deleted","body":{"target":"`+fly+`"}}`),
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534227","at":"2026-08-14T05:00:04.000Z-0000-e","v":1,"kind":"deleted","body":{"target":"`+box+`"}}`),
		hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534228","at":"9999-12-31T00:00:01.000Z-0000-e","v":1,"kind":"sighting","body":{"id":"`+fly+`","when":"2026-08-14T05:00:00Z","hatch":"claassenia"}}`))
	ana.give(hostile(t, `{"id":"98e4e4ad-d52c-499b-b1e2-0b515b534229","from":"9.9.9.9","at":"2026-08-14T05:03:09.123Z-0000-secretphone","v":1,"kind":"sighting","body":{"when":"2026-08-14T05:12:09-06:00","hatch":"claassenia","form":"adult-male","water":"Sorrel River","place":"below the bend","note":"on the stones","guests":"two from the lodge","evidence":{"region":"west-na","latitude":45.123,"altitude_m":1410,"water_c":14.2}}}`))
	b.share()
	b.share()
	t1, err := b.accounts.tenant(t.Context(), b.owner().ID)
	if err != nil {
		t.Fatal(err)
	}
	defer b.accounts.release(t1)
	ledger, err := b.accounts.shown(t.Context(), t1)
	if err != nil {
		t.Fatal(err)
	}
	s := ledger.ledger.State()
	if _, ok := s.Pattern(journal.ID(fly)); !ok {
		t.Error("Eve has removed Ana's fly")
	}
	if _, ok := s.Box(journal.ID(box)); !ok {
		t.Error("Eve has removed Ana's box")
	}
	if s.Has("demo-001") || s.Has("98e4e4ad-d52c-499b-b1e2-0b515b534224") {
		t.Error("an id of Eve's is in Ana's ledger")
	}
	p, err := b.accounts.people.Find("Eve")
	if err != nil {
		t.Fatal(err)
	}
	t2, err := b.accounts.tenant(t.Context(), p.ID)
	if err != nil {
		t.Fatal(err)
	}
	defer b.accounts.release(t2)
	got, ok, err := t2.into.Store().Get(t.Context(), b.of("")("98e4e4ad-d52c-499b-b1e2-0b515b534229"))
	if err != nil || !ok {
		t.Fatalf("Eve did not get the sighting: %v", err)
	}
	raw := string(got.Raw())
	for _, secret := range []string{"latitude", "45.123", "1410", "14.2", "05:12", "11:12", ":09", "secretphone", "9.9.9.9", "guests", "adult-male", "evidence"} {
		if strings.Contains(raw, secret) {
			t.Errorf("Eve gets %q: %s", secret, raw)
		}
	}
	for _, said := range []string{"claassenia", "2026-08-14", "Sorrel River", "below the bend", "on the stones"} {
		if !strings.Contains(raw, said) {
			t.Errorf("Eve does not get %q: %s", said, raw)
		}
	}
}

// One ledger that is damaged stops nobody: not the start, not the others'
// screens and sharing, not the backup, which says what it lacks.
func TestADamagedLedgerStopsNobody(t *testing.T) {
	folder := t.TempDir()
	b := newFixture(t, folder)
	ana, bo, cy := b.pair(""), b.pair("Bo"), b.pair("Cy")
	for _, d := range []device{ana, bo, cy} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	bo.give(storetest.Entry(t, "of-bo", 1))
	p, err := b.accounts.people.Find("Bo")
	if err != nil {
		t.Fatal(err)
	}
	path := b.accounts.ledgers.Name(p)
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, int64(2*os.Getpagesize()+100)); err != nil {
		t.Fatal(err)
	}
	again := newFixture(t, folder)
	ana.b, bo.b, cy.b = again, again, again
	if w := bo.do("GET", "/box", "", ""); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "is damaged") {
		t.Errorf("Bo is told %d", w.Code)
	}
	ana.give(sighting(t, "seen", "s1", 3))
	if w := ana.do("GET", "/box", "", ""); w.Code != http.StatusOK {
		t.Errorf("Ana is answered with %d", w.Code)
	}
	if err := again.accounts.share(t.Context()); err == nil {
		t.Error("nobody is told that Bo's ledger was left out")
	}
	if held := cy.holds(); !held[again.of("")("seen")] {
		t.Error("Cy gets nothing because Bo's ledger is damaged")
	}
	var file bytes.Buffer
	err = again.accounts.Backup(t.Context(), &file)
	if !errors.Is(err, ErrPartly) || !strings.Contains(err.Error(), "Bo") {
		t.Errorf("backup: %v", err)
	}
	fresh := newFixture(t, t.TempDir())
	if report, err := fresh.accounts.Restore(t.Context(), &file); err != nil || report.Added < 2 || report.Missing != 0 {
		t.Errorf("the backup holds %+v, %v", report, err)
	}
	if raw, err := os.ReadFile(path); err != nil || len(raw) != 2*os.Getpagesize()+100 {
		t.Errorf("the damaged file was changed: %d bytes, %v", len(raw), err)
	}
}

// Ledgers that nobody uses are closed until the rest is under the bound; one
// in use stays, and one that was closed is opened again.
func TestIdleLedgersAreClosed(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.accounts.Memory = 3 * bytesALedger
	var all []device
	for i := range 7 {
		name := ""
		if i > 0 {
			name = fmt.Sprint("Guest ", i)
		}
		d := b.pair(name)
		d.give(storetest.Entry(t, journal.ID(fmt.Sprint("e", i)), i))
		all = append(all, d)
	}
	open := func() int {
		b.accounts.mu.Lock()
		defer b.accounts.mu.Unlock()
		return len(b.accounts.tenants)
	}
	if n := open(); n > 3 {
		t.Errorf("%d ledgers are open", n)
	}
	held, err := b.accounts.tenant(t.Context(), b.owner().ID)
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range all {
		if held := d.holds(); !held[journal.ID(fmt.Sprint("e", i))] {
			t.Errorf("ledger %d lost its entry", i)
		}
	}
	if _, err := held.store.Load(t.Context()); err != nil {
		t.Errorf("a ledger was closed while it was in use: %v", err)
	}
	b.accounts.release(held)
	if n := open(); n > 3 {
		t.Errorf("%d ledgers are open", n)
	}
}

// While one ledger opens, others are served: the opening waits here until
// somebody else has been answered.
func TestOpeningALedgerHoldsUpNobodyElse(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	p, err := b.accounts.people.Find("Bo")
	if err != nil {
		t.Fatal(err)
	}
	b.accounts.mu.Lock()
	if old := b.accounts.tenants[p.ID]; old != nil {
		delete(b.accounts.tenants, p.ID)
		old.store.Close()
	}
	b.accounts.mu.Unlock()
	opens, proceed := make(chan string, 4), make(chan struct{})
	open := b.accounts.OpenStore
	b.accounts.OpenStore = func(path string) (*boltstore.Store, error) {
		opens <- path
		<-proceed
		return open(path)
	}
	answers := make(chan int, 3)
	for range 3 { // all three wait for one opening
		go func() { answers <- bo.do("GET", "/box", "", "").Code }()
	}
	<-opens
	if w := ana.do("GET", "/box", "", ""); w.Code != http.StatusOK {
		t.Errorf("Ana is answered with %d", w.Code)
	}
	close(proceed)
	for range 3 {
		if code := <-answers; code != http.StatusOK {
			t.Errorf("Bo is answered with %d", code)
		}
	}
	if len(opens) != 0 {
		t.Error("a ledger was opened more than once")
	}
}

// An opening that panics is told to whoever waits and holds up nobody after.
func TestAnOpeningThatPanicsHoldsUpNobody(t *testing.T) {
	b := newFixture(t, t.TempDir())
	p, err := b.accounts.people.Add("", "Bo", b.now())
	if err != nil {
		t.Fatal(err)
	}
	open := b.accounts.OpenStore
	b.accounts.OpenStore = func(string) (*boltstore.Store, error) { panic("a fault") }
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the fault was hidden")
			}
		}()
		b.accounts.tenant(t.Context(), p.ID)
	}()
	b.accounts.OpenStore = open
	ctx, cancel := context.WithCancel(t.Context())
	cancel() // who would wait for the one that failed ends here
	bo, err := b.accounts.tenant(ctx, p.ID)
	if err != nil {
		t.Fatal(err)
	}
	b.accounts.release(bo)
}

// Where memory is short a round opens each ledger once to look at it, not once
// for everybody whom it may go to.
func TestARoundOpensEachGiverOnce(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.pair("")
	for _, name := range []string{"Bo", "Cy", "Di"} {
		b.pair(name)
	}
	for _, p := range b.everybody() {
		if err := b.accounts.setShares(t.Context(), p.ID, true); err != nil {
			t.Fatal(err)
		}
	}
	// What the loop does of itself must not be counted.
	b.accounts.stop()
	<-b.accounts.done
	b.accounts.Memory = 1 // closes each as soon as it is let go of
	b.accounts.wakeSharing("")
	if err := b.accounts.share(t.Context()); err != nil {
		t.Fatal(err)
	}
	opened := map[string]int{}
	open := b.accounts.OpenStore
	b.accounts.OpenStore = func(path string) (*boltstore.Store, error) {
		opened[path]++
		return open(path)
	}
	b.accounts.wakeSharing("")
	if err := b.accounts.share(t.Context()); err != nil {
		t.Fatal(err)
	}
	if len(opened) != 4 {
		t.Errorf("%d ledgers were looked at", len(opened))
	}
	for path, n := range opened {
		if n != 1 {
			t.Errorf("%s was opened %d times", filepath.Base(path), n)
		}
	}
}

// A ledger counts with its entries while it is open, not only once it was let
// go of.
func TestAnOpenLedgerCounts(t *testing.T) {
	folder := t.TempDir()
	b := newFixture(t, folder)
	ana := b.pair("")
	for i := range 5 {
		ana.give(storetest.Entry(t, journal.ID(fmt.Sprint("e", i)), i))
	}
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	again := newFixture(t, folder)
	owner := again.owner().ID
	again.accounts.mu.Lock()
	memory := again.accounts.Memory
	again.accounts.Memory = 1
	again.accounts.evict() // the one that the start has opened
	again.accounts.Memory = memory
	again.accounts.mu.Unlock()
	held, err := again.accounts.tenant(t.Context(), owner)
	if err != nil {
		t.Fatal(err)
	}
	defer again.accounts.release(held)
	if want := int64(bytesALedger + 5*bytesAnID); held.bytes != want {
		t.Errorf("it counts %d bytes, want %d", held.bytes, want)
	}
	// A screen folds it.
	if _, err := again.accounts.shown(t.Context(), held); err != nil {
		t.Fatal(err)
	}
	if want := int64(bytesALedger + 5*(bytesAnID+bytesAnEntry)); held.size() != want {
		t.Errorf("folded it counts %d bytes, want %d", held.size(), want)
	}
}

// ---- backup ----

func TestABackupRestoresADataFolder(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	for i := range 30 {
		ana.give(storetest.Entry(t, journal.ID(fmt.Sprint("a", i)), i))
		bo.give(storetest.Entry(t, journal.ID(fmt.Sprint("b", i)), i))
	}
	if err := b.accounts.people.RenamePerson(b.owner().ID, "Ana", true); err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := b.accounts.Backup(t.Context(), &file); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(file.String(), ana.cookie.Value) {
		t.Error("a token stands in the backup")
	}
	t.Run("into an empty data folder", func(t *testing.T) {
		fresh := newFixture(t, t.TempDir())
		for i, want := range []int{60, 0} {
			report, err := fresh.accounts.Restore(t.Context(), bytes.NewReader(file.Bytes()))
			if err != nil || report.Added != want || report.Read != 60 {
				t.Fatalf("time %d: %+v, %v", i+1, report, err)
			}
		}
		list := fresh.everybody()
		if len(list) != 2 || list[0].ID != b.owner().ID || list[0].Name != "Ana" || !list[0].Owner || list[1].Name != "Bo" {
			t.Errorf("people: %+v", list)
		}
		if n := len(fresh.pair("").holds()); n != 30 {
			t.Errorf("Ana has %d entries, want 30", n)
		}
		if n := len(fresh.pair("Bo").holds()); n != 30 {
			t.Errorf("Bo has %d entries, want 30", n)
		}
	})
	t.Run("into the data folder itself, which went on", func(t *testing.T) {
		ana.give(storetest.Entry(t, "later", 99))
		report, err := b.accounts.Restore(t.Context(), bytes.NewReader(file.Bytes()))
		if err != nil || report.Added != 0 {
			t.Errorf("%+v, %v", report, err)
		}
		if n := len(ana.holds()); n != 31 {
			t.Errorf("%d entries, want 31", n)
		}
	})
	t.Run("with a person whose id is a path", func(t *testing.T) {
		folder := t.TempDir()
		fresh := newFixture(t, filepath.Join(folder, "accounts"))
		fresh.pair("")
		evil := `{"dampstone":"backup","v":1,"entries":1}` + "\n" + `{"ledger":"../../evil","name":"x","entries":1}` + "\n" + string(storetest.Entry(t, "e", 1).Raw()) + "\n"
		if _, err := fresh.accounts.Restore(t.Context(), strings.NewReader(evil)); err == nil {
			t.Error("it was taken")
		}
		if found, _ := filepath.Glob(filepath.Join(folder, "*.bolt")); len(found) != 0 {
			t.Errorf("it wrote %v", found)
		}
	})
	t.Run("of another program", func(t *testing.T) {
		if _, err := b.accounts.Restore(t.Context(), strings.NewReader("PK\x03\x04")); err == nil {
			t.Error("it was taken")
		}
	})
}

// A crew goes on after a server was lost: who shared still does, and what came
// from others is still theirs.
func TestABackupRestoresACrew(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	b.pair("Cy")
	for _, d := range []device{ana, bo} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	ana.give(sighting(t, "of-ana", "s1", 1))
	bo.give(sighting(t, "of-bo", "s2", 2))
	b.share()
	var file bytes.Buffer
	if err := b.accounts.Backup(t.Context(), &file); err != nil {
		t.Fatal(err)
	}

	fresh := newFixture(t, t.TempDir())
	if report, err := fresh.accounts.Restore(t.Context(), &file); err != nil || report.Added != 4 || report.BadCount != 0 {
		t.Fatalf("%+v, %v", report, err)
	}
	for _, p := range fresh.everybody() {
		if p.Shares != (p.Name != "Cy") {
			t.Errorf("%s shares: %v", p.Name, p.Shares)
		}
	}
	ana, bo = fresh.pair(""), fresh.pair("Bo")
	// Bo may not take away what Ana saw; what Bo saw Bo may take back.
	bo.give(deletion(t, "not-bos", fresh.of("")("s1"), 3), deletion(t, "bos", "s2", 4), sighting(t, "new", "s3", 5))
	fresh.share()
	ofBo := fresh.of("Bo")
	wantHeld(t, "Ana", ana, "of-ana", ofBo("of-bo"), ofBo("bos"), ofBo("new"))

	// Whoever left the crew since the backup stays out.
	if w := bo.post("/people/share", "shares", "no"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	var again bytes.Buffer
	if err := b.accounts.Backup(t.Context(), &again); err != nil {
		t.Fatal(err)
	}
	if _, err := fresh.accounts.Restore(t.Context(), &again); err != nil {
		t.Fatal(err)
	}
	for _, p := range fresh.everybody() {
		if p.Shares != p.Owner {
			t.Errorf("after a second restore %s shares: %v", p.Name, p.Shares)
		}
	}
}

// What a file brings back to somebody who shares is not new to the crew: it
// may be from before they shared.
func TestARestoreTellsTheCrewNothing(t *testing.T) {
	b := newFixture(t, t.TempDir())
	file := strings.NewReader(`{"dampstone":"backup","v":2,"made":"2026-08-01T00:00:00Z","entries":1}` + "\n" +
		`{"ledger":"` + b.owner().ID + `","name":"Owner","entries":1}` + "\n" + string(sighting(t, "private", "s0", 1).Raw()) + "\n")
	ana, bo := b.pair(""), b.pair("Bo")
	for _, d := range []device{ana, bo} {
		if w := d.post("/people/share", "shares", "yes"); w.Code != http.StatusSeeOther {
			t.Fatal(w.Code)
		}
	}
	ana.give(sighting(t, "shared", "s1", 2))
	b.share()
	if report, err := b.accounts.Restore(t.Context(), file); err != nil || report.Added != 1 {
		t.Fatalf("%+v, %v", report, err)
	}
	ana.give(deletion(t, "gone", "s0", 3), sighting(t, "new", "s2", 4))
	b.share()
	wantHeld(t, "Ana", ana, "private", "shared", "gone", "new")
	wantHeld(t, "Bo", bo, b.of("")("shared"), b.of("")("new"))
}

// Backing up while phones write gives a file that is whole.
func TestBackupWhilePhonesWrite(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana := b.pair("")
	ana.give(storetest.Entry(t, "first", 0))
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := range 200 {
			r := httptest.NewRequest("POST", "/sync", strings.NewReader(syncBody(storetest.Entry(t, journal.ID(fmt.Sprint("w", i)), i))))
			r.Header.Set("Content-Type", "application/json")
			r.AddCookie(ana.cookie)
			b.h.ServeHTTP(httptest.NewRecorder(), r)
		}
	}()
	for backing := true; backing; {
		select {
		case <-done:
			backing = false
		default:
		}
		var file bytes.Buffer
		if err := b.accounts.Backup(t.Context(), &file); err != nil {
			t.Fatal(err)
		}
		fresh := newFixture(t, t.TempDir())
		report, err := fresh.accounts.Restore(t.Context(), &file)
		if err != nil || report.BadCount+report.Missing != 0 || report.Read == 0 {
			t.Fatalf("%+v, %v", report, err)
		}
		if err := fresh.accounts.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A device needs a name: what is empty is asked for again, in words, and the
// code is not spent.
func TestADeviceWithoutANameIsToldSo(t *testing.T) {
	b := newFixture(t, t.TempDir())
	inv, err := b.accounts.Pair(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	stranger := device{b: b}
	if w := stranger.post("/pair", "code", inv.Code); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "role=\"alert\"") {
		t.Errorf("the code alone: status %d", w.Code)
	}
	for _, name := range []string{"", "   ", strings.Repeat("x", people.MaxName+1)} {
		if w := stranger.post("/pair", "code", inv.Code, "device", name); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "role=\"alert\"") {
			t.Errorf("name %q: status %d, and not a word", name, w.Code)
		}
	}
	if w := stranger.post("/pair", "code", inv.Code, "device", "Boat phone"); w.Code != http.StatusSeeOther {
		t.Errorf("with a name: status %d", w.Code)
	}
}
