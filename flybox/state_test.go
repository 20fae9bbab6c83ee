package flybox

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
)

var dawn = time.Date(2026, 8, 14, 5, 12, 9, 123e6, time.UTC)

// entryAt makes an entry of a body, sec seconds after dawn, by a device.
func entryAt(t testing.TB, id journal.ID, sec int, device string, body Body) journal.Entry {
	t.Helper()
	e, err := NewEntry(id, journal.Stamp{MS: dawn.UnixMilli() + int64(sec)*1000, Device: device}, body)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func foldOf(t testing.TB, bodies ...Body) *State {
	t.Helper()
	s := NewState()
	for i, b := range bodies {
		s.Apply(entryAt(t, journal.ID(fmt.Sprint("e", i)), i, "a", b))
	}
	return s
}

// randomHistory makes entries of every kind that fight over few things, from
// devices whose clocks disagree, with some that nobody understands.
func randomHistory(t testing.TB, rng *rand.Rand, n int) []journal.Entry {
	pick := func(prefix string, n int) journal.ID { return journal.ID(fmt.Sprint(prefix, rng.IntN(n))) }
	place := func() Place { return Place{pick("box", 3), 1 + rng.IntN(3), 1 + rng.IntN(3)} }
	when := func() string {
		return dawn.Add(time.Duration(rng.IntN(1000)) * time.Minute).Format(time.RFC3339)
	}
	var out []journal.Entry
	for i := range n {
		id := fmt.Sprint("e", i)
		var body Body
		switch k := rng.IntN(16); k {
		case 0, 1:
			p := Pattern{ID: pick("fly", 5), Name: string(pick("name", 3)), Style: Styles[rng.IntN(len(Styles))], Hook: 2 + rng.IntN(27)}
			if i > 0 {
				p.Parent = journal.ID(fmt.Sprint("e", rng.IntN(n)))
			}
			body = p
		case 2:
			body = Box{ID: pick("box", 3), Name: string(pick("name", 2)), Rows: 1 + rng.IntN(3), Columns: 1 + rng.IntN(3)}
		case 3, 4:
			body = Slot{Place: place(), Pattern: pick("fly", 5), Want: rng.IntN(9), Off: rng.IntN(3) == 0}
		case 5, 6, 7:
			m := StockMove{Pattern: pick("fly", 5), Delta: 1 + rng.IntN(9), Why: WhyTied}
			if rng.IntN(3) == 0 {
				m.Delta, m.Why = -m.Delta, WhyLost
			}
			if p := place(); rng.IntN(4) > 0 {
				m.Place = &p
			}
			if rng.IntN(2) == 0 {
				m.Order, m.Tie = pick("d", 3), pick("tie", 9)
			}
			body = m
		case 14:
			r := Recipe{ID: pick("fly", 5), Minutes: float64(rng.IntN(3)), Steps: string(pick("step", 2))}
			if rng.IntN(3) > 0 {
				r.Lines = []RecipeLine{{Name: string(pick("stuff", 3)), Amount: float64(rng.IntN(9)), Unit: Units[rng.IntN(3)]}}
			}
			body = r
		case 15:
			amount := 0.1 * float64(1+rng.IntN(40))
			body = []Body{Material{ID: pick("m", 3), Name: string(pick("stuff", 3)), Unit: Units[rng.IntN(3)]}, MaterialMove{Material: pick("m", 3), Delta: amount, Why: MaterialBought},
				MaterialMove{Material: pick("m", 3), Delta: -amount, Why: MaterialUsed, Tie: pick("tie", 9)}, MaterialMove{Material: pick("m", 3), Delta: amount, Why: MaterialCounted, Counted: &amount}}[rng.IntN(4)]
		case 8:
			level := float64(rng.IntN(300)) / 100
			body = []Body{Station{ID: pick("q", 2), Name: id}, Reading{ID: pick("l", 4), Station: pick("q", 2), When: when(), LevelM: &level},
				Sighting{ID: pick("s", 3), When: when(), Hatch: string(pick("h", 3))}, Outing{ID: pick("o", 3), Start: when()},
				Rig{ID: pick("g", 3), When: when(), Outing: pick("o", 3), Rod: rng.IntN(3), Pattern: pick("fly", 5), Above: []Tied{{Pattern: pick("fly", 5)}, {Pattern: pick("fly", 5), Rev: pick("r", 4)}}[:rng.IntN(3)], Hatch: string(pick("h", 3))}}[rng.IntN(5)]
		case 9:
			body = Outcome{ID: pick("r", 4), When: when(), Result: Results[rng.IntN(4)], Pattern: pick("fly", 5), Rod: rng.IntN(3), Why: Reasons[rng.IntN(len(Reasons))], End: Endings[rng.IntN(2)], FishMM: float64(rng.IntN(600))}
		case 10:
			body = []Body{Trip{ID: pick("t", 3), Name: id, From: "2026-08-14", To: "2026-08-16", Rods: 2},
				Order{ID: pick("d", 3), For: id, Pattern: pick("fly", 5), Count: 6}, Note{ID: pick("n", 3), Text: id}, Hatch{ID: pick("w", 3), Region: "x", Hatch: redDrake(1 + rng.IntN(9))}}[rng.IntN(4)]
		case 11, 12:
			targets := []journal.ID{pick("fly", 5), pick("box", 3), pick("s", 3), pick("o", 3), pick("r", 4), pick("g", 3), pick("t", 3), pick("d", 3), pick("n", 3), pick("w", 3), pick("m", 3), pick("q", 2), pick("l", 4), journal.ID(fmt.Sprint("e", rng.IntN(n)))}
			body = Deleted{Target: targets[rng.IntN(len(targets))]}
		case 13:
			raw := fmt.Sprintf(`{"id":%q,"at":"2026-08-14T05:00:00.000Z-0000-a","v":%d,"kind":%q,"body":{}}`, id, 1+rng.IntN(2), []string{"moon", "pattern"}[rng.IntN(2)])
			e, err := journal.ParseEntry([]byte(raw))
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, e)
			continue
		}
		sec := rng.IntN(200)
		if rng.IntN(10) == 0 {
			sec += 365 * 86400 // a clock that is a year ahead
		}
		out = append(out, entryAt(t, journal.ID(id), sec, string(pick("d", 3)), body))
	}
	return out
}

