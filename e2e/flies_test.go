package e2e

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// shownFly is a fly in a list on the screen, at one of its places.
type shownFly struct {
	id    string
	name  string
	where string // as it is written
	place flybox.Place
	count int
}

// readFlies reads the flies in a region, one for each place in a box.
func readFlies(p *page, region string) []shownFly {
	p.t.Helper()
	var out []shownFly
	for _, row := range p.eval(`region => [...document.querySelectorAll(region + " .fly")].flatMap((f) => [...f.querySelectorAll(".placeline")].map((l) => ({
		href: f.querySelector("a").getAttribute("href"),
		name: f.querySelector("a").textContent.trim(),
		where: l.querySelector("p").firstChild.textContent.trim(),
		count: l.querySelector("p b").textContent,
		box: l.querySelector("[name=box]")?.value ?? "", row: l.querySelector("[name=row]")?.value ?? "", slot: l.querySelector("[name=slot]")?.value ?? "",
	})))`, region).Value.Arr() {
		id, err := url.PathUnescape(strings.TrimPrefix(row.Get("href").Str(), "/box/fly/"))
		if err != nil {
			p.t.Fatal(err)
		}
		n := func(name string) int { n, _ := strconv.Atoi(row.Get(name).Str()); return n }
		out = append(out, shownFly{
			id: id, name: row.Get("name").Str(), where: row.Get("where").Str(), count: n("count"),
			place: flybox.Place{Box: journal.ID(row.Get("box").Str()), Row: n("row"), Slot: n("slot")},
		})
	}
	return out
}

// checkFlies compares what the screen says with the ledger.
func checkFlies(t *testing.T, state *flybox.State, flies []shownFly) {
	t.Helper()
	if len(flies) == 0 {
		t.Fatal("no fly is shown")
	}
	for _, f := range flies {
		fly, ok := state.Pattern(journal.ID(f.id))
		if !ok || fly.Name != f.name {
			t.Errorf("the screen names %q %q, the ledger %q", f.id, f.name, fly.Name)
		}
		if f.place == flybox.Loose {
			continue // out of the boxes: no button, and nowhere to look
		}
		if n := state.CountAt(journal.ID(f.id), f.place); n != f.count {
			t.Errorf("%s: the screen has %d at %v, the ledger %d", f.name, f.count, f.place, n)
		}
		box, _ := state.Box(f.place.Box)
		want := box.Name + ", row " + strconv.Itoa(f.place.Row) + ", slot " + strconv.Itoa(f.place.Slot)
		if f.where != want {
			t.Errorf("%s is said to be at %q, want %q", f.name, f.where, want)
		}
	}
}

// readPlaces reads where a fly's own screen says that it is.
func readPlaces(p *page, id string) map[flybox.Place]int {
	p.t.Helper()
	out := map[flybox.Place]int{}
	for _, o := range p.eval(`() => [...document.querySelectorAll("#f-place option")].map((o) => [o.value, o.textContent])`).Value.Arr() {
		value, text := o.Arr()[0].Str(), o.Arr()[1].Str()
		n, err := strconv.Atoi(strings.TrimSuffix(text[strings.LastIndexByte(text, '(')+1:], ")"))
		if err != nil {
			p.t.Fatalf("place %q: %v", text, err)
		}
		place := flybox.Loose
		if value != "loose" {
			parts := strings.SplitN(value, ".", 3)
			place.Row, _ = strconv.Atoi(parts[0])
			place.Slot, _ = strconv.Atoi(parts[1])
			place.Box = journal.ID(parts[2])
		}
		out[place] = n
	}
	return out
}
