package accounts

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"dampstone/server/people"
)

// tryFrom tries a code from an address and says what became of it.
func (b *fixture) tryFrom(address, code string, more ...string) *httptest.ResponseRecorder {
	b.Helper()
	f := url.Values{"code": {code}}
	for i := 0; i < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	r := httptest.NewRequest("POST", "/pair", strings.NewReader(f.Encode()))
	r.Header.Set("Content-Type", formType)
	r.RemoteAddr = address
	w := httptest.NewRecorder()
	b.h.ServeHTTP(w, r)
	return w
}

// Strangers who try codes without end slow down themselves and nobody else.
func TestWrongTriesBlockNobodyElse(t *testing.T) {
	b := newFixture(t, t.TempDir())
	inv, err := b.accounts.Pair(t.Context(), "Bo")
	if err != nil {
		t.Fatal(err)
	}
	refused := 0
	for i := range 60 {
		// One network of IPv6 is one visitor, however many addresses it has.
		for _, at := range []string{"198.51.100.7:1000", fmt.Sprintf("[2001:db8:1:2::%x]:1000", i)} {
			if w := b.tryFrom(at, fmt.Sprintf("wrong-%d", i)); w.Code == http.StatusTooManyRequests {
				refused++
			}
		}
	}
	if refused < 90 {
		t.Errorf("%d of 120 wrong tries were refused as too fast", refused)
	}
	if w := b.tryFrom("203.0.113.9:1000", inv.Code, "device", "phone"); w.Code != http.StatusSeeOther {
		t.Errorf("the right code from elsewhere: %d", w.Code)
	}
}

// The invitations of one member take nobody else's away.
func TestInvitationsOfOneMemberLeaveTheOthers(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, err := b.accounts.Pair(t.Context(), "Ana")
	if err != nil {
		t.Fatal(err)
	}
	bo := b.pair("Bo")
	var id string
	for _, p := range b.everybody() {
		if p.Name == "Bo" {
			id = p.ID
		}
	}
	for range 30 {
		if w := bo.post("/people/invite", "person", id); w.Code != http.StatusOK {
			t.Fatal(w.Code)
		}
	}
	if w := b.tryFrom("203.0.113.9:1000", ana.Code, "device", "Ana's phone"); w.Code != http.StatusSeeOther {
		t.Errorf("Ana's code after 30 of Bo's: %d", w.Code)
	}
}

// What a member calls herself does not lead the owner to her ledger.
func TestAMemberTakesNobodysLinkByTheirName(t *testing.T) {
	b := newFixture(t, t.TempDir())
	bo := b.pair("Bo")
	bo.give(sightings(t, "bo", 3)...)
	var id string
	for _, p := range b.everybody() {
		if p.Name == "Bo" {
			id = p.ID
		}
	}
	if w := bo.post("/people/name", "person", id, "name", "Dora"); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	inv, err := b.accounts.Pair(t.Context(), "Dora")
	if err != nil || !inv.New {
		t.Fatalf("pair Dora leads to a ledger that is there: %+v, %v", inv, err)
	}
	dora := b.pair("Dora")
	if n := len(dora.holds()); n != 0 {
		t.Errorf("Dora reads %d entries of somebody else", n)
	}
	// The owner still finds the member by the name that they gave.
	again, err := b.accounts.Pair(t.Context(), "Bo")
	if err != nil || again.New || again.Person != "Dora" {
		t.Errorf("pair Bo: %+v, %v", again, err)
	}
	// A name that the owner gives counts.
	if err := b.accounts.people.RenamePerson(id, "Bo the elder", true); err != nil {
		t.Fatal(err)
	}
	if p, err := b.accounts.people.Find("bo the elder"); err != nil || p.ID != id {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := b.accounts.people.Find("Bo"); err != people.ErrUnknown {
		t.Errorf("the old name: %v", err)
	}
}