func TestOrderOfArrivalDoesNotMatter(t *testing.T) {
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 2))
		history := randomHistory(t, rng, 150)
		want := Fold(history)
		for round := range 6 {
			shuffled := slices.Clone(history)
			rng.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			s := NewState()
			for len(shuffled) > 0 { // in batches, some of them twice
				n := 1 + rng.IntN(len(shuffled))
				s.Apply(shuffled[:n]...)
				if rng.IntN(2) == 0 {
					s.Apply(shuffled[:n]...)
				}
				shuffled = shuffled[n:]
			}
			if !bytes.Equal(s.CanonicalJSON(), want.CanonicalJSON()) {
				t.Fatalf("seed %d, round %d:\n%s\n%s", seed, round, s.CanonicalJSON(), want.CanonicalJSON())
			}
		}
	}
}

// The same again in the plainest way: gather all, then look.
func TestFoldAgreesWithAPlainReading(t *testing.T) {
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 3))
		history := randomHistory(t, rng, 200)
		s := Fold(history)

		later := func(a, b journal.Entry) bool { c := a.At.Compare(b.At); return c > 0 || c == 0 && a.ID > b.ID }
		deleted := func(target journal.ID, e journal.Entry) bool {
			for _, d := range history {
				if b, err := Decode(d); err == nil {
					if del, ok := b.(Deleted); ok && del.Target == target && !later(e, d) {
						return true
					}
				}
			}
			return false
		}
		count, at := map[journal.ID]int{}, map[string]int{}
		newest := map[journal.ID]journal.Entry{}
		for _, e := range history {
			b, err := Decode(e)
			if err != nil {
				continue
			}
			switch b := b.(type) {
			case StockMove:
				if !deleted(e.ID, e) {
					count[b.Pattern] += b.Delta
					at[fmt.Sprint(b.Pattern, b.At())] += b.Delta
				}
			case Pattern:
				if old, ok := newest[b.ID]; !ok || later(e, old) {
					newest[b.ID] = e
				}
			}
		}
		shown := 0
		for id, e := range newest {
			f, ok := s.Pattern(id)
			if ok == deleted(id, e) || ok && f.Rev != e.ID {
				t.Errorf("seed %d: pattern %s shown %v as %s, want %s", seed, id, ok, f.Rev, e.ID)
			}
			if ok {
				shown++
			}
		}
		if got := len(s.Patterns()); got != shown {
			t.Errorf("seed %d: %d patterns, want %d", seed, got, shown)
		}
		for i := range 5 {
			id, sum := fmt.Sprint("fly", i), 0
			if got := s.Count(journal.ID(id)); got != count[journal.ID(id)] {
				t.Errorf("seed %d: %d of %s, want %d", seed, got, id, count[journal.ID(id)])
			}
			for _, p := range s.Places(journal.ID(id)) {
				if want := at[fmt.Sprint(id, p.Place)]; p.Count != want || s.CountAt(journal.ID(id), p.Place) != want {
					t.Errorf("seed %d: %d of %s at %v, want %d", seed, p.Count, id, p.Place, want)
				}
				sum += p.Count
			}
			if sum != count[journal.ID(id)] {
				t.Errorf("seed %d: places of %s hold %d, want %d", seed, id, sum, count[journal.ID(id)])
			}
		}
		if s.Len() != len(history) {
			t.Errorf("seed %d: %d entries, want %d", seed, s.Len(), len(history))
		}
	}
}

