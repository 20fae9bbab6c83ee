// Package people keeps who may use a server: people, each with a ledger of
// their own, the devices that were paired with them, and the codes with which
// a device is paired. It is one bbolt file.
//
// A device proves itself by a random token of 256 bits, a new one by a code
// that works once and for CodeLife. Only their hashes (SHA-256) are kept, so
// the file gives nobody away. Tokens are long and random, which is why a slow
// hash, as for passwords, would add nothing.
package people

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"
)

// CodeLife is how long a code works.
const CodeLife = 10 * time.Minute

// LookedBucket is the bucket of a KV in which stands, for each person, up to
// which number their ledger was looked at for the crew: 8 bytes, big-endian.
const LookedBucket = "looked"

// MaxCodes bounds the codes of a person that are open at a time; the oldest
// gives way.
const MaxCodes = 5

// MaxName bounds the name of a person or device, in characters.
const MaxName = 60

const (
	codeSize = 10 // bytes: 80 bits, guessed at a few a second for ten minutes
	format   = 2
)

// Errors that callers tell apart.
var (
	ErrInUse   = errors.New("file is in use by another process")
	ErrNewer   = errors.New("file was written by a newer version")
	ErrMoving  = errors.New("people were being moved here, and not all have come")
	ErrCode    = errors.New("code is unknown, used or too old")
	ErrToken   = errors.New("device is not paired")
	ErrName    = errors.New("name is empty, too long or cannot be shown")
	ErrUnknown = errors.New("nobody and nothing by that name")
	ErrTwo     = errors.New("more than one by that name")
)

// Person is somebody with a ledger of their own.
type Person struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Given  string    `json:"given,omitempty"`  // by the owner, who finds them by it; empty: as Name
	Owner  bool      `json:"owner,omitempty"`  // may see and change everybody's devices
	Shares bool      `json:"shares,omitempty"` // gives sightings to the crew and gets theirs
	Since  time.Time `json:"since"`
}

// Device is a browser that was paired with a person.
type Device struct {
	ID      string    `json:"id"`
	Person  string    `json:"person"`
	Name    string    `json:"name"`
	Paired  time.Time `json:"paired"`
	Revoked time.Time `json:"revoked,omitzero"`
	Seen    time.Time `json:"seen,omitzero"` // the day on which it was here last
}

// code is an open invitation.
type code struct {
	Person string    `json:"person"`
	Until  time.Time `json:"until"`
}

var (
	bucketMeta    = []byte("meta")
	bucketPeople  = []byte("people")
	bucketDevices = []byte("devices")
	bucketTokens  = []byte("tokens")  // hash of a token -> id of the device
	bucketCodes   = []byte("codes")   // hash of a code -> code
	bucketCursors = []byte("cursors") // of format 1
	bucketCame    = []byte("came")
	bucketGave    = []byte("gave")

	bucketFeed     = []byte("feed")       // number -> item
	bucketFeedIDs  = []byte("feed-ids")   // id of an entry, or of what it is about -> number of the first
	bucketSpans    = []byte("spans")      // person -> spans
	bucketLooked   = []byte(LookedBucket) // person -> number in their ledger
	bucketGivenDay = []byte("given-day")  // person -> day

	buckets = [][]byte{bucketMeta, bucketPeople, bucketDevices, bucketTokens, bucketCodes, bucketCursors, bucketCame, bucketGave, bucketFeed, bucketFeedIDs, bucketSpans, bucketLooked, bucketGivenDay}

	keyFormat = []byte("dampstone-people-format")
	keyID     = []byte("id")
	keyMoving = []byte("moving") // while another registry is copied here: its id
)

// Registry is who may use a server. It is safe for concurrent use.
type Registry struct {
	db KV
	id string

	changing sync.Mutex // held from a change until memory agrees with it

	mu sync.RWMutex
	// Kept where nothing else writes:
	known map[[sha256.Size]byte]string // tokens that were looked up: id of the device
	live  map[string]Device            // devices that are not revoked
	crowd map[string]Person
}

