package wasm

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Go's linker writes tables for tracebacks: the names of all functions, the
// file and line of every instruction, and an index over all program counters
// of which WebAssembly reads one entry in 256. Together they are a quarter of
// an engine. BlankTraces puts zeros in place of what the runtime does not need
// to run, so that nothing moves and no address changes.
//
// The layout is that of runtime/symtab.go and runtime/runtime2.go of Go 1.26
// (cmd/link/internal/ld/pcln.go writes it); whatever is not as it says there is
// an error.

// Symbol is a function by its number, which is what a program counter begins
// with: all but its last 16 bits. A traceback that tells program counters
// (GOTRACEBACK=system, package runtime) can be read by it.
type Symbol struct {
	Number int
	Name   string
}

// Fields of runtime._func, in bytes.
const (
	fnName      = 4
	fnSP        = 16
	fnFile      = 20
	fnLine      = 24
	fnPCData    = 28
	fnCU        = 32
	fnStart     = 36
	fnID        = 40
	fnFuncData  = 43
	fnSize      = 44
	idWrapper   = 23 // internal/abi.FuncIDWrapper, checked by the tests
	pcUnsafe    = 0  // internal/abi.PCDATA_UnsafePoint: for preemption by signals, which wasm has not
	pcInlTree   = 2
	pcArgLive   = 3
	bucketBytes = 20 // runtime.findfuncbucket
	bucketPC    = 4096
	goMagic     = 0xfffffff1 // internal/abi.Go120PCLnTabMagic
)

var errTables = errors.New("tables of functions are not as expected")

// table is a slice in the memory of a module.
type table struct{ at, n int }

// memory is what a module starts with.
type memory []byte

func (m memory) u64(at int) int {
	if at < 0 || at+8 > len(m) {
		return -1
	}
	x := binary.LittleEndian.Uint64(m[at:])
	if x > 1<<32 {
		return -1
	}
	return int(x)
}

func (m memory) u32(at int) int {
	if at < 0 || at+4 > len(m) {
		return -1
	}
	return int(binary.LittleEndian.Uint32(m[at:]))
}

func (m memory) in(t table) bool { return t.at > 0 && t.n > 0 && t.at+t.n <= len(m) }

// BlankTraces gives the module without tables that serve tracebacks alone, and
// the names that stood there.
func BlankTraces(module []byte) ([]byte, []Symbol, error) {
	list, err := sections(module)
	if err != nil {
		return nil, nil, err
	}
	i := slices.IndexFunc(list, func(s section) bool { return s.id == sectionData })
	if i < 0 {
		return nil, nil, errors.New("no data section")
	}
	segments, err := readData(list[i].body)
	if err != nil {
		return nil, nil, fmt.Errorf("read data: %w", err)
	}
	if segments, err = join(segments, 0); err != nil {
		return nil, nil, fmt.Errorf("join data: %w", err)
	}
	var m memory
	for _, s := range segments {
		if need := int(s.at) + len(s.bytes); need > len(m) {
			m = append(m, make([]byte, need-len(m))...)
		}
		copy(m[s.at:], s.bytes)
	}
	symbols, err := m.blank()
	if err != nil {
		return nil, nil, err
	}
	for i, s := range segments { // the same addresses, other bytes
		segments[i].bytes = m[s.at : int(s.at)+len(s.bytes)]
	}
	segments = apart(segments)
	list[i].body = writeData(segments)
	for j, s := range list {
		if s.id == sectionDataCount {
			list[j].body = appendU32(nil, uint32(len(segments)))
		}
	}
	return assemble(list), symbols, nil
}

// apart leaves out long runs of zeros, which memory has anyway.
func apart(list []segment) (out []segment) {
	const long = 256
	for _, s := range list {
		from, zeros := 0, 0
		for i, c := range s.bytes {
			if c == 0 {
				zeros++
				continue
			}
			if zeros >= long {
				if end := i - zeros; end > from {
					out = append(out, segment{s.at + int32(from), s.bytes[from:end:end]})
				}
				from = i
			}
			zeros = 0
		}
		if end := len(s.bytes) - zeros; end > from {
			out = append(out, segment{s.at + int32(from), s.bytes[from:end:end]})
		}
	}
	return out
}

