package accounts

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
	"dampstone/server/sync"
)

func (d device) shares(yes bool) {
	d.b.Helper()
	word := map[bool]string{true: "yes", false: "no"}[yes]
	if w := d.post("/people/share", "shares", word); w.Code != http.StatusSeeOther {
		d.b.Fatalf("share: %d %s", w.Code, w.Body)
	}
}

func (b *fixture) ledgerOf(name string) *boltLedger {
	b.Helper()
	t, err := b.accounts.tenant(b.Context(), b.person(name).ID)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { b.accounts.release(t) })
	return &boltLedger{t}
}

// boltLedger is an open ledger.
type boltLedger struct{ *tenant }

// holds are the ids in the file itself.
func (l *boltLedger) holds(t *testing.T) (ids []journal.ID) {
	t.Helper()
	entries, err := l.store.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		ids = append(ids, e.ID)
	}
	return ids
}

// transactions are those that were ever written to the files of a folder.
func transactions(t *testing.T, folder string) (n int, bytes int64) {
	t.Helper()
	err := filepath.WalkDir(folder, func(path string, d os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".bolt") {
			return err
		}
		db, err := bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, Timeout: time.Second})
		if err != nil {
			return err
		}
		defer db.Close()
		bytes += fileSize(path)
		return db.View(func(tx *bolt.Tx) error { n += tx.ID(); return nil })
	})
	if err != nil {
		t.Fatal(err)
	}
	return n, bytes
}

// What somebody sees is written to their ledger and to the feed, however many
// share it: as many members read it, and no file grows but those two.
func TestASightingCostsTwoTransactions(t *testing.T) {
	for _, members := range []int{2, 100} {
		folder := t.TempDir()
		b := newFixture(t, folder)
		ana := b.pair("Ana")
		var all []string
		for i := range members - 1 {
			p, err := b.accounts.people.Add("", fmt.Sprint("Guest ", i), b.now())
			if err != nil {
				t.Fatal(err)
			}
			if err := b.accounts.setShares(t.Context(), p.ID, true); err != nil {
				t.Fatal(err)
			}
			all = append(all, p.ID)
		}
		ana.shares(true)
		b.share()
		if err := b.accounts.Close(); err != nil {
			t.Fatal(err)
		}
		before, size := transactions(t, folder)
		b = newFixture(t, folder)
		ana.b = b
		ana.give(sighting(t, "8f14e45f-ceea-467f-9575-6a3d4b3f1a01", "", 1))
		b.share()
		for _, id := range all {
			if entries, _, _, err := b.accounts.people.Feed(id, journal.Place{}, sharePage, 1<<20); err != nil || len(entries) != 1 {
				t.Errorf("a crew of %d: %q gets %d sightings, %v", members, id, len(entries), err)
			}
		}
		if err := b.accounts.Close(); err != nil {
			t.Fatal(err)
		}
		after, grown := transactions(t, folder)
		t.Logf("a crew of %d: %d transactions, %d bytes more on the disk", members, after-before, grown-size)
		if n := after - before; n > 2 {
			t.Errorf("a crew of %d: a sighting costs %d transactions", members, n)
		}
		if grown-size > 256<<10 {
			t.Errorf("a crew of %d: a sighting costs %d bytes", members, grown-size)
		}
	}
}

// The screens of a member show what others share, and a file of their ledger
// has it.
func TestScreensShowWhatTheCrewSees(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	ana.shares(true)
	bo.shares(true)
	states := func(want ...int) {
		t.Helper()
		for i, name := range []string{"", "Bo"} {
			s, err := b.accounts.shown(t.Context(), b.ledgerOf(name).tenant)
			if err != nil {
				t.Fatal(err)
			}
			if n := len(s.ledger.State().Sightings()); n != want[i] {
				t.Errorf("%q is shown %d sightings, want %d", name, n, want[i])
			}
		}
	}
	states(0, 0)
	ana.give(sighting(t, "a", "s-a", 1))
	b.share()
	states(1, 1)
	bo.give(sighting(t, "b", "s-b", 2), storetest.Entry(t, "note", 3))
	b.share()
	ana.give(sighting(t, "c", "s-c", 4), deletion(t, "takes-back", "s-a", 5))
	b.share()
	states(2, 2)
	if w := bo.do("GET", "/setup/safe/ledger", "", ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), string(b.of("")("c"))) {
		t.Errorf("the file of Bo's ledger lacks what Ana shared: %d", w.Code)
	}
}