// Open opens the file, making it if it is not there. It waits up to wait for
// another process to let go of it.
func Open(path string, wait time.Duration) (*Registry, error) {
	kv, err := openBolt(path, wait)
	if err != nil {
		return nil, err
	}
	r, err := New(kv)
	if err != nil {
		return nil, fmt.Errorf("open people %q: %w", path, err)
	}
	return r, nil
}

// New is the registry that is kept in kv, which it closes.
func New(kv KV) (*Registry, error) {
	r := &Registry{db: kv, known: map[[sha256.Size]byte]string{}}
	if err := r.load(); err != nil {
		return nil, errors.Join(err, kv.Close())
	}
	return r, nil
}

func (r *Registry) load() error {
	have := 0
	look := func(tx Tx) error {
		meta := tx.Bucket(bucketMeta)
		if meta.Get(keyMoving) != nil {
			return ErrMoving
		}
		raw := meta.Get(keyFormat)
		if have = 0; raw == nil {
			return nil
		}
		if json.Unmarshal(raw, &have) != nil || have > format {
			return fmt.Errorf("%w: format %s, this version knows %d", ErrNewer, raw, format)
		}
		r.id = string(meta.Get(keyID))
		return nil
	}
	err := r.db.View(look)
	if err == nil && have < format {
		err = r.db.Update(func(tx Tx) error {
			if err := look(tx); err != nil || have == format {
				return err // another server was faster
			}
			meta := tx.Bucket(bucketMeta)
			if have == 0 {
				r.id = uuid.NewString()
				return errors.Join(put(meta, keyFormat, format), meta.Put(keyID, []byte(r.id)))
			}
			if err := startFeed(tx); err != nil {
				return fmt.Errorf("bring to format %d: %w", format, err)
			}
			return put(meta, keyFormat, format)
		})
	}
	if err != nil || !r.db.Alone() {
		return err
	}
	return r.reread()
}

