package journal

import (
	"bytes"
	"encoding/json"
	"sync"
	"unicode/utf8"
)

// Bounds of an entry.
const (
	MaxEntryBytes = 64 << 10 // whole record, as JSON
	maxKindBytes  = 32
)

// Kind says what the body of an entry is.
type Kind string

// Format is the format number of the entries that this version writes.
const Format = 1

// Entry is one immutable record of the journal, a JSON object such as
//
//	{"id":"…","at":"2026-08-14T05:12:09.123Z-0000-k3f9","v":1,"kind":"note","body":{…}}
//
// It keeps its JSON, so that kinds and fields which this version does not
// know survive every round trip. The zero Entry is no entry.
type Entry struct {
	ID   ID    // unique among all entries of all devices, at most MaxIDBytes
	At   Stamp // when it was written, for order
	V    int   // format number, 1 or more
	Kind Kind  // what the body is; may be unknown to this version

	raw  []byte // compact JSON of the whole record
	body []byte // compact JSON of the body, part of raw
	read *reading
}

type envelope struct {
	ID   ID              `json:"id"`
	At   string          `json:"at"`
	V    int             `json:"v"`
	Kind Kind            `json:"kind"`
	Body json.RawMessage `json:"body"`
}

// Raw is the record's JSON as it came, save for white space between tokens.
// The caller must not change it.
func (e Entry) Raw() []byte { return e.raw }

// RawBody is the JSON object in the record's body. The caller must not change
// it.
func (e Entry) RawBody() []byte { return e.body }

// MarshalJSON gives Raw.
func (e Entry) MarshalJSON() ([]byte, error) {
	if e.raw == nil {
		return []byte("null"), nil
	}
	return e.raw, nil
}

// Once gives what read makes of the entry, and calls it once for all copies of
// the entry: one that is checked, merged and folded is not read three times.
func (e Entry) Once(read func(Entry) (any, error)) (any, error) {
	if e.read == nil {
		return read(e)
	}
	e.read.once.Do(func() { e.read.body, e.read.err = read(e) })
	return e.read.body, e.read.err
}

// reading is what was made of an entry.
type reading struct {
	once sync.Once
	body any
	err  error
}

// Readable tells whether the record could be read at all (see StoredEntry).
func (e Entry) Readable() bool { return e.Kind != "" }

// New makes an entry of a body of some kind that has been checked, with extra
// fields behind those of the body, as JSON without braces.
func New(id ID, at Stamp, kind Kind, body any, extra []byte) (Entry, error) {
	raw, err := Marshal(body)
	if err != nil {
		return Entry{}, err
	}
	if len(extra) > 0 {
		raw = raw[:len(raw)-1]
		if len(raw) > 1 {
			raw = append(raw, ',')
		}
		raw = append(append(raw, extra...), '}')
	}
	whole, err := Marshal(envelope{ID: id, At: at.String(), V: Format, Kind: kind, Body: raw})
	if err != nil {
		return Entry{}, err
	}
	return ParseEntry(whole)
}

// ParseEntry reads one record and checks its envelope, not what its body
// says (see Decode). It copies raw. An error is a *Problem.
func ParseEntry(raw []byte) (Entry, error) {
	if len(raw) > MaxEntryBytes {
		return Entry{}, &Problem{Field: "entry", Code: CodeTooLong, Detail: Detail{Max: Of(MaxEntryBytes), Got: Of(len(raw))}}
	}
	if !utf8.Valid(raw) {
		return Entry{}, &Problem{Field: "entry", Code: CodeNotUTF8}
	}
	raw, err := compact(raw)
	if err != nil {
		return Entry{}, NotJSON("entry", err)
	}
	if raw[0] != '{' {
		return Entry{}, &Problem{Field: "entry", Code: CodeNotObject}
	}
	env, ok := ownEnvelope(raw)
	if !ok {
		if err := json.Unmarshal(raw, &env); err != nil {
			return Entry{}, NotJSON("entry", err)
		}
	}
	at, err := ParseStamp(env.At)
	switch {
	case !IsID(env.ID):
		return Entry{}, &Problem{Field: "id", Code: CodeNotID, Detail: Detail{Got: Of(Clip(env.ID))}}
	case err != nil:
		return Entry{}, err
	case env.V < 1:
		return Entry{}, &Problem{Field: "v", Code: CodeRange, Detail: Detail{Min: Of(1), Got: Of(env.V)}}
	case !isKind(env.Kind):
		return Entry{}, &Problem{Field: "kind", Code: CodeUnknown, Detail: Detail{Got: Of(Clip(string(env.Kind)))}}
	case len(env.Body) == 0 || env.Body[0] != '{':
		return Entry{}, &Problem{Field: "body", Code: CodeNotObject}
	}
	return Entry{ID: env.ID, At: at, V: env.V, Kind: env.Kind, raw: raw, body: env.Body, read: &reading{}}, nil
}

// StoredEntry reads a record that a store holds under id. A record that
// cannot be read any more is not allowed to hide the rest of the journal: it
// comes back with its bytes, its id and Readable false. It copies raw.
func StoredEntry(id ID, raw []byte) Entry {
	e, err := ParseEntry(raw)
	if err != nil || e.ID != id {
		return Entry{ID: id, raw: bytes.Clone(raw)}
	}
	return e
}

// compact is a copy of raw without white space between tokens. What has none
// and looks like an object, as every record of a store does, is not parsed
// for it; whether it is JSON shows later.
func compact(raw []byte) ([]byte, error) {
	if len(raw) > 0 && raw[0] == '{' && !hasOuterSpace(raw) {
		return bytes.Clone(raw), nil
	}
	buf := bytes.NewBuffer(make([]byte, 0, len(raw)))
	err := json.Compact(buf, raw)
	return buf.Bytes(), err
}

// hasOuterSpace tells whether there is white space outside of strings.
func hasOuterSpace(raw []byte) bool {
	inString := false
	for i := 0; i < len(raw); i++ {
		switch c := raw[i]; {
		case c == '"':
			inString = !inString
		case inString && c == '\\':
			i++ // what is escaped ends no string
		case !inString && (c == ' ' || c == '\t' || c == '\n' || c == '\r'):
			return true
		}
	}
	return false
}

// NotJSON is the problem with what is no JSON.
func NotJSON(field string, err error) *Problem {
	return &Problem{Field: field, Code: CodeNotJSON, Detail: Detail{Got: Of(err.Error())}}
}

// Marshal is json.Marshal without the escapes that are meant for HTML, which
// would change bytes that came from elsewhere.
func Marshal(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte{'\n'}), nil
}

func isKind(k Kind) bool {
	if len(k) == 0 || len(k) > maxKindBytes {
		return false
	}
	for i := range len(k) {
		if c := k[i]; !('a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '-') {
			return false
		}
	}
	return true
}

// Clip shortens text, or what is no id, for an error.
func Clip[S ~string](s S) string {
	if len(s) <= 80 {
		return string(s)
	}
	cut := 80
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return string(s[:cut]) + "…"
}
