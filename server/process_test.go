package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"dampstone/flybox/journal"
	syncing "dampstone/server/sync"
)

// patience bounds how long a test waits for what has to happen. Nothing is
// measured against it.
const patience = 60 * time.Second

// program is the binary, built once for all tests of this package.
var program struct {
	once sync.Once
	path string
	err  error
}

func TestMain(m *testing.M) {
	code := m.Run()
	if program.path != "" {
		os.RemoveAll(filepath.Dir(program.path))
	}
	os.Exit(code)
}

func built(t testing.TB) string {
	t.Helper()
	program.once.Do(func() {
		dir, err := os.MkdirTemp("", "dampstone-server-test-")
		if err != nil {
			program.err = err
			return
		}
		// Another user must be able to run it, see TestReadOnlyFolder.
		if program.err = os.Chmod(dir, 0o755); program.err != nil {
			return
		}
		program.path = filepath.Join(dir, "dampstone")
		if text, err := exec.Command("go", "build", "-o", program.path, ".").CombinedOutput(); err != nil {
			program.err = fmt.Errorf("build: %w\n%s", err, text)
		}
	})
	if program.err != nil {
		t.Fatal(program.err)
	}
	return program.path
}

// process is the running program.
type process struct {
	t    testing.TB
	cmd  *exec.Cmd
	url  string
	link string       // that pairs the first device, "" where one is paired
	as   *http.Cookie // of the device that the test is, nil for none
	gone chan struct{}

	mu  sync.Mutex
	log []string
}

// start runs a command that ends up as the program, and waits until it says
// where it is. It fails the test if the program ends before.
func start(t testing.TB, name string, args ...string) *process {
	t.Helper()
	p := launch(t, exec.Command(name, args...))
	if p.url == "" {
		t.Fatalf("the program ended at once:\n%s", p.text())
	}
	return p
}

// launch is start for a program that may end at once: url is empty then.
func launch(t testing.TB, cmd *exec.Cmd) *process {
	t.Helper()
	p := &process{t: t, cmd: cmd, gone: make(chan struct{})}
	errs, err := p.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ready := make(chan string, 1)
	go func() {
		defer close(p.gone)
		for lines := bufio.NewScanner(errs); lines.Scan(); {
			p.mu.Lock()
			p.log = append(p.log, lines.Text())
			p.mu.Unlock()
			if _, link, ok := strings.Cut(lines.Text(), "Pair a device of Owner: "); ok {
				p.link = link // before the address, which the test waits for
			}
			if rest, ok := strings.CutPrefix(lines.Text(), "Dampstone is at "); ok {
				at, _, _ := strings.Cut(rest, " ")
				ready <- at
			}
		}
		p.cmd.Wait() // how it ended is read from ProcessState
	}()
	t.Cleanup(func() {
		p.cmd.Process.Kill()
		<-p.gone
		if t.Failed() {
			t.Logf("log of the program:\n%s", p.text())
		}
	})
	select {
	case p.url = <-ready:
	case <-p.gone:
	case <-time.After(patience):
		t.Fatalf("the program neither serves nor ends:\n%s", p.text())
	}
	return p
}

// pair makes the test a paired device, by the link that the program showed.
func (p *process) pair() {
	p.t.Helper()
	if p.link == "" {
		p.t.Fatalf("no link is shown:\n%s", p.text())
	}
	cookie, status, err := pairBy(p.link, "test")
	if err != nil || status != http.StatusSeeOther || cookie == nil {
		p.t.Fatalf("pair: status %d, %v", status, err)
	}
	p.as = cookie
}

// noRedirect sees each answer as it is.
var noRedirect = &http.Client{Timeout: patience, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}

func pairBy(link, device string) (*http.Cookie, int, error) {
	at, code, _ := strings.Cut(link, "/pair/")
	res, err := noRedirect.PostForm(at+"/pair", url.Values{"code": {code}, "device": {device}})
	if err != nil {
		return nil, 0, err
	}
	res.Body.Close()
	for _, c := range res.Cookies() {
		if strings.HasPrefix(c.Name, "dampstone-") {
			return c, res.StatusCode, nil
		}
	}
	return nil, res.StatusCode, nil
}

func (p *process) text() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return strings.Join(p.log, "\n")
}

// await waits until the log says something.
func (p *process) await(text string) {
	p.t.Helper()
	for end := time.Now().Add(patience); !strings.Contains(p.text(), text); time.Sleep(10 * time.Millisecond) {
		select {
		case <-p.gone:
			p.t.Fatalf("the program ended before it said %q:\n%s", text, p.text())
		default:
		}
		if time.Now().After(end) {
			p.t.Fatalf("the program does not say %q:\n%s", text, p.text())
		}
	}
}

// kill ends the process as a flat battery would.
func (p *process) kill() {
	p.cmd.Process.Signal(syscall.SIGKILL) // fails where it has gone already
	<-p.gone
}

// stop asks the process to end and waits.
func (p *process) stop() {
	p.t.Helper()
	p.cmd.Process.Signal(syscall.SIGTERM)
	<-p.gone
	if code := p.cmd.ProcessState.ExitCode(); code != 0 {
		p.t.Fatalf("the program ended with code %d:\n%s", code, p.text())
	}
}

// give sends entries as a phone does. The ids are those that the program says
// are stored.
func (p *process) give(client *http.Client, entries ...journal.Entry) (stored []journal.ID, failure syncing.StatusError, err error) {
	var req syncing.Request
	for _, e := range entries {
		req.Entries = append(req.Entries, e.Raw())
	}
	resp, err := p.exchange(client, req)
	if answered := (*syncing.StatusError)(nil); errors.As(err, &answered) {
		return nil, *answered, nil
	}
	return resp.Stored, failure, err
}

// exchange is one request of a phone. An answer other than 200 is a
// StatusError.
func (p *process) exchange(client *http.Client, req syncing.Request) (resp syncing.Response, err error) {
	body, err := json.Marshal(req)
	if err != nil {
		return resp, err
	}
	r, err := http.NewRequest(http.MethodPost, p.url+syncing.Path, bytes.NewReader(body))
	if err != nil {
		return resp, err
	}
	r.Header.Set("Content-Type", "application/json")
	if p.as != nil {
		r.AddCookie(p.as)
	}
	res, err := client.Do(r)
	if err != nil {
		return resp, err
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		var f syncing.Failure
		_ = json.NewDecoder(res.Body).Decode(&f)
		return resp, &syncing.StatusError{Status: res.StatusCode, Code: f.Code}
	}
	err = json.NewDecoder(res.Body).Decode(&resp)
	return resp, err
}

// get is the status of a page as a device sees it.
func (p *process) get(path string, as *http.Cookie) int {
	p.t.Helper()
	r, err := http.NewRequest(http.MethodGet, p.url+path, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	if as != nil {
		r.AddCookie(as)
	}
	res, err := noRedirect.Do(r)
	if err != nil {
		p.t.Fatal(err)
	}
	res.Body.Close()
	return res.StatusCode
}
