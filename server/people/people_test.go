package people

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

var now = time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)

func registry(t *testing.T) (*Registry, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "people.bolt")
	r, err := Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r, path
}

func devices(t *testing.T, r *Registry, person string) []Device {
	t.Helper()
	list, err := r.Devices(person)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func add(t *testing.T, r *Registry, name string) Person {
	t.Helper()
	p, err := r.Add("", name, now)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func pairNew(t *testing.T, r *Registry, p Person, name string) (string, Device) {
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

func TestADeviceIsPairedOnceAndForTenMinutes(t *testing.T) {
	r, _ := registry(t)
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
		{"just in time", CodeLife - time.Millisecond, nil, false, nil},
		{"too late", CodeLife, nil, false, ErrCode},
		{"a second time", 0, nil, true, ErrCode},
		{"a code that was never made", 0, func(string) string { return "aaaa-bbbb-cccc-dddd" }, false, ErrCode},
		{"nothing", 0, func(string) string { return "" }, false, ErrCode},
	} {
		t.Run(tc.name, func(t *testing.T) {
			code, until, err := r.Invite(p.ID, now)
			if err != nil || !until.Equal(now.Add(CodeLife)) {
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

func TestOneCodeForManyAtOncePairsOne(t *testing.T) {
	r, _ := registry(t)
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

func TestARevokedDeviceIsShutOut(t *testing.T) {
	r, path := registry(t)
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
		if _, _, err := r.Check(token); !errors.Is(err, ErrToken) {
			t.Errorf("revoked: %v, want ErrToken", err)
		}
		if _, _, err := r.Check(other); err != nil {
			t.Errorf("the other: %v", err)
		}
	}
	check()
	if err := errors.Join(r.Rename(d.ID, "back"), r.Revoke(d.ID, now)); !errors.Is(err, ErrUnknown) {
		t.Errorf("a revoked device was changed: %v", err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	var err error
	if r, err = Open(path, time.Second); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	check()
}

func TestTheFileGivesNoSecretAway(t *testing.T) {
	r, path := registry(t)
	p := add(t, r, "Ana")
	token, _ := pairNew(t, r, p, "phone")
	code, _, err := r.Invite(p.ID, now)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{token, code, plain(code)} {
		if bytes.Contains(raw, []byte(secret)) {
			t.Errorf("%q stands in the file", secret)
		}
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, want 0600 (%v)", info.Mode(), err)
	}
}

func TestWhatIsNoTokenIsRefused(t *testing.T) {
	r, _ := registry(t)
	token, _ := pairNew(t, r, add(t, r, "Ana"), "phone")
	for _, text := range []string{"", "x", token[:42], token + "A", strings.Repeat("A", 43), strings.ToUpper(token)} {
		if _, _, err := r.Check(text); !errors.Is(err, ErrToken) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestNames(t *testing.T) {
	r, _ := registry(t)
	owner, bo := add(t, r, "  Ana  "), add(t, r, "Bo")
	if owner.Name != "Ana" || !owner.Owner || bo.Owner {
		t.Errorf("%+v, %+v", owner, bo)
	}
	for _, bad := range []string{"", "   ", "a\nb", strings.Repeat("é", MaxName+1), "\xff", "a\u202eb"} {
		if _, err := r.Add("", bad, now); !errors.Is(err, ErrName) {
			t.Errorf("%q: %v, want ErrName", bad, err)
		}
	}
	if p, err := r.Find("bO"); err != nil || p.ID != bo.ID {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := r.Find("nobody"); !errors.Is(err, ErrUnknown) {
		t.Error(err)
	}
	add(t, r, "bo")
	if _, err := r.Find("Bo"); !errors.Is(err, ErrTwo) {
		t.Error(err)
	}
	again, err := r.Add(bo.ID, "Somebody else", now)
	if err != nil || again.Name != "Bo" {
		t.Errorf("a known person came back as %+v, %v", again, err)
	}
}

func TestOpenCodesAreFew(t *testing.T) {
	r, _ := registry(t)
	p := add(t, r, "Ana")
	var codes []string
	for i := range maxCodes + 5 {
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
	if works != maxCodes {
		t.Errorf("%d codes work, want %d", works, maxCodes)
	}
}
