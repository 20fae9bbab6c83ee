package app

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/app/bench"
)

// benchBodies are two flies, one of which lacks 4 in its slot, and an order.
func benchBodies() []flybox.Body {
	at := flybox.Place{Box: "boat", Row: 1, Slot: 2}
	return []flybox.Body{
		flybox.Box{ID: "boat", Name: "Boat box", Rows: 2, Columns: 3},
		flybox.Pattern{ID: "hopper", Name: "Tan hopper", Style: flybox.Hopper, Hook: 10, Body: "#c49a5a"},
		flybox.Pattern{ID: "olive", Name: "Small olive", Style: flybox.ParachuteDun, Hook: 18, Body: "#6f7044"},
		flybox.Slot{Place: at, Pattern: "olive", Want: 5},
		flybox.StockMove{Pattern: "olive", Place: &at, Delta: 1, Why: flybox.WhyTied},
		flybox.Order{ID: "lodge", For: "Ember lodge", Pattern: "hopper", Count: 6, Due: "2026-09-20"},
	}
}

func (b *fixture) record(bodies ...flybox.Body) {
	b.Helper()
	if _, err := b.ledger.Record(b.Context(), bodies...); err != nil {
		b.Fatal(err)
	}
}

func (b *fixture) orderNow(id string) (o flybox.OrderNow) {
	b.Helper()
	b.state(func(s *flybox.State) {
		var ok bool
		if o, ok = s.OrderNow(journal.ID(id)); !ok {
			b.Fatalf("no order %s", id)
		}
	})
	return o
}

func (b *fixture) onHand(id string) (amount float64) {
	b.state(func(s *flybox.State) { m, _ := s.MaterialOnHand(journal.ID(id)); amount = m.Amount })
	return amount
}

// jobForm are the fields of the nth job, so many tied.
func (d *doc) jobForm(n int, count string) []string {
	d.Helper()
	fields := d.form("/bench/tied", n)
	for i := 0; i < len(fields); i += 2 {
		if strings.HasPrefix(fields[i], "n.") {
			fields[i+1] = count
		}
	}
	return fields
}

func TestBenchTiesForAnOrderAndASlot(t *testing.T) {
	b := newFixture(t, false)
	b.get("/bench", http.StatusOK).wants("Nothing to tie", "Wear glasses at the vise")
	b.record(benchBodies()...)
	d := b.get("/bench", http.StatusOK)
	d.wants("10 flies to tie", "One evening of 2 h is enough: about 2 h in all", "Order: Ember lodge", "By 20 September 2026", "For Boat box, row 1, slot 2", "No recipe yet")

	// Three for the order: a double tap counts once, and one tap can be undone.
	three := d.jobForm(0, "3")
	b.saved("/bench/tied", three...).wants("Saved: 3 tied.", "06:30: 3 tied, Tan hopper", "Take back")
	before := b.entries()
	b.saved("/bench/tied", three...)
	b.app = New(b.config) // the application started anew between the taps
	b.saved("/bench/tied", three...)
	if b.entries() != before {
		t.Error("a double tap counts twice")
	}
	if o := b.orderNow("lodge"); o.Tied != 3 || o.ToTie() != 3 || o.Handed != 0 {
		t.Errorf("order %+v", o)
	}
	d = b.get("/bench", http.StatusOK)
	b.saved("/bench/tied", d.jobForm(0, "2")...)
	d = b.get("/bench", http.StatusOK)
	undo := d.form("/bench/untied", 0)
	b.saved("/bench/untied", undo...).wants("Taken back")
	if o := b.orderNow("lodge"); o.Tied != 3 {
		t.Errorf("after taking back %d are tied, want 3", o.Tied)
	}
	if w := b.send("/bench/untied", with(undo, "form", "another")...); w.Code != http.StatusNotFound {
		t.Errorf("taking back what was taken back: status %d", w.Code)
	}

	// The four for the slot go into it.
	d = b.get("/bench", http.StatusOK)
	b.saved("/bench/tied", d.jobForm(1, "4")...)
	b.state(func(s *flybox.State) {
		if n := s.CountAt("olive", flybox.Place{Box: "boat", Row: 1, Slot: 2}); n != 5 {
			t.Errorf("%d in the slot, want 5", n)
		}
		if n := s.CountAt("hopper", flybox.Loose); n != 3 {
			t.Errorf("%d for the order, want 3 loose", n)
		}
	})
	if d = b.get("/bench", http.StatusOK); strings.Contains(d.text(), "Small olive") && strings.Contains(d.byID("queue"), "Small olive") {
		t.Error("a full slot is still in the queue")
	}
}

