// Package backup carries ledgers in one file that people can keep, send and
// read: lines of JSON (RFC 8259), one record a line, each ended by a line
// feed. The first line says what the file is:
//
//	{"dampstone":"ledger","v":1,"made":"2026-08-14T05:12:09Z","entries":180}
//
// and every other line is an entry as it stands in the journal. A file with
// "dampstone":"backup" holds the ledgers of all people of a server; each
// begins with a line such as
//
//	{"ledger":"9f3c…","name":"Ana","shares":true,"entries":180}
//
// and may go on with lines of ids that say which part of it the crew brought
// and which the person gave to the crew, such as
//
//	{"came":["4be0…","77a1…"]}
//
// which came with format 2 of backups.
//
// Reading merges: what is known already is passed over, so a file may be read
// twice, or into a ledger that has gone on since. A line that cannot be right
// is set aside and reported, and the rest goes on.
package backup

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// Numbers of the layouts that this version writes.
const (
	LedgerFormat = 1
	BackupFormat = 2
)

// Type is the media type of such files.
const Type = "application/x-ndjson"

// What a file holds.
const (
	Ledger = "ledger" // the entries of one person
	Backup = "backup" // the ledgers of all people of a server
)

// Errors of a file as a whole.
var (
	ErrNotOurs = errors.New("not a file of this program")
	ErrNewer   = errors.New("file was written by a newer version")
	ErrDemo    = errors.New("file holds invented data")
)

// CodeLedger is the code of a Bad line that belongs to a backup of several
// ledgers, where a file of one is wanted.
const CodeLedger = "several-ledgers"

// Header is the first line.
type Header struct {
	What    string `json:"dampstone"`
	V       int    `json:"v"`
	Made    string `json:"made"`           // RFC 3339
	Entries int    `json:"entries"`        // in the whole file
	Kind    string `json:"kind,omitempty"` // flybox.DemoJournal for invented data
}

// Section begins the entries of one person in a backup.
type Section struct {
	Ledger  string `json:"ledger"` // id of the person
	Name    string `json:"name"`
	Shares  bool   `json:"shares,omitempty"` // gives sightings to the crew and gets theirs
	Entries int    `json:"entries"`
}

// Marks are ids of entries and things in a person's ledger that went around
// in the crew.
type Marks struct {
	Came []journal.ID `json:"came,omitempty"` // from others
	Gave []journal.ID `json:"gave,omitempty"` // to others
}

const (
	page    = 1000                       // entries read or added at a time
	maxLine = journal.MaxEntryBytes + 16 // a line feed, and some more for white space
	markIDs = 500                        // ids in a line of Marks: fewer bytes than an entry may have
	maxKept = 50                         // bad lines that are described; all are counted
)

// Write writes the ledger of one person. The number of entries is that at the
// start; what is added meanwhile stays out. demo says that it is invented.
func Write(ctx context.Context, w io.Writer, store journal.Store, demo bool, made time.Time) error {
	n, err := count(ctx, store)
	if err != nil {
		return fmt.Errorf("export ledger: %w", err)
	}
	kind := ""
	if demo {
		kind = journal.DemoJournal
	}
	if err := line(w, Header{Ledger, LedgerFormat, made.UTC().Format(time.RFC3339), n, kind}); err != nil {
		return fmt.Errorf("export ledger: %w", err)
	}
	if err := entries(ctx, w, store, n); err != nil {
		return fmt.Errorf("export ledger: %w", err)
	}
	return nil
}

// Part is one person's ledger in a backup.
type Part struct {
	ID, Name string
	Shares   bool
	Store    journal.Store
	Marks    func() (Marks, error) // asked for after the entries were counted; nil: none
}

// WriteBackup writes the ledgers of all people.
func WriteBackup(ctx context.Context, w io.Writer, parts []Part, made time.Time) error {
	total := 0
	counts := make([]int, len(parts))
	for i, p := range parts {
		n, err := count(ctx, p.Store)
		if err != nil {
			return fmt.Errorf("back up ledger %q: %w", p.ID, err)
		}
		counts[i] = n
		total += n
	}
	if err := line(w, Header{What: Backup, V: BackupFormat, Made: made.UTC().Format(time.RFC3339), Entries: total}); err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	for i, p := range parts {
		if err := line(w, Section{p.ID, p.Name, p.Shares, counts[i]}); err != nil {
			return fmt.Errorf("back up: %w", err)
		}
		if err := p.writeMarks(w); err != nil {
			return fmt.Errorf("back up ledger %q: %w", p.ID, err)
		}
		if err := entries(ctx, w, p.Store, counts[i]); err != nil {
			return fmt.Errorf("back up ledger %q: %w", p.ID, err)
		}
	}
	return nil
}

