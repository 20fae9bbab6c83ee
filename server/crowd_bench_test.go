package main

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/server/accounts"
	"dampstone/server/boltstore"
	"dampstone/server/people"
)

// These measure what a crowd costs the real program. Run them one by one:
//
//	go test ./server -run '^$' -bench Crowd -benchtime 1x

// memory is what a process has in memory but for pages of files, in MB.
func (p *process) memory() float64 {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0 // gone, or no Linux
	}
	m := regexp.MustCompile(`RssAnon:\s+(\d+) kB`).FindSubmatch(raw)
	if m == nil {
		return 0
	}
	kB, _ := strconv.Atoi(string(m[1]))
	return float64(kB) / 1024
}

// watch tells the most that a process has in memory until it is asked.
func (p *process) watch() (most func() float64) {
	var stop atomic.Bool
	done := make(chan float64)
	go func() {
		top := 0.0
		for ; !stop.Load(); time.Sleep(20 * time.Millisecond) {
			top = max(top, p.memory())
		}
		done <- top
	}()
	return func() float64 { stop.Store(true); return <-done }
}

// guest is somebody with a paired device.
type guest struct {
	person people.Person
	as     *http.Cookie
}

// crowd makes a data folder with people who have so many entries each.
func crowd(b *testing.B, folder string, entries ...int) (list []guest) {
	b.Helper()
	r, err := people.Open(filepath.Join(folder, accounts.PeopleFile), time.Second)
	if err != nil {
		b.Fatal(err)
	}
	defer r.Close()
	for i, n := range entries {
		p, err := r.Add("", fmt.Sprint("Guest ", i), time.Now())
		if err != nil {
			b.Fatal(err)
		}
		code, _, err := r.Invite(p.ID, time.Now())
		if err != nil {
			b.Fatal(err)
		}
		token, _, err := r.Pair(code, "phone", time.Now())
		if err != nil {
			b.Fatal(err)
		}
		list = append(list, guest{p, &http.Cookie{Name: "dampstone-" + r.ID()[:8], Value: token}})
		path := accounts.LedgerFile(folder, p)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			b.Fatal(err)
		}
		store, err := boltstore.Open(path, time.Second)
		if err != nil {
			b.Fatal(err)
		}
		for page := range slices.Chunk(season(b, n), 10_000) {
			if _, err := store.Append(b.Context(), page); err != nil {
				b.Fatal(err)
			}
		}
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
	}
	return list
}

