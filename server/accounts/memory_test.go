package accounts

import (
	"fmt"
	"runtime"
	"testing"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
)

// heap is what is in use after a collection, in bytes.
func heap() int64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// longSeason are n entries with ids as phones make them.
func longSeason(t testing.TB, n int) (list []journal.Entry) {
	for i := range n {
		e, err := flybox.NewEntry(journal.ID(uuid.NewString()), journal.Stamp{MS: int64(i) * 1000, Device: "phone"},
			flybox.StockMove{Pattern: journal.ID(fmt.Sprintf("0198c0de-0000-4000-8000-%012d", i%200)), Delta: 1, Why: flybox.WhyTied})
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, e)
	}
	return list
}

// What is reckoned for a ledger bounds what it takes, with and without a
// screen, and an exchange folds nothing. The figures are printed.
func TestLedgersTakeWhatIsReckoned(t *testing.T) {
	const people, entries = 8, 5000
	b := newFixture(t, t.TempDir())
	var all []device
	for i := range people {
		d := b.pair(fmt.Sprint("Guest ", i))
		for range 10 {
			d.give(longSeason(t, entries/10)...)
		}
		all = append(all, d)
	}
	if err := b.accounts.Close(); err != nil {
		t.Fatal(err)
	}
	b = newFixture(t, b.accounts.Folder)
	for i := range all {
		all[i].b = b
	}
	begin := heap()
	for _, d := range all {
		if status, _, _ := d.try(); status != 200 {
			t.Fatal(status)
		}
	}
	exchanged := heap() - begin
	for _, d := range all {
		if w := d.do("GET", "/box", "", ""); w.Code != 200 {
			t.Fatal(w.Code)
		}
	}
	folded := heap() - begin
	reckoned := b.accounts.Stats().Bytes
	t.Logf("an entry takes %d bytes after an exchange, %d after a screen; reckoned %d and %d",
		exchanged/(people*entries), folded/(people*entries), bytesAnID, bytesAnID+bytesAnEntry)
	if exchanged > people*(entries*bytesAnID+bytesALedger) {
		t.Errorf("after exchanges %d bytes are in use, reckoned %d", exchanged, people*(entries*bytesAnID+bytesALedger))
	}
	if folded > reckoned {
		t.Errorf("after screens %d bytes are in use, reckoned %d", folded, reckoned)
	}
	if exchanged*3 > folded {
		t.Errorf("an exchange takes %d bytes, a screen %d: is it folded?", exchanged, folded)
	}
}
