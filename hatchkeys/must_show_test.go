package hatchkeys_test

import (
	"testing"

	"dampstone/hatchkeys"
)

// read reads JSON evidence with the western pack.
func read(t *testing.T, line string) *hatchkeys.Reading {
	t.Helper()
	region, e, err := hatchkeys.ParseJSON([]byte(line))
	if err != nil {
		t.Fatalf("%s: %v", line, err)
	}
	k, err := hatchkeys.ForRegion(region)
	if err != nil {
		t.Fatal(err)
	}
	return k.Read(e)
}

