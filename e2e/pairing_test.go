package e2e

import (
	"net/http"
	"os/exec"
	"strings"
	"testing"
)

// unpairedServer is a server whose first device is left to the test.
func unpairedServer(t testing.TB) *server {
	t.Helper()
	s := &server{t: t, binary: binary, args: []string{"-data", ""}, folder: emptyFolder(t), unpaired: true}
	s.args[1] = s.folder
	s.start("127.0.0.1:0")
	if s.link == "" {
		t.Fatalf("the first start shows no link:\n%s", s.logText())
	}
	return s
}

// command runs the program over the server's folder.
func (s *server) command(name string, args ...string) string {
	s.t.Helper()
	out, err := exec.Command(s.binary, append([]string{name, "-data", s.folder}, args...)...).CombinedOutput()
	if err != nil {
		s.t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

// TestPairPhone takes a phone from knowing nothing to being shut out again.
func TestPairPhone(t *testing.T) {
	s := unpairedServer(t)
	p := newPage(t, freshContext(t))

	// It is told what to do, and reads nothing.
	p.goTo(s.url + "/box")
	p.untilText("h1", "Pair this device")
	if got := p.text("#main"); !strings.Contains(got, "nobody reads or writes") {
		t.Errorf("it says %q", got)
	}

	// The code may be typed, for an app that opens no links.
	_, code, _ := strings.Cut(s.link, "/pair/")
	p.goTo(s.url + "/pair")
	p.fill("#f-code", strings.ToUpper(code))
	p.tap("#main form button")
	p.untilThere("#f-device")
	p.fill("#f-device", "Boat phone")
	p.tap("#main form button")
	p.untilText("#main h1", "What is hatching?")
	p.untilAwake()
	p.untilInstalled(releaseOf(t, s.url))

	// What it writes arrives.
	p.goTo(s.url + "/box/new")
	p.untilSettled()
	p.fill("#f-name", "Boat box")
	p.tap("#main form button[type=submit]")
	p.untilKept(1, 0)

	// It pairs another.
	p.goTo(s.url + "/setup")
	p.untilSettled()
	p.tap(`a[href="/people"]`)
	p.untilText("h1", "People and phones")
	if got := p.text("#main"); !strings.Contains(got, "Boat phone") || !strings.Contains(got, "(this one)") {
		t.Errorf("the phone is not listed: %q", got)
	}
	p.tap(`form[action="/people/invite"] button`)
	p.untilThere("svg.qr")
	link := p.text("#link")
	other, err := usePairLink(link, "Second phone")
	if err != nil {
		t.Fatalf("link %q: %v", link, err)
	}
	if a := send(t, http.MethodGet, s.url+"/box", nil, "Cookie", other.Name+"="+other.Value); a.status != http.StatusOK || !strings.Contains(a.body, "Boat box") {
		t.Errorf("the second phone sees status %d without the box", a.status)
	}

	// Shut out, it keeps what it has, goes on working and says how it stands.
	if out := s.command("revoke", "Boat phone"); !strings.Contains(out, "is shut out") {
		t.Fatal(out)
	}
	p.goTo(s.url + "/box")
	p.untilSettled()
	p.untilText("#main", "Boat box")
	p.until("it says that it is not paired", `() => document.querySelector("#exchange")?.dataset.exchange === "unpaired"`)
	p.goTo(s.url + "/people")
	p.untilText("h1", "Pair this device")
}
