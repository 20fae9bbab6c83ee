package main

import (
	"bufio"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"dampstone/flybox/journal"
	"dampstone/flybox/storetest"
	syncing "dampstone/server/sync"
)

// fill gives entries until the program refuses some, as it must for want of
// room, and returns those that it said were stored.
func fill(t *testing.T, p *process) (acknowledged map[journal.ID]journal.Entry) {
	t.Helper()
	acknowledged = map[journal.ID]journal.Entry{}
	for batch := range 400 {
		var entries []journal.Entry
		for i := range 50 {
			entries = append(entries, storetest.Entry(t, journal.ID(fmt.Sprintf("b%d-%d-%s", batch, i, strings.Repeat("x", 40))), i))
		}
		stored, failure, err := p.give(http.DefaultClient, entries...)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if slices.Contains(stored, e.ID) {
				acknowledged[e.ID] = e
			}
		}
		if failure.Status == 0 {
			continue
		}
		if failure.Status != http.StatusInsufficientStorage || failure.Code != syncing.CodeFull {
			t.Errorf("a full disk was answered with %v, want 507 %s", failure, syncing.CodeFull)
		}
		if len(acknowledged) == 0 {
			t.Error("nothing was stored before the disk was full")
		}
		// It still serves what it has.
		if status := p.get("/box", p.as); status != http.StatusOK {
			t.Errorf("after the disk was full: status %d", status)
		}
		return acknowledged
	}
	t.Fatal("the disk is not full")
	return nil
}

// holdsAll checks that a folder's ledger is what was acknowledged and so many
// entries more.
func holdsAll(t *testing.T, folder string, acknowledged map[journal.ID]journal.Entry, more int) {
	t.Helper()
	held := journalOf(t, folder)
	for id := range acknowledged {
		if _, ok := held[id]; !ok {
			t.Errorf("%s was acknowledged and is lost", id)
		}
	}
	if len(held) != len(acknowledged)+more {
		t.Errorf("%d entries are held, want the %d acknowledged and %d more", len(held), len(acknowledged), more)
	}
}

// TestFileMayNotGrow bounds the size that the program's files may have
// (RLIMIT_FSIZE, setrlimit(2)), which fails its writes much as a full disk
// does, on every machine.
func TestFileMayNotGrow(t *testing.T) {
	folder := t.TempDir()
	// The signal is ignored, so that the write itself fails: EFBIG.
	p := start(t, "sh", "-c", `trap '' XFSZ; ulimit -f 1024; exec "$0" "$@"`, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	as := p.as
	acknowledged := fill(t, p)
	p.stop() // and with it all of its log is here
	if !strings.Contains(p.text(), journal.ErrFull.Error()) {
		t.Errorf("the log does not say that the disk is full:\n%s", p.text())
	}
	// With room again everything goes on.
	p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.as = as
	if stored, _, err := p.give(http.DefaultClient, storetest.Entry(t, "afterwards", 1)); err != nil || len(stored) != 1 {
		t.Errorf("with room again: stored %v, %v", stored, err)
	}
	p.stop()
	holdsAll(t, folder, acknowledged, 1)
}

// smallDisk is a folder on a file system of its own with so many bytes. It is
// in the memory of a process, and seen through it, as the mount is in the
// name space of that process alone, which needs no rights of the machine's.
func smallDisk(t *testing.T, size int) (folder string) {
	t.Helper()
	at := t.TempDir()
	cmd := exec.Command("sh", "-c", fmt.Sprintf(`mount -t tmpfs -o size=%d,mode=700 none "$0" && echo ready && read -r end`, size), at)
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}},
	}
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Skipf("this machine lets nobody mount a file system (%v); see TestFileMayNotGrow", err)
	}
	t.Cleanup(func() { in.Close(); cmd.Wait() })
	if line, err := bufio.NewReader(out).ReadString('\n'); line != "ready\n" {
		t.Skipf("this machine lets nobody mount a file system (%v); see TestFileMayNotGrow", err)
	}
	return filepath.Join("/proc", fmt.Sprint(cmd.Process.Pid), "root", at)
}

// TestDiskFull fills a real file system: writing, backing up and starting
// again say what is wrong, and nothing is damaged. With room again the same
// process goes on.
func TestDiskFull(t *testing.T) {
	disk := smallDisk(t, 3<<20)
	folder := filepath.Join(disk, "data")
	// Something else that takes room, and will be removed.
	ballast := filepath.Join(disk, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 1<<20), 0o600); err != nil {
		t.Fatal(err)
	}
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.pair()
	as := p.as
	acknowledged := fill(t, p)

	// A backup to the same disk leaves no half of a file behind.
	backup := filepath.Join(disk, "backup.jsonl")
	if err := os.Truncate(ballast, 1<<20-(32<<10)); err != nil { // room for its beginning
		t.Fatal(err)
	}
	out, code := command(t, "backup", "-data", folder, backup)
	if code == 0 || !strings.Contains(out, syscall.ENOSPC.Error()) {
		t.Errorf("backup to a full disk: code %d, %q", code, out)
	}
	left, err := os.ReadDir(disk)
	if err != nil || len(left) != 2 {
		t.Errorf("a backup that broke off leaves %v (%v)", left, err)
	}
	p.kill() // the disk is full and then the lights go out

	p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder)
	p.as = as
	// What it holds already it acknowledges; that needs no room.
	for _, e := range acknowledged {
		if stored, failure, err := p.give(http.DefaultClient, e); err != nil || len(stored) != 1 {
			t.Errorf("given again: stored %v, %v, %v", stored, failure, err)
		}
		break
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if stored, failure, err := p.give(http.DefaultClient, storetest.Entry(t, "afterwards", 1)); err != nil || len(stored) != 1 {
		t.Errorf("with room again: stored %v, %v, %v", stored, failure, err)
	}
	p.stop()
	holdsAll(t, folder, acknowledged, 1)
}
