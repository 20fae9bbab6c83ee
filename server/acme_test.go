package main

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	acmeca "github.com/letsencrypt/pebble/v2/ca"
	acmedb "github.com/letsencrypt/pebble/v2/db"
	acmeva "github.com/letsencrypt/pebble/v2/va"
	acmewfe "github.com/letsencrypt/pebble/v2/wfe"
	"github.com/miekg/dns"
)

// authority is a public authority as RFC 8555 describes it: the test server
// of the Internet Security Research Group, strict, in this process. It calls
// the program back as the real one would, at the port that the test names.
type authority struct {
	server *httptest.Server
	roots  *x509.CertPool // that vouch for what it gives out
	calls  atomic.Int64
	down   atomic.Bool    // it answers nobody
	open   func(port int) // until then it lets all wait
}

func newAuthority(t *testing.T) *authority {
	t.Helper()
	// Without its planned waits and its one nonce in twenty refused at random.
	t.Setenv("PEBBLE_VA_NOSLEEP", "1")
	t.Setenv("PEBBLE_WFE_NONCEREJECT", "0")
	quiet := log.New(io.Discard, "", 0)
	store := acmedb.NewMemoryStore()
	ca := acmeca.New(quiet, store, "", "ecdsa", 0, 1, map[string]acmeca.Profile{"default": {Description: "default"}})
	a := &authority{roots: x509.NewCertPool()}
	a.roots.AppendCertsFromPEM(ca.GetRootCert(0).PEM())
	var handler http.Handler
	opened := make(chan struct{})
	a.server = httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a.calls.Add(1)
		if a.down.Load() {
			http.Error(w, "closed today", http.StatusNotFound)
			return
		}
		select {
		case <-opened:
			handler.ServeHTTP(w, r)
		case <-r.Context().Done():
		}
	}))
	t.Cleanup(a.server.Close)
	resolver := loopbackNames(t)
	a.open = func(port int) {
		va := acmeva.New(quiet, 0, port, true, resolver, store)
		wfe := acmewfe.New(quiet, store, va, ca, []string{"authority.example"}, true, false, 1, 1)
		handler = wfe.Handler()
		close(opened)
	}
	return a
}

// loopbackNames is a name server that knows every name as 127.0.0.1.
func loopbackNames(t *testing.T) (addr string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &dns.Server{Listener: l, Handler: dns.HandlerFunc(func(w dns.ResponseWriter, q *dns.Msg) {
		m := new(dns.Msg)
		m.SetReply(q)
		for _, question := range q.Question {
			if question.Qtype == dns.TypeA {
				m.Answer = append(m.Answer, &dns.A{
					Hdr: dns.RR_Header{Name: question.Name, Rrtype: dns.TypeA, Class: dns.ClassINET, Ttl: 1}, A: net.IPv4(127, 0, 0, 1),
				})
			}
		}
		w.WriteMsg(m)
	})}
	go s.ActivateAndServe()
	t.Cleanup(func() { s.Shutdown() })
	return l.Addr().String()
}

// TestPublicNameGetsItsCertificate starts the program under a public name. It
// asks the authority at once, proves that it holds the name, and serves what
// it was given, also after a restart without the authority.
func TestPublicNameGetsItsCertificate(t *testing.T) {
	a := newAuthority(t)
	// The program trusts the authority's own front as it trusts any: by the
	// certificates of the system, which this file stands for.
	trusted := filepath.Join(t.TempDir(), "trusted.pem")
	front := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.server.Certificate().Raw})
	if err := os.WriteFile(trusted, front, 0o600); err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	begin := func() (p *process, port int) {
		t.Helper()
		cmd := exec.Command(built(t), "-addr", "127.0.0.1:0", "-data", folder,
			"-acme", "river.example", "-acme-directory", a.server.URL+acmewfe.DirectoryPath, "-acme-email", "owner@river.example")
		cmd.Env = append(os.Environ(), "SSL_CERT_FILE="+trusted, "SSL_CERT_DIR="+t.TempDir())
		p = launch(t, cmd)
		u, err := url.Parse(p.url)
		if err != nil || u.Hostname() != "river.example" {
			t.Fatalf("address %q, %v:\n%s", p.url, err, p.text())
		}
		port, err = strconv.Atoi(u.Port())
		if err != nil {
			t.Fatal(err)
		}
		return p, port
	}
	visit := func(port int, name string) (*http.Response, error) {
		c := &http.Client{Timeout: patience, CheckRedirect: noRedirect.CheckRedirect, Transport: &http.Transport{
			TLSClientConfig: &tls.Config{RootCAs: a.roots, ServerName: name}, DisableKeepAlives: true,
		}}
		res, err := c.Get(fmt.Sprintf("https://127.0.0.1:%d/pair", port))
		if err == nil {
			res.Body.Close()
		}
		return res, err
	}

	// The authority answers nobody: the owner is told what is wrong.
	a.down.Store(true)
	p, port := begin()
	p.await("there is no certificate; the authority must reach this server on port 443")
	if _, err := visit(port, "river.example"); err == nil {
		t.Error("a page was served without a certificate")
	}
	p.stop()

	a.down.Store(false)
	p, port = begin()
	a.open(port)
	p.await("certificate is there")
	asked := a.calls.Load()
	// A name that it was not started for is nobody's business.
	if _, err := visit(port, "other.example"); err == nil {
		t.Error("another name was served")
	}
	serves := func() {
		t.Helper()
		res, err := visit(port, "river.example")
		if err != nil {
			t.Fatalf("%v\n%s", err, p.text())
		}
		leaf := res.TLS.PeerCertificates[0]
		if res.StatusCode != http.StatusOK || leaf.VerifyHostname("river.example") != nil || len(leaf.DNSNames) != 1 {
			t.Errorf("status %d, names %v", res.StatusCode, leaf.DNSNames)
		}
		if res.Header.Get("Strict-Transport-Security") == "" {
			t.Error("browsers are not told to use TLS alone")
		}
	}
	serves()
	p.stop()
	if strings.Contains(p.text(), "from 127.0.0.1") {
		t.Errorf("the log says where visitors come from:\n%s", p.text())
	}

	a.server.Close()
	p, port = begin()
	p.await("certificate is there")
	serves()
	if a.calls.Load() != asked {
		t.Errorf("the authority was asked %d times, %d of them by a visitor under another name or for what was kept", a.calls.Load(), a.calls.Load()-asked)
	}
}