func TestBenchRefusesWhatIsNoCount(t *testing.T) {
	b := newFixture(t, false)
	b.record(benchBodies()...)
	for typed, says := range map[string]string{"": "This is needed", "some": "is not a number", "0": "Must be from 1 to 999", "-2": "Must be from 1 to 999", "1000": "Must be from 1 to 999", "2.5": "is not a number"} {
		before := b.entries()
		form := b.get("/bench", http.StatusOK).jobForm(1, typed)
		w := b.send("/bench/tied", form...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), says) || b.entries() != before {
			t.Errorf("%q: status %d", typed, w.Code)
		}
		if got := d.jobForm(1, "1"); got[1] != form[1] {
			t.Errorf("%q: the form has a new id", typed)
		}
		bad := d.all(func(n *html.Node) bool { return attr(n, "aria-invalid") == "true" })
		if len(bad) != 1 || attr(bad[0], "value") != typed {
			t.Errorf("%q: %d fields are marked", typed, len(bad))
		}
	}
	if w := b.send("/bench/tied", "job", "x", "n.x", "1", "fly", "nothing", "place", "loose"); w.Code != http.StatusNotFound {
		t.Errorf("a fly that is not there: status %d", w.Code)
	}
	if w := b.send("/bench/tied", "job", "x", "n.x", "1", "fly", "olive", "place", "over there"); w.Code != http.StatusBadRequest {
		t.Errorf("no place: status %d", w.Code)
	}
	// The box went away meanwhile: the flies are loose, not lost.
	b.saved("/bench/tied", "job", "x", "n.x", "2", "fly", "olive", "place", "1.1.gone", "order", "gone")
	b.state(func(s *flybox.State) {
		if n := s.CountAt("olive", flybox.Loose); n != 2 {
			t.Errorf("%d loose, want 2", n)
		}
	})
}

func TestBenchWith600Flies(t *testing.T) {
	b := newFixture(t, false)
	bodies := []flybox.Body{flybox.Box{ID: "big", Name: "Big box", Rows: 30, Columns: 20}}
	for i := range 600 {
		id := fmt.Sprint("f", i)
		bodies = append(bodies, flybox.Pattern{ID: journal.ID(id), Name: fmt.Sprintf("Fly %03d", i), Style: flybox.Beetle, Hook: 12},
			flybox.Slot{Place: flybox.Place{Box: "big", Row: 1 + i/20, Slot: 1 + i%20}, Pattern: journal.ID(id), Want: 1 + i%7})
	}
	b.record(bodies...)
	path, seen := "/bench", 0
	for pages := 0; path != ""; pages++ {
		if pages > 20 {
			t.Fatal("the list has no end")
		}
		d := b.get(path, http.StatusOK)
		forms := d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == "/bench/tied" })
		if len(forms) == 0 || len(forms) > bench.BenchPart {
			t.Fatalf("%s shows %d", path, len(forms))
		}
		seen += len(forms)
		path = ""
		for _, n := range d.all(func(n *html.Node) bool { return n.Data == "a" && strings.HasPrefix(attr(n, "href"), "/bench?from=") }) {
			path = attr(n, "href")
		}
	}
	if seen != 600 {
		t.Errorf("%d jobs are shown, want 600", seen)
	}
	b.get("/bench?from=-5", http.StatusOK)
	b.get("/bench?from=99999", http.StatusOK)
	// Tied on a later part, it comes back to that part.
	w := b.send("/bench/tied", b.get("/bench?from=60", http.StatusOK).jobForm(0, "1")...)
	if to := w.Header().Get("Location"); !strings.Contains(to, "from=60") {
		t.Errorf("leads to %s", to)
	}
}

