// Package pgtest starts PostgreSQL servers for tests, each in a folder of its
// own and on a free port of this computer.
package pgtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Server is a running server.
type Server struct {
	Folder string
	Port   int
	bin    string
	owner  *syscall.Credential // whom the server runs as; nil: as we do
}

// Start starts a new server with these settings besides, and stops it at the
// end of the test.
func Start(t testing.TB, settings ...string) *Server {
	t.Helper()
	s := newServer(t)
	if err := s.run("initdb", "-D", s.Folder, "-U", "dampstone", "-A", "trust", "-E", "UTF8", "--no-locale", "--no-sync", "--wal-segsize=1"); err != nil {
		t.Fatal(err)
	}
	s.start(t, settings)
	return s
}

// Standby starts a server that follows this one.
func (s *Server) Standby(t testing.TB, name string) *Server {
	t.Helper()
	b := newServer(t)
	from := fmt.Sprintf("host=127.0.0.1 port=%d user=dampstone application_name=%s", s.Port, name)
	if err := b.run("pg_basebackup", "-D", b.Folder, "-d", from, "-R", "-X", "stream", "-c", "fast", "--no-sync"); err != nil {
		t.Fatal(err)
	}
	b.start(t, nil)
	return b
}

func newServer(t testing.TB) *Server {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a PostgreSQL server")
	}
	bin, err := find()
	if err != nil {
		t.Fatal(err)
	}
	s := &Server{bin: bin}
	// Short names, for the socket in it; and readable by whom the server runs as.
	home, err := os.MkdirTemp("", "pg")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(home) })
	s.Folder = filepath.Join(home, "data")
	if err := os.Mkdir(s.Folder, 0o700); err != nil {
		t.Fatal(err)
	}
	if os.Geteuid() == 0 { // it refuses to run as root
		who, err := user.Lookup("postgres")
		if err != nil {
			t.Fatal(err)
		}
		uid, _ := strconv.Atoi(who.Uid)
		gid, _ := strconv.Atoi(who.Gid)
		s.owner = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		for _, path := range []string{home, s.Folder} {
			if err := os.Chown(path, uid, gid); err != nil {
				t.Fatal(err)
			}
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.Port = l.Addr().(*net.TCPAddr).Port
	l.Close()
	return s
}

func (s *Server) start(t testing.TB, settings []string) {
	t.Helper()
	config := []string{
		fmt.Sprintf("port = %d", s.Port), "listen_addresses = '127.0.0.1'",
		fmt.Sprintf("unix_socket_directories = '%s'", filepath.Dir(s.Folder)), "shared_buffers = 64MB", "max_connections = 200",
	}
	f, err := os.OpenFile(filepath.Join(s.Folder, "postgresql.auto.conf"), os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	_, err = fmt.Fprintf(f, "\n%s\n", strings.Join(append(config, settings...), "\n"))
	if err := errors.Join(err, f.Close()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Kill)
	s.Restart(t)
}

// Restart starts a server that was stopped or killed.
func (s *Server) Restart(t testing.TB) {
	t.Helper()
	if err := s.run("pg_ctl", "-D", s.Folder, "-w", "-t", "120", "-l", filepath.Join(s.Folder, "log"), "start"); err != nil {
		log, _ := os.ReadFile(filepath.Join(s.Folder, "log"))
		t.Fatalf("%v\n%s", err, log)
	}
}

// Kill ends the server at once, as when its machine loses power.
func (s *Server) Kill() {
	raw, err := os.ReadFile(filepath.Join(s.Folder, "postmaster.pid"))
	if err != nil {
		return
	}
	first, _, _ := bytes.Cut(raw, []byte("\n"))
	pid, err := strconv.Atoi(string(first))
	if err != nil {
		return
	}
	children, _ := exec.Command("pgrep", "-P", string(first)).Output()
	_ = syscall.Kill(pid, syscall.SIGKILL)
	for _, child := range strings.Fields(string(children)) {
		if n, err := strconv.Atoi(child); err == nil {
			_ = syscall.Kill(n, syscall.SIGKILL)
		}
	}
	for range 1000 { // a killed process is gone a moment later
		if syscall.Kill(pid, 0) != nil {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// Promote makes a standby a primary, and one without a standby.
func (s *Server) Promote(t testing.TB) {
	t.Helper()
	if err := s.run("pg_ctl", "-D", s.Folder, "-w", "promote"); err != nil {
		t.Fatal(err)
	}
	s.Exec(t, "alter system set synchronous_standby_names = ''")
	s.Exec(t, "select pg_reload_conf()")
}

// Exec runs a statement in the database postgres.
func (s *Server) Exec(t testing.TB, sql string) {
	t.Helper()
	ctx := context.Background()
	c, err := pgx.Connect(ctx, s.Address("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close(ctx)
	if _, err := c.Exec(ctx, sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

var databases atomic.Int64

// Database makes a new database and gives its address.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	name := fmt.Sprint("d", databases.Add(1))
	s.Exec(t, "create database "+name)
	return s.Address(name)
}

// Address is that of a database.
func (s *Server) Address(database string) string {
	return fmt.Sprintf("postgres://dampstone@127.0.0.1:%d/%s?sslmode=disable", s.Port, database)
}

func (s *Server) run(name string, args ...string) error {
	cmd := exec.Command(filepath.Join(s.bin, name), args...)
	cmd.Dir = filepath.Dir(s.Folder)
	cmd.Env = append(os.Environ(), "LC_ALL=C")
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.owner}
	// To a file: a server that goes on holds a pipe open.
	out, err := os.CreateTemp(filepath.Dir(s.Folder), "out")
	if err != nil {
		return err
	}
	defer out.Close()
	cmd.Stdout, cmd.Stderr = out, out
	if err := cmd.Run(); err != nil {
		said, _ := os.ReadFile(out.Name())
		return fmt.Errorf("%s: %w\n%s", name, err, said)
	}
	return nil
}

// find is the folder of PostgreSQL's programs. Where there are none it installs
// Debian's, if that is ours to do: as root, on Debian.
func find() (string, error) {
	if bin := look(); bin != "" {
		return bin, nil
	}
	if _, err := exec.LookPath("apt-get"); err != nil || os.Geteuid() != 0 {
		return "", errors.New("PostgreSQL's initdb is not here; install its server (on Debian as root: apt-get install postgresql), or run with -short")
	}
	// apt-get does not wait for another.
	lock, err := os.OpenFile(filepath.Join(os.TempDir(), "dampstone-chromium.lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return "", fmt.Errorf("install PostgreSQL: %w", err)
	}
	defer lock.Close()
	if err := syscall.Flock(int(lock.Fd()), syscall.LOCK_EX); err != nil {
		return "", fmt.Errorf("install PostgreSQL: %w", err)
	}
	if bin := look(); bin != "" {
		return bin, nil
	}
	for _, args := range [][]string{{"update"}, {"install", "-y", "--no-install-recommends", "postgresql", "procps"}} {
		fmt.Println("no PostgreSQL found, running apt-get", args)
		cmd := exec.Command("apt-get", args...)
		cmd.Env = append(os.Environ(), "DEBIAN_FRONTEND=noninteractive")
		cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr
		if err := cmd.Run(); err != nil {
			return "", fmt.Errorf("apt-get %v: %w", args, err)
		}
	}
	if bin := look(); bin != "" {
		return bin, nil
	}
	return "", errors.New("the installed PostgreSQL has no initdb")
}

// look is the newest of Debian's folders, or where initdb is in PATH, if all
// that is needed is there.
func look() string {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	slices.Sort(found)
	slices.Reverse(found)
	if path, err := exec.LookPath("initdb"); err == nil {
		found = append(found, path)
	}
	for _, path := range found {
		if _, err := os.Stat(filepath.Join(filepath.Dir(path), "pg_basebackup")); err == nil {
			return filepath.Dir(path)
		}
	}
	return ""
}
