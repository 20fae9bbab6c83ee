package people_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dampstone/server/people"
	"dampstone/server/people/peopletest"
)

func open(t *testing.T, path string) *people.Registry {
	t.Helper()
	r, err := people.Open(path, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

func TestRegistry(t *testing.T) {
	peopletest.Run(t, func(t *testing.T) (*people.Registry, func() *people.Registry) {
		path := filepath.Join(t.TempDir(), "people.bolt")
		return open(t, path), func() *people.Registry { return open(t, path) }
	})
}

func TestTheFileGivesNoSecretAway(t *testing.T) {
	path := filepath.Join(t.TempDir(), "people.bolt")
	r := open(t, path)
	now := time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)
	p, err := r.Add("", "Ana", now)
	if err != nil {
		t.Fatal(err)
	}
	used, _, err := r.Invite(p.ID, now)
	if err != nil {
		t.Fatal(err)
	}
	token, _, err := r.Pair(used, "phone", now)
	if err != nil {
		t.Fatal(err)
	}
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
	for _, secret := range []string{token, code, strings.ReplaceAll(code, "-", ""), used, strings.ReplaceAll(used, "-", "")} {
		if bytes.Contains(raw, []byte(secret)) {
			t.Errorf("%q stands in the file", secret)
		}
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, want 0600 (%v)", info.Mode(), err)
	}
}