func TestBenchSaysWhatIsOverdue(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/bench", http.StatusOK)
	// The demo's orders were due in August.
	d.wants("Overdue: 20 August 2026", "16 of them are overdue", "Order: the second boat")
	b.prefs = "lang=es"
	b.get("/bench", http.StatusOK).wants("Banco", "Con retraso: 20 de agosto de 2026", "16 van con retraso")
}

func TestBenchTakesInTripsAhead(t *testing.T) {
	b := newFixture(t, true)
	id := b.tripOf(canyon("boxes", string(demo.ID("boat-box")))...)
	d := b.get("/bench", http.StatusOK)
	d.wants("Trip: Canyon float", "By 14 September 2026")
	// A trip that is over asks for nothing.
	b.saved("/trip/"+id+"/edit", canyon("from", "2026-09-01", "to", "2026-09-02")...)
	if strings.Contains(b.get("/bench", http.StatusOK).text(), "Trip: Canyon float") {
		t.Error("a past trip is in the queue")
	}
}

func TestOrderFromWishToHandedOver(t *testing.T) {
	b := newFixture(t, false)
	b.get("/bench/order/new", http.StatusOK).wants("There is no fly to order yet")
	b.record(benchBodies()[:3]...)
	b.get("/bench/orders", http.StatusOK).wants("No open order")
	form := []string{"form", "form-1", "for", "the second boat", "pattern", "hopper", "count", "5", "due", "2026-09-10", "note", "Short ones."}
	d := b.saved("/bench/order/new", form...)
	d.wants("the second boat", "0 of 5 tied, 0 handed over", "Overdue: 10 September 2026", "None of these flies is there")
	b.saved("/bench/order/new", form...)
	b.state(func(s *flybox.State) {
		if n := len(s.Orders()); n != 1 {
			t.Errorf("%d orders, want 1", n)
		}
	})
	var id string
	b.state(func(s *flybox.State) { id = string(s.Orders()[0].Body.ID) })
	href := "/bench/order/" + id
	b.saved("/bench/tied", b.get("/bench", http.StatusOK).jobForm(0, "4")...)
	d = b.get(href, http.StatusOK)
	d.wants("4 of 5 tied")
	if got := d.value("n"); got != "4" {
		t.Errorf("offers to hand over %s, want 4", got)
	}
	for typed, says := range map[string]string{"": "needed", "9": "Must be from 1 to 4", "all": "not a number"} {
		w := b.send(href+"/hand", "n", typed)
		if d := parse(t, w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), says) || d.value("n") != typed {
			t.Errorf("%q: status %d", typed, w.Code)
		}
	}
	hand := []string{"form", "hand-1", "n", "3"}
	b.saved(href+"/hand", hand...).wants("Saved: 3 handed over.", "4 of 5 tied, 3 handed over", "1 left")
	b.saved(href+"/hand", hand...)
	if o := b.orderNow(id); o.Handed != 3 {
		t.Errorf("a double tap handed over %d", o.Handed)
	}
	// Fewer are wished for: it is done.
	b.saved(href+"/edit", with(form, "count", "3")...).wants("1 left") // the same form id is a tap that was done before
	b.saved(href+"/edit", with(with(form, "count", "3"), "form", "form-2")...).wants("All handed over: 3")
	b.get("/bench/orders", http.StatusOK).wants("No open order", "Handed over")
	b.saved(href+"/remove", "form", "rm-1").wants("No open order")
	b.get(href, http.StatusNotFound)
	b.get(href+"/edit", http.StatusNotFound)
	if w := b.send(href+"/hand", "n", "1"); w.Code != http.StatusNotFound {
		t.Errorf("handing over for no order: status %d", w.Code)
	}
}

