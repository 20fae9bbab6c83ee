package e2e

import (
	"bufio"
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
	"dampstone/server/boltstore"
)

// server is the program as a running process.
type server struct {
	t      testing.TB
	binary string
	args   []string
	url    string // such as http://127.0.0.1:41234
	folder string // of the ledger, "" for the demo
	cmd    *exec.Cmd
	gone   chan struct{} // closed when the process has ended

	unpaired bool         // leave the first device to the test
	link     string       // that pairs the first device, "" where one is paired
	device   *http.Cookie // what the test is paired as

	mu  sync.Mutex
	log []string
}

// serveFolder starts the program over a folder.
func serveFolder(t testing.TB, folder string) *server {
	t.Helper()
	s := &server{t: t, binary: binary, args: []string{"-data", folder}, folder: folder}
	s.start("127.0.0.1:0")
	return s
}

// serveDemo starts the program with invented data.
func serveDemo(t testing.TB) *server {
	t.Helper()
	s := &server{t: t, binary: binary, args: []string{"-demo"}}
	s.start("127.0.0.1:0")
	return s
}

func (s *server) start(addr string) {
	s.t.Helper()
	cmd := exec.Command(s.binary, append([]string{"-addr", addr}, s.args...)...)
	if s.folder == "" {
		// The demo removes its folder when it is stopped, not when it is killed.
		cmd.Env = append(os.Environ(), "TMPDIR="+s.t.TempDir())
	}
	errs, err := cmd.StderrPipe()
	if err != nil {
		s.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	ready, gone := make(chan string, 1), make(chan struct{})
	s.cmd, s.gone, s.link = cmd, gone, ""
	go func() {
		defer close(gone)
		for lines := bufio.NewScanner(errs); lines.Scan(); {
			line := lines.Text()
			s.mu.Lock()
			s.log = append(s.log, line)
			if _, link, ok := strings.Cut(line, "Pair a device of Owner: "); ok {
				s.link = link // stands before the address
			}
			s.mu.Unlock()
			if rest, ok := strings.CutPrefix(line, "Dampstone is at "); ok {
				at, _, _ := strings.Cut(rest, " ")
				ready <- at
			}
		}
		cmd.Wait() // how it ended is read from ProcessState
	}()
	s.t.Cleanup(func() {
		cmd.Process.Kill()
		<-gone
		if s.t.Failed() {
			s.t.Logf("log of the server:\n%s", s.logText())
		}
	})
	select {
	case s.url = <-ready:
	case <-gone:
		s.t.Fatalf("the server ended at once:\n%s", s.logText())
	case <-time.After(patience):
		s.t.Fatalf("the server does not say where it is:\n%s", s.logText())
	}
	s.pairOnce(s.link)
}

// logText is the end of the log.
func (s *server) logText() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return strings.Join(s.log[max(0, len(s.log)-30):], "\n")
}

// kill ends the process as a flat battery would.
func (s *server) kill() {
	s.t.Helper()
	if err := s.cmd.Process.Signal(syscall.SIGKILL); err != nil {
		s.t.Fatal(err)
	}
	<-s.gone
}

// stop asks the process to end, and wants it to end well.
func (s *server) stop() {
	s.t.Helper()
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		s.t.Fatal(err)
	}
	<-s.gone
	if code := s.cmd.ProcessState.ExitCode(); code != 0 {
		s.t.Fatalf("the server ended with code %d:\n%s", code, s.logText())
	}
}

// restart starts the program again at the same address over the same data.
func (s *server) restart() {
	s.t.Helper()
	u, err := url.Parse(s.url)
	if err != nil {
		s.t.Fatal(err)
	}
	s.start(u.Host)
}

// entries reads the ledger of a server that is not running.
func (s *server) entries() []journal.Entry {
	s.t.Helper()
	store, err := boltstore.Open(filepath.Join(s.folder, "journal.bolt"), 5*time.Second)
	if err != nil {
		s.t.Fatal(err)
	}
	defer store.Close()
	list, err := store.Load(s.t.Context())
	if err != nil {
		s.t.Fatal(err)
	}
	return list
}
