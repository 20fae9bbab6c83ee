package app

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/server/app/caches"
	"dampstone/views/catalog"
)

// redDrake is the form for an invented insect that no pack has the like of.
func redDrake(change ...string) []string {
	f := map[string][]string{
		"name": {"Invented red drake"}, "group": {"mayfly"}, "stage": {"dun"},
		"from_month": {"11"}, "from_day": {"1"}, "to_month": {"11"}, "to_day": {"30"},
		"length_from": {"31"}, "length_to": {"35"}, "colour": {"#8a4526"}, "abundance": {"1"},
		"wings": {"upright"}, "tails": {"2"}, "doing": {"drifting"}, "where": {"flat", "seam"}, "shucks": {"film"},
	}
	for i := 0; i+1 < len(change); i += 2 {
		f[change[i]] = strings.Fields(change[i+1])
		if change[i] == "name" || change[i] == "scientific" {
			f[change[i]] = []string{change[i+1]}
		}
	}
	var out []string
	for k, vs := range f {
		for _, v := range vs {
			out = append(out, k, v)
		}
	}
	return out
}

// idOfForm is the part of a page that is another each time.
var idOfForm = regexp.MustCompile(`value="[0-9a-f-]{36}"`)

// ownBareID is a catalogue id shown in place of its sentence.
var ownBareID = regexp.MustCompile(`\b(?:own|standing|setup|field|bad|ask|value|stage|group|region|colour)\.[a-z]`)

const redEvidence = "month=11&length=32&unit=mm&wings=upright&tails=2&colour=%238a4526&doing=drifting"

// onlyHatch is the one hatch in the ledger.
func (b *fixture) onlyHatch() (h flybox.Hatch) {
	b.Helper()
	s := b.ledger.State()
	list := s.Hatches()
	if len(list) != 1 {
		b.Fatalf("%d hatches in the ledger, want 1", len(list))
	}
	h = list[0].Body
	return h
}

func TestAnOwnHatchLeadsForItsEvidenceUntilItIsRemoved(t *testing.T) {
	b := newFixture(t, true)
	if lead := b.get("/?"+redEvidence, http.StatusOK).byID("lead"); strings.Contains(lead, "red drake") {
		t.Fatal("it leads before it was added")
	}
	b.saved("/hatches/new", redDrake()...).wants("Saved", "Invented red drake", "Western North America")
	id := b.onlyHatch().ID
	d := b.get("/?"+redEvidence, http.StatusOK)
	if lead := d.byID("lead"); !strings.Contains(lead, "Invented red drake") || !strings.Contains(lead, "Own") {
		t.Errorf("lead: %s", lead)
	}
	d = b.get(string("/hatch/own-"+id), http.StatusOK)
	d.wants("Own observation", "1 November to 30 November", "31–35", "Change", "common practice")
	b.get(string("/compare?h=own-"+id+"&h=baetis&"+redEvidence), http.StatusOK).wants("Invented red drake", "Own")

	// A fly tied for it fits it, and says that it suits it.
	b.saved("/box/fly/new", "name", "Big red dun", "style", "upright-dun", "length_mm", "33", "hook", "4", "body", "#8a4526", "wing", "#84827b", "count", "2")
	b.get(string("/hatch/own-"+id), http.StatusOK).wants("Big red dun")
	d = b.get("/?"+redEvidence, http.StatusOK)
	d.wants("Big red dun")

	// Changed, it is another insect.
	b.saved(string("/hatches/"+id+"/edit"), redDrake("name", "Invented small drake", "length_from", "3", "length_to", "4", "from_month", "5", "to_month", "6", "tails", "0")...)
	if lead := b.get("/?"+redEvidence, http.StatusOK).byID("lead"); strings.Contains(lead, "drake") {
		t.Errorf("an insect of 4 mm leads for one of 32: %s", lead)
	}
	b.get(string("/hatch/own-"+id), http.StatusOK).wants("Invented small drake")

	// It belongs to the region that it was added to.
	b.prefs = "lang=en&region=europe"
	b.get(string("/hatch/own-"+id), http.StatusNotFound)
	d = b.get("/hatches", http.StatusOK)
	d.wants("Invented small drake", "Western North America")
	b.prefs = "lang=en"

	b.saved(string("/hatches/"+id+"/remove")).wants("Removed", "None added yet")
	b.get(string("/hatch/own-"+id), http.StatusNotFound)
	if lead := b.get("/?"+redEvidence, http.StatusOK).byID("lead"); strings.Contains(lead, "drake") {
		t.Errorf("it leads after it was removed: %s", lead)
	}
}