// tables are those of runtime.moduledata.
type tables struct {
	names, units, files, pcs, functions table
	entries                             table // ftab, in entries of 8 bytes
	find, minPC, maxPC                  int
	count                               int // functions
}

// tables finds them: the header by its magic, and the one place that points to
// it and to all that it names.
func (m memory) tables() (t tables, err error) {
	magic := binary.LittleEndian.AppendUint32(nil, goMagic)
	magic = append(magic, 0, 0, 1, 8) // an instruction is a byte, a pointer 8
	for at := 0; ; {
		i := bytes.Index(m[at:], magic)
		if i < 0 {
			break
		}
		header := at + i
		at = header + 1
		pointer := binary.LittleEndian.AppendUint64(nil, uint64(header))
		for from := 0; ; {
			j := bytes.Index(m[from:], pointer)
			if j < 0 {
				break
			}
			if found, ok := m.module(from+j, header); ok {
				if t.count > 0 {
					return t, fmt.Errorf("%w: they are there twice", errTables)
				}
				t = found
			}
			from += j + 8
		}
	}
	if t.count == 0 {
		return t, fmt.Errorf("%w: none are found", errTables)
	}
	return t, nil
}

// module reads runtime.moduledata at an address, if it is one.
func (m memory) module(at, header int) (t tables, ok bool) {
	t.count = m.u64(header + 8)
	next := at + 8
	slice := func() table {
		s := table{m.u64(next), m.u64(next + 8)}
		if m.u64(next+16) != s.n {
			s.n = -1
		}
		next += 24
		return s
	}
	t.names, t.units, t.files, t.pcs, t.functions = slice(), slice(), slice(), slice(), slice()
	t.entries = slice()
	t.find, t.minPC, t.maxPC = m.u64(next), m.u64(next+8), m.u64(next+16)
	t.units.n *= 4
	for i, s := range []table{t.names, t.units, t.files, t.pcs, t.functions} {
		if !m.in(s) || s.at != header+m.u64(header+32+8*i) {
			return t, false
		}
	}
	return t, m.in(table{t.entries.at, 8 * t.entries.n}) && t.entries.n == t.count+1 && t.find > 0 && t.minPC >= 0 && t.maxPC > t.minPC
}

// blank puts zeros over what is not needed.
func (m memory) blank() ([]Symbol, error) {
	t, err := m.tables()
	if err != nil {
		return nil, err
	}
	keepPC := make([]bool, t.pcs.n)
	var symbols []Symbol
	named := map[string][]int{} // where names are pointed to
	put := func(at int, x uint32) { binary.LittleEndian.PutUint32(m[at:], x) }
	last := -1
	for i := range t.count {
		entry, offset := m.u32(t.entries.at+8*i), m.u32(t.entries.at+8*i+4)
		f := t.functions.at + offset
		if entry <= last || offset < 0 || offset+fnSize > t.functions.n || m.u32(f) != entry {
			return nil, fmt.Errorf("%w: function %d", errTables, i)
		}
		last = entry
		pcdata, funcdata := m.u32(f+fnPCData), int(m[f+fnFuncData])
		if pcdata > 16 || funcdata > 16 || offset+fnSize+4*(pcdata+funcdata) > t.functions.n {
			return nil, fmt.Errorf("%w: function %d has %d and %d tables", errTables, i, pcdata, funcdata)
		}
		name, err := m.name(t.names, m.u32(f+fnName))
		if err != nil {
			return nil, err
		}
		symbols = append(symbols, Symbol{entry, name})
		kept := needed(name, m[f+fnID])
		named[kept] = append(named[kept], f+fnName)
		put(f+fnFile, 0)
		put(f+fnLine, 0)
		put(f+fnCU, 0)
		put(f+fnStart, 0)
		values := []int{m.u32(f + fnSP)}
		for j := range pcdata {
			if where := f + fnSize + 4*j; j == pcUnsafe || j == pcInlTree || j == pcArgLive {
				put(where, 0)
			} else {
				values = append(values, m.u32(where))
			}
		}
		for _, at := range values {
			if err := m.keep(t.pcs, at, keepPC); err != nil {
				return nil, fmt.Errorf("function %d: %w", i, err)
			}
		}
	}
	for i, keep := range keepPC {
		if !keep {
			m[t.pcs.at+i] = 0
		}
	}
	clear(m[t.names.at : t.names.at+t.names.n])
	next := 1 // the first name is the empty one
	for _, name := range slices.Sorted(maps.Keys(named)) {
		at := 0
		if name != "" {
			at = next
			if next += len(name) + 1; next > t.names.n {
				return nil, fmt.Errorf("%w: there are more names than before", errTables)
			}
			copy(m[t.names.at+at:], name)
		}
		for _, where := range named[name] {
			put(where, uint32(at))
		}
	}
	clear(m[t.files.at : t.files.at+t.files.n])
	clear(m[t.units.at : t.units.at+t.units.n])
	if err := m.blankFind(t); err != nil {
		return nil, err
	}
	return symbols, nil
}

