package journal

import (
	"cmp"
	"time"
)

// Stamp is the reading of a hybrid logical clock: the wall clock of the
// device that wrote an entry, a counter for entries of one millisecond, and
// the device. Stamps order entries; two devices that hold the same entries
// order them alike.
//
// Source of the idea: Kulkarni, Demirbas, Madappa, Avva, Leone (2014),
// "Logical Physical Clocks", OPODIS (from memory).
type Stamp struct {
	MS     int64  // Unix time in milliseconds, 0 to maxMS
	Count  uint16 // tells entries of one millisecond apart
	Device string // 1 to 32 of a-z and 0-9
}

// MaxAhead is how far a clock may run ahead of the device's own wall clock
// because of what it has seen.
//
// A stamp from further ahead (a phone set a year wrong) is kept and orders
// its own entry as written, but the local clock does not follow it: new
// entries keep the right time. So that no edit made after seeing such an
// entry is lost behind it, Ledger.Record stamps an edit just after whatever
// it edits (see After), and that alone. The order therefore depends on
// nothing but the stamps in the entries, and is the same everywhere.
const MaxAhead = 10 * time.Minute

// maxMS is the last millisecond of the year 9999, the last that the text form
// can hold.
const maxMS = 253402300799999

const (
	stampTime  = "2006-01-02T15:04:05.000Z"
	stampFixed = len(stampTime) + len("-0000-")
	MaxDevice  = 32
)

// Compare orders stamps by time, counter and device: -1, 0 or +1.
func (s Stamp) Compare(t Stamp) int {
	if c := cmp.Compare(s.MS, t.MS); c != 0 {
		return c
	}
	if c := cmp.Compare(s.Count, t.Count); c != 0 {
		return c
	}
	return cmp.Compare(s.Device, t.Device)
}

// IsZero tells whether s is no stamp at all.
func (s Stamp) IsZero() bool { return s == Stamp{} }

// Time is the wall clock part, in UTC, as the writing device had it.
func (s Stamp) Time() time.Time { return time.UnixMilli(s.MS).UTC() }

// String is the text form, such as "2026-08-14T05:12:09.123Z-0004-k3f9". Text
// forms sort byte by byte as Compare sorts.
func (s Stamp) String() string {
	b := make([]byte, 0, stampFixed+len(s.Device))
	b = s.Time().AppendFormat(b, stampTime)
	const hex = "0123456789abcdef"
	b = append(b, '-', hex[s.Count>>12], hex[s.Count>>8&15], hex[s.Count>>4&15], hex[s.Count&15], '-')
	return string(append(b, s.Device...))
}

// ParseStamp reads the text form. Anything that String would not have written
// is a *Problem with CodeNotStamp.
func ParseStamp(text string) (Stamp, error) {
	bad := func() (Stamp, error) {
		return Stamp{}, &Problem{Field: "at", Code: CodeNotStamp, Detail: Detail{Got: Of(Clip(text))}}
	}
	if len(text) <= stampFixed || len(text) > stampFixed+MaxDevice {
		return bad()
	}
	t, err := time.Parse(stampTime, text[:len(stampTime)])
	if err != nil || text[len(stampTime)] != '-' || text[stampFixed-1] != '-' {
		return bad()
	}
	s := Stamp{MS: t.UnixMilli(), Device: text[stampFixed:]}
	for _, c := range []byte(text[len(stampTime)+1 : stampFixed-1]) {
		switch {
		case '0' <= c && c <= '9':
			s.Count = s.Count<<4 | uint16(c-'0')
		case 'a' <= c && c <= 'f':
			s.Count = s.Count<<4 | uint16(c-'a'+10)
		default:
			return bad()
		}
	}
	// The time package reads more than it writes (a comma before the
	// fraction); two texts for one stamp would not sort alike.
	if !IsDevice(s.Device) || s.MS < 0 || s.MS > maxMS || s.String() != text {
		return bad()
	}
	return s, nil
}

// IsDevice tells whether a name may stand in stamps.
func IsDevice(d string) bool {
	if len(d) == 0 || len(d) > MaxDevice {
		return false
	}
	for i := range len(d) {
		if c := d[i]; !('a' <= c && c <= 'z' || '0' <= c && c <= '9') {
			return false
		}
	}
	return true
}

// Clock makes stamps for one device. The zero Clock with a Device is ready.
// It is not safe for concurrent use.
type Clock struct {
	Device string
	last   Stamp
}

// Tick is the next stamp. It is later than every stamp this clock has made
// or observed, except where those lie more than MaxAhead past now: then the
// wall clock has been put right, and the stamps follow it back.
func (c *Clock) Tick(now time.Time) Stamp {
	ms := wallMS(now)
	switch {
	case ms > c.last.MS || c.last.MS-ms > MaxAhead.Milliseconds():
		c.last = Stamp{MS: ms, Device: c.Device}
	default:
		c.last = After(c.last, c.Device)
	}
	return c.last
}

// Observe takes note of a stamp from another device, or from this one before
// a restart, so that later ticks come after it. Stamps more than MaxAhead
// past now are not followed.
func (c *Clock) Observe(seen Stamp, now time.Time) {
	if seen.MS-wallMS(now) > MaxAhead.Milliseconds() {
		return
	}
	if seen.Compare(c.last) > 0 {
		c.last = Stamp{MS: seen.MS, Count: seen.Count, Device: c.Device}
	}
}

// After is the least stamp of device that is later than s by time and
// counter. At the very end of the year 9999 it stands still, and ids decide.
func After(s Stamp, device string) Stamp {
	switch {
	case s.Count < 1<<16-1:
		return Stamp{MS: s.MS, Count: s.Count + 1, Device: device}
	case s.MS < maxMS:
		return Stamp{MS: s.MS + 1, Device: device}
	}
	return Stamp{MS: s.MS, Count: s.Count, Device: device}
}

// wallMS is now in Unix milliseconds, held within what a stamp can say.
func wallMS(now time.Time) int64 { return min(max(now.UnixMilli(), 0), maxMS) }