// season is what somebody writes, with ids as phones make them.
func season(b *testing.B, n int) (out []journal.Entry) {
	b.Helper()
	at := journal.Stamp{MS: time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC).UnixMilli(), Device: "phone"}
	for i := range n {
		at.MS += 61_000
		body := flybox.Body(flybox.StockMove{Pattern: journal.ID(fmt.Sprintf("0198c0de-0000-4000-8000-%012d", i%200)), Delta: -1, Why: flybox.WhyLost})
		if i%4 == 0 {
			body = flybox.Note{Text: fmt.Sprintf("Seam below the third bend, note %d: fresh shucks on the damp stones at first light.", i)}
		}
		e, err := flybox.NewEntry(journal.ID(uuid.NewString()), at, body)
		if err != nil {
			b.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}

// p95 is how long a screen takes, the 95th of a hundred, asked for until stop;
// at least so often as asked.
func (p *process) p95(as *http.Cookie, least int, stop *atomic.Bool) (ms float64, n int) {
	p.t.Helper()
	var took []time.Duration
	for len(took) < least || stop != nil && !stop.Load() {
		began := time.Now()
		if status := p.get("/box", as); status != http.StatusOK {
			p.t.Errorf("a screen has status %d", status)
			return 0, 0
		}
		took = append(took, time.Since(began))
		time.Sleep(10 * time.Millisecond) // a person looks
	}
	slices.Sort(took)
	return float64(took[len(took)*95/100].Microseconds()) / 1000, len(took)
}

// BenchmarkCrowdOfReaders has 60 connections ask for the largest file unpacked
// and read nothing, and one connection with 100 streams do the same.
func BenchmarkCrowdOfReaders(b *testing.B) {
	for b.Loop() {
		p := start(b, built(b), "-addr", "127.0.0.1:0", "-data", b.TempDir())
		res, err := http.Get(p.url + "/")
		if err != nil {
			b.Fatal(err)
		}
		body, err := io.ReadAll(res.Body)
		if err != nil {
			b.Fatal(err)
		}
		res.Body.Close()
		sw, err := http.Get(p.url + "/sw.js")
		if err != nil {
			b.Fatal(err)
		}
		script, err := io.ReadAll(sw.Body)
		if err != nil {
			b.Fatal(err)
		}
		sw.Body.Close()
		b.ReportMetric(p.memory(), "MB/at-rest")
		engine := regexp.MustCompile(`/static/engine\.[0-9a-f]+\.wasm|/static/[^"]*\.wasm`).Find(append(script, body...))
		if engine == nil {
			b.Fatalf("no engine is named in\n%.400s", script)
		}
		for range 60 {
			c, err := net.Dial("tcp", strings.TrimPrefix(p.url, "http://"))
			if err != nil {
				b.Fatal(err)
			}
			defer c.Close()
			fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: %s\r\n\r\n", engine, strings.TrimPrefix(p.url, "http://"))
		}
		time.Sleep(3 * time.Second)
		b.ReportMetric(p.memory(), "MB/60-readers")
		p.kill()

		s := start(b, built(b), "-addr", "127.0.0.1:0", "-data", b.TempDir(), "-local-ca", "-host", "127.0.0.1", "-install-addr", "127.0.0.1:0")
		roots := x509.NewCertPool()
		client := &http.Client{Transport: &http.Transport{ForceAttemptHTTP2: true, DisableCompression: true, TLSClientConfig: &tls.Config{RootCAs: roots, InsecureSkipVerify: true}}}
		for range 100 {
			go func() {
				res, err := client.Get(s.url + string(engine))
				if err == nil {
					b.Cleanup(func() { res.Body.Close() }) // unread until then
				}
			}()
		}
		time.Sleep(3 * time.Second)
		b.ReportMetric(s.memory(), "MB/100-streams")
		s.kill()
	}
}

// BenchmarkCrowdOfLedgers serves 200 people of 20,000 entries each under the
// default bound, and then one of 500,000 while another looks at screens.
func BenchmarkCrowdOfLedgers(b *testing.B) {
	for b.Loop() {
		folder := b.TempDir()
		sizes := slices.Repeat([]int{20_000}, 200)
		all := crowd(b, folder, append(sizes, 500_000)...)
		p := start(b, built(b), "-addr", "127.0.0.1:0", "-data", folder)
		most := p.watch()
		for _, g := range all[:200] {
			if status := p.get("/box", g.as); status != http.StatusOK {
				b.Fatalf("%s: status %d", g.person.Name, status)
			}
		}
		b.ReportMetric(most(), "MB/200-people")
		rest, _ := p.p95(all[1].as, 200, nil)
		var stop atomic.Bool
		var opening sync.WaitGroup
		opening.Go(func() {
			defer stop.Store(true)
			if status := p.get("/box", all[200].as); status != http.StatusOK {
				b.Errorf("500,000 entries: status %d", status)
			}
		})
		during, n := p.p95(all[1].as, 20, &stop)
		opening.Wait()
		b.ReportMetric(rest, "ms/p95-at-rest")
		b.ReportMetric(during, "ms/p95-opening")
		b.ReportMetric(during/rest, "opening/rest")
		b.Logf("%d screens while 500,000 entries were opened", n)
	}
}

// BenchmarkCrowdOfPhones has 100 phones bring 5,000 entries each at once, each
// to a ledger of its own, while another looks at screens.
func BenchmarkCrowdOfPhones(b *testing.B) {
	const phones, each = 100, 5000
	for b.Loop() {
		folder := b.TempDir()
		all := crowd(b, folder, slices.Repeat([]int{0}, phones+1)...)
		brought := make([][]journal.Entry, phones)
		for i := range brought {
			brought[i] = season(b, each)
		}
		p := start(b, built(b), "-addr", "127.0.0.1:0", "-data", folder)
		rest, _ := p.p95(all[phones].as, 200, nil)
		most := p.watch()
		var stop atomic.Bool
		var writers sync.WaitGroup
		began := time.Now()
		for i := range phones {
			writers.Go(func() {
				one := &process{t: b, url: p.url, as: all[i].as}
				client := &http.Client{Timeout: patience, Transport: &http.Transport{}}
				for page := range slices.Chunk(brought[i], 500) {
					stored, failure, err := one.give(client, page...)
					if err != nil || len(stored) != len(page) {
						b.Errorf("%d of %d stored, %v %v", len(stored), len(page), failure.Status, err)
						return
					}
				}
			})
		}
		go func() { writers.Wait(); stop.Store(true) }()
		during, _ := p.p95(all[phones].as, 20, &stop)
		writers.Wait()
		took := time.Since(began)
		b.ReportMetric(phones*each/took.Seconds(), "entries/s")
		b.ReportMetric(rest, "ms/p95-at-rest")
		b.ReportMetric(during, "ms/p95-meanwhile")
		b.ReportMetric(most(), "MB/most")
	}
}
