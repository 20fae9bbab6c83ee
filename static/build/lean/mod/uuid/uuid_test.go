package uuid_test

import (
	"crypto/sha256"
	"testing"

	original "github.com/google/uuid"

	"dampstone/static/build/lean/mod/uuid"
)

// FuzzLikeTheOriginal reads and derives the same ids by both.
func FuzzLikeTheOriginal(f *testing.F) {
	const id = "6b0dd4a2-0b6c-4f0e-9f0a-3d1f2c5a7e81"
	for _, seed := range []string{id, "URN:uuid:" + id, "{" + id + "}", "6b0dd4a20b6c4f0e9f0a3d1f2c5a7e81", "", "b001", id[:35], id + "0", "6b0dd4a2-0b6c-4f0e-9f0a_3d1f2c5a7e81", "6B0DD4A2-0B6C-8F0E-9F0A-3D1F2C5A7E8G", "6b0dd4a20b6c4f0e9f0a3d1f2c5a7e8g"} {
		f.Add(seed, "entry 0 \"form\"", 8)
	}
	f.Fuzz(func(t *testing.T, text, data string, version int) {
		a, e := uuid.Parse(text)
		b, g := original.Parse(text)
		if (e == nil) != (g == nil) {
			t.Fatalf("%q: %v, want %v", text, e, g)
		}
		if e == nil && (a.String() != b.String() || int(a.Version()) != int(b.Version())) {
			t.Errorf("%q: %s of version %d, want %s of version %d", text, a, a.Version(), b, b.Version())
		}
		if version < 0 || version > 15 {
			return
		}
		if e != nil {
			a, b = uuid.UUID{}, original.UUID{}
		}
		h, w := uuid.NewHash(sha256.New(), a, []byte(data), version), original.NewHash(sha256.New(), b, []byte(data), version)
		if h.String() != w.String() {
			t.Errorf("derived %s, want %s", h, w)
		}
	})
}

// TestRandom has many random ids: all different, of version 4 and the variant
// of RFC 9562, section 4.1, every other bit set in about half of them.
func TestRandom(t *testing.T) {
	const n = 4000
	seen := map[string]bool{}
	var set [128]int
	for range n {
		text := uuid.NewString()
		u, err := original.Parse(text)
		if err != nil || u.Version() != 4 || u.Variant() != original.RFC4122 || seen[text] {
			t.Fatalf("%s: %v, version %d, variant %d, seen %v", text, err, u.Version(), u.Variant(), seen[text])
		}
		seen[text] = true
		for i := range set {
			set[i] += int(u[i/8] >> (7 - i%8) & 1)
		}
	}
	for i, k := range set {
		fixed := i >= 48 && i < 52 || i == 64 || i == 65
		// Six standard deviations of a fair coin thrown n times.
		if !fixed && (k < n/2-190 || k > n/2+190) {
			t.Errorf("bit %d is set in %d of %d", i, k, n)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("nonsense must not be an id")
		}
	}()
	uuid.MustParse("x")
}