// A phone that brings back what others shared, as after a server was restored,
// adds nothing to the ledger; and where the feed has lost it, it is kept there
// and not taken for the person's own.
func TestWhatTheFeedHasIsNotKeptTwice(t *testing.T) {
	folder := t.TempDir()
	b := newFixture(t, folder)
	ana, bo, cy := b.pair(""), b.pair("Bo"), b.pair("Cy")
	for _, d := range []device{ana, bo, cy} {
		d.shares(true)
	}
	ana.give(sighting(t, "seen", "s1", 1))
	b.share()
	_, crew := bo.reads()
	if len(crew) != 1 {
		t.Fatalf("Bo gets %d", len(crew))
	}
	bo.give(crew...)
	if held := b.ledgerOf("Bo").holds(t); len(held) != 0 {
		t.Errorf("Bo's ledger holds %v", held)
	}
	// The feed is lost with all that was given.
	if err := b.accounts.people.SetShares(b.ledgerOf("Cy").person, false, 0); err != nil {
		t.Fatal(err)
	}
	fresh := newFixture(t, t.TempDir())
	ana, bo = fresh.pair(""), fresh.pair("Bo")
	ana.shares(true)
	bo.shares(true)
	bo.give(append(crew, sighting(t, "edits", b.of("")("s1"), 2), sighting(t, "own", "", 3))...)
	// Of what was copied into a ledger, by another way and with no mark, its
	// stamp tells.
	copied := hostile(t, strings.NewReplacer(string(crew[0].ID), "8f14e45f-ceea-467f-9575-6a3d4b3f1a02", string(b.of("")("s1")), "8f14e45f-ceea-467f-9575-6a3d4b3f1a03").Replace(string(crew[0].Raw())))
	if _, err := fresh.ledgerOf("Bo").store.Append(t.Context(), []journal.Entry{copied}); err != nil {
		t.Fatal(err)
	}
	fresh.accounts.wakeSharing("")
	fresh.share()
	wantHeld(t, "Ana", ana, fresh.of("Bo")("own"))
	wantHeld(t, "Bo", bo, crew[0].ID, "edits", "own", copied.ID)
}

