package main

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	"dampstone/server/accounts"
	"dampstone/server/boltstore"
)

// kills is how often the program is ended in the middle of its writing.
const kills = 100

// journalOf reads the ledger in a folder that no program has open.
func journalOf(t *testing.T, folder string) map[journal.ID]journal.Entry {
	t.Helper()
	store, err := boltstore.Open(filepath.Join(folder, journalFile), patience)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	all, err := store.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	held := map[journal.ID]journal.Entry{}
	for _, e := range all {
		if _, twice := held[e.ID]; twice {
			t.Errorf("entry %s is there twice", e.ID)
		}
		if !e.Readable() {
			t.Errorf("entry %s cannot be read", e.ID)
		}
		held[e.ID] = e
	}
	return held
}

// TestKilledWhileWriting ends the real program with SIGKILL while four phones
// write to it. Every entry that it said was stored is there afterwards.
func TestKilledWhileWriting(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	folder := t.TempDir()
	n := kills
	if testing.Short() {
		n /= 10
	}
	acknowledged := map[journal.ID]bool{}
	unanswered := 0
	var as *http.Cookie // the pairing, too, outlives the kills
	for kill := range n {
		p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
		if as == nil {
			p.pair()
			as = p.as
		}
		p.as = as
		client := &http.Client{Timeout: patience, Transport: &http.Transport{}}
		// The kill comes right after so many answers, while the other phones'
		// requests are on their way.
		last := int32(1 + rng.IntN(25))
		var answers atomic.Int32
		var mu sync.Mutex
		var writers sync.WaitGroup
		for w := range 4 {
			writers.Go(func() {
				for batch := 0; ; batch++ {
					var entries []journal.Entry
					for i := range 1 + (batch+w)%7 {
						entries = append(entries, storetest.Entry(t, journal.ID(fmt.Sprintf("k%d-w%d-b%d-%d", kill, w, batch, i)), batch))
					}
					stored, failure, err := p.give(client, entries...)
					if err != nil || failure.Status != 0 {
						mu.Lock()
						unanswered++
						mu.Unlock()
						return // the program has gone
					}
					mu.Lock()
					for _, id := range stored {
						acknowledged[id] = true
					}
					mu.Unlock()
					if answers.Add(1) == last {
						p.cmd.Process.Signal(syscall.SIGKILL)
					}
				}
			})
		}
		writers.Wait()
		p.kill()
		client.CloseIdleConnections()
	}
	held := journalOf(t, folder)
	for id := range acknowledged {
		if _, ok := held[id]; !ok {
			t.Errorf("%s was acknowledged and is lost", id)
		}
	}
	t.Logf("%d kills, %d entries acknowledged, %d held, %d requests cut off", n, len(acknowledged), len(held), unanswered)
	if len(acknowledged) < n || unanswered < n {
		t.Errorf("hardly anything was being written: %d acknowledged, %d requests cut off", len(acknowledged), unanswered)
	}
}

// TestReadOnlyFolder starts the program where it may not write.
func TestReadOnlyFolder(t *testing.T) {
	folder, err := os.MkdirTemp("", "dampstone-readonly-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(folder) })
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	if stored, _, err := p.give(http.DefaultClient, storetest.Entry(t, "before", 1)); err != nil || len(stored) != 1 {
		t.Fatal(stored, err)
	}
	p.stop()
	journal := filepath.Join(folder, journalFile)
	before, err := os.ReadFile(journal)
	if err != nil {
		t.Fatal(err)
	}
	for path, mode := range map[string]os.FileMode{folder: 0o755, journal: 0o444, filepath.Join(folder, accounts.PeopleFile): 0o666} {
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(built(t), "-addr", "127.0.0.1:0", "-data", folder)
	cmd.Dir = "/"
	if os.Getuid() == 0 {
		const nobody = 65534 // root may write everywhere
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
	}
	p = launch(t, cmd)
	if p.url != "" {
		t.Fatal("it serves a ledger that it cannot write")
	}
	if p.cmd.ProcessState.ExitCode() != 1 || !strings.Contains(p.text(), "cannot be written; check its permissions") {
		t.Errorf("ended with code %d and said:\n%s", p.cmd.ProcessState.ExitCode(), p.text())
	}
	after, err := os.ReadFile(journal)
	if err != nil || string(after) != string(before) {
		t.Errorf("the journal was changed (%v)", err)
	}
}
