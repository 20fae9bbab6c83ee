package main

import (
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"dampstone/flybox/storetest"
)

func TestEveryCommandIsExplained(t *testing.T) {
	all, code := command(t, "help")
	if code != 0 {
		t.Fatalf("help: code %d\n%s", code, all)
	}
	for _, c := range commands() {
		if !strings.Contains(all, c.name) || !strings.Contains(all, c.does) {
			t.Errorf("help says nothing of %s", c.name)
		}
		out, code := command(t, "help", c.name)
		if code != 0 || !strings.Contains(out, c.does) || len(strings.Split(strings.TrimSpace(out), "\n")) < 2 {
			t.Errorf("help %s: code %d\n%s", c.name, code, out)
		}
	}
	if out, code := command(t, "help", "fish"); code != 1 || !strings.Contains(out, `no command "fish"`) {
		t.Errorf("help fish: code %d\n%s", code, out)
	}
	if out, code := command(t, "fish"); code != 2 || !strings.Contains(out, "help") {
		t.Errorf("fish: code %d\n%s", code, out)
	}
}

func TestTheVersionNamesSourceScreensAndMachine(t *testing.T) {
	out, code := command(t, "version")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if code != 0 || len(lines) != 3 || !strings.HasPrefix(lines[0], "Dampstone ") || !strings.HasPrefix(lines[1], "screens and engine ") || !strings.HasPrefix(lines[2], "go1.") {
		t.Errorf("code %d\n%s", code, out)
	}
	if _, code := command(t, "version", "more"); code != 2 {
		t.Errorf("version more: code %d", code)
	}
}

// page is what an address answers.
func page(t *testing.T, url string) (status int, body string) {
	t.Helper()
	res, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, string(raw)
}

// freePort is an address that nobody listens at.
func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

func TestHealthAndFigures(t *testing.T) {
	at := freePort(t)
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", t.TempDir(), "-figures", at)
	p.pair()
	for _, path := range []string{"/healthz", "/readyz"} {
		if status, body := page(t, p.url+path); status != http.StatusOK || body != "ok\n" {
			t.Errorf("%s: %d %q", path, status, body)
		}
	}
	if _, _, err := p.give(http.DefaultClient, storetest.Season(t)[:10]...); err != nil {
		t.Fatal(err)
	}
	p.get("/box", p.as)
	p.get("/box", nil)
	status, body := page(t, "http://"+at+"/metrics")
	for _, want := range []string{
		`dampstone_requests_total{part="sync",status="200"} 1`, `dampstone_requests_total{part="box",status="401"} 1`,
		"dampstone_entries_added_total 10", "dampstone_people 1", "dampstone_devices 1", "dampstone_ledgers_open 1", "go_memstats_heap_alloc_bytes",
	} {
		if !strings.Contains(body, want) {
			t.Errorf("status %d, no %q in the figures", status, want)
		}
	}
	if strings.Contains(body, "127.0.0.1") || strings.Contains(body, "phone") {
		t.Error("the figures name somebody")
	}
	if status, _ := page(t, p.url+"/metrics"); status == http.StatusOK {
		t.Error("the figures are where everybody looks")
	}
}

func TestRepairOfADamagedLedger(t *testing.T) {
	folder := t.TempDir()
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	given := storetest.Season(t)
	if _, _, err := p.give(http.DefaultClient, given...); err != nil {
		t.Fatal(err)
	}
	p.stop()
	file := filepath.Join(folder, journalFile)
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	clear(raw[:2*os.Getpagesize()]) // both meta pages
	if err := os.WriteFile(file, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(folder, "new.bolt")
	out, code := command(t, "repair", file, to)
	if code != 0 || !strings.Contains(out, "stop the server") {
		t.Fatalf("code %d\n%s", code, out)
	}
	if out, code := command(t, "repair", file, to); code != 1 || !strings.Contains(out, "is there already") {
		t.Errorf("a second time: code %d\n%s", code, out)
	}
	if out, code := command(t, "repair", filepath.Join(folder, "none"), to+"2"); code != 1 || !strings.Contains(out, "there is no file") {
		t.Errorf("no file: code %d\n%s", code, out)
	}
	if err := os.Rename(to, file); err != nil {
		t.Fatal(err)
	}
	as := p.as
	p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.as = as
	stored, _, err := p.give(http.DefaultClient, given...)
	if err != nil || len(stored) != len(given) {
		t.Errorf("%d of %d entries, %v", len(stored), len(given), err)
	}
	if p.get("/box", as) != http.StatusOK {
		t.Error("the repaired ledger is not read")
	}
}

func TestPurgeAsksForTheNameAgain(t *testing.T) {
	folder := t.TempDir()
	if out, code := command(t, "pair", "-data", folder, "Bo"); code != 0 {
		t.Fatal(out)
	}
	purge := func(typed string) (string, error) {
		cmd := exec.CommandContext(t.Context(), built(t), "purge", "-data", folder, "Bo")
		cmd.Stdin = strings.NewReader(typed)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	if out, err := purge("\n"); err == nil || !strings.Contains(out, "nothing was deleted") {
		t.Errorf("without the name: %v\n%s", err, out)
	}
	if out, err := purge("Bo\n"); err != nil || !strings.Contains(out, "Bo is taken off") {
		t.Errorf("with the name: %v\n%s", err, out)
	}
	if out, code := command(t, "people", "-data", folder); code != 0 || strings.Contains(out, "Bo") || !strings.Contains(out, "Owner") {
		t.Errorf("people: code %d\n%s", code, out)
	}
}

// A server that was killed leaves its address behind. Who listens there now is
// told nothing, and gets no ledger.
func TestWhatAKilledServerLeftIsNotTrusted(t *testing.T) {
	folder := t.TempDir()
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	p.kill()
	asked := make(chan string, 10)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	other := &http.Server{Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked <- r.URL.Path
		io.WriteString(w, `{"result":[]}`)
	})}
	go other.Serve(l)
	defer other.Close()
	left := filepath.Join(folder, "control.json")
	if _, err := os.Stat(left); err != nil {
		t.Fatal("nothing was left behind:", err)
	}
	if err := os.WriteFile(left, []byte(`{"url":"http://`+l.Addr().String()+`","token":"x"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "all.jsonl")
	if out, code := command(t, "backup", "-data", folder, file); code != 0 {
		t.Fatalf("backup: code %d\n%s", code, out)
	}
	if out, code := command(t, "restore", "-data", folder, file); code != 0 {
		t.Errorf("restore: code %d\n%s", code, out)
	}
	if out, code := command(t, "pair", "-data", folder, "Bo"); code != 0 || !strings.Contains(out, "Code for Bo") {
		t.Errorf("pair: code %d\n%s", code, out)
	}
	select {
	case path := <-asked:
		t.Errorf("somebody else was asked for %s", path)
	default:
	}
	if _, err := os.Stat(left); err == nil {
		t.Error("what was left behind is there still")
	}
}
