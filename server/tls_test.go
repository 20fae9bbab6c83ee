package main

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"dampstone/server/sync"
	"dampstone/server/tlsconf"
	"time"
)

func TestPlainHTTPIsForLoopbackAlone(t *testing.T) {
	for _, tc := range []struct {
		name string
		args []string
		want string
	}{
		{"every interface", []string{"-addr", "0.0.0.0:0"}, "-cert and -key, -acme NAME, or -local-ca"},
		{"every interface, not said", []string{"-addr", ":0"}, "refused over plain HTTP"},
		{"every interface of IPv6", []string{"-addr", "[::]:0"}, "refused over plain HTTP"},
		{"an address of the network", []string{"-addr", "192.0.2.1:0"}, "refused over plain HTTP"},
		{"a name of the network", []string{"-addr", "boat.local:0"}, "refused over plain HTTP"},
		{"a name that only looks like loopback", []string{"-addr", "localhost.example:0"}, "refused over plain HTTP"},
		{"no port", []string{"-addr", "localhost"}, "want host:port"},
		{"a certificate without its key", []string{"-cert", "x.pem"}, "-cert and -key belong together"},
		{"two ways at once", []string{"-local-ca", "-acme", "river.example"}, "choose one of"},
		{"a certificate that is not there", []string{"-cert", "none.pem", "-key", "none.pem"}, "read certificate none.pem"},
		{"the demo with a certificate, to everybody", []string{"-demo", "-local-ca", "-addr", ":0"}, "the demo is for this computer alone"},
		{"the demo, to everybody", []string{"-demo", "-addr", ":0"}, "refused for the demo"},
		{"the demo with a certificate", []string{"-demo", "-local-ca"}, "the demo is for this computer alone"},
		{"a proxy and a certificate", []string{"-public", "https://river.example", "-local-ca"}, "-public is for a proxy"},
		{"a public address without TLS", []string{"-public", "http://river.example"}, "want an address such as https://"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			args := tc.args
			if tc.args[0] != "-demo" {
				args = append(args, "-data", filepath.Join(t.TempDir(), "data"))
			}
			if out, code := command(t, args...); code != 1 || !strings.Contains(out, tc.want) {
				t.Errorf("code %d\n%s", code, out)
			}
		})
	}
}