func (p Part) writeMarks(w io.Writer) error {
	if p.Marks == nil {
		return nil
	}
	m, err := p.Marks()
	if err != nil {
		return err
	}
	for ids := range slices.Chunk(m.Came, markIDs) {
		if err := line(w, Marks{Came: ids}); err != nil {
			return err
		}
	}
	for ids := range slices.Chunk(m.Gave, markIDs) {
		if err := line(w, Marks{Gave: ids}); err != nil {
			return err
		}
	}
	return nil
}

// count is the number of readable entries.
func count(ctx context.Context, store journal.Store) (n int, err error) {
	return n, each(ctx, store, func(journal.Entry) error { n++; return nil })
}

func each(ctx context.Context, store journal.Store, f func(journal.Entry) error) error {
	for seq := uint64(0); ; {
		list, last, err := store.After(ctx, seq, page)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return nil
		}
		seq = last
		for _, e := range list {
			if !e.Readable() {
				continue
			}
			if err := f(e); err != nil {
				return err
			}
		}
	}
}

var errEnough = errors.New("enough")

// entries writes the first n readable entries.
func entries(ctx context.Context, w io.Writer, store journal.Store, n int) error {
	var buf bytes.Buffer
	flush := func() error {
		_, err := w.Write(buf.Bytes())
		buf.Reset()
		return err
	}
	err := each(ctx, store, func(e journal.Entry) error {
		if n--; n < 0 {
			return errEnough
		}
		buf.Write(e.Raw())
		buf.WriteByte('\n')
		if buf.Len() > 256<<10 {
			return flush()
		}
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return err
	}
	return flush()
}

func line(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// Bad is a line that was set aside.
type Bad struct {
	Line int        // counted from 1
	ID   journal.ID // of the entry, where it can be read
	Code string     // a code of flybox.Problem, or CodeLedger
}

// Report is what reading a file came to.
type Report struct {
	Read     int   // entries that were fine
	Added    int   // of these, new here
	BadCount int   // lines set aside
	Bad      []Bad // the first of them
	Missing  int   // entries that the first line promises beyond what came
}

func (r *Report) bad(line int, id journal.ID, code string) {
	if r.BadCount++; len(r.Bad) < maxKept {
		r.Bad = append(r.Bad, Bad{line, id, code})
	}
}

// Target is where a section goes.
type Target struct {
	Into flybox.Merger     // nil: nowhere
	Mark func(Marks) error // nil: marks are of no interest
	// Before is called with entries that are about to be merged; nil: nobody
	// needs to know.
	Before func([]journal.Entry) error
}

// Read merges a file into a ledger. With a backup of several people only the
// first ledger is of one person: the lines of the others are set aside. The
// report says what was done, also beside an error. Invented data goes into
// invented data alone (demo), else it is ErrDemo.
func Read(ctx context.Context, r io.Reader, ledger *flybox.Ledger, demo bool) (Report, error) {
	first := true
	return read(ctx, r, demo, func(s Section) (Target, error) {
		if first {
			first = false
			return Target{Into: ledger}, nil
		}
		return Target{}, nil
	})
}

// ReadBackup merges a file into the ledgers that open gives, for each section
// once; where there is none its entries are set aside. A file of one person
// has the zero Section.
func ReadBackup(ctx context.Context, from io.Reader, open func(Section) (Target, error)) (Report, error) {
	return read(ctx, from, false, open)
}

func read(ctx context.Context, from io.Reader, demo bool, open func(Section) (Target, error)) (Report, error) {
	in := &input{ctx: ctx, lines: bufio.NewReaderSize(from, 64<<10), demo: demo, open: open}
	err := in.run()
	if err == nil || errors.Is(err, io.ErrUnexpectedEOF) {
		if missing := in.header.Entries - in.report.Read - in.report.BadCount; missing > 0 {
			in.report.Missing = missing
		}
	}
	if err != nil {
		return in.report, fmt.Errorf("import: %w", err)
	}
	return in.report, nil
}

type input struct {
	ctx    context.Context
	lines  *bufio.Reader
	demo   bool // invented data may come in
	open   func(Section) (Target, error)
	report Report
	header Header
	number int // of the line

	target Target
	opened bool
	batch  []journal.Entry
	places []int // line of each in batch
}

func (in *input) run() error {
	for {
		text, long, err := in.next()
		if err == io.EOF {
			return in.flush()
		}
		if err != nil {
			return errors.Join(err, in.flush())
		}
		if err := in.take(text, long); err != nil {
			return err
		}
	}
}

// next reads a line without its end. long says that it is longer than any
// entry; then text is its beginning.
func (in *input) next() (text []byte, long bool, err error) {
	in.number++
	for {
		part, err := in.lines.ReadSlice('\n')
		if room := maxLine - len(text); len(part) > room {
			long = true
			part = part[:max(room, 0)]
		}
		text = append(text, part...)
		switch {
		case err == nil:
			return bytes.TrimSpace(text), long, nil
		case errors.Is(err, bufio.ErrBufferFull):
		case err == io.EOF && len(text) > 0:
			return bytes.TrimSpace(text), long, nil
		default:
			return nil, false, err
		}
	}
}

func (in *input) take(text []byte, long bool) error {
	if in.number == 1 {
		text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
		ours, err := in.first(text)
		if ours || err != nil {
			return err
		}
	}
	if len(text) == 0 {
		return nil
	}
	if long {
		in.report.bad(in.number, "", journal.CodeTooLong)
		return nil
	}
	if in.header.What == Backup || in.header.What == "" && in.number == 1 {
		if s, ok := section(text); ok {
			return in.begin(s)
		}
		if m, ok := marks(text); ok {
			if in.target.Mark == nil {
				return nil
			}
			return in.target.Mark(m)
		}
	}
	e, err := journal.ParseEntry(text)
	if err != nil {
		in.report.bad(in.number, "", flybox.Bad{Err: err}.Code())
		return nil
	}
	if !in.opened {
		if err := in.begin(Section{}); err != nil {
			return err
		}
	}
	if in.target.Into == nil {
		in.report.bad(in.number, e.ID, CodeLedger)
		return nil
	}
	in.batch, in.places = append(in.batch, e), append(in.places, in.number)
	if len(in.batch) >= page {
		return in.flush()
	}
	return nil
}

// first reads the first line. A file that begins with an entry has lost its
// header and is read all the same.
func (in *input) first(text []byte) (ours bool, err error) {
	var h Header
	if json.Unmarshal(text, &h) == nil && h.What != "" {
		known := map[string]int{Ledger: LedgerFormat, Backup: BackupFormat}[h.What]
		switch {
		case known == 0 || h.V < 1:
			return true, ErrNotOurs
		case h.V > known:
			return true, fmt.Errorf("%w: format %d, this version knows %d", ErrNewer, h.V, known)
		case h.Kind == journal.DemoJournal && !in.demo:
			return true, ErrDemo
		}
		in.header = h
		return true, nil
	}
	if _, err := journal.ParseEntry(text); err != nil {
		return true, ErrNotOurs
	}
	return false, nil
}

func section(text []byte) (Section, bool) {
	var s Section
	if json.Unmarshal(text, &s) != nil || s.Ledger == "" {
		return s, false
	}
	return s, true
}

func marks(text []byte) (Marks, bool) {
	// An entry of a later version may have such a field, but not as the first.
	if !bytes.HasPrefix(text, []byte(`{"came"`)) && !bytes.HasPrefix(text, []byte(`{"gave"`)) {
		return Marks{}, false
	}
	var m Marks
	if json.Unmarshal(text, &m) != nil || len(m.Came)+len(m.Gave) == 0 {
		return m, false
	}
	for _, ids := range [][]journal.ID{m.Came, m.Gave} {
		for _, id := range ids {
			if id == "" || len(id) > journal.MaxIDBytes || strings.ContainsRune(string(id), 0) {
				return m, false
			}
		}
	}
	return m, true
}

func (in *input) begin(s Section) (err error) {
	if err := in.flush(); err != nil {
		return err
	}
	in.opened = true
	in.target, err = in.open(s)
	return err
}

// flush adds what was read.
func (in *input) flush() error {
	if len(in.batch) == 0 {
		return nil
	}
	if in.target.Before != nil {
		if err := in.target.Before(in.batch); err != nil {
			return err
		}
	}
	added, bad, err := in.target.Into.Merge(in.ctx, in.batch)
	if err != nil {
		return err
	}
	where := map[journal.ID]int{}
	for i, e := range in.batch {
		where[e.ID] = in.places[i]
	}
	for _, b := range bad {
		in.report.bad(where[b.ID], b.ID, b.Code())
	}
	in.report.Read += len(in.batch) - len(bad)
	in.report.Added += added
	in.batch, in.places = in.batch[:0], in.places[:0]
	return nil
}
