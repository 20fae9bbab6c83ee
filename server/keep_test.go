package main

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
)

// command runs the program to its end.
func command(t *testing.T, args ...string) (out string, code int) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), built(t), args...)
	var text bytes.Buffer
	cmd.Stdout, cmd.Stderr = &text, &text
	err := cmd.Run()
	if _, ended := err.(*exec.ExitError); err != nil && !ended {
		t.Fatal(err)
	}
	return text.String(), cmd.ProcessState.ExitCode()
}

var pairLink = regexp.MustCompile(`http://\S+/pair/\S+`)

func TestPairingFromTheCommandLine(t *testing.T) {
	for _, running := range []bool{true, false} {
		t.Run(fmt.Sprint("server running: ", running), func(t *testing.T) {
			folder := t.TempDir()
			p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
			if p.get("/box", nil) != http.StatusUnauthorized {
				t.Error("an unpaired device reads")
			}
			p.pair()
			if p.get("/box", p.as) != http.StatusOK {
				t.Error("the paired device reads nothing")
			}
			if _, status, err := pairBy(p.link, "again"); err != nil || status != http.StatusForbidden {
				t.Errorf("the link a second time: status %d, %v", status, err)
			}
			if !running {
				p.stop()
			}
			out, code := command(t, "pair", "-data", folder, "Bo")
			if code != 0 || !strings.Contains(out, "Bo is new here") {
				t.Fatalf("pair: code %d\n%s", code, out)
			}
			var as *http.Cookie
			if running {
				link := pairLink.FindString(out)
				if !strings.ContainsAny(out, "▀▄█") {
					t.Errorf("no picture:\n%s", out)
				}
				var err error
				if as, _, err = pairBy(link, "Bo's phone"); err != nil || as == nil {
					t.Fatalf("link %q: %v", link, err)
				}
			} else {
				code := regexp.MustCompile(`Code for Bo: (\S+)`).FindStringSubmatch(out)
				if code == nil {
					t.Fatalf("no code:\n%s", out)
				}
				link := p.link
				p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
				if p.link != "" {
					t.Errorf("a second start shows a link although a device is paired (before it was %s)", link)
				}
				var err error
				if as, _, err = pairBy(p.url+"/pair/"+code[1], "Bo's phone"); err != nil || as == nil {
					t.Fatal(err)
				}
			}
			if p.get("/box", as) != http.StatusOK {
				t.Error("Bo's phone reads nothing")
			}
			if out, code := command(t, "people", "-data", folder); code != 0 || !strings.Contains(out, "Owner (owner)") || !strings.Contains(out, "Bo's phone") {
				t.Errorf("people: code %d\n%s", code, out)
			}
			if !running {
				p.stop()
			}
			if out, code := command(t, "revoke", "-data", folder, "bo's phone"); code != 0 || !strings.Contains(out, "is shut out") {
				t.Errorf("revoke: code %d\n%s", code, out)
			}
			if !running {
				p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
			}
			if p.get("/box", as) != http.StatusUnauthorized {
				t.Error("the revoked phone still reads")
			}
			if out, code := command(t, "revoke", "-data", folder, "bo's phone"); code != 1 || !strings.Contains(out, "the command people lists all") {
				t.Errorf("revoke again: code %d\n%s", code, out)
			}
		})
	}
}

func TestBackupAndRestoreWhileTheServerRuns(t *testing.T) {
	folder, other := t.TempDir(), t.TempDir()
	file := filepath.Join(t.TempDir(), "all.jsonl")
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	for i := range 5 {
		if _, _, err := p.give(noRedirect, storetest.Entry(t, journal.ID(fmt.Sprint("e", i)), i)); err != nil {
			t.Fatal(err)
		}
	}
	if out, code := command(t, "backup", "-data", folder, file); code != 0 || !strings.Contains(out, "holds all ledgers") {
		t.Fatalf("backup: code %d\n%s", code, out)
	}
	if info, err := os.Stat(file); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode of the backup: %v (%v)", info.Mode(), err)
	}
	for i, want := range []string{"5 entries were read, 5 of them new", "5 entries were read, 0 of them new"} {
		if out, code := command(t, "restore", "-data", other, file); code != 0 || !strings.Contains(out, want) {
			t.Errorf("restore %d: code %d\n%s", i, code, out)
		}
	}
	if held := journalOf(t, other); len(held) != 5 {
		t.Errorf("%d entries, want 5", len(held))
	}
	// Into the running server, with what it lacks.
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(raw, append(storetest.Entry(t, "more", 9).Raw(), "\n{broken\n"...)...), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, code := command(t, "restore", "-data", folder, file); code != 0 || !strings.Contains(out, "6 entries were read, 1 of them new") || !strings.Contains(out, "1 lines cannot be right") {
		t.Errorf("restore: code %d\n%s", code, out)
	}
	p.stop()
	if held := journalOf(t, folder); len(held) != 6 {
		t.Errorf("%d entries, want 6", len(held))
	}
}

