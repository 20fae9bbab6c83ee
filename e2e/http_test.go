package e2e

import (
	"bytes"
	"io"
	"net/http"
	"net/url"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"dampstone/data/demo"
)

// answer is what the server said to one request.
type answer struct {
	status int
	header http.Header
	body   string
}

// client follows no redirect, so that each answer is seen.
var client = &http.Client{
	Timeout:       patience,
	CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
}

// send makes one request, with headers as pairs.
func send(t testing.TB, method, address string, body io.Reader, headers ...string) answer {
	t.Helper()
	a, err := trySend(method, address, body, headers...)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func trySend(method, address string, body io.Reader, headers ...string) (answer, error) {
	r, err := http.NewRequest(method, address, body)
	if err != nil {
		return answer{}, err
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	asDevice(r)
	res, err := client.Do(r)
	if err != nil {
		return answer{}, err
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	return answer{res.StatusCode, res.Header, string(text)}, err
}

// post sends a form as a page of the same site does.
func (s *server) post(path string, form url.Values, headers ...string) answer {
	s.t.Helper()
	headers = append([]string{"Content-Type", "application/x-www-form-urlencoded", "Sec-Fetch-Site", "same-origin", "Origin", s.url}, headers...)
	return send(s.t, http.MethodPost, s.url+path, strings.NewReader(form.Encode()), headers...)
}

var ledgerHas = regexp.MustCompile(`The ledger has (\d+) entr`)

// count is how many entries the ledger has, as Setup says.
func (s *server) count() int {
	s.t.Helper()
	a := send(s.t, http.MethodGet, s.url+"/setup", nil)
	found := ledgerHas.FindStringSubmatch(a.body)
	if found == nil {
		s.t.Fatalf("Setup does not say how many entries there are: %d %.300s", a.status, a.body)
	}
	n, _ := strconv.Atoi(found[1])
	return n
}

// newFly is a form that is in order.
func newFly(name string) url.Values {
	return url.Values{"name": {name}, "style": {"beetle"}, "hook": {"14"}, "body": {"#202020"}, "wing": {"#404040"}, "under": {"#202020"}}
}

// TestCrossOriginPostRefused: a page of another site must not write into the
// ledger. The headers are those that browsers send (W3C Fetch Metadata,
// Sec-Fetch-Site; RFC 6454, Origin).
func TestCrossOriginPostRefused(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	for _, c := range []struct {
		name    string
		headers []string
		status  int
	}{
		{"from another site", []string{"Sec-Fetch-Site", "cross-site", "Origin", "https://elsewhere.example"}, http.StatusForbidden},
		{"from another port of this machine", []string{"Sec-Fetch-Site", "same-site", "Origin", "http://127.0.0.1:1"}, http.StatusForbidden},
		{"by an old browser that only says where from", []string{"Sec-Fetch-Site", "", "Origin", "https://elsewhere.example"}, http.StatusForbidden},
		{"from a page without an origin", []string{"Sec-Fetch-Site", "cross-site", "Origin", "null"}, http.StatusForbidden},
		{"from our own page", nil, http.StatusSeeOther},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := s.count()
			a := s.post("/box/fly/new", newFly("Test beetle"), c.headers...)
			if a.status != c.status {
				t.Errorf("status %d, want %d", a.status, c.status)
			}
			added := s.count() - before
			if c.status == http.StatusForbidden {
				if added != 0 {
					t.Errorf("%d entries were added", added)
				}
				if !strings.Contains(a.body, "This came from another site and was refused.") {
					t.Errorf("no sentence says why: %.300s", a.body)
				}
			} else if added == 0 {
				t.Error("our own post added nothing")
			}
		})
	}
	t.Run("sync with the media type of a form", func(t *testing.T) {
		a := send(t, http.MethodPost, s.url+"/sync", strings.NewReader(`{"entries":[]}`), "Content-Type", "text/plain")
		if a.status != http.StatusUnsupportedMediaType {
			t.Errorf("status %d, want %d", a.status, http.StatusUnsupportedMediaType)
		}
	})
	s.stop()
	if got := len(s.entries()); got != len(entries)+1 {
		t.Errorf("the journal has %d entries, want %d and the one fly of our own page", got, len(entries))
	}
}

// TestHeaders: every answer carries the policy that keeps injected text from
// running (W3C Content Security Policy Level 3) and forbids guessing at media
// types (WHATWG Fetch, X-Content-Type-Options). A worker's script has its own
// policy, so scripts and workers carry it too.
func TestHeaders(t *testing.T) {
	s := serveDemo(t)
	paths := []string{
		"/", "/?wings=short&length=22", "/?length=abc", "/box", "/box?q=golden", "/box/new", "/box/fly/new", string("/box/" + demo.ID("boat-box")), string("/box/" + demo.ID("boat-box") + "/edit"),
		string("/box/fly/" + demo.ID("golden-short")), string("/box/fly/" + demo.ID("golden-short") + "/edit"), "/hatch/claassenia", "/setup", "/setup/size", "/nothing/here", "/hatch/nothing",
		"/compare?h=hesperoperla&h=calineuria", "/year", "/year?q=sally", "/hatches", "/hatches/new", "/day", "/day/fly", "/day/on", "/day/results", string("/day/" + demo.ID("outing")), string("/day/" + demo.ID("outing") + "/edit"), "/trip", "/trip/new", string("/trip/" + demo.ID("trip")), string("/trip/" + demo.ID("trip") + "/edit"), string("/trip/" + demo.ID("trip") + "/pack"),
		string("/trip/" + demo.ID("trip") + "/back"), string("/trip/" + demo.ID("trip") + "/card"), string("/trip/" + demo.ID("trip") + "/card.txt"), string("/trip/" + demo.ID("trip") + "/trip.ics"), "/pair", "/people",
		"/bench", "/bench/orders", "/bench/order/new", string("/bench/order/" + demo.ID("order-1")), string("/bench/recipe/" + demo.ID("golden-short")), "/bench/materials", "/bench/material/new",
		"/bench/shopping", "/bench/shopping.txt", "/bench/foam", "/bench/foam?length=a+hand",
		"/sync", "/sw.js", "/manifest.webmanifest", "/manifest.webmanifest?lang=es", "/static/nothing.js", "/shell/blank",
	}
	for _, f := range releaseOf(t, s.url).Files {
		paths = append(paths, f.URL)
	}
	for _, path := range paths {
		a := send(t, http.MethodGet, s.url+path, nil)
		if got := a.header.Get("X-Content-Type-Options"); got != "nosniff" {
			t.Errorf("%s: X-Content-Type-Options %q", path, got)
		}
		checkPolicy(t, path, a.header.Values("Content-Security-Policy"))
		if a.header.Get("Content-Type") == "" {
			t.Errorf("%s: no media type", path)
		}
		if got := a.header.Get("Referrer-Policy"); got != "same-origin" && got != "no-referrer" {
			t.Errorf("%s: Referrer-Policy %q", path, got)
		}
		if strings.Contains(a.header.Get("Content-Type"), "text/html") {
			checkNoInline(t, path, a.body)
		}
	}
}

// checkPolicy wants a policy that lets nothing run or load but our own files.
func checkPolicy(t *testing.T, path string, policies []string) {
	t.Helper()
	if len(policies) == 0 {
		t.Errorf("%s: no Content-Security-Policy", path)
		return
	}
	for _, policy := range policies {
		has := map[string]string{}
		for directive := range strings.SplitSeq(policy, ";") {
			name, value, _ := strings.Cut(strings.TrimSpace(directive), " ")
			has[name] = value
		}
		for name, want := range map[string]string{
			"default-src": "'none'", "script-src": "'self' 'wasm-unsafe-eval'", "style-src": "'self'",
			"connect-src": "'self'", "form-action": "'self'", "base-uri": "'none'", "frame-ancestors": "'none'",
		} {
			if has[name] != want {
				t.Errorf("%s: %s is %q, want %q", path, name, has[name], want)
			}
		}
	}
}

var inline = regexp.MustCompile(`(?i)<style|\sstyle=|\son[a-z]+=|javascript:|<script(?:\s[^>]*)?>[^<]`)

func checkNoInline(t *testing.T, path, body string) {
	t.Helper()
	if found := inline.FindString(body); found != "" {
		t.Errorf("%s: inline %q", path, found)
	}
}

// TestSizesBounded: what is too large is refused with a sentence, and nothing
// of it is kept.
func TestSizesBounded(t *testing.T) {
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	large := strings.Repeat("x", 2<<20+1)
	note := newFly("Test beetle")
	note.Set("notes", strings.Repeat("n", 4001))
	for _, c := range []struct {
		name string
		do   func() (answer, error)
		want int
		says string
	}{
		{"a form of more than 2 MB", func() (answer, error) { return s.tryPost("/box/fly/new", "name="+large) }, http.StatusRequestEntityTooLarge, "That is too much at once."},
		{"a form of just over 64 kB", func() (answer, error) { return s.tryPost("/box/fly/new", "name="+large[:64<<10]) }, http.StatusRequestEntityTooLarge, "That is too much at once."},
		{"a note of one character too many", func() (answer, error) { return s.tryPost("/box/fly/new", note.Encode()) }, http.StatusUnprocessableEntity, "Too long: at most 4000 characters."},
		{"a sync of more than 2 MB", func() (answer, error) {
			return trySend(http.MethodPost, s.url+"/sync", strings.NewReader(`{"entries":["`+large+`"]}`), "Content-Type", "application/json")
		}, http.StatusRequestEntityTooLarge, "body-too-large"},
		{"a sync of 501 entries", func() (answer, error) {
			return trySend(http.MethodPost, s.url+"/sync", strings.NewReader(`{"entries":[`+strings.Repeat("{},", 500)+`{}]}`), "Content-Type", "application/json")
		}, http.StatusRequestEntityTooLarge, "too-many-entries"},
		{"an address with answers of 9 kB", func() (answer, error) {
			return trySend(http.MethodGet, s.url+"/?length="+large[:9<<10], nil)
		}, http.StatusRequestEntityTooLarge, "That is too much at once."},
		{"headers of 64 kB", func() (answer, error) {
			return trySend(http.MethodGet, s.url+"/", nil, "Cookie", "prefs="+large[:64<<10])
		}, http.StatusRequestHeaderFieldsTooLarge, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, err := c.do()
			if err != nil {
				// The server may close the connection while we still send
				// (RFC 9110, section 15.5.14).
				t.Logf("connection closed: %v", err)
			} else if a.status != c.want || !strings.Contains(a.body, c.says) {
				t.Errorf("status %d, want %d, and %q: %.300s", a.status, c.want, c.says, a.body)
			}
			if got := s.count(); got != len(entries) {
				t.Errorf("the ledger has %d entries, want %d", got, len(entries))
			}
		})
	}
}

