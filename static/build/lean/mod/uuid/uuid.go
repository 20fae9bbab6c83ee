// Package uuid is as much of github.com/google/uuid as the engine needs, whose
// other parts reach for network cards and databases.
package uuid

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"hash"
	"strings"
)

// UUID is a universally unique id (RFC 9562).
type UUID [16]byte

// Version is a version of ids.
type Version byte

// Version is how the id was made (section 4.2).
func (u UUID) Version() Version { return Version(u[6] >> 4) }

// String is the id in its usual form of 36 characters.
func (u UUID) String() string {
	var b [36]byte
	at := 0
	for i, x := range u {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			b[at] = '-'
			at++
		}
		hex.Encode(b[at:], []byte{x})
		at += 2
	}
	return string(b[:])
}

// made sets version and variant (section 4.1).
func made(b []byte, version int) (u UUID) {
	copy(u[:], b)
	u[6] = u[6]&0x0f | byte(version)<<4
	u[8] = u[8]&0x3f | 0x80
	return u
}

// NewString is a random id (section 5.4).
func NewString() string {
	b := make([]byte, 16)
	if _, err := rand.Read(b); err != nil {
		panic(err)
	}
	return made(b, 4).String()
}

// NewHash derives an id from a name space and data (section 5.8).
func NewHash(h hash.Hash, space UUID, data []byte, version int) UUID {
	h.Reset()
	h.Write(space[:])
	h.Write(data)
	return made(h.Sum(nil), version)
}

var errFormat = errors.New("invalid UUID format")

// Parse reads an id: plain, with a prefix of a URN, in braces, or without
// dashes.
func Parse(s string) (u UUID, err error) {
	switch len(s) {
	case 36 + 9:
		if !strings.EqualFold(s[:9], "urn:uuid:") {
			return u, errFormat
		}
		s = s[9:]
	case 36 + 2:
		s = s[1:37]
	case 32:
		_, err := hex.Decode(u[:], []byte(s))
		return u, err
	}
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return UUID{}, errFormat
	}
	_, err = hex.Decode(u[:], []byte(s[:8]+s[9:13]+s[14:18]+s[19:23]+s[24:]))
	return u, err
}

// MustParse is Parse for what is known to be an id.
func MustParse(s string) UUID {
	u, err := Parse(s)
	if err != nil {
		panic(err)
	}
	return u
}