func TestEveryKindShowsInTheDigest(t *testing.T) {
	seen := map[string]string{NewState().Digest(): "nothing"}
	place := Place{"b", 1, 1}
	for _, b := range []Body{
		Pattern{ID: "p", Name: "x", Style: Ant, Hook: 14}, Pattern{ID: "p", Name: "y", Style: Ant, Hook: 14},
		Box{ID: "b", Name: "x", Rows: 1, Columns: 1}, Sighting{When: "2026-08-14T05:00:00Z", Hatch: "x"},
		StockMove{Pattern: "p", Delta: 1, Why: WhyTied}, StockMove{Pattern: "p", Place: &place, Delta: 1, Why: WhyTied},
		Outcome{When: "2026-08-14T05:00:00Z", Result: Take, Pattern: "p"}, Outing{Start: "2026-08-14T05:00:00Z"},
		Trip{Name: "x", From: "2026-08-14", To: "2026-08-14", Rods: 1}, Order{For: "x", Pattern: "p", Count: 1}, Note{Text: "x"},
		Hatch{Region: "x", Hatch: redDrake(31)}, Hatch{Region: "x", Hatch: redDrake(32)},
	} {
		d := foldOf(t, b).Digest()
		if old, ok := seen[d]; ok {
			t.Errorf("%T has the digest of %s", b, old)
		}
		seen[d] = fmt.Sprintf("%T", b)
	}
	box := Box{ID: "b", Name: "x", Rows: 1, Columns: 1}
	if foldOf(t, box).CanonicalJSON() == nil || foldOf(t, box, Slot{Place: place, Pattern: "p", Want: 3}).Digest() == foldOf(t, box, Slot{Place: place, Pattern: "p", Want: 4}).Digest() {
		t.Error("what is wanted in a slot does not show")
	}
}

func TestDeletingHidesAndALaterEditShowsAgain(t *testing.T) {
	old := entryAt(t, "e1", 1, "a", Pattern{ID: "p", Name: "old", Style: Ant, Hook: 14})
	gone := entryAt(t, "e2", 2, "a", Deleted{Target: "p"})
	edit := entryAt(t, "e3", 3, "b", Pattern{ID: "p", Name: "new", Style: Ant, Hook: 14})
	if _, ok := Fold([]journal.Entry{old, gone}).Pattern("p"); ok {
		t.Error("still there after it was deleted")
	}
	if _, ok := Fold([]journal.Entry{gone, old}).Pattern("p"); ok {
		t.Error("there although the deletion came first")
	}
	if f, ok := Fold([]journal.Entry{edit, gone, old}).Pattern("p"); !ok || f.Name != "new" {
		t.Errorf("%+v, %v", f, ok)
	}
	if rev, ok := Fold([]journal.Entry{old, gone}).Revision("e1"); !ok || rev.Name != "old" {
		t.Error("the revision is needed for results, deleted or not")
	}
}

