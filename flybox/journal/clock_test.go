package journal

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

var dawn = time.Date(2026, 8, 14, 5, 12, 9, 123e6, time.UTC)

func TestStampText(t *testing.T) {
	s := Stamp{MS: dawn.UnixMilli(), Count: 4, Device: "k3f9"}
	const text = "2026-08-14T05:12:09.123Z-0004-k3f9"
	if s.String() != text {
		t.Errorf("got %s, want %s", s, text)
	}
	if got, err := ParseStamp(text); err != nil || got != s {
		t.Errorf("read %+v, %v", got, err)
	}
	for _, bad := range []string{"", "2026-08-14T05:12:09.123Z-0004-", "2026-08-14T05:12:09.123Z-0004-K3F9", "2026-08-14T05:12:09.123Z-00g4-a",
		"2026-08-14T05:12:09.123Z-0004-" + strings.Repeat("a", 33), "2026-02-30T05:12:09.123Z-0004-a", "2026-08-14T05:12:09.123+0004-aaa",
		"2026-08-14 05:12:09.123Z-0004-a", "1969-12-31T23:59:59.999Z-0000-a", "2026-08-14T05:12:09,123Z-0004-a", "2026-08-14T05:12:09.123Z-00A4-a"} {
		if got, err := ParseStamp(bad); err == nil {
			t.Errorf("%q read as %+v", bad, got)
		}
	}
}

func TestStampTextSortsAsStampsDo(t *testing.T) {
	const seed = 3
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 0))
	devices := []string{"a", "ab", "b", "0", "zz9"}
	var stamps []Stamp
	for range 500 {
		s := Stamp{MS: rng.Int64N(maxMS + 1), Count: uint16(rng.IntN(1 << 16)), Device: devices[rng.IntN(len(devices))]}
		if len(stamps) > 0 && rng.IntN(2) == 0 { // near ones
			s.MS = stamps[len(stamps)-1].MS + int64(rng.IntN(2))
			s.Count = stamps[len(stamps)-1].Count
			s.MS = min(s.MS, maxMS)
		}
		stamps = append(stamps, s, Stamp{MS: 0, Device: "a"}, Stamp{MS: maxMS, Count: 1<<16 - 1, Device: "z"})
	}
	slices.SortFunc(stamps, Stamp.Compare)
	for i, s := range stamps {
		if back, err := ParseStamp(s.String()); err != nil || back != s {
			t.Fatalf("%+v read back as %+v, %v", s, back, err)
		}
		if i > 0 && stamps[i-1].String() > s.String() {
			t.Fatalf("%s sorts after %s", stamps[i-1], s)
		}
	}
}

func TestClock(t *testing.T) {
	at := func(d time.Duration) time.Time { return dawn.Add(d) }
	year := 365 * 24 * time.Hour
	ms := func(d time.Duration) int64 { return at(d).UnixMilli() }

	t.Run("ticks rise within one millisecond and beyond the counter", func(t *testing.T) {
		c := Clock{Device: "a"}
		last := c.Tick(dawn)
		for range 1<<16 + 10 {
			next := c.Tick(dawn)
			if next.Compare(last) <= 0 {
				t.Fatalf("%s after %s", next, last)
			}
			last = next
		}
		if last.MS != ms(0)+1 {
			t.Errorf("ran to %s", last)
		}
	})
	t.Run("a wall clock that steps back a little is held", func(t *testing.T) {
		c := Clock{Device: "a"}
		first := c.Tick(dawn)
		if next := c.Tick(at(-MaxAhead)); next.Compare(first) <= 0 {
			t.Errorf("%s after %s", next, first)
		}
	})
	t.Run("a wall clock put right by a year is followed", func(t *testing.T) {
		c := Clock{Device: "a"}
		c.Tick(at(year))
		if next := c.Tick(dawn); next.MS != ms(0) {
			t.Errorf("still at %s", next)
		}
	})
	t.Run("ticks come after a stamp seen from a little ahead", func(t *testing.T) {
		c := Clock{Device: "a"}
		seen := Stamp{MS: ms(MaxAhead), Count: 7, Device: "b"}
		c.Observe(seen, dawn)
		if next := c.Tick(dawn); next.Compare(seen) <= 0 || next.Device != "a" {
			t.Errorf("%s not after %s", next, seen)
		}
	})
	t.Run("a stamp from a year ahead does not drag the clock", func(t *testing.T) {
		c := Clock{Device: "a"}
		for range 100 {
			c.Observe(Stamp{MS: ms(year), Device: "b"}, dawn)
		}
		if next := c.Tick(dawn); next.MS != ms(0) {
			t.Errorf("dragged to %s", next)
		}
	})
	t.Run("a stamp from a year ahead does not make the clock forget", func(t *testing.T) {
		c := Clock{Device: "a"}
		first := c.Tick(dawn)
		c.Observe(Stamp{MS: ms(year), Device: "b"}, dawn)
		if next := c.Tick(at(-time.Second)); next.Compare(first) <= 0 {
			t.Errorf("%s after %s", next, first)
		}
	})
	t.Run("a stamp from the past changes nothing", func(t *testing.T) {
		c := Clock{Device: "a"}
		first := c.Tick(dawn)
		c.Observe(Stamp{MS: ms(-year), Device: "b"}, dawn)
		if next := c.Tick(dawn); next != After(first, "a") {
			t.Errorf("%s after %s", next, first)
		}
	})
	t.Run("a clock before 1970 or after 9999 still gives a stamp that can be read", func(t *testing.T) {
		for _, now := range []time.Time{time.Unix(-1e10, 0), time.Unix(1e12, 0)} {
			c := Clock{Device: "a"}
			s := c.Tick(now)
			if back, err := ParseStamp(s.String()); err != nil || back != s {
				t.Errorf("%v: %s: %v", now, s, err)
			}
		}
	})
	t.Run("the end of time stands still", func(t *testing.T) {
		end := Stamp{MS: maxMS, Count: 1<<16 - 1, Device: "a"}
		if got := After(end, "a"); got != end {
			t.Errorf("%s", got)
		}
	})
}