// reread refreshes what is kept in memory for every request.
func (r *Registry) reread() error {
	live, err := r.readDevices()
	if err != nil {
		return err
	}
	crowd, err := r.readPeople()
	if err != nil {
		return err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.live, r.crowd = live, crowd
	return nil
}

// readDevices reads all devices that are not revoked.
func (r *Registry) readDevices() (live map[string]Device, err error) {
	live = map[string]Device{}
	err = r.db.View(func(tx Tx) error {
		var d Device
		return all(tx, bucketDevices, &d, func() {
			if d.Revoked.IsZero() {
				live[d.ID] = d
			}
			d = Device{}
		})
	})
	return live, err
}

// readPeople reads everybody.
func (r *Registry) readPeople() (crowd map[string]Person, err error) {
	crowd = map[string]Person{}
	err = r.db.View(func(tx Tx) error {
		var p Person
		return all(tx, bucketPeople, &p, func() { crowd[p.ID] = p; p = Person{} })
	})
	return crowd, err
}

// everybody is from memory where that may be; it is not to be changed.
func (r *Registry) everybody() (map[string]Person, error) {
	if !r.db.Alone() {
		return r.readPeople()
	}
	r.mu.RLock()
	defer r.mu.RUnlock()
	return r.crowd, nil // replaced as a whole, never changed
}

// devices are likewise those that are not revoked.
func (r *Registry) devices() (map[string]Device, error) {
	if !r.db.Alone() {
		return r.readDevices()
	}
	r.mu.RLock()
	defer r.mu.RUnlock()
	return r.live, nil
}

// change is a durable change, after which memory agrees with the file. What
// was read after one change must not be put in place after the next: a device
// that was shut out would be back.
func (r *Registry) change(what string, f func(Tx) error) error {
	r.changing.Lock()
	defer r.changing.Unlock()
	if err := r.db.Update(f); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if !r.db.Alone() {
		return nil
	}
	if err := r.reread(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// each calls f with every record until it fails.
func each(b Bucket, f func(k, v []byte) error) error {
	for k, v := range b.From(nil) {
		if err := f(k, v); err != nil {
			return err
		}
	}
	return nil
}

func all(tx Tx, bucket []byte, into any, f func()) error {
	return each(tx.Bucket(bucket), func(k, v []byte) error {
		if err := json.Unmarshal(v, into); err != nil {
			return fmt.Errorf("record %q: %w", k, err)
		}
		f()
		return nil
	})
}

func put(b Bucket, key []byte, v any) error {
	raw, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return b.Put(key, raw)
}

func get(b Bucket, key string, into any) (bool, error) {
	raw := b.Get([]byte(key))
	if raw == nil {
		return false, nil
	}
	return true, json.Unmarshal(raw, into)
}

// Close lets go of the file.
func (r *Registry) Close() error { return r.db.Close() }

// ID is the random id of the registry, made with the file.
func (r *Registry) ID() string { return r.id }

// CleanName is a name without white space around it, or ErrName.
func CleanName(name string) (string, error) {
	name = strings.TrimSpace(name)
	if name == "" || !utf8.ValidString(name) || utf8.RuneCountInString(name) > MaxName || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return "", ErrName
	}
	return name, nil
}

// People lists everybody, the owner first, then by the time of joining.
func (r *Registry) People() ([]Person, error) {
	crowd, err := r.everybody()
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	var list []Person
	for _, p := range crowd {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b Person) int {
		if a.Owner != b.Owner {
			if a.Owner {
				return -1
			}
			return 1
		}
		if c := a.Since.Compare(b.Since); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list, nil
}

// Person finds somebody by id.
func (r *Registry) Person(id string) (p Person, ok bool, err error) {
	if r.db.Alone() {
		r.mu.RLock()
		defer r.mu.RUnlock()
		p, ok = r.crowd[id]
		return p, ok, nil
	}
	err = r.db.View(func(tx Tx) (err error) {
		ok, err = get(tx.Bucket(bucketPeople), id, &p)
		return err
	})
	if err != nil {
		return p, false, fmt.Errorf("look up person: %w", err)
	}
	return p, ok, nil
}

// Find is the person with an id or, whatever the case of its letters, a name.
func (r *Registry) Find(text string) (Person, error) {
	if p, ok, err := r.Person(text); ok || err != nil {
		return p, err
	}
	everybody, err := r.People()
	if err != nil {
		return Person{}, err
	}
	var found []Person
	for _, p := range everybody {
		if strings.EqualFold(cmp.Or(p.Given, p.Name), strings.TrimSpace(text)) {
			found = append(found, p)
		}
	}
	switch len(found) {
	case 0:
		return Person{}, ErrUnknown
	case 1:
		return found[0], nil
	}
	return Person{}, ErrTwo
}

// Devices lists the devices of a person ("" for all) that are not revoked, in
// the order in which they were paired.
func (r *Registry) Devices(person string) ([]Device, error) {
	live, err := r.devices()
	if err != nil {
		return nil, fmt.Errorf("list devices: %w", err)
	}
	var list []Device
	for _, d := range live {
		if person == "" || d.Person == person {
			list = append(list, d)
		}
	}
	slices.SortFunc(list, func(a, b Device) int {
		if c := a.Paired.Compare(b.Paired); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list, nil
}

// Add adds a person, who owns the server if nobody was there before. id may
// be empty for a new one; a known id is given back as it is.
func (r *Registry) Add(id, name string, now time.Time) (p Person, err error) {
	if name, err = CleanName(name); err != nil {
		return p, err
	}
	if id == "" {
		id = uuid.NewString()
	}
	err = r.change("add person", func(tx Tx) error {
		b := tx.Bucket(bucketPeople)
		if known, err := get(b, id, &p); known || err != nil {
			return err
		}
		first := true
		for range b.From(nil) {
			first = false
			break
		}
		p = Person{ID: id, Name: name, Owner: first, Since: now.UTC()}
		return put(b, []byte(id), p)
	})
	return p, err
}

// Found adds the owner where nobody is known yet.
func (r *Registry) Found(name string, now time.Time) error {
	if list, err := r.People(); err != nil || len(list) > 0 {
		return err
	}
	return r.change("add owner", func(tx Tx) error {
		b := tx.Bucket(bucketPeople)
		for range b.From(nil) {
			return nil // another server was faster
		}
		p := Person{ID: uuid.NewString(), Name: name, Owner: true, Since: now.UTC()}
		return put(b, []byte(p.ID), p)
	})
}

// Adopt gives the person old, who must be the only one, the id and name that
// they have elsewhere, as in a backup. Devices and open codes stay theirs.
func (r *Registry) Adopt(old, id, name string) error {
	name, err := CleanName(name)
	if err != nil {
		return err
	}
	return r.change("adopt person", func(tx Tx) error {
		b := tx.Bucket(bucketPeople)
		p, err := personOf(tx, old)
		if err != nil {
			return err
		}
		if err := b.Delete([]byte(old)); err != nil {
			return err
		}
		p.ID, p.Name, p.Given = id, name, ""
		if err := put(b, []byte(id), p); err != nil {
			return err
		}
		if err := editDevicesOf(tx, old, func(d *Device) { d.Person = id }); err != nil {
			return err
		}
		for _, bucket := range [][]byte{bucketSpans, bucketLooked} {
			if raw := bytes.Clone(tx.Bucket(bucket).Get([]byte(old))); raw != nil {
				if err := errors.Join(tx.Bucket(bucket).Delete([]byte(old)), tx.Bucket(bucket).Put([]byte(id), raw)); err != nil {
					return err
				}
			}
		}
		codes := tx.Bucket(bucketCodes)
		var c code
		var keys [][]byte
		if err := each(codes, func(k, _ []byte) error { keys = append(keys, slices.Clone(k)); return nil }); err != nil {
			return err
		}
		for _, k := range keys {
			if _, err := get(codes, string(k), &c); err != nil {
				return err
			}
			c.Person = id
			if err := put(codes, k, c); err != nil {
				return err
			}
		}
		return nil
	})
}

// RenamePerson gives a person another name.
func (r *Registry) RenamePerson(person, name string, byOwner bool) error {
	name, err := CleanName(name)
	if err != nil {
		return err
	}
	return r.edit(person, func(p *Person) {
		// What somebody calls themselves is not what the owner finds them by:
		// they could take another's name, and that one's link.
		p.Given = cmp.Or(p.Given, p.Name)
		if p.Name = name; byOwner {
			p.Given = name
		}
	})
}

// personOf is the person with an id, or ErrUnknown.
func personOf(tx Tx, id string) (p Person, err error) {
	known, err := get(tx.Bucket(bucketPeople), id, &p)
	if err == nil && !known {
		err = ErrUnknown
	}
	return p, err
}

func (r *Registry) edit(person string, f func(*Person)) error {
	return r.change("change person", func(tx Tx) error {
		p, err := personOf(tx, person)
		if err != nil {
			return err
		}
		f(&p)
		return put(tx.Bucket(bucketPeople), []byte(person), p)
	})
}

// ---- codes ----

var letters = base32.NewEncoding("abcdefghijkmnpqrstuvwxyz23456789").WithPadding(base32.NoPadding)

// Invite makes a code with which one device can be paired with the person
// until the time given back.
func (r *Registry) Invite(person string, now time.Time) (text string, until time.Time, err error) {
	if _, ok, err := r.Person(person); err != nil {
		return "", until, err
	} else if !ok {
		return "", until, ErrUnknown
	}
	raw := make([]byte, codeSize)
	rand.Read(raw) // never fails
	text, until = letters.EncodeToString(raw), now.UTC().Add(CodeLife)
	err = r.change("make code", func(tx Tx) error {
		b := tx.Bucket(bucketCodes)
		type open struct {
			key   []byte
			until time.Time
		}
		var old []open
		err := each(b, func(k, v []byte) error {
			var c code
			if err := json.Unmarshal(v, &c); err != nil {
				return err
			}
			if now.Before(c.Until) && c.Person != person {
				return nil // nobody's invitations take another's away
			}
			old = append(old, open{slices.Clone(k), c.Until})
			return nil
		})
		if err != nil {
			return err
		}
		slices.SortFunc(old, func(a, b open) int { return a.until.Compare(b.until) })
		for i, c := range old {
			if !now.Before(c.until) || len(old)-i >= MaxCodes {
				if err := b.Delete(c.key); err != nil {
					return err
				}
			}
		}
		return put(b, hash(text), code{person, until})
	})
	if err != nil {
		return "", until, err
	}
	return text[:4] + "-" + text[4:8] + "-" + text[8:12] + "-" + text[12:], until, nil
}

// plain is a code as it was made, however it was typed.
func plain(text string) string {
	return strings.Map(func(r rune) rune {
		if r == '-' || unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, text)
}

func hash(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// Invited tells whom a code is for, without using it up.
func (r *Registry) Invited(text string, now time.Time) (p Person, until time.Time, err error) {
	var c code
	err = r.db.View(func(tx Tx) error {
		known, err := get(tx.Bucket(bucketCodes), string(hash(plain(text))), &c)
		if err == nil && (!known || !now.Before(c.Until)) {
			err = ErrCode
		}
		return err
	})
	if err != nil {
		return p, until, fmt.Errorf("look up code: %w", err)
	}
	p, ok, err := r.Person(c.Person)
	if err == nil && !ok {
		err = ErrCode
	}
	if err != nil {
		return p, until, fmt.Errorf("look up code: %w", err)
	}
	return p, c.Until, nil
}

// Pair uses up a code and gives a device its token, which is not kept here.
func (r *Registry) Pair(text, device string, now time.Time) (token string, d Device, err error) {
	if device, err = CleanName(device); err != nil {
		return "", d, err
	}
	raw := make([]byte, 32)
	rand.Read(raw) // never fails
	token = base64.RawURLEncoding.EncodeToString(raw)
	err = r.change("pair device", func(tx Tx) error {
		codes, key := tx.Bucket(bucketCodes), hash(plain(text))
		var c code
		known, err := get(codes, string(key), &c)
		if err != nil {
			return err
		}
		if !known || !now.Before(c.Until) || tx.Bucket(bucketPeople).Get([]byte(c.Person)) == nil {
			return ErrCode
		}
		if err := codes.Delete(key); err != nil {
			return err
		}
		d = Device{ID: uuid.NewString(), Person: c.Person, Name: device, Paired: now.UTC()}
		if err := put(tx.Bucket(bucketDevices), []byte(d.ID), d); err != nil {
			return err
		}
		return tx.Bucket(bucketTokens).Put(hash(token), []byte(d.ID))
	})
	if err != nil {
		return "", Device{}, err
	}
	return token, d, nil
}

// ---- devices ----

// Check finds the device that a token was given to, and its person.
func (r *Registry) Check(token string) (Device, Person, error) {
	if len(token) != base64.RawURLEncoding.EncodedLen(32) {
		return Device{}, Person{}, ErrToken
	}
	sum := sha256.Sum256([]byte(token))
	if !r.db.Alone() {
		return r.look(sum)
	}
	r.mu.RLock()
	id, seen := r.known[sum]
	r.mu.RUnlock()
	if !seen {
		err := r.db.View(func(tx Tx) error {
			id = string(tx.Bucket(bucketTokens).Get(sum[:]))
			return nil
		})
		if err != nil {
			return Device{}, Person{}, fmt.Errorf("check token: %w", err)
		}
		if id == "" {
			return Device{}, Person{}, ErrToken
		}
		r.mu.Lock()
		r.known[sum] = id
		r.mu.Unlock()
	}
	r.mu.RLock()
	defer r.mu.RUnlock()
	d, ok := r.live[id]
	if !ok {
		return Device{}, Person{}, ErrToken // revoked
	}
	p, ok := r.crowd[d.Person]
	if !ok {
		return Device{}, Person{}, ErrToken
	}
	return d, p, nil
}

// look is Check where nothing may be kept in memory.
func (r *Registry) look(sum [sha256.Size]byte) (d Device, p Person, err error) {
	err = r.db.View(func(tx Tx) error {
		id := tx.Bucket(bucketTokens).Get(sum[:])
		if id == nil {
			return ErrToken
		}
		if ok, err := get(tx.Bucket(bucketDevices), string(id), &d); err != nil || !ok || !d.Revoked.IsZero() {
			return cmp.Or(err, ErrToken)
		}
		ok, err := get(tx.Bucket(bucketPeople), d.Person, &p)
		if err == nil && !ok {
			err = ErrToken
		}
		return err
	})
	if err != nil {
		return Device{}, Person{}, fmt.Errorf("check token: %w", err)
	}
	return d, p, nil
}

// FindDevice is the device with an id or, whatever the case of its letters, a
// name.
func (r *Registry) FindDevice(text string) (Device, error) {
	var found []Device
	all, err := r.Devices("")
	if err != nil {
		return Device{}, err
	}
	for _, d := range all {
		if d.ID == text {
			return d, nil
		}
		if strings.EqualFold(d.Name, strings.TrimSpace(text)) {
			found = append(found, d)
		}
	}
	switch len(found) {
	case 0:
		return Device{}, ErrUnknown
	case 1:
		return found[0], nil
	}
	return Device{}, ErrTwo
}

// Rename gives a device another name.
func (r *Registry) Rename(device, name string) error {
	name, err := CleanName(name)
	if err != nil {
		return err
	}
	return r.editDevice(device, func(d *Device) { d.Name = name })
}

// Revoke shuts a device out, at once and for good.
func (r *Registry) Revoke(device string, now time.Time) error {
	return r.editDevice(device, func(d *Device) { d.Revoked = now.UTC() })
}

// Saw keeps the day on which a device was here last.
func (r *Registry) Saw(device string, now time.Time) error {
	return r.editDevice(device, func(d *Device) { d.Seen = now.UTC().Truncate(24 * time.Hour) })
}

// Remove takes a person away with their open codes, and shuts their devices
// out.
func (r *Registry) Remove(person string, now time.Time) error {
	return r.change("remove person", func(tx Tx) error {
		if _, err := personOf(tx, person); err != nil {
			return err
		}
		err := editDevicesOf(tx, person, func(d *Device) {
			if d.Revoked.IsZero() {
				d.Revoked = now.UTC()
			}
		})
		if err != nil {
			return err
		}
		codes := tx.Bucket(bucketCodes)
		var open [][]byte
		err = each(codes, func(k, v []byte) error {
			var c code
			if json.Unmarshal(v, &c) == nil && c.Person == person {
				open = append(open, bytes.Clone(k))
			}
			return nil
		})
		for _, k := range open {
			err = errors.Join(err, codes.Delete(k))
		}
		return errors.Join(err, forget(tx, person), tx.Bucket(bucketPeople).Delete([]byte(person)))
	})
}

// editDevicesOf changes all devices of a person.
func editDevicesOf(tx Tx, person string, f func(*Device)) error {
	var theirs []Device
	var d Device
	err := all(tx, bucketDevices, &d, func() {
		if d.Person == person {
			theirs = append(theirs, d)
		}
		d = Device{}
	})
	for _, d := range theirs {
		f(&d)
		err = errors.Join(err, put(tx.Bucket(bucketDevices), []byte(d.ID), d))
	}
	return err
}

func (r *Registry) editDevice(device string, f func(*Device)) error {
	return r.change("change device", func(tx Tx) error {
		var d Device
		b := tx.Bucket(bucketDevices)
		if known, err := get(b, device, &d); err != nil {
			return err
		} else if !known || !d.Revoked.IsZero() {
			return ErrUnknown
		}
		f(&d)
		return put(b, []byte(device), d)
	})
}