// needed is what has to stand for a name: the runtime asks whether a frame is
// its own, whether arguments lie as reflection puts them, and what a wrapper
// wraps, to say which nil pointer was called. (Wrappers of bound methods and
// of what is deferred hold what they call, and are never asked.)
func needed(name string, id byte) string {
	switch {
	case name == "" || name == "reflect.makeFuncStub" || name == "reflect.methodValueCall":
		return name
	case id == idWrapper && !strings.HasSuffix(name, "-fm") && !strings.Contains(name, ".deferwrap") && !strings.Contains(name, ".gowrap"):
		return name
	}
	for _, own := range []string{"runtime.", "reflect.", "internal/runtime/"} {
		if strings.HasPrefix(name, own) {
			return own + "_"
		}
	}
	return "_._"
}

func (m memory) name(names table, at int) (string, error) {
	if at < 0 || at >= names.n {
		return "", fmt.Errorf("%w: a name beyond the names", errTables)
	}
	rest := m[names.at+at : names.at+names.n]
	end := bytes.IndexByte(rest, 0)
	if end < 0 {
		return "", fmt.Errorf("%w: a name without end", errTables)
	}
	return string(rest[:end]), nil
}

// keep marks the bytes of a table of values by program counter, which ends with
// a zero where a difference of values would stand, but for the first (runtime's
// step).
func (m memory) keep(pcs table, at int, kept []bool) error {
	if at == 0 {
		return nil
	}
	if at < 0 || at >= pcs.n {
		return fmt.Errorf("%w: a table beyond the tables", errTables)
	}
	number := func() (zero bool, err error) {
		for first := true; ; first = false {
			if at >= pcs.n {
				return false, fmt.Errorf("%w: a table without end", errTables)
			}
			c := m[pcs.at+at]
			kept[at] = true
			at++
			if c < 0x80 {
				return first && c == 0, nil
			}
		}
	}
	for first := true; ; first = false {
		zero, err := number()
		if err != nil {
			return err
		}
		if zero && !first {
			return nil
		}
		if _, err := number(); err != nil {
			return err
		}
	}
}

// blankFind leaves of the index over program counters what is read: a program
// counter on WebAssembly is the number of a function and 16 bits within it, and
// runtime.findfunc looks up the number alone.
func (m memory) blankFind(t tables) error {
	n := (t.maxPC-t.minPC)/bucketPC + 1
	if !m.in(table{t.find, n * bucketBytes}) {
		return fmt.Errorf("%w: the index has %d buckets", errTables, n)
	}
	for b := range n {
		from := t.find + b*bucketBytes
		if b%(1<<16/bucketPC) == 0 {
			// The first of its 16 parts is the one that is read.
			index := m.u32(from) + int(m[from+4])
			if index >= t.entries.n {
				return fmt.Errorf("%w: the index leads to function %d", errTables, index)
			}
			from += 5
		}
		clear(m[from : t.find+(b+1)*bucketBytes])
	}
	return nil
}
