// Package peopletest is the one suite that a people.Registry must pass,
// wherever it is kept.
package peopletest

import (
	"errors"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"dampstone/server/people"
)

// Open gives a new empty registry, and a way to open it again once it is
// closed.
type Open func(t *testing.T) (r *people.Registry, reopen func() *people.Registry)

// Run runs the suite.
func Run(t *testing.T, open Open) {
	for name, test := range map[string]func(*testing.T, Open){
		"A device is paired once and for ten minutes":  testADeviceIsPairedOnceAndForTenMinutes,
		"One code for many at once pairs one":          testOneCodeForManyAtOncePairsOne,
		"A revoked device is shut out":                 testARevokedDeviceIsShutOut,
		"What is no token is refused":                  testWhatIsNoTokenIsRefused,
		"Names":                                        testNames,
		"Open codes are few":                           testOpenCodesAreFew,
		"A feed is read of the times in the crew":      testAFeedIsReadOfTheTimesInTheCrew,
		"A place that is not in the feed is its start": testAPlaceThatIsNotInTheFeedIsItsStart,
		"A long feed is read in steps":                 testALongFeedIsReadInSteps,
		"A gift out of date is not taken":              testAGiftOutOfDateIsNotTaken,
	} {
		t.Run(name, func(t *testing.T) { test(t, open) })
	}
}

// Two sees that two registries over the same records agree at once.
func Two(t *testing.T, a, b *people.Registry) {
	ana := add(t, a, "Ana")
	token, d := pairNew(t, b, ana, "phone")
	if _, p, err := a.Check(token); err != nil || p.ID != ana.ID {
		t.Errorf("a device that was paired at the other: %v", err)
	}
	share(t, b, ana, true)
	if _, p, err := a.Check(token); err != nil || !p.Shares {
		t.Errorf("who joined the crew at the other: %+v, %v", p, err)
	}
	if err := a.Revoke(d.ID, now); err != nil {
		t.Fatal(err)
	}
	if _, _, err := b.Check(token); !errors.Is(err, people.ErrToken) {
		t.Errorf("a device that was shut out at the other: %v", err)
	}
	// One code for both pairs one device.
	code, _, err := a.Invite(ana.ID, now)
	if err != nil {
		t.Fatal(err)
	}
	var paired atomic.Int64
	var wait sync.WaitGroup
	for i := range 16 {
		wait.Go(func() {
			if _, _, err := []*people.Registry{a, b}[i%2].Pair(code, "phone", now); err == nil {
				paired.Add(1)
			}
		})
	}
	wait.Wait()
	if n := paired.Load(); n != 1 {
		t.Errorf("one code paired %d devices", n)
	}
	if err := b.Remove(ana.ID, now); err != nil {
		t.Fatal(err)
	}
	if _, ok, err := a.Person(ana.ID); ok || err != nil {
		t.Errorf("who was taken off at the other is here: %v, %v", ok, err)
	}
}

var now = time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)

func devices(t *testing.T, r *people.Registry, person string) []people.Device {
	t.Helper()
	list, err := r.Devices(person)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func add(t *testing.T, r *people.Registry, name string) people.Person {
	t.Helper()
	p, err := r.Add("", name, now)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func pairNew(t *testing.T, r *people.Registry, p people.Person, name string) (string, people.Device) {
	t.Helper()
	code, _, err := r.Invite(p.ID, now)
	if err != nil {
		t.Fatal(err)
	}
	token, d, err := r.Pair(code, name, now)
	if err != nil {
		t.Fatal(err)
	}
	return token, d
}

func testADeviceIsPairedOnceAndForTenMinutes(t *testing.T, open Open) {
	r, _ := open(t)
	p := add(t, r, "Ana")
	for _, tc := range []struct {
		name  string
		after time.Duration
		typed func(string) string
		twice bool
		want  error
	}{
		{"at once", 0, nil, false, nil},
		{"typed in capitals and with spaces", 0, func(s string) string { return " " + strings.ReplaceAll(strings.ToUpper(s), "-", " ") }, false, nil},
		{"just in time", people.CodeLife - time.Millisecond, nil, false, nil},
		{"too late", people.CodeLife, nil, false, people.ErrCode},
		{"a second time", 0, nil, true, people.ErrCode},
		{"a code that was never made", 0, func(string) string { return "aaaa-bbbb-cccc-dddd" }, false, people.ErrCode},
		{"nothing", 0, func(string) string { return "" }, false, people.ErrCode},
	} {
		t.Run(tc.name, func(t *testing.T) {
			code, until, err := r.Invite(p.ID, now)
			if err != nil || !until.Equal(now.Add(people.CodeLife)) {
				t.Fatal(until, err)
			}
			if tc.typed != nil {
				code = tc.typed(code)
			}
			if tc.twice {
				if _, _, err := r.Pair(code, "first", now); err != nil {
					t.Fatal(err)
				}
			}
			before := len(devices(t, r, p.ID))
			_, _, err = r.Invited(code, now.Add(tc.after))
			if !errors.Is(err, tc.want) {
				t.Errorf("invited: %v, want %v", err, tc.want)
			}
			token, _, err := r.Pair(code, "phone", now.Add(tc.after))
			if !errors.Is(err, tc.want) {
				t.Errorf("pair: %v, want %v", err, tc.want)
			}
			if tc.want == nil {
				if _, who, err := r.Check(token); err != nil || who.ID != p.ID {
					t.Errorf("check: %+v, %v", who, err)
				}
			} else if token != "" || len(devices(t, r, p.ID)) != before {
				t.Error("a device was paired all the same")
			}
		})
	}
}

func testOneCodeForManyAtOncePairsOne(t *testing.T, open Open) {
	r, _ := open(t)
	code, _, err := r.Invite(add(t, r, "Ana").ID, now)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() { _, _, _ = r.Pair(code, "phone", now) })
	}
	wg.Wait()
	if n := len(devices(t, r, "")); n != 1 {
		t.Errorf("%d devices are paired, want 1", n)
	}
}