func TestTheFormOfAnOwnHatchKeepsWhatIsInIt(t *testing.T) {
	b := newFixture(t, false)
	b.prefs = "lang=es&len=in"
	b.saved("/hatches/new", redDrake("length_from", "1,22", "length_to", "1,38", "from_month", "12", "from_day", "20", "to_month", "1", "to_day", "10", "hours_from", "18:30", "hours_to", "1",
		"water", "tailwater", "second_stage", "nymph", "second_length_from", "1,1", "second_length_to", "1,3", "second_colour", "#6b6a35 #5f4630")...)
	h := caches.LocalHatch(b.onlyHatch())
	if h.Season[0].From != "12-20" || h.Season[0].To != "01-10" || h.Names["es"] != "Invented red drake" || len(h.Forms) != 2 {
		t.Fatalf("saved %+v", h)
	}
	if f := h.Forms[0]; f.Length.From < 30.9 || f.Length.From > 31.1 || f.Hours.From != 18.5 || f.Hours.To != 1 || len(f.Where.Of) != 2 {
		t.Errorf("saved %+v", f)
	}
	if f := h.Forms[1]; f.Stage != hatchkeys.Nymph || !slices.Equal(f.Colour.Body, []string{"#6b6a35", "#5f4630"}) {
		t.Errorf("saved %+v", f)
	}
	// Saved again as it stands in the form, it is the same.
	id := b.onlyHatch().ID
	before := string(b.onlyHatch().Hatch)
	d := b.get(string("/hatches/"+id+"/edit"), http.StatusOK)
	var fields []string
	for k, vs := range d.formValues(string("/hatches/" + id + "/edit")) {
		for _, v := range vs {
			fields = append(fields, k, v)
		}
	}
	entries := b.entries()
	b.saved(string("/hatches/"+id+"/edit"), fields...)
	if b.entries() != entries {
		t.Error("a form that changes nothing is written down")
	}
	if after := string(b.onlyHatch().Hatch); after != before {
		t.Errorf("was %s\nis  %s", before, after)
	}
}

// formValues are what a browser would send of the form with an action.
func (d *doc) formValues(action string) url.Values {
	v := url.Values{}
	for _, f := range d.all(func(n *html.Node) bool { return n.Data == "form" && attr(n, "action") == action }) {
		for n := range f.Descendants() {
			has := func(key string) bool {
				return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
			}
			switch kind := attr(n, "type"); {
			case n.Data == "option" && has("selected"):
				v.Add(attr(n.Parent, "name"), attr(n, "value"))
			case n.Data == "input" && (kind == "checkbox" || kind == "radio") && !has("checked"):
			case n.Data == "input":
				v.Add(attr(n, "name"), attr(n, "value"))
			}
		}
	}
	return v
}

// What the form has no field for is not lost when it is saved.
func TestChangingAnOwnHatchKeepsWhatTheFormDoesNotShow(t *testing.T) {
	b := newFixture(t, false)
	raw := `{"name":{"en":"Invented"},"group":"stonefly","abundance":1.4,"travels":true,"water_c":{"from":8,"to":12},"trend":{"of":{"dropping":3}},
		"season":[{"from":"08-01","to":"08-31"},{"from":"05-01","to":"05-09","weight":0.5}],
		"forms":[{"stage":"shuck","length":{"from":20,"to":30},"colour":{"body":["#b89a5e"]}},
			{"stage":"adult","sex":"male","share":2,"fed":0.75,"length":{"from":17.25,"to":24},"colour":{"body":["#a98545"],"wing":"#8f7a4e"},"wings":{"of":{"short":96,"none":4}},"fish":{"of":{"edge":1}},"tactics":["edge-first"]},
			{"stage":"adult","sex":"female","length":{"from":26,"to":36},"colour":{"body":["#a98545"]}}]}`
	if _, err := b.ledger.Record(context.Background(), flybox.Hatch{ID: "w", Region: "west-na", Hatch: []byte(raw)}); err != nil {
		t.Fatal(err)
	}
	d := b.get("/hatches/w/edit", http.StatusOK)
	var fields []string
	for k, vs := range d.formValues("/hatches/w/edit") {
		for _, v := range vs {
			if k == "name" {
				v = "Invented anew"
			}
			fields = append(fields, k, v)
		}
	}
	b.saved("/hatches/w/edit", fields...)
	h := caches.LocalHatch(b.onlyHatch())
	if h.Name("en") != "Invented anew" || h.Abundance != 1.4 || !h.Travels || h.WaterC.To != 12 || h.Trend.Of["dropping"] != 3 || len(h.Season) != 2 || len(h.Forms) != 3 {
		t.Fatalf("kept %+v", h)
	}
	m := h.Form("adult-male")
	if m == nil || m.Share != 2 || m.Fed != 0.75 || m.Length.From != 17.25 || m.Colour.Wing != "#8f7a4e" || m.Colour.Body[0] != "#a98545" || m.Wings.Of["short"] != 96 || m.Fish == nil || len(m.Tactics) != 1 {
		t.Errorf("kept %+v", m)
	}
	if h.Form("adult-female") == nil || h.Form("shuck") == nil {
		t.Error("another form is lost")
	}
}

