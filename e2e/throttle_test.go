package e2e

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A throttle gives a whole browser, all of its processes and workers, only a
// part of the time: it pauses them together (SIGSTOP, SIGCONT) many times a
// second. The debugging protocol's own throttle reaches the page's thread
// alone.
type throttle struct {
	stop, done chan struct{}
	on, all    time.Duration
}

const (
	throttlePeriod = 8 * time.Millisecond
	throttleShare  = 0.25 // a quarter of the time is four times slower
)

// slow pauses the browser until release is called.
func (b *browser) slow() *throttle {
	th := &throttle{stop: make(chan struct{}), done: make(chan struct{})}
	go func() {
		runtime.LockOSThread() // and the thread ends with the function, priority and all
		defer close(th.done)
		defer syscall.Kill(-b.pid, syscall.SIGCONT)
		// Only root may; without it a busy machine makes the periods longer,
		// but not the share.
		syscall.Setpriority(syscall.PRIO_PROCESS, 0, -15)
		begun := time.Now()
		for {
			woken := time.Now()
			syscall.Kill(-b.pid, syscall.SIGCONT)
			time.Sleep(time.Duration(float64(throttlePeriod) * throttleShare))
			syscall.Kill(-b.pid, syscall.SIGSTOP)
			th.on += time.Since(woken)
			th.all = time.Since(begun)
			select {
			case <-th.stop:
				return
			// Whatever was too long awake is slept off.
			case <-time.After(time.Duration(float64(th.on)/throttleShare) - th.all):
			}
			th.all = time.Since(begun)
		}
	}()
	return th
}

// release lets the browser run freely again, and gives the share of the time
// that it had.
func (th *throttle) release() (share float64) {
	close(th.stop)
	<-th.done
	return float64(th.on) / float64(th.all)
}

// strays are processes of the browser that are not in its group, and so would
// not be paused.
func (b *browser) strays(t testing.TB) []string {
	t.Helper()
	parent, group, name := map[int]int{}, map[int]int{}, map[int]string{}
	files, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			continue // it has ended
		}
		text := string(raw)
		fields := strings.Fields(text[strings.LastIndexByte(text, ')')+1:])
		pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(file)))
		parent[pid], _ = strconv.Atoi(fields[1])
		group[pid], _ = strconv.Atoi(fields[2])
		name[pid] = text[strings.IndexByte(text, '(')+1 : strings.LastIndexByte(text, ')')]
	}
	var out []string
	for pid := range parent {
		for p := pid; p > 1; p = parent[p] {
			if p == b.pid {
				if group[pid] != b.pid {
					out = append(out, fmt.Sprintf("%d %s", pid, name[pid]))
				}
				break
			}
		}
	}
	return out
}