// oldFormat makes of a folder what it was when what was shared was copied into
// the ledgers: format 1 of the registry, and the copies.
func oldFormat(t *testing.T, folder string, names ...string) {
	t.Helper()
	b := newFixture(t, folder)
	cursors := map[string]uint64{}
	for _, name := range names {
		l := b.ledgerOf(name)
		var at journal.Place
		entries, _, _, err := b.accounts.people.Feed(l.person, at, sharePage, 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := l.store.Append(t.Context(), entries); err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			thing, _ := sharable(e)
			if err := b.accounts.people.SetCame(l.person, []journal.ID{e.ID, thing}); err != nil {
				t.Fatal(err)
			}
		}
		for _, other := range names {
			if from := b.ledgerOf(other); from.person != l.person {
				seq, err := b.accounts.people.Looked(from.person, 0)
				if err != nil {
					t.Fatal(err)
				}
				cursors[from.person+"\x00"+l.person] = seq
			}
		}
	}
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := bolt.Open(filepath.Join(folder, PeopleFile), 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	err = db.Update(func(tx *bolt.Tx) error {
		for _, name := range []string{"feed", "feed-ids", "spans", "looked", "given-day"} {
			if err := tx.DeleteBucket([]byte(name)); err != nil {
				return err
			}
		}
		c, err := tx.CreateBucketIfNotExists([]byte("cursors"))
		if err != nil {
			return err
		}
		for key, seq := range cursors {
			if err := c.Put([]byte(key), []byte{0, 0, 0, 0, 0, 0, 0, byte(seq)}); err != nil {
				return err
			}
		}
		return tx.Bucket([]byte("meta")).Put([]byte("dampstone-people-format"), []byte("1"))
	})
	if err != nil {
		t.Fatal(err)
	}
}

// A folder in which what was shared had been copied into the ledgers goes on:
// the copies stay, nothing goes around twice, and what comes new goes by the
// feed.
func TestOldCopiesAreTakenOver(t *testing.T) {
	folder := t.TempDir()
	b := newFixture(t, folder)
	ana, bo := b.pair(""), b.pair("Bo")
	ana.give(sighting(t, "before", "", 1))
	ana.shares(true)
	bo.shares(true)
	ana.give(sighting(t, "seen", "s1", 2))
	bo.give(sighting(t, "of-bo", "s2", 3))
	b.share()
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	oldFormat(t, folder, "", "Bo")

	b = newFixture(t, folder)
	ana.b, bo.b = b, b
	ofAna, ofBo := b.of(""), b.of("Bo")
	b.share()
	wantHeld(t, "Bo", bo, "of-bo", ofAna("seen"))
	if _, crew := bo.reads(); len(crew) != 0 {
		t.Errorf("Bo gets %d entries again", len(crew))
	}
	bo.give(deletion(t, "not-bos", ofAna("s1"), 4), deletion(t, "bos", "s2", 5))
	ana.give(sighting(t, "new", "", 6))
	b.share()
	wantHeld(t, "Ana", ana, "before", "seen", "new", ofBo("of-bo"), ofBo("bos"))
	wantHeld(t, "Bo", bo, "of-bo", ofAna("seen"), "not-bos", "bos", ofAna("new"))
	if _, crew := bo.reads(); len(crew) != 1 {
		t.Errorf("Bo gets %d entries by the feed", len(crew))
	}
}

// line is a device's way to the server, which may break.
type line struct {
	d    device
	fate func() string
}

var errLine = errors.New("the line broke")

func (l line) Do(r *http.Request) (*http.Response, error) {
	fate := l.fate()
	if fate == "request lost" {
		return nil, errLine
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return nil, err
	}
	w := l.d.do(r.Method, r.URL.Path, r.Header.Get("Content-Type"), string(body))
	if fate == "reply lost" {
		return nil, errLine
	}
	return w.Result(), nil
}

// member is a person of the random histories: their phone, and what it has to
// hold in the end.
type member struct {
	device
	name   string
	phone  *flybox.Ledger
	shares bool
	own    []journal.ID        // things they saw and did not take back
	gets   map[journal.ID]bool // things of others
	gave   map[journal.ID]bool // ids, as they know them, of what went around
	noted  []journal.ID        // written, not looked at yet
}

// TestCrewHistories has people come and go, see and take back, on lines that
// break and a server that starts anew, and compares every phone with a model
// in which all that happens at once.
func TestCrewHistories(t *testing.T) {
	seeds := uint64(12)
	if KeptElsewhere != nil {
		seeds = 4 // each question goes to a database
	}
	for seed := range seeds {
		rng := rand.New(rand.NewPCG(seed, 7))
		folder := t.TempDir()
		b := newFixture(t, folder)
		b.accounts.stop() // the test shares when it likes
		<-b.accounts.done
		var all []*member
		for i := range 4 {
			name := map[bool]string{false: fmt.Sprint("Guest ", i)}[i == 0]
			m := &member{device: b.pair(name), name: name, gets: map[journal.ID]bool{}, gave: map[journal.ID]bool{}}
			var err error
			m.phone, err = flybox.Open(t.Context(), &memstore.Store{}, flybox.Options{Device: fmt.Sprint("p", i), Now: b.now, NewID: flybox.RandomID})
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, m)
		}
		fates := []string{"", "", "", "request lost", "reply lost"}
		exchange := func(m *member, fate func() string) error {
			_, err := sync.Round(t.Context(), line{m.device, fate}, "http://x", m.phone)
			return err
		}
		well := func() string { return "" }
		// round has everybody give what they wrote, and shares it.
		round := func() {
			for _, m := range all {
				if err := exchange(m, well); err != nil {
					t.Fatal(err)
				}
			}
			b.share()
			for _, m := range all {
				for _, id := range m.noted {
					if !m.shares {
						continue
					}
					m.gave[id] = true
					for _, other := range all {
						if other != m && other.shares {
							other.gets[crewID(b.ledgerOf(m.name).person, id)] = true
						}
					}
				}
				m.noted = nil
			}
		}
		for range 60 {
			b.clock.Add(int64(time.Minute))
			m := all[rng.IntN(len(all))]
			switch rng.IntN(7) {
			case 0, 1:
				id := flybox.RandomID()
				if _, err := m.phone.Record(t.Context(), flybox.Sighting{ID: id, When: b.now().Format(time.RFC3339), Hatch: "claassenia"}); err != nil {
					t.Fatal(err)
				}
				m.own = append(m.own, id)
				m.noted = append(m.noted, id)
			case 2: // something of theirs is taken back, after it went around or not
				if len(m.own) == 0 {
					continue
				}
				round()
				i := rng.IntN(len(m.own))
				id := m.own[i]
				if _, err := m.phone.Record(t.Context(), flybox.Deleted{Target: id}); err != nil {
					t.Fatal(err)
				}
				m.own = slices.Delete(m.own, i, i+1)
				if m.gave[id] && m.shares {
					theirs := crewID(b.ledgerOf(m.name).person, id)
					for _, other := range all {
						if other.shares {
							delete(other.gets, theirs)
						}
					}
				}
				round()
			case 3: // comes or goes
				round()
				m.shares = !m.shares
				m.device.shares(m.shares)
			case 4:
				_ = exchange(m, func() string { return fates[rng.IntN(len(fates))] }) // may fail: that is the point
			case 5:
				round()
			case 6:
				if rng.IntN(3) > 0 {
					continue
				}
				round()
				if err := b.accounts.Close(); err != nil {
					t.Fatal(err)
				}
				clock := b.clock.Load()
				b = newFixture(t, folder)
				b.accounts.stop()
				<-b.accounts.done
				b.clock.Store(clock)
				for _, m := range all {
					m.b = b
				}
			}
		}
		round()
		for _, m := range all {
			if err := exchange(m, well); err != nil {
				t.Fatal(err)
			}
			want := slices.Sorted(slices.Values(slices.Concat(m.own, slices.Collect(maps.Keys(m.gets)))))
			var got []journal.ID
			for _, s := range m.phone.State().Sightings() {
				got = append(got, s.Body.ID)
			}
			slices.Sort(got)
			if !slices.Equal(got, want) {
				t.Errorf("seed %d: the phone of %q shows %d sightings, want %d of their own and %d of others", seed, m.name, len(got), len(m.own), len(m.gets))
			}
			shown, err := b.accounts.shown(t.Context(), b.ledgerOf(m.name).tenant)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := shown.ledger.State().CanonicalJSON(), m.phone.State().CanonicalJSON(); string(got) != string(want) {
				t.Errorf("seed %d: the server shows %q something else than their phone", seed, m.name)
			}
		}
		if t.Failed() {
			return
		}
	}
}

