package main

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	"dampstone/server/pgstore/pgtest"
	syncing "dampstone/server/sync"
)

// readAll is what a new phone reads from a server.
func (p *process) readAll(client *http.Client) map[journal.ID]int {
	p.t.Helper()
	held := map[journal.ID]int{}
	req := syncing.Request{}
	for {
		resp, err := p.exchange(client, req)
		if err != nil {
			p.t.Fatal(err)
		}
		for _, raw := range resp.Entries {
			e, err := journal.ParseEntry(raw)
			if err != nil {
				p.t.Fatal(err)
			}
			held[e.ID]++
		}
		if !resp.More {
			return held
		}
		req.Journal, req.After, req.Mark = resp.Journal, resp.Next, resp.Mark
	}
}

// TestFailover has phones write through two servers to a database with a
// standby, kills one server or the other ten times, then the primary, and
// promotes the standby. Nothing that was confirmed is gone.
func TestFailover(t *testing.T) {
	primary := pgtest.Start(t)
	database := primary.Database(t)
	standby := primary.Standby(t, "lodge2")
	primary.Exec(t, "alter system set synchronous_standby_names = 'lodge2'")
	primary.Exec(t, "select pg_reload_conf()")
	name := database[strings.LastIndex(database, "/")+1 : strings.Index(database, "?")]
	address := fmt.Sprintf("postgres://dampstone@127.0.0.1:%d,127.0.0.1:%d/%s?sslmode=disable&target_session_attrs=read-write&connect_timeout=2", primary.Port, standby.Port, name)

	servers := []*process{start(t, built(t), "-addr", "127.0.0.1:0", "-store", address)}
	servers[0].await("on the disk of the primary and of a standby")
	servers = append(servers, start(t, built(t), "-addr", "127.0.0.1:0", "-store", address))
	servers[0].pair()
	as := servers[0].as
	servers[1].as = as
	client := &http.Client{Timeout: patience, Transport: &http.Transport{}}

	var mu sync.Mutex // guards all of the below
	confirmed := map[journal.ID]bool{}
	failures := 0
	var writers sync.WaitGroup
	var stop atomic.Bool
	for w := range 4 {
		writers.Go(func() {
			rng := rand.New(rand.NewPCG(uint64(w), 3))
			for n := 0; !stop.Load(); n++ {
				var batch []journal.Entry
				for i := range 1 + rng.IntN(4) {
					batch = append(batch, storetest.Entry(t, journal.ID(fmt.Sprintf("w%d-%d-%d", w, n, i)), n))
				}
				for !stop.Load() { // as a phone does
					mu.Lock()
					p := servers[rng.IntN(2)]
					mu.Unlock()
					stored, failure, err := p.give(client, batch...)
					mu.Lock()
					for _, id := range stored {
						confirmed[id] = true
					}
					if err != nil || failure.Status != 0 {
						failures++
					}
					mu.Unlock()
					if err == nil && failure.Status == 0 {
						break
					}
					time.Sleep(5 * time.Millisecond) // the next try of a phone
				}
			}
		})
	}
	// until waits for so many more entries to be confirmed.
	until := func(more int) {
		t.Helper()
		mu.Lock()
		want := len(confirmed) + more
		mu.Unlock()
		for end := time.Now().Add(patience); ; time.Sleep(5 * time.Millisecond) {
			mu.Lock()
			n := len(confirmed)
			mu.Unlock()
			if n >= want {
				return
			}
			if time.Now().After(end) {
				stop.Store(true)
				t.Fatalf("%d entries are confirmed, %d were waited for", n, want)
			}
		}
	}
	until(200)
	for i := range 10 {
		mu.Lock()
		dies := servers[i%2]
		mu.Unlock()
		dies.kill()
		until(30)
		again := start(t, built(t), "-addr", "127.0.0.1:0", "-store", address)
		again.as = as
		mu.Lock()
		servers[i%2] = again
		mu.Unlock()
		until(30)
	}
	before := servers[0].readAll(client)
	primary.Kill()
	standby.Promote(t)
	until(200)
	stop.Store(true)
	writers.Wait()

	for i, p := range servers {
		held := p.readAll(client)
		lost, twice := 0, 0
		for id := range confirmed {
			if held[id] == 0 {
				lost++
			}
		}
		for id := range before {
			if held[id] == 0 {
				lost++
			}
		}
		for _, n := range held {
			if n > 1 {
				twice++
			}
		}
		if lost > 0 || twice > 0 {
			t.Errorf("server %d: of %d confirmed entries %d are gone, %d are there twice", i, len(confirmed), lost, twice)
		}
	}
	t.Logf("%d entries confirmed, %d tries failed", len(confirmed), failures)
	if failures == 0 {
		t.Error("no try failed, so nothing was tested")
	}
}

// TestCommandsOverADatabase: what is done with a data folder is done with a
// database, while servers run over it.
func TestCommandsOverADatabase(t *testing.T) {
	database := pgtest.Start(t).Database(t)
	folder := t.TempDir()
	old := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	old.pair()
	client := &http.Client{Timeout: patience}
	if _, _, err := old.give(client, storetest.Entry(t, "of-the-folder", 1)); err != nil {
		t.Fatal(err)
	}
	if out, code := command(t, "move", folder, database); code == 0 || !strings.Contains(out, "stop all servers") {
		t.Errorf("move while a server runs: code %d\n%s", code, out)
	}
	old.stop()
	if out, code := command(t, "move", folder, database); code != 0 || !strings.Contains(out, "1 people with 1 entries are there, 1 of them new") {
		t.Fatalf("move: code %d\n%s", code, out)
	}

	a := start(t, built(t), "-addr", "127.0.0.1:0", "-store", database)
	b := start(t, built(t), "-addr", "127.0.0.1:0", "-store", database)
	a.await("on the disk of the primary alone")
	a.as, b.as = old.as, old.as
	if held := b.readAll(client); held["of-the-folder"] != 1 {
		t.Errorf("the phone that was paired with the folder reads %v", held)
	}
	if _, _, err := a.give(client, storetest.Entry(t, "of-a", 2)); err != nil {
		t.Fatal(err)
	}
	if held := b.readAll(client); held["of-a"] != 1 {
		t.Errorf("the other server reads %v", held)
	}
	if out, code := command(t, "pair", "-store", database, "Bo"); code != 0 || !strings.Contains(out, "Code for Bo") {
		t.Errorf("pair: code %d\n%s", code, out)
	}
	if out, code := command(t, "people", "-store", database); code != 0 || !strings.Contains(out, "Bo") || !strings.Contains(out, "(owner)") {
		t.Errorf("people: code %d\n%s", code, out)
	}
	file := filepath.Join(t.TempDir(), "backup")
	if out, code := command(t, "backup", "-store", database, file); code != 0 {
		t.Errorf("backup: code %d\n%s", code, out)
	}
	if raw, err := os.ReadFile(file); err != nil || strings.Count(string(raw), "\n") != 5 {
		t.Errorf("the backup: %v\n%s", err, raw)
	}
	if out, code := command(t, "revoke", "-store", database, "test"); code != 0 {
		t.Errorf("revoke: code %d\n%s", code, out)
	}
	for _, p := range []*process{a, b} {
		if status := p.get("/box", p.as); status != http.StatusUnauthorized {
			t.Errorf("a device that was shut out: status %d", status)
		}
	}
	if out, code := command(t, "-demo", "-store", database); code != 2 || !strings.Contains(out, "-demo") {
		t.Errorf("demo: code %d\n%s", code, out)
	}
}