func testARevokedDeviceIsShutOut(t *testing.T, open Open) {
	r, reopen := open(t)
	p := add(t, r, "Ana")
	token, d := pairNew(t, r, p, "old phone")
	other, _ := pairNew(t, r, p, "new phone")
	if _, _, err := r.Check(token); err != nil {
		t.Fatal(err)
	}
	if err := r.Revoke(d.ID, now); err != nil {
		t.Fatal(err)
	}
	check := func() {
		t.Helper()
		if _, _, err := r.Check(token); !errors.Is(err, people.ErrToken) {
			t.Errorf("revoked: %v, want people.ErrToken", err)
		}
		if _, _, err := r.Check(other); err != nil {
			t.Errorf("the other: %v", err)
		}
	}
	check()
	if err := errors.Join(r.Rename(d.ID, "back"), r.Revoke(d.ID, now)); !errors.Is(err, people.ErrUnknown) {
		t.Errorf("a revoked device was changed: %v", err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	r = reopen()
	check()
}

func testWhatIsNoTokenIsRefused(t *testing.T, open Open) {
	r, _ := open(t)
	token, _ := pairNew(t, r, add(t, r, "Ana"), "phone")
	for _, text := range []string{"", "x", token[:42], token + "A", strings.Repeat("A", 43), strings.ToUpper(token)} {
		if _, _, err := r.Check(text); !errors.Is(err, people.ErrToken) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func testNames(t *testing.T, open Open) {
	r, _ := open(t)
	owner, bo := add(t, r, "  Ana  "), add(t, r, "Bo")
	if owner.Name != "Ana" || !owner.Owner || bo.Owner {
		t.Errorf("%+v, %+v", owner, bo)
	}
	for _, bad := range []string{"", "   ", "a\nb", strings.Repeat("é", people.MaxName+1), "\xff", "a\u202eb"} {
		if _, err := r.Add("", bad, now); !errors.Is(err, people.ErrName) {
			t.Errorf("%q: %v, want people.ErrName", bad, err)
		}
	}
	if p, err := r.Find("bO"); err != nil || p.ID != bo.ID {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := r.Find("nobody"); !errors.Is(err, people.ErrUnknown) {
		t.Error(err)
	}
	add(t, r, "bo")
	if _, err := r.Find("Bo"); !errors.Is(err, people.ErrTwo) {
		t.Error(err)
	}
	again, err := r.Add(bo.ID, "Somebody else", now)
	if err != nil || again.Name != "Bo" {
		t.Errorf("a known person came back as %+v, %v", again, err)
	}
}

func testOpenCodesAreFew(t *testing.T, open Open) {
	r, _ := open(t)
	p := add(t, r, "Ana")
	var codes []string
	for i := range people.MaxCodes + 5 {
		code, _, err := r.Invite(p.ID, now.Add(time.Duration(i)*time.Second))
		if err != nil {
			t.Fatal(err)
		}
		codes = append(codes, code)
	}
	works := 0
	for _, code := range codes {
		if _, _, err := r.Invited(code, now.Add(time.Minute)); err == nil {
			works++
		}
	}
	if works != people.MaxCodes {
		t.Errorf("%d codes work, want %d", works, people.MaxCodes)
	}
}