func TestBadOwnHatches(t *testing.T) {
	rows := []struct{ name, field, value, sentence string }{
		{"no name", "name", "", "What you call it: This is needed."},
		{"a name too long", "name", strings.Repeat("ñ", 121), "What you call it: Too long: at most 120 characters."},
		{"a bell in the name", "name", "a\x07b", "Has a character that cannot be shown"},
		{"no kind", "group", "", "Kind of insect: This is needed."},
		{"a kind that is none", "group", "kraken", "Kind of insect: That choice is not known"},
		{"a stage that is none", "stage", "ghost", "Stage that you saw: That choice is not known"},
		{"no such day", "to_day", "31", "To day: “31 November” is not a date."},
		{"day 99", "from_day", "99", "From day: That choice is not known"},
		{"month 0", "from_month", "0", "From month: That choice is not known"},
		{"no length", "length_from", "", "Body from: This is needed."},
		{"text for a length", "length_to", "big", "Body to: “big” is not a number"},
		{"longer than any insect", "length_to", "900", "Body to: Must be from 0.5 mm to 90 mm."},
		{"no number", "length_from", "NaN", "is not a number"},
		{"upside down", "length_to", "30", "Body to: Must not be less than where it begins."},
		{"no colour", "colour", "", "Body colour: This is needed."},
		{"a colour that is none", "colour", "red", "Body colour: “red” is not a colour"},
		{"a wing state that is none", "wings", "purple", "That choice is not known"},
		{"how common, in words", "abundance", "very", "How common is it at its height?: That choice is not known"},
		{"without end", "abundance", "Inf", "How common is it at its height?: That choice is not known"},
		{"half of the hours", "hours_from", "18:00", "To: This is needed."},
		{"hour 25", "hours_from", "25", "From: Must be from 0 to 24."},
		{"a second stage without length", "second_stage", "nymph", "Its body from: This is needed."},
		{"a second length without stage", "second_length_from", "9", "Stage before it: This is needed."},
		{"more colours than an insect has", "colour", "#000001 #000002 #000003 #000004 #000005 #000006 #000007", "Body colour: Must be from 1 to 6."},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			for _, at := range []string{"new", "w/edit"} {
				b := newFixture(t, false)
				if at != "new" {
					if row.name == "a second length without stage" {
						continue // a second stage that is taken away may leave its length behind
					}
					b.saved("/hatches/new", redDrake()...)
					at = string(b.onlyHatch().ID + "/edit")
				}
				before := b.entries()
				w := b.send("/hatches/"+at, redDrake(row.field, row.value, "scientific", "Kept as typed")...)
				if w.Code != http.StatusUnprocessableEntity {
					t.Fatalf("status %d", w.Code)
				}
				d := parse(t, w.Body.String())
				d.wants(row.sentence)
				if d.value("scientific") != "Kept as typed" {
					t.Error("what was typed is gone")
				}
				if b.entries() != before {
					t.Error("something was saved")
				}
				if d.root == nil || len(d.all(func(n *html.Node) bool { return attr(n, "aria-invalid") == "true" })) == 0 {
					t.Error("no field is marked")
				}
			}
		})
	}
	// In Spanish the sentences are Spanish.
	b := newFixture(t, false)
	b.prefs = "lang=es"
	parse(t, b.send("/hatches/new", redDrake("to_day", "31")...).Body.String()).wants("Hasta el día: «31 de noviembre» no es una fecha")
}