func TestOrderWithWrongInput(t *testing.T) {
	b := newFixture(t, false)
	b.record(benchBodies()[:3]...)
	form := []string{"for", "the second boat", "pattern", "hopper", "count", "5", "due", "2026-09-20", "note", ""}
	for _, c := range []struct{ field, typed, says string }{
		{"for", "", "For whom: This is needed"}, {"for", strings.Repeat("x", 121), "Too long"}, {"pattern", "gone", "not known"}, {"pattern", "", "needed"},
		{"count", "a few", "is not a number"}, {"count", "0", "Must be from 1 to 999"}, {"due", "soon", "is not a date"}, {"note", strings.Repeat("n", 4001), "Too long"},
	} {
		before := b.entries()
		w := b.send("/bench/order/new", with(form, c.field, c.typed)...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), c.says) || b.entries() != before {
			t.Errorf("%s %.20q: status %d, page lacks %q: %.300s", c.field, c.typed, w.Code, c.says, d.byID("main"))
		}
		if got := d.value(c.field); c.field != "pattern" && got != c.typed {
			t.Errorf("%s: %.20q is gone", c.field, c.typed)
		}
	}
}

func TestRecipeAndWhatItUses(t *testing.T) {
	b := newFixture(t, false)
	b.record(benchBodies()...)
	const fly = "/box/fly/hopper"
	b.get(fly, http.StatusOK).wants("No recipe yet", "New order")
	chosen := b.get("/bench/order/new?fly=hopper", http.StatusOK).all(func(n *html.Node) bool { return n.Data == "option" && attr(n, "value") == "hopper" })
	if len(chosen) != 1 || !strings.Contains(fmt.Sprint(chosen[0].Attr), "selected") {
		t.Error("an order from the page of a fly is not for that fly")
	}
	d := b.get("/bench/recipe/hopper", http.StatusOK)
	d.wants("usually made of", "not saved yet")
	if got := d.value("name0"); got != "Hook #10" {
		t.Errorf("begins with %q", got)
	}
	recipe := []string{"form", "r-1", "name0", "Hook #10", "amount0", "1", "unit0", "piece", "name1", "Foam 2 mm", "colour1", "Tan", "amount1", "24.5", "unit1", "mm",
		"name2", "Thread", "amount2", "40", "unit2", "turn", "note2", "flat", "minutes", "15", "steps", "Tie in.\nFold."}
	b.saved("/bench/recipe/hopper", recipe...).wants("Foam 2 mm, Tan: 24.5 mm", "Thread: 40 turns (flat)", "15 minutes a fly", "Fold.")
	b.saved("/bench/material/new", "form", "m-1", "name", "foam 2 MM", "colour", "tan", "unit", "mm", "amount", "100")
	b.saved("/bench/material/new", "form", "m-2", "name", "Hook #10", "unit", "piece", "amount", "20").wants("20 pieces", "100 mm")
	var foam string
	b.state(func(s *flybox.State) {
		for _, m := range s.Materials() {
			if m.Unit == flybox.Millimetres {
				foam = string(m.ID)
			}
		}
	})
	d = b.get("/bench", http.StatusOK)
	d.wants("15 minutes each, 90 in all", "Short of: Foam 2 mm, Tan")
	// By hand: 6 x 24.5 = 147, 100 are there, 47 to buy; thread is not counted.
	b.get("/bench/shopping", http.StatusOK).wants("Foam 2 mm, Tan", "47 mm", "Needed 147 mm, there 100 mm", "240 turns", "4 flies have no recipe", "Needed 6 pieces, there 20 pieces")
	for _, n := range b.get("/bench/shopping", http.StatusOK).all(func(n *html.Node) bool { return strings.HasPrefix(attr(n, "href"), "/bench/material/new?") }) {
		if got := b.get(attr(n, "href"), http.StatusOK).value("name"); got != "Thread" {
			t.Errorf("%s offers to count %q", attr(n, "href"), got)
		}
	}
	text := b.do(req("GET", "/bench/shopping.txt")).Body.String()
	if !strings.Contains(strings.ReplaceAll(text, "\u00a0", " "), "[ ] 47 mm  Foam 2 mm, Tan\n") {
		t.Errorf("as text:\n%s", text)
	}
	b.saved("/bench/tied", d.jobForm(0, "2")...)
	if got := b.onHand(foam); got != 51 {
		t.Errorf("%v mm are left, want 51", got)
	}
	b.saved("/bench/untied", b.get("/bench", http.StatusOK).form("/bench/untied", 0)...)
	if got := b.onHand(foam); got != 100 {
		t.Errorf("taken back, %v mm are there, want 100", got)
	}
	// Copied to the other fly, not saved before somebody says so.
	before := b.entries()
	d = b.get("/bench/recipe/olive?from=hopper", http.StatusOK)
	d.wants("Copied from Tan hopper. Not saved yet.")
	if d.value("name1") != "Foam 2 mm" || d.value("amount1") != "24.5" || b.entries() != before {
		t.Errorf("copied %q %q", d.value("name1"), d.value("amount1"))
	}
	b.get("/bench/recipe/olive?from=nothing", http.StatusOK)
	// Taken away again: all fields empty.
	b.saved("/bench/recipe/hopper", "form", "r-2", "name0", "", "minutes", "", "steps", "").wants("No recipe yet")
	b.get("/bench/recipe/nothing", http.StatusNotFound)
}

