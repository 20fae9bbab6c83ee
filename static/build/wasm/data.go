package wasm

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
)

// segment is bytes that a module puts in its memory before it starts.
type segment struct {
	at    int32 // address in the memory
	bytes []byte
}

const (
	opI32Const = 0x41
	opEnd      = 0x0b
)

// JoinData writes the data of a module in as few segments as can be, with
// zeros between those that are at most gap bytes apart: memory is zero before
// the segments are copied into it (specification, section 4.5.3.6), so that
// the module starts from the same memory. Go's linker leaves every short run
// of zeros out, which makes up to 100,000 segments; their headers pack badly
// and each takes time at the start.
//
// The error says what was not expected: segments for another memory, with
// addresses that are not constant, passive ones, or such as overlap.
func JoinData(module []byte, gap int) ([]byte, error) {
	list, err := sections(module)
	if err != nil {
		return nil, err
	}
	count := -1
	for i, s := range list {
		if s.id != sectionData {
			continue
		}
		if count >= 0 {
			return nil, errors.New("two data sections")
		}
		segments, err := readData(s.body)
		if err != nil {
			return nil, fmt.Errorf("read data: %w", err)
		}
		joined, err := join(segments, gap)
		if err != nil {
			return nil, fmt.Errorf("join data: %w", err)
		}
		list[i].body = writeData(joined)
		count = len(joined)
	}
	if count < 0 {
		return nil, errors.New("no data section")
	}
	for i, s := range list {
		if s.id == sectionDataCount {
			list[i].body = appendU32(nil, uint32(count))
		}
	}
	return assemble(list), nil
}

func readData(body []byte) (list []segment, err error) {
	r := reader{rest: body}
	for n := r.u32(); n > 0 && r.err == nil; n-- {
		if flags := r.u32(); flags != 0 {
			return nil, fmt.Errorf("segment of kind %d", flags)
		}
		if op := r.byte(); op != opI32Const {
			return nil, fmt.Errorf("address by instruction %#x", op)
		}
		at := r.s32()
		if op := r.byte(); op != opEnd {
			return nil, fmt.Errorf("address goes on with instruction %#x", op)
		}
		list = append(list, segment{at, r.bytes(r.u32())})
	}
	if r.err == nil && len(r.rest) > 0 {
		return nil, fmt.Errorf("%d bytes too many", len(r.rest))
	}
	return list, r.err
}

func join(list []segment, gap int) (out []segment, err error) {
	slices.SortFunc(list, func(a, b segment) int { return cmp.Compare(a.at, b.at) })
	for _, s := range list {
		if s.at < 0 {
			return nil, fmt.Errorf("segment at %d", s.at)
		}
		if len(out) == 0 {
			out = append(out, s)
			continue
		}
		last := &out[len(out)-1]
		between := int64(s.at) - int64(last.at) - int64(len(last.bytes))
		switch {
		case between < 0:
			return nil, fmt.Errorf("segment at %d begins before the one before ends", s.at)
		case between > int64(gap):
			out = append(out, s)
		default:
			// The capacity of a segment as read ends with it, so that append
			// copies the first time and writes over nothing.
			last.bytes = append(append(last.bytes, make([]byte, between)...), s.bytes...)
		}
	}
	return out, nil
}

func writeData(list []segment) []byte {
	out := appendU32(nil, uint32(len(list)))
	for _, s := range list {
		out = append(out, 0, opI32Const)
		out = append(appendS32(out, s.at), opEnd)
		out = append(appendU32(out, uint32(len(s.bytes))), s.bytes...)
	}
	return out
}