func (s *server) tryPost(path, body string) (answer, error) {
	return trySend(http.MethodPost, s.url+path, strings.NewReader(body),
		"Content-Type", "application/x-www-form-urlencoded", "Sec-Fetch-Site", "same-origin", "Origin", s.url)
}

// TestMethods: each address takes its own methods. Others are answered 405
// with Allow (RFC 9110, section 15.5.6), and HEAD is GET without a body
// (section 9.3.2).
func TestMethods(t *testing.T) {
	s := serveDemo(t)
	fly, box, trip, day, order := "/box/fly/"+demo.ID("golden-short"), "/box/"+demo.ID("boat-box"), "/trip/"+demo.ID("trip"), "/day/"+demo.ID("outing"), "/bench/order/"+demo.ID("order-1")
	methods := []string{"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
	for path, allowed := range map[string]string{
		"/": "GET HEAD", "/hatch/claassenia": "GET HEAD", "/box": "GET HEAD", string(fly): "GET HEAD", string(box): "GET HEAD",
		"/box/new": "GET HEAD POST", "/box/fly/new": "GET HEAD POST", string(fly + "/edit"): "GET HEAD POST", string(box + "/edit"): "GET HEAD POST",
		string(fly + "/count"): "POST", string(fly + "/move"): "POST", string(fly + "/remove"): "POST", string(box + "/remove"): "POST",
		"/setup": "GET HEAD POST", "/setup/size": "GET HEAD POST", "/sync": "POST",
		"/compare?h=hesperoperla&h=calineuria": "GET HEAD", "/hatch/claassenia/seen": "POST", "/year": "GET HEAD", "/hatches": "GET HEAD", "/hatches/new": "GET HEAD POST",
		"/day": "GET HEAD POST", "/day/fly": "GET HEAD POST", "/day/on": "GET HEAD", "/day/results": "GET HEAD",
		string(day): "GET HEAD", string(day + "/edit"): "GET HEAD POST", string(day + "/tap"): "POST", string(day + "/undo"): "POST", string(day + "/end"): "POST", string(day + "/remove"): "POST",
		"/trip": "GET HEAD", "/trip/new": "GET HEAD POST", string(trip): "GET HEAD", string(trip + "/edit"): "GET HEAD POST", string(trip + "/remove"): "POST",
		string(trip + "/line"): "POST", string(trip + "/pack"): "GET HEAD POST", string(trip + "/back"): "GET HEAD POST", string(trip + "/card"): "GET HEAD",
		string(trip + "/card.txt"): "GET HEAD", string(trip + "/trip.ics"): "GET HEAD",
		"/bench": "GET HEAD", "/bench/tied": "POST", "/bench/untied": "POST", "/bench/orders": "GET HEAD", "/bench/order/new": "GET HEAD POST",
		string(order): "GET HEAD", string(order + "/edit"): "GET HEAD POST", string(order + "/hand"): "POST", string(order + "/remove"): "POST",
		string("/bench/recipe/" + demo.ID("golden-short")): "GET HEAD POST", "/bench/materials": "GET HEAD", "/bench/material/new": "GET HEAD POST",
		"/bench/material/none/count": "POST", "/bench/material/none/remove": "POST", "/bench/shopping": "GET HEAD", "/bench/shopping.txt": "GET HEAD", "/bench/foam": "GET HEAD",
		"/sw.js": "GET HEAD", "/manifest.webmanifest": "GET HEAD", releaseOf(t, s.url).Files[0].URL: "GET HEAD",
	} {
		ok := map[string]bool{}
		for m := range strings.FieldsSeq(allowed) {
			ok[m] = true
		}
		for _, m := range methods {
			if m == "POST" && ok[m] {
				continue // tried by the tests of the forms
			}
			a := send(t, m, s.url+path, nil)
			switch {
			case ok[m] && a.status != http.StatusOK:
				t.Errorf("%s %s: status %d, want 200", m, path, a.status)
			case m == "HEAD" && a.body != "":
				t.Errorf("HEAD %s has a body", path)
			case !ok[m] && a.status != http.StatusMethodNotAllowed:
				t.Errorf("%s %s: status %d, want 405", m, path, a.status)
			case !ok[m] && !sameSet(a.header.Values("Allow"), ok):
				t.Errorf("%s %s: Allow %q, want %q", m, path, a.header.Values("Allow"), allowed)
			}
		}
	}
}

func sameSet(list []string, want map[string]bool) bool {
	n := 0
	for m := range strings.SplitSeq(strings.Join(list, ","), ",") {
		if !want[strings.TrimSpace(m)] {
			return false
		}
		n++
	}
	return n == len(want)
}

// TestRefusesReachableAddress: without pairing, nobody but this machine.
func TestRefusesReachableAddress(t *testing.T) {
	for _, addr := range []string{"0.0.0.0:0", ":0", "192.0.2.1:80", "nonsense"} {
		out, code := runProgram(t, "-addr", addr, "-data", t.TempDir())
		if code == 0 || !strings.Contains(out, "address") {
			t.Errorf("-addr %s: code %d and %q, want a refusal that says why", addr, code, out)
		}
	}
}

// TestTakenAddressAndFolder: two programs do not share an address or a ledger,
// and the second says what to do.
func TestTakenAddressAndFolder(t *testing.T) {
	folder, _ := demoFolder(t)
	s := serveFolder(t, folder)
	host := strings.TrimPrefix(s.url, "http://")
	if out, code := runProgram(t, "-addr", host, "-data", t.TempDir()); code == 0 || !strings.Contains(out, "is taken") {
		t.Errorf("second program at %s: code %d, %q", host, code, out)
	}
	if out, code := runProgram(t, "-addr", "127.0.0.1:0", "-data", folder); code == 0 || !strings.Contains(out, "is in use") {
		t.Errorf("second program over the same folder: code %d, %q", code, out)
	}
}

func runProgram(t *testing.T, args ...string) (output string, code int) {
	t.Helper()
	var out bytes.Buffer
	cmd := exec.Command(binary, args...)
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stop := time.AfterFunc(patience, func() { cmd.Process.Kill() })
	defer stop.Stop()
	err := cmd.Wait()
	if cmd.ProcessState.ExitCode() < 0 {
		t.Fatalf("%v does not end: %v\n%s", args, err, out.String())
	}
	return out.String(), cmd.ProcessState.ExitCode()
}