func TestRecipeWithWrongInput(t *testing.T) {
	b := newFixture(t, false)
	b.record(benchBodies()...)
	for _, c := range []struct {
		fields []string
		says   string
	}{
		{[]string{"name0", "", "amount0", "3", "unit0", "piece"}, "Name: This is needed"},
		{[]string{"name0", "Foam", "amount0", "a strip", "unit0", "mm"}, "“a strip” is not a number"},
		{[]string{"name0", "Foam", "amount0", "-1", "unit0", "mm"}, "Must be from 0"},
		{[]string{"name0", "Foam", "amount0", "1", "unit0", "stone"}, "not known"},
		{[]string{"name0", strings.Repeat("x", 121), "unit0", "mm"}, "Too long"},
		{[]string{"name0", "Foam", "unit0", "mm", "minutes", "999"}, "Must be from 0 to 240"},
		{[]string{"name0", "Foam", "unit0", "mm", "steps", strings.Repeat("x", 4001)}, "Too long"},
	} {
		before := b.entries()
		w := b.send("/bench/recipe/hopper", c.fields...)
		d := parse(t, w.Body.String())
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), c.says) || b.entries() != before {
			t.Errorf("%.60q: status %d, lacks %q: %.300s", c.fields, w.Code, c.says, d.byID("main"))
		}
		if c.fields[1] != d.value("name0") {
			t.Errorf("%.60q: what was typed is gone", c.fields)
		}
	}
}

// In inches a recipe that is saved unchanged stays what it was.
func TestRecipeInInchesKeepsItsMillimetres(t *testing.T) {
	b := newFixture(t, false)
	b.record(benchBodies()...)
	b.record(flybox.Recipe{ID: "hopper", Minutes: 9, Lines: []flybox.RecipeLine{{Name: "Foam", Amount: 24, Unit: flybox.Millimetres}}})
	b.prefs = "lang=en&len=in"
	d := b.get("/bench/recipe/hopper", http.StatusOK)
	if got := d.value("amount0"); got != "0.945" { // 24 / 25.4
		t.Errorf("shown as %q", got)
	}
	b.saved("/bench/recipe/hopper", "name0", "Foam", "amount0", "0.945", "unit0", "mm", "minutes", "8")
	b.state(func(s *flybox.State) {
		if l, _ := s.Recipe("hopper"); l.Body.Lines[0].Amount != 24 || l.Body.Minutes != 8 {
			t.Errorf("recipe %+v", l.Body)
		}
	})
	b.saved("/bench/recipe/hopper", "name0", "Foam", "amount0", "1", "unit0", "mm", "minutes", "8")
	b.state(func(s *flybox.State) {
		if l, _ := s.Recipe("hopper"); l.Body.Lines[0].Amount != 25.4 {
			t.Errorf("recipe %+v", l.Body)
		}
	})
}