func TestKeepingSaysWhatIsWrong(t *testing.T) {
	empty := t.TempDir()
	junk := filepath.Join(t.TempDir(), "junk")
	if err := os.WriteFile(junk, []byte("not ours"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name string
		args []string
		code int
		want string
	}{
		{"a folder without a ledger", []string{"people", "-data", empty}, 1, "holds no ledger of Dampstone"},
		{"a file that is not there", []string{"restore", "-data", empty, filepath.Join(empty, "x")}, 1, "there is no file"},
		{"a file of another program", []string{"restore", "-data", t.TempDir(), junk}, 1, "is not a file of Dampstone"},
		{"no name", []string{"pair", "-data", empty}, 2, "usage: server pair"},
		{"a name that cannot be", []string{"pair", "-data", t.TempDir(), "a\nb"}, 1, "write 1 to 60 letters"},
		{"a command that is not there", []string{"paar"}, 2, "the commands are: key, plan, people, pair, revoke, purge, backup, restore, repair, move, version, help"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if out, code := command(t, tc.args...); code != tc.code || !strings.Contains(out, tc.want) {
				t.Errorf("code %d, want %d\n%s", code, tc.code, out)
			}
		})
	}
	// A server that was killed leaves its address behind; that misleads nobody.
	folder := t.TempDir()
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.kill()
	if out, code := command(t, "people", "-data", folder); code != 0 || !strings.Contains(out, "Owner") {
		t.Errorf("after a kill: code %d\n%s", code, out)
	}
}

func TestDemoNeedsNoPairingAndStaysHere(t *testing.T) {
	p := start(t, built(t), "-demo", "-addr", "127.0.0.1:0")
	if p.link != "" || p.get("/box", nil) != http.StatusOK {
		t.Error("the demo wants pairing")
	}
	for _, addr := range []string{"0.0.0.0:0", ":0", "[::]:0", "192.0.2.1:0"} {
		if out, code := command(t, "-demo", "-addr", addr); code != 1 || !strings.Contains(out, "can be reached from other machines") {
			t.Errorf("%s: code %d\n%s", addr, code, out)
		}
	}
}

// A backup goes through a link, into a pipe, and leaves neither replaced.
func TestBackupLeavesLinksAndPipesAlone(t *testing.T) {
	folder := t.TempDir()
	data := filepath.Join(folder, "data")
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", data)
	p.pair()
	real, link := filepath.Join(folder, "real.jsonl"), filepath.Join(folder, "link.jsonl")
	if err := errors.Join(os.WriteFile(real, []byte("older"), 0o600), os.Symlink(real, link)); err != nil {
		t.Fatal(err)
	}
	if out, code := command(t, "backup", "-data", data, link); code != 0 {
		t.Fatalf("code %d: %s", code, out)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v, %v", info, err)
	}
	whole, err := os.ReadFile(real)
	if err != nil || !strings.Contains(string(whole), `"dampstone":"backup"`) {
		t.Errorf("the file behind the link holds %q, %v", whole, err)
	}
	pipe := filepath.Join(folder, "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Skip(err)
	}
	read := make(chan []byte, 1)
	go func() {
		raw, _ := os.ReadFile(pipe)
		read <- raw
	}()
	if out, code := command(t, "backup", "-data", data, pipe); code != 0 {
		t.Fatalf("code %d: %s", code, out)
	}
	if got := <-read; len(got) != len(whole) {
		t.Errorf("the pipe gave %d bytes, the file has %d", len(got), len(whole))
	}
	if info, err := os.Lstat(pipe); err != nil || info.Mode()&os.ModeNamedPipe == 0 {
		t.Errorf("the pipe is gone: %v, %v", info, err)
	}
}