func TestAHostileHatchIsEscaped(t *testing.T) {
	const name = `<script>x</script>"'&amp;{{.Name}}</title><img src=x onerror=x>`
	b := newFixture(t, true)
	b.saved("/hatches/new", redDrake("name", name, "scientific", `<b onclick=x>"Evil"</b>`)...)
	id := b.onlyHatch().ID
	for _, path := range []string{"/hatches", "/?" + redEvidence, string("/hatch/own-" + id), string("/hatches/" + id + "/edit"), string("/compare?h=baetis&h=own-" + id + "&" + redEvidence)} {
		d := b.get(path, http.StatusOK)
		if strings.Contains(d.raw, "<script>x") || strings.Contains(d.raw, "<img src=x") || strings.Contains(d.raw, "<b onclick") || !strings.Contains(d.text(), "<script>x</script>") {
			t.Errorf("%s: not escaped", path)
		}
		for _, n := range d.all(func(n *html.Node) bool { return attr(n, "onerror") != "" || attr(n, "onclick") != "" }) {
			t.Errorf("%s: <%s> with a handler", path, n.Data)
		}
	}
	if len(b.get(string("/hatch/own-"+id), http.StatusOK).all(func(n *html.Node) bool { return n.Data == "title" })) != 1 {
		t.Error("the title broke out")
	}
}