// TestLocalAuthority starts the program as in a lodge: a phone installs the
// authority, then pairs and exchanges entries over TLS.
func TestLocalAuthority(t *testing.T) {
	folder := t.TempDir()
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder, "-local-ca", "-host", "boat.local,127.0.0.1", "-install-addr", "127.0.0.1:0")
	if !strings.HasPrefix(p.url, "https://boat.local:") || !strings.HasPrefix(p.link, p.url+"/pair/") {
		t.Fatalf("address %s, link %s", p.url, p.link)
	}
	u, err := url.Parse(p.url)
	if err != nil {
		t.Fatal(err)
	}
	at := "https://127.0.0.1:" + u.Port()

	// The page over plain HTTP gives the certificate and nothing else.
	page := regexp.MustCompile(`at http://boat\.local:(\d+)`).FindStringSubmatch(p.text())
	if page == nil {
		t.Fatalf("no page to install from:\n%s", p.text())
	}
	install := "http://127.0.0.1:" + page[1]
	get := func(c *http.Client, address string) (int, string) {
		t.Helper()
		res, err := c.Get(address)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		body, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(body)
	}
	status, text := get(noRedirect, install+"/")
	fingerprint := regexp.MustCompile(`(?:[0-9A-F]{2} ){31}[0-9A-F]{2}`).FindString(p.text())
	if status != http.StatusOK || fingerprint == "" || !strings.Contains(text, fingerprint) || !strings.Contains(text, p.url) {
		t.Errorf("status %d, fingerprint %q:\n%s", status, fingerprint, text)
	}
	for _, path := range []string{"/box", "/sync", "/pair", "/people", "/sw.js", "/setup/safe/ledger", "/authority-key.pem"} {
		if status, _ := get(noRedirect, install+path); status != http.StatusNotFound {
			t.Errorf("%s over plain HTTP: status %d", path, status)
		}
	}
	status, der := get(noRedirect, install+authorityFile)
	authority, err := x509.ParseCertificate([]byte(der))
	if status != http.StatusOK || err != nil {
		t.Fatal(status, err)
	}

	// A phone without it trusts nothing, one with it does.
	if _, err := noRedirect.Get(at + "/pair"); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("a phone without the authority: %v", err)
	}
	roots := x509.NewCertPool()
	roots.AddCert(authority)
	phone := &http.Client{
		Timeout: patience, Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}, ForceAttemptHTTP2: true},
		CheckRedirect: noRedirect.CheckRedirect,
	}
	_, code, _ := strings.Cut(p.link, "/pair/")
	res, err := phone.PostForm(at+"/pair", url.Values{"code": {code}, "device": {"phone"}})
	if err != nil {
		t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusSeeOther || len(res.Cookies()) != 1 || !res.Cookies()[0].Secure || res.ProtoMajor != 2 {
		t.Fatalf("pair: %s, HTTP/%d, %v", res.Status, res.ProtoMajor, res.Cookies())
	}
	r, err := http.NewRequest(http.MethodPost, at+sync.Path, strings.NewReader(`{"entries":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.AddCookie(res.Cookies()[0])
	if res, err = phone.Do(r); err != nil || res.StatusCode != http.StatusOK {
		t.Errorf("sync: %v, %v", res, err)
	}
	// Plain HTTP at the port of TLS gets nowhere.
	if status, _ := get(noRedirect, "http://127.0.0.1:"+u.Port()+"/box"); status != http.StatusBadRequest {
		t.Errorf("plain HTTP at the port of TLS: status %d", status)
	}
	p.stop()
	// Another start is trusted by the same phone.
	p = start(t, built(t), "-addr", "127.0.0.1:0", "-data", folder, "-local-ca", "-host", "boat.local,127.0.0.1", "-install-addr", "127.0.0.1:0")
	if u, err = url.Parse(p.url); err != nil {
		t.Fatal(err)
	}
	if status, _ := get(phone, "https://127.0.0.1:"+u.Port()+"/pair"); status != http.StatusOK {
		t.Errorf("after a restart: status %d", status)
	}
}

func TestCertificateFilesServe(t *testing.T) {
	dir := t.TempDir()
	a, err := tlsconf.OpenAuthority(dir, []string{"localhost"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	// The authority's own pair will do as a certificate for a moment: what
	// counts is that the files are served.
	p := start(t, built(t), "-addr", "127.0.0.1:0", "-data", t.TempDir(), "-host", "boat.example", "-cert", filepath.Join(dir, "authority.pem"), "-key", filepath.Join(dir, "authority-key.pem"))
	if !strings.HasPrefix(p.url, "https://boat.example:") {
		t.Errorf("address %s", p.url)
	}
	u, err := url.Parse(p.url)
	if err != nil {
		t.Fatal(err)
	}
	c, err := tls.Dial("tcp", "127.0.0.1:"+u.Port(), &tls.Config{InsecureSkipVerify: true})
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	if string(c.ConnectionState().PeerCertificates[0].Raw) != string(a.DER()) {
		t.Error("another certificate is served")
	}
	if info, err := os.Stat(filepath.Join(dir, "authority-key.pem")); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("key: %v, %v", info.Mode(), err)
	}
}

// Behind a proxy on this computer the visitor is who the proxy says, not who
// the visitor says.
func TestForwarded(t *testing.T) {
	for _, c := range []struct {
		headers []string
		want    string
	}{
		{nil, ""}, {[]string{"203.0.113.9"}, "203.0.113.9"}, {[]string{"10.0.0.1, 203.0.113.9"}, "203.0.113.9"},
		{[]string{"10.0.0.1", "2001:db8::7"}, "2001:db8::7"}, {[]string{"nobody"}, ""}, {[]string{""}, ""},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header["X-Forwarded-For"] = c.headers
		if got := forwarded(r); got != c.want {
			t.Errorf("%v: %q, want %q", c.headers, got, c.want)
		}
	}
}