func TestAMistakenMoveIsUndone(t *testing.T) {
	tied := entryAt(t, "e1", 1, "a", StockMove{Pattern: "p", Delta: 60, Why: WhyTied})
	undo := entryAt(t, "e2", 2, "a", Deleted{Target: "e1"})
	also := entryAt(t, "e3", 2, "b", Deleted{Target: "e1"}) // on another phone as well
	for _, order := range [][]journal.Entry{{tied, undo}, {undo, tied}, {tied, undo, undo, tied}, {tied, undo, also}, {also, tied, undo}} {
		s := Fold(order)
		if s.Count("p") != 0 || len(s.Places("p")) != 0 {
			t.Errorf("%d left at %v", s.Count("p"), s.Places("p"))
		}
		if m := s.Moves("p"); len(m) != 1 || !m[0].Deleted {
			t.Errorf("%+v", m)
		}
	}
}

func TestAThingWithoutIDHasItsEntrysID(t *testing.T) {
	s := foldOf(t, Pattern{Name: "x", Style: Ant, Hook: 14}, Note{Text: "y"}, Pattern{ID: "e0", Name: "z", Style: Ant, Hook: 12})
	if f, ok := s.Pattern("e0"); !ok || f.Name != "z" || f.ID != "e0" || f.Rev != "e2" {
		t.Errorf("%+v, %v", f, ok)
	}
	if n, ok := s.Note("e1"); !ok || n.Body.Text != "y" {
		t.Errorf("%+v, %v", n, ok)
	}
}

func TestTwoDevicesThatAssignOneSlotKeepBoth(t *testing.T) {
	place := Place{"b", 1, 2}
	common := []journal.Entry{
		entryAt(t, "b0", 0, "a", Box{ID: "b", Name: "Boat box", Rows: 2, Columns: 2}),
		entryAt(t, "p0", 0, "a", Pattern{ID: "p", Name: "Pale dun", Style: ParachuteDun, Hook: 16}),
		entryAt(t, "q0", 0, "a", Pattern{ID: "q", Name: "Black ant", Style: Ant, Hook: 14}),
	}
	a := entryAt(t, "s1", 1, "a", Slot{Place: place, Pattern: "p", Want: 6})
	b := entryAt(t, "s2", 1, "b", Slot{Place: place, Pattern: "q", Want: 4})
	for _, es := range [][]journal.Entry{{a, b}, {b, a}} {
		v, ok := Fold(slices.Concat(common, es)).Box("b")
		if !ok || v.Want != 10 || v.Short != 10 || v.Count != 0 {
			t.Fatalf("%+v, %v", v.BoxInfo, ok)
		}
		c := v.Cells[0][1].Contents
		if len(c) != 2 || c[0].Pattern != "q" || c[1].Pattern != "p" || !c[0].Assigned || c[1].Want != 6 || !c[1].Known {
			t.Errorf("%+v", c)
		}
	}
	// Giving the slot to one of them settles it, on any device.
	s := Fold(append(common, a, b))
	for i, body := range assigned(s, place, "p", 8) {
		s.Apply(entryAt(t, journal.ID(fmt.Sprint("s", 3+i)), 2, "a", body))
	}
	if c := s.Cell(place).Contents; len(c) != 1 || c[0].Pattern != "p" || c[0].Want != 8 {
		t.Errorf("%+v", c)
	}
}

