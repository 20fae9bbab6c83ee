package e2e

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"strconv"
	"testing"

	"dampstone/data/demo"
	"dampstone/flybox/journal"
	"dampstone/server/sync"
)

// refuseNew makes a server refuse whatever it is given, as one of another
// version might: what it stored now is named as refused.
func refuseNew(res *http.Response) error {
	if res.Request.URL.Path != sync.Path || res.StatusCode != http.StatusOK {
		return nil
	}
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	var answer sync.Response
	if err := json.Unmarshal(raw, &answer); err != nil {
		return err
	}
	for _, id := range answer.Stored {
		answer.Bad = append(answer.Bad, sync.Refused{ID: id, Code: "too-long"})
	}
	answer.Stored = []journal.ID{}
	if raw, err = json.Marshal(answer); err != nil {
		return err
	}
	res.Body = io.NopCloser(bytes.NewReader(raw))
	res.ContentLength = int64(len(raw))
	res.Header.Set("Content-Length", strconv.Itoa(len(raw)))
	return nil
}

// TestRefusedEntryIsShown: what the server does not take stays on the phone,
// is shown there with the reason, also without signal, and goes when it is
// taken at last.
func TestRefusedEntryIsShown(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	at, l := s.behindLine(t)
	l.does(refuseNew)

	p.goTo(at + "/box/fly/" + string(demo.ID("golden-short")))
	p.untilSettled()
	p.tap(`.placeline .does form:has([value=tied]) button`)
	p.untilText("#main .flash", "Saved")
	p.untilText("#notice", "The server does not take some of what is on this phone")
	p.untilKept(len(entries)+1, 1)

	// It is said once, not at every opening.
	p.goTo(at + "/box")
	p.untilSettled()
	p.tap(`#nav a[href="/setup"]`)
	p.tap("[data-sync-now]")
	p.untilText("#exchange", "1 not backed up yet")
	if got := p.text("#notice"); got != "" {
		t.Errorf("it is said again: %q", got)
	}

	// It can be looked at without signal, after the app was closed.
	l.server.Close()
	p.goTo(at + "/setup")
	p.untilSettled()
	p.untilText("#sync", "1 entry was set aside")
	p.tap(`a[href="/setup/quarantine"]`)
	p.untilText("#main", "Only on this phone")
	p.untilText("#main", "Flies that came or went")
	p.untilText("#main", "It is longer than an entry may be.")
	p.untilText("#main .raw", string(`"`+demo.ID("golden-short")+`"`))

	lineTo(t, at, s.url)
	p.tap("[data-sync-now]")
	p.untilKept(len(entries)+1, 0)
	p.tap(`#nav a[href="/setup"]`)
	p.untilText("#main h1", "Setup")
	p.until("nothing is set aside any more", `() => !document.querySelector('a[href="/setup/quarantine"]')`)
	s.stop()
	if got := len(s.entries()); got != len(entries)+1 {
		t.Errorf("the server holds %d entries, want %d", got, len(entries)+1)
	}
}

// TestServerWithFault: that a server has no room or a fault is said in other
// words than that there is no signal.
func TestServerWithFault(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	at, l := s.behindLine(t)
	status := func(code int) func(*http.Response) error {
		return func(res *http.Response) error {
			if res.Request.URL.Path == sync.Path {
				res.StatusCode, res.Status = code, http.StatusText(code)
			}
			return nil
		}
	}
	l.does(status(http.StatusInsufficientStorage))
	p.goTo(at + "/box/fly/" + string(demo.ID("golden-short")))
	p.untilSettled()
	p.tap(`.placeline .does form:has([value=tied]) button`)
	p.untilText("#main .flash", "Saved")
	p.untilText("#exchange", "The server has no room left: 1 not backed up")
	l.does(status(http.StatusInternalServerError))
	p.tap(`#nav a[href="/setup"]`)
	p.tap("[data-sync-now]")
	p.untilText("#exchange", "The server has a fault: 1 not backed up")
	l.server.Close()
	p.tap("[data-sync-now]")
	p.untilText("#exchange", "No signal: 1 not backed up yet")
	p.untilKept(len(entries)+1, 1)
}