// Where a store keeps the marks of a journal they are asked of it, and not
// kept in memory, where they would outlive a database that has forgotten.
func TestMarksComeFromWhereTheyAreKept(t *testing.T) {
	b := newFixture(t, t.TempDir())
	b.pair("")
	l := b.ledgerOf("")
	if _, ok := l.into.Store().(sync.Linked); ok != (KeptElsewhere != nil) {
		t.Errorf("the store gives marks: %v", ok)
	}
	if _, ok := l.into.Store().(journal.Getter); !ok {
		t.Error("entries are looked up one by one")
	}
}

// One exchange brings all that others have shared, however many answers that
// takes, and the next brings none of it again.
func TestAnExchangeBringsTheWholeFeed(t *testing.T) {
	b := newFixture(t, t.TempDir())
	ana, bo := b.pair(""), b.pair("Bo")
	ana.shares(true)
	bo.shares(true)
	all := sightings(t, "ana", 900)
	for part := range slices.Chunk(all, 300) {
		ana.give(part...)
	}
	b.share()
	phone, err := flybox.Open(t.Context(), &memstore.Store{}, flybox.Options{Device: "bo", Now: b.now, NewID: flybox.RandomID})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []int{900, 0} {
		report, err := sync.Round(t.Context(), line{bo, func() string { return "" }}, "http://x", phone)
		if err != nil || report.Received != want || len(report.Bad) > 0 {
			t.Errorf("an exchange brings %d of %d, %v", report.Received, want, err)
		}
	}
	if n := len(phone.State().Sightings()); n != 900 {
		t.Errorf("the phone shows %d sightings", n)
	}
	// A phone that goes to another server's feed reads it from the start.
	out := phone.Store().(journal.Outbox)
	cursor, err := out.Cursor(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	cursor.Crew.Mark = "of another feed"
	if err := out.SetCursor(t.Context(), cursor); err != nil {
		t.Fatal(err)
	}
	if report, err := sync.Round(t.Context(), line{bo, func() string { return "" }}, "http://x", phone); err != nil || report.Received != 0 || len(report.Bad) > 0 {
		t.Errorf("read again: %+v, %v", report, err)
	}
}