func TestBoxShowsWhatIsInItAndWhatLiesOutsideItsGrid(t *testing.T) {
	in, out, gone := Place{"b", 1, 1}, Place{"b", 3, 1}, Place{"lost", 1, 1}
	s := foldOf(t,
		Box{ID: "b", Name: "Boat box", Rows: 2, Columns: 2},
		Pattern{ID: "p", Name: "Pale dun", Style: ParachuteDun, Hook: 16},
		Slot{Place: in, Pattern: "p", Want: 6},
		StockMove{Pattern: "p", Place: &in, Delta: 4, Why: WhyTied},
		StockMove{Pattern: "p", Place: &out, Delta: 3, Why: WhyTied},
		StockMove{Pattern: "p", Place: &gone, Delta: 2, Why: WhyTied},
		StockMove{Pattern: "p", Delta: 1, Why: WhyBought},
		StockMove{Pattern: "nobody", Place: &in, Delta: 1, Why: WhyBought},
	)
	v, ok := s.Box("b")
	if !ok || len(v.Cells) != 2 || len(v.Cells[0]) != 2 || v.Count != 8 || v.Want != 6 || v.Short != 2 {
		t.Fatalf("%+v, %v", v.BoxInfo, ok)
	}
	if infos := s.Boxes(); len(infos) != 1 || infos[0] != v.BoxInfo {
		t.Errorf("list says %+v, box says %+v", infos, v.BoxInfo)
	}
	c := v.Cells[0][0].Contents
	if len(c) != 2 || c[0].Count != 4 || c[0].Fly.Name != "Pale dun" || c[1].Known || c[1].Assigned {
		t.Errorf("%+v", c)
	}
	if len(v.Cells[1][1].Contents) != 0 || v.Cells[1][1].Place != (Place{"b", 2, 2}) {
		t.Errorf("empty cell %+v", v.Cells[1][1])
	}
	if len(v.Outside) != 1 || v.Outside[0].Place != out {
		t.Errorf("outside %+v", v.Outside)
	}
	if st := s.Strays(); len(st) != 1 || st[0].Place != gone {
		t.Errorf("strays %+v", st)
	}
	want := []Placement{{in, "Boat box", false, 4}, {out, "Boat box", false, 3}, {gone, "", true, 2}, {Loose, "", false, 1}}
	if got := s.Places("p"); !slices.Equal(got, want) {
		t.Errorf("places %+v, want %+v", got, want)
	}
	if f, _ := s.Pattern("p"); f.Left != 10 || s.Count("p") != 10 {
		t.Errorf("%d left, want 10", f.Left)
	}
	s.Apply(entryAt(t, "del", 99, "a", Deleted{Target: "b"}))
	if _, ok := s.Box("b"); ok || len(s.Boxes()) != 0 || len(s.Strays()) != 3 || s.Count("p") != 10 {
		t.Errorf("after deleting the box: strays %+v, %d left", s.Strays(), s.Count("p"))
	}
}

func TestCountingAndMovingAddUp(t *testing.T) {
	from, to := Place{"b", 1, 1}, Place{"b", 1, 2}
	s := foldOf(t, StockMove{Pattern: "p", Place: &from, Delta: 7, Why: WhyTied})
	n := 0
	do := func(bodies ...Body) {
		for _, b := range bodies {
			if p := b.Check(); p != nil {
				t.Fatal(p)
			}
			n++
			s.Apply(entryAt(t, journal.ID(fmt.Sprint("x", n)), 10+n, "a", b))
		}
	}
	do(moved("p", from, to, 3)...)
	if s.CountAt("p", from) != 4 || s.CountAt("p", to) != 3 || s.Count("p") != 7 {
		t.Errorf("after moving: %v", s.Places("p"))
	}
	do(counted(s, "p", from, 2), counted(s, "p", to, 3), counted(s, "p", Loose, 1))
	if s.CountAt("p", from) != 2 || s.CountAt("p", to) != 3 || s.CountAt("p", Loose) != 1 || s.Count("p") != 6 {
		t.Errorf("after counting: %v", s.Places("p"))
	}
	m := s.Moves("p")
	if last := m[len(m)-1]; last.Counted == nil || *last.Counted != 1 || last.Why != WhyCounted {
		t.Errorf("what was counted is not kept: %+v", last)
	}
	do(moved("p", from, Loose, 5)...) // more than there are: the sum says so
	if s.CountAt("p", from) != -3 {
		t.Errorf("%d at %v, want -3", s.CountAt("p", from), from)
	}
	if c := s.Cell(from).Contents; len(c) != 1 || c[0].Count != -3 {
		t.Errorf("%+v", c)
	}
}