// The same entries in any order, in pieces, on another device, give the same
// key.
func TestTheSameEntriesGiveTheSameKey(t *testing.T) {
	b := newFixture(t, true)
	for i := range 3 {
		b.saved("/hatches/new", redDrake("name", fmt.Sprint("Drake ", i), "length_from", fmt.Sprint(9+7*i), "length_to", fmt.Sprint(12+7*i))...)
	}
	var ids []string
	s := b.ledger.State()
	for _, l := range s.Hatches() {
		ids = append(ids, string(l.Body.ID))
	}
	b.saved("/hatches/"+ids[0]+"/edit", redDrake("name", "Drake again")...)
	b.saved("/hatches/" + ids[1] + "/remove")
	entries, _, err := b.ledger.Store().After(context.Background(), 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	want := b.do(httptest.NewRequest("GET", "/?month=11&wings=upright", nil)).Body.String()
	if !strings.Contains(want, "Drake again") {
		t.Fatal("the key has no own hatch")
	}
	slices.Reverse(entries)
	other := newFixture(t, false)
	for part := range slices.Chunk(entries, 7) {
		if _, bad, err := other.ledger.Merge(context.Background(), part); err != nil || len(bad) > 0 {
			t.Fatal(err, bad)
		}
		other.get("/?month=11", http.StatusOK) // keys are made in between
	}
	hidden := func(s string) string { return idOfForm.ReplaceAllString(s, "") }
	if got := other.do(httptest.NewRequest("GET", "/?month=11&wings=upright", nil)).Body.String(); hidden(got) != hidden(want) {
		t.Error("another order gives another key")
	}
}

func TestANewerHatchIsPassedOver(t *testing.T) {
	b := newFixture(t, false)
	e, err := journal.ParseEntry([]byte(`{"id":"n1","at":"2026-08-14T05:00:00.000Z-0000-a","v":2,"kind":"hatch","body":{"id":"w","region":"west-na","hatch":{"spectrum":[1,2,3]}}}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, bad, err := b.ledger.Merge(context.Background(), []journal.Entry{e}); err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	b.get("/", http.StatusOK)
	b.get("/hatches", http.StatusOK).wants("None added yet")
	b.get("/hatches/w/edit", http.StatusNotFound)
	if w := b.send("/hatches/w/remove"); w.Code != http.StatusNotFound {
		t.Errorf("removing what cannot be read: %d", w.Code)
	}
}

func TestADoubleTapAddsOneHatch(t *testing.T) {
	b := newFixture(t, false)
	form := append(redDrake(), "form", "one-form")
	b.saved("/hatches/new", form...)
	b.saved("/hatches/new", form...)
	b.onlyHatch()
}

func TestWhatTheKeyDoesNotHoldCanBeAdded(t *testing.T) {
	b := newFixture(t, true)
	d := b.get("/?month=1&length=60&unit=mm&wings=upright", http.StatusOK)
	link := ""
	for _, n := range d.all(func(n *html.Node) bool { return strings.HasPrefix(attr(n, "href"), "/hatches/new?") }) {
		link = attr(n, "href")
	}
	if link == "" {
		t.Fatal("no link to add it")
	}
	v := b.get(link, http.StatusOK).formValues("/hatches/new")
	if v.Get("length_from") != "54" || v.Get("length_to") != "66" || v.Get("from_month") != "1" || !slices.Equal(v["wings"], []string{"upright"}) {
		t.Errorf("the form has %v", v)
	}
	b.get("/setup", http.StatusOK).wants("Own hatches")
}

func TestMoreOwnHatchesThanTheKeyTakesIn(t *testing.T) {
	b := newFixture(t, false)
	var bodies []flybox.Body
	for i := range caches.MaxLocalHatches + 20 {
		raw := fmt.Sprintf(`{"name":{"en":"Drake %d"},"group":"mayfly","season":[{"from":"11-01","to":"11-30"}],"forms":[{"stage":"dun","length":{"from":9,"to":10},"colour":{"body":["#8a4526"]}}]}`, i)
		bodies = append(bodies, flybox.Hatch{Region: "west-na", Hatch: []byte(raw)})
	}
	if _, err := b.ledger.Record(context.Background(), bodies...); err != nil {
		t.Fatal(err)
	}
	b.get("/hatches", http.StatusOK).wants("takes in 200 own hatches", "Drake 0", "Drake 219")
	b.get("/?month=11&wings=upright", http.StatusOK)
}

func TestTheKeyIsMadeAnewOnlyForHatchesAndSightings(t *testing.T) {
	b := newFixture(t, true)
	key := func() *hatchkeys.Key {
		k, err := b.app.Key(b.ledger.State(), "west-na")
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	b.saved("/hatches/new", redDrake()...)
	before := key()
	b.saved("/box/new", "name", "Another box", "rows", "2", "columns", "2")
	if key() != before {
		t.Error("a box makes another key")
	}
	b.saved("/hatches/new", redDrake("name", "Another drake")...)
	if key() == before {
		t.Error("a hatch makes no other key")
	}
	other, err := b.app.Key(b.ledger.State(), "europe")
	if err != nil || other.Hatch("own-"+strings.TrimPrefix(key().Pack.Hatches[len(key().Pack.Hatches)-1].ID, "own-")) != nil {
		t.Errorf("a hatch is in the key of another region (%v)", err)
	}
}

// What was described for the south before it was parted holds in each land.
func TestOwnHatchesOfTheSouthHoldInItsLands(t *testing.T) {
	b := newFixture(t, false)
	raw := `{"name":{"en":"Drake of the lake"},"group":"mayfly","season":[{"from":"11-01","to":"11-30"}],"forms":[{"stage":"dun","length":{"from":9,"to":10},"colour":{"body":["#8a4526"]}}]}`
	b.record(flybox.Hatch{ID: "0198c0de-0000-4000-8000-0000000000aa", Region: "south", Hatch: []byte(raw)})
	for region, want := range map[string]bool{"south": true, "patagonia": true, "new-zealand": true, "europe": false} {
		key, err := b.app.Key(b.ledger.State(), region)
		if err != nil || (key.Hatch("own-0198c0de-0000-4000-8000-0000000000aa") != nil) != want {
			t.Errorf("%s: want it there: %t (%v)", region, want, err)
		}
	}
}

func TestOwnHatchScreensAreInWords(t *testing.T) {
	b := newFixture(t, true)
	b.saved("/hatches/new", redDrake()...)
	id := b.onlyHatch().ID
	for _, lang := range catalog.Languages {
		b.prefs = "lang=" + lang
		for _, path := range []string{"/hatches", "/hatches/new", string("/hatches/" + id + "/edit"), string("/hatch/own-" + id), "/setup"} {
			d := b.get(path, http.StatusOK)
			if m := ownBareID.FindString(d.text()); m != "" {
				t.Errorf("%s in %s shows %q", path, lang, m)
			}
		}
		w := b.send("/hatches/new")
		if w.Code != http.StatusUnprocessableEntity {
			t.Fatalf("an empty form: %d", w.Code)
		}
		if m := ownBareID.FindString(parse(t, w.Body.String()).text()); m != "" {
			t.Errorf("an empty form in %s shows %q", lang, m)
		}
	}
}
