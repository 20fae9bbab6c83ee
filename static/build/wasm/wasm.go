// Package wasm changes WebAssembly modules after Go's linker has made them, so
// that they are smaller to fetch. It reads the binary format of the core
// specification, version 1, and stops on anything that it does not expect: a
// module that it cannot read for certain is not changed.
package wasm

import (
	"errors"
	"fmt"
)

// ids of sections (WebAssembly Core Specification 1.0, section 5.5.2; the data
// count is of version 2.0).
const (
	sectionData      = 11
	sectionDataCount = 12
)

var magic = []byte("\x00asm\x01\x00\x00\x00")

var errEnd = errors.New("module ends early")

// section is one part of a module.
type section struct {
	id   byte
	body []byte
}

// sections parts a module.
func sections(module []byte) (list []section, err error) {
	if len(module) < len(magic) || string(module[:len(magic)]) != string(magic) {
		return nil, errors.New("not a WebAssembly module of version 1")
	}
	r := reader{rest: module[len(magic):]}
	for len(r.rest) > 0 {
		id := r.byte()
		body := r.bytes(r.u32())
		if r.err != nil {
			return nil, r.err
		}
		list = append(list, section{id, body})
	}
	return list, nil
}

// assemble is the reverse of sections.
func assemble(list []section) []byte {
	out := append([]byte(nil), magic...)
	for _, s := range list {
		out = append(out, s.id)
		out = appendU32(out, uint32(len(s.body)))
		out = append(out, s.body...)
	}
	return out
}

// reader reads the front of a module's part; after an error it gives zeros.
type reader struct {
	rest []byte
	err  error
}

func (r *reader) byte() byte {
	if b := r.bytes(1); len(b) == 1 {
		return b[0]
	}
	return 0
}

func (r *reader) bytes(n uint32) []byte {
	if r.err == nil && uint64(n) > uint64(len(r.rest)) {
		r.err = errEnd
	}
	if r.err != nil {
		return nil
	}
	out := r.rest[:n:n]
	r.rest = r.rest[n:]
	return out
}

// u32 reads an unsigned number in LEB128 (specification, section 5.2.2).
func (r *reader) u32() uint32 {
	return uint32(r.leb(false, 0, 1<<32-1))
}

// s32 reads a signed number in LEB128.
func (r *reader) s32() int32 {
	return int32(r.leb(true, -1<<31, 1<<31-1))
}

// leb reads a number of at most five bytes, which must be in min to max.
func (r *reader) leb(signed bool, min, max int64) (x int64) {
	for shift := uint(0); shift < 35; {
		b := r.byte()
		if r.err != nil {
			return 0
		}
		x |= int64(b&0x7f) << shift
		shift += 7
		if b&0x80 != 0 {
			continue
		}
		if signed && b&0x40 != 0 {
			x |= -1 << shift
		}
		if x < min || x > max {
			r.err = fmt.Errorf("number %d is not in %d to %d", x, min, max)
		}
		return x
	}
	r.err = errors.New("number is too long")
	return 0
}

func appendU32(out []byte, x uint32) []byte {
	for x >= 0x80 {
		out = append(out, byte(x)|0x80)
		x >>= 7
	}
	return append(out, byte(x))
}

func appendS32(out []byte, x int32) []byte {
	for {
		b := byte(x & 0x7f)
		x >>= 7
		if x == 0 && b&0x40 == 0 || x == -1 && b&0x40 != 0 {
			return append(out, b)
		}
		out = append(out, b|0x80)
	}
}