func TestLineageFollowsParentsAcrossPatterns(t *testing.T) {
	p := func(id, parent, name string) Pattern {
		return Pattern{ID: journal.ID(id), Parent: journal.ID(parent), Name: name, Style: FoamStone, Hook: 8}
	}
	s := foldOf(t,
		p("old", "", "first"),              // e0
		p("old", "e0", "shorter"),          // e1
		p("new", "e1", "stub wings"),       // e2: a new fly made from the old one
		p("new", "e2", "darker"),           // e3
		p("old", "e1", "not an ancestor"),  // e4
		p("new", "e2", "on another phone"), // e5
		p("odd", "missing", "parent has not arrived"),
		p("loop", "e8", "its own grandchild"), // e7
		p("loop", "e7", "its own parent"),     // e8
	)
	names := func(id journal.ID) (out []string) {
		for _, r := range s.Lineage(id) {
			out = append(out, string(r.Rev))
		}
		return out
	}
	for id, want := range map[journal.ID][]string{"new": {"e0", "e1", "e2", "e3", "e5"}, "old": {"e0", "e1", "e4"}, "odd": {"e6"}, "loop": {"e7", "e8"}, "nobody": nil} {
		if got := names(id); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", id, got, want)
		}
	}
}

func TestListsRunNewestFirstByWhatTheySay(t *testing.T) {
	s := foldOf(t,
		Sighting{When: "2026-08-14T06:00:00+02:00", Hatch: "early"}, // 04:00 UTC
		Sighting{When: "2026-08-14T05:00:00Z", Hatch: "late"},
		Sighting{When: "2026-08-13T23:00:00-06:00", Hatch: "as late, entered later"}, // 05:00 UTC
	)
	var got []string
	for _, l := range s.Sightings() {
		got = append(got, l.Body.Hatch)
	}
	if want := []string{"as late, entered later", "late", "early"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestNewerAndBrokenEntriesAreCountedAndChangeNothing(t *testing.T) {
	e := func(raw string) journal.Entry {
		e, err := journal.ParseEntry([]byte(raw))
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	s := Fold([]journal.Entry{
		e(`{"id":"1","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"moon","body":{}}`),
		e(`{"id":"2","at":"2026-08-14T05:00:00.000Z-0000-a","v":2,"kind":"note","body":{"text":"in a new way"}}`),
		e(`{"id":"3","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"note","body":{}}`),
		e(`{"id":"4","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"box","body":{"name":7}}`),
		journal.StoredEntry("5", []byte("torn")),
		e(`{"id":"6","at":"2026-08-14T05:00:00.000Z-0000-a","v":1,"kind":"note","body":{"text":"fine","mood":"good"}}`),
	})
	if s.Newer() != 2 || s.Broken() != 3 || len(s.Notes()) != 1 || s.Len() != 6 {
		t.Errorf("newer %d, broken %d, notes %d of %d", s.Newer(), s.Broken(), len(s.Notes()), s.Len())
	}
}

func TestAnEmptyStateShowsNothing(t *testing.T) {
	s := NewState()
	if len(s.Patterns())+len(s.Boxes())+len(s.Sightings())+len(s.Strays())+len(s.Lineage("x"))+len(s.Places("x"))+len(s.Moves("")) != 0 || s.Count("x") != 0 {
		t.Error("something is shown")
	}
	if _, ok := s.Box("x"); ok {
		t.Error("a box is shown")
	}
}

// What a ledger handed out stays as it was, and is read while more is
// recorded: by the race detector as well.
func TestAStateIsNeverChangedAgain(t *testing.T) {
	ctx := t.Context()
	entries := season(t, 3000)
	deletions := 0
	for i := 500; i < len(entries); i += 7 { // of moves and results already there
		deletions++
		entries = append(entries, entryAt(t, journal.ID(fmt.Sprintf("%08d-0000-4000-9000-000000000000", i)), len(entries), "phone", Deleted{Target: entries[i].ID}))
		entries = append(entries, entryAt(t, journal.ID(fmt.Sprintf("%08d-0000-4000-a000-000000000000", i)), len(entries), "phone", Slot{Place: Place{"box-1", 1, 1 + i%10}, Pattern: "fly-1", Want: 1 + i%9}))
		entries = append(entries, entryAt(t, journal.ID(fmt.Sprintf("%08d-0000-4000-b000-000000000000", i)), len(entries), "phone", Pattern{ID: "fly-1", Name: fmt.Sprint("Again ", i), Style: Styles[0], Hook: 8, Body: "#a98545"}))
	}
	l, err := Open(ctx, &memstore.Store{}, Options{Device: "tablet", Now: time.Now, NewID: RandomID})
	if err != nil {
		t.Fatal(err)
	}
	type kept struct {
		state  *State
		digest string
	}
	var all []kept
	var reading sync.WaitGroup
	for i := 0; i < len(entries); i += 50 {
		if _, bad, err := l.Merge(ctx, entries[i:min(i+50, len(entries))]); err != nil || len(bad) > 0 {
			t.Fatal(bad, err)
		}
		if i%150 == 0 {
			s := l.State()
			all = append(all, kept{s, s.Digest()})
			reading.Go(func() { s.CanonicalJSON() })
		}
	}
	reading.Wait()
	for i, k := range all {
		if k.state.Digest() != k.digest {
			t.Errorf("state %d of %d has changed", i, len(all))
		}
	}
	if got, want := l.State().Digest(), Fold(entries).Digest(); got != want {
		t.Error("the last state is not what all entries amount to")
	}
	if deletions < 100 {
		t.Error("nothing was taken back")
	}
}

// season makes a long season: 200 flies, 10 boxes, and moves and results.
func season(tb testing.TB, n int) []journal.Entry {
	rng := rand.New(rand.NewPCG(1, 1))
	var out []journal.Entry
	add := func(b Body) {
		out = append(out, entryAt(tb, journal.ID(fmt.Sprintf("%08d-0000-4000-8000-000000000000", len(out))), len(out), "phone", b))
	}
	flyID := func(i int) journal.ID { return journal.ID(fmt.Sprint("fly-", i)) }
	for i := range 200 {
		add(Pattern{ID: flyID(i), Name: fmt.Sprint("Fly ", i), Style: Styles[i%len(Styles)], Hook: 2 + i%27, Body: "#a98545"})
	}
	for i := range 10 {
		add(Box{ID: journal.ID(fmt.Sprint("box-", i)), Name: fmt.Sprint("Box ", i), Rows: 10, Columns: 10})
	}
	for len(out) < n {
		p := Place{journal.ID(fmt.Sprint("box-", rng.IntN(10))), 1 + rng.IntN(10), 1 + rng.IntN(10)}
		switch rng.IntN(4) {
		case 0:
			add(Outcome{When: "2026-08-14T05:12:00-06:00", Result: Take, Pattern: flyID(rng.IntN(200)), Hatch: "claassenia", Form: "adult-male"})
		case 1:
			add(Sighting{When: "2026-08-14T05:12:00-06:00", Hatch: "claassenia", Form: "adult-male", Evidence: []byte(`{"shucks":["damp-stones"],"length_mm":20}`)})
		default:
			add(StockMove{Pattern: flyID(rng.IntN(200)), Place: &p, Delta: 1 + rng.IntN(6), Why: WhyTied})
		}
	}
	return out
}

func BenchmarkFold50000(b *testing.B) {
	entries := season(b, 50000)
	b.ReportAllocs()
	for b.Loop() {
		if s := Fold(entries); s.Len() != 50000 {
			b.Fatal(s.Len())
		}
	}
}

// BenchmarkClone50000 is what a record costs more where the state was read.
func BenchmarkClone50000(b *testing.B) {
	s := Fold(season(b, 50000))
	b.ReportAllocs()
	for b.Loop() {
		if s.clone().Len() != 50000 {
			b.Fatal(s.Len())
		}
	}
}

func BenchmarkParseAndFold50000(b *testing.B) {
	entries := season(b, 50000)
	b.ReportAllocs()
	for b.Loop() {
		s := NewState()
		for _, e := range entries {
			parsed, err := journal.ParseEntry(e.Raw())
			if err != nil {
				b.Fatal(err)
			}
			s.Apply(parsed)
		}
	}
}

func BenchmarkShow(b *testing.B) {
	s := Fold(season(b, 50000))
	b.Run("patterns", func(b *testing.B) {
		for b.Loop() {
			s.Patterns()
		}
	})
	b.Run("boxes", func(b *testing.B) {
		for b.Loop() {
			s.Boxes()
		}
	})
	b.Run("box", func(b *testing.B) {
		for b.Loop() {
			s.Box("box-3")
		}
	})
	b.Run("places", func(b *testing.B) {
		for b.Loop() {
			s.Places("fly-3")
		}
	})
}