func TestMaterialBoughtUsedCounted(t *testing.T) {
	b := newFixture(t, false)
	b.get("/bench/materials", http.StatusOK).wants("No material counted yet")
	for _, c := range []struct{ field, typed, says string }{{"name", "", "needed"}, {"unit", "stone", "not known"}, {"amount", "lots", "not a number"}, {"amount", "-3", "Must be from 0"}} {
		w := b.send("/bench/material/new", with([]string{"name", "Hook", "unit", "piece", "amount", "5"}, c.field, c.typed)...)
		if d := parse(t, w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), c.says) {
			t.Errorf("%s %q: status %d", c.field, c.typed, w.Code)
		}
	}
	made := []string{"form", "m-1", "name", "Hook", "unit", "piece", "amount", "5"}
	b.saved("/bench/material/new", made...)
	b.saved("/bench/material/new", made...)
	var id string
	b.state(func(s *flybox.State) {
		if n := len(s.Materials()); n != 1 {
			t.Fatalf("%d materials, want 1", n)
		}
		id = string(s.Materials()[0].ID)
	})
	href := "/bench/material/" + id
	b.saved(href+"/count", "form", "c-1", "why", "bought", "amount", "10")
	b.saved(href+"/count", "form", "c-1", "why", "bought", "amount", "10")
	b.saved(href+"/count", "form", "c-2", "why", "used", "amount", "20").wants("none", "Count it again")
	if got := b.onHand(id); got != -5 {
		t.Errorf("%v on hand, want -5", got)
	}
	for typed, says := range map[string]string{"": "needed", "some": "not a number", "-1": "Must be from 0"} {
		w := b.send(href+"/count", "why", "counted", "amount", typed)
		if d := parse(t, w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), says) || d.value("amount") != typed {
			t.Errorf("%q: status %d", typed, w.Code)
		}
	}
	if w := b.send(href+"/count", "why", "eaten", "amount", "1"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("eaten: status %d", w.Code)
	}
	if w := b.send(href+"/count", "why", "bought", "amount", "0"); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("bought none: status %d", w.Code)
	}
	b.saved(href+"/count", "why", "counted", "amount", "7").wants("7 pieces")
	w := b.send(href+"/edit", "name", "Hook", "unit", "mm")
	if d := parse(t, w.Body.String()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(d.text(), "counted in another unit") {
		t.Errorf("another unit: status %d", w.Code)
	}
	b.saved(href+"/edit", "name", "Wide hook", "unit", "piece").wants("Wide hook")
	b.saved(href+"/remove", "form", "x").wants("No material counted yet")
	b.get(href, http.StatusNotFound)
}

// req is a request without a body.
func req(method, path string) *http.Request {
	r, err := http.NewRequest(method, path, nil)
	if err != nil {
		panic(err)
	}
	return r
}

// Two phones without signal tie for the same order: once both have met, both
// count, and the order shows the sum.
func TestTwoPhonesTieForOneOrder(t *testing.T) {
	a, c := newFixtureOf(t, "one", false), newFixtureOf(t, "other", false)
	a.record(benchBodies()...)
	exchange := func(from, to *fixture) {
		t.Helper()
		entries, err := from.ledger.Store().Load(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if _, bad, err := to.ledger.Merge(t.Context(), entries); err != nil || len(bad) > 0 {
			t.Fatal(err)
		}
	}
	exchange(a, c)
	a.saved("/bench/tied", a.get("/bench", http.StatusOK).jobForm(0, "2")...)
	c.saved("/bench/tied", c.get("/bench", http.StatusOK).jobForm(0, "3")...)
	exchange(a, c)
	exchange(c, a)
	for name, b := range map[string]*fixture{"one": a, "other": c} {
		if o := b.orderNow("lodge"); o.Tied != 5 || o.ToTie() != 1 {
			t.Errorf("%s phone: %d tied, %d to tie; want 5 and 1", name, o.Tied, o.ToTie())
		}
	}
}
