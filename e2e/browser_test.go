package e2e

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/launcher"
	"github.com/go-rod/rod/lib/proto"
)

// needBrowser skips a test of the browser in a short run.
func needBrowser(t testing.TB) {
	t.Helper()
	if testing.Short() {
		t.Skip("needs a browser; run without -short")
	}
}

// browser is a running browser process.
type browser struct {
	*rod.Browser
	pid  int
	gone chan struct{} // closed when the process has ended
}

// launch starts a browser on a profile. It talks to loopback alone.
func launch(profile string) (*browser, error) {
	l := launcher.New().Leakless(false).HeadlessNew(true).UserDataDir(profile).
		Set("disable-gpu").
		Set("disable-component-update").
		Set("disable-extensions").
		Set("no-default-browser-check").
		Set("no-proxy-server").
		Set("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost").
		Set("lang", "en-US")
	if os.Geteuid() == 0 {
		l.NoSandbox(true)
	}
	cmd := exec.Command(browserPath, l.FormatArgs()...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} // its processes can be paused together
	out, in, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	cmd.Stderr = in
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	in.Close()
	at := make(chan string, 1)
	go func() {
		defer out.Close()
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if _, url, ok := strings.Cut(lines.Text(), "DevTools listening on "); ok {
				at <- url
			}
		}
	}()
	b := &browser{pid: cmd.Process.Pid, gone: make(chan struct{})}
	go func() {
		defer close(b.gone)
		cmd.Wait()
	}()
	select {
	case url := <-at:
		b.Browser = rod.New().ControlURL(url).NoDefaultDevice()
	case <-b.gone:
		return nil, errors.New("the browser ended at once")
	case <-time.After(patience):
		b.kill()
		return nil, errors.New("the browser does not say where it listens")
	}
	if err := b.Connect(); err != nil {
		b.kill()
		return nil, err
	}
	return b, nil
}

// quit closes the browser as a person does, and waits until it has gone.
func (b *browser) quit() {
	b.Close() // fails if it has gone already
	select {
	case <-b.gone:
	case <-time.After(patience):
		b.kill()
	}
}

// kill ends all of the browser's processes.
func (b *browser) kill() {
	syscall.Kill(-b.pid, syscall.SIGKILL)
	<-b.gone
}

// ownBrowser is a browser for one test, on the profile.
func ownBrowser(t testing.TB, profile string) *browser {
	t.Helper()
	needBrowser(t)
	b, err := launch(profile)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.quit)
	giveDevices(t, b.Browser)
	return b
}

// newProfile is an empty folder for a browser. It is not testing's own, which
// fails a test where a process that just ends still writes into it.
func newProfile(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "dampstone-e2e-profile-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

var shared struct {
	once    sync.Once
	browser *browser
	profile string
	err     error
}

// freshContext is a window of the shared browser that knows nothing: no
// cookies, caches or databases of other tests.
func freshContext(t testing.TB) *rod.Browser {
	t.Helper()
	needBrowser(t)
	shared.once.Do(func() {
		if shared.profile, shared.err = os.MkdirTemp("", "dampstone-e2e-profile-"); shared.err == nil {
			shared.browser, shared.err = launch(shared.profile)
		}
	})
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	b, err := shared.browser.Incognito()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := (proto.TargetDisposeBrowserContext{BrowserContextID: b.BrowserContextID}).Call(shared.browser); err != nil {
			t.Log("close context:", err)
		}
	})
	giveDevices(t, b)
	return b
}

func closeShared() {
	if shared.browser != nil {
		shared.browser.quit()
	}
	if shared.profile != "" {
		os.RemoveAll(shared.profile)
	}
}
