// Package tlsconf makes the TLS side of the server: certificates from files,
// from a public authority by ACME (RFC 8555), or from an authority of the
// house's own, for a network that no public authority vouches for.
package tlsconf

import (
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"sync"
	"time"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// base is what all ways have in common. Older versions of TLS are broken
// (RFC 8996).
func base() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}}
}

// files are a certificate and its key, read again when they change, as a
// renewal by another program changes them.
type files struct {
	cert, key string
	log       *slog.Logger

	mu     sync.Mutex
	pair   *tls.Certificate
	stamps [2]time.Time
}

// Files serves the certificate in two PEM files. names are those that the
// certificate is for.
func Files(cert, key string, log *slog.Logger) (config *tls.Config, names []string, err error) {
	f := &files{cert: cert, key: key, log: log}
	pair, err := f.get(nil)
	if err != nil {
		return nil, nil, err
	}
	names = append(names, pair.Leaf.DNSNames...)
	for _, ip := range pair.Leaf.IPAddresses {
		names = append(names, ip.String())
	}
	config = base()
	config.GetCertificate = f.get
	return config, names, nil
}

func (f *files) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var stamps [2]time.Time
	for i, path := range []string{f.cert, f.key} {
		if info, err := os.Stat(path); err == nil {
			stamps[i] = info.ModTime()
		}
	}
	if f.pair != nil && stamps == f.stamps {
		return f.pair, nil
	}
	pair, err := tls.LoadX509KeyPair(f.cert, f.key)
	if err != nil {
		err = fmt.Errorf("read certificate %s with key %s: %w", f.cert, f.key, err)
		if f.pair == nil {
			return nil, err
		}
		// Halfway through a renewal the two do not fit.
		f.log.Warn("keep the old certificate", "err", err)
		return f.pair, nil
	}
	f.pair, f.stamps = &pair, stamps
	return f.pair, nil
}

// Public serves certificates that a public authority gives for names.
type Public struct {
	manager *autocert.Manager
	names   []string
}

// OpenPublic makes a Public. The authority calls back on port 443 (RFC 8737);
// certificates are kept in the folder. directory is the address of the
// authority's directory (RFC 8555, section 7.1.1), empty for Let's Encrypt.
// email, which may be empty, is told to the authority for what it has to say.
func OpenPublic(folder, directory, email string, names ...string) (*Public, error) {
	if len(names) == 0 {
		return nil, errors.New("no name to ask a certificate for")
	}
	m := &autocert.Manager{Prompt: autocert.AcceptTOS, HostPolicy: autocert.HostWhitelist(names...), Cache: autocert.DirCache(folder), Email: email}
	if directory != "" {
		if u, err := url.Parse(directory); err != nil || u.Scheme != "https" || u.Host == "" {
			return nil, fmt.Errorf("directory %q of the authority: want an address that starts with https://", directory)
		}
		m.Client = &acme.Client{DirectoryURL: directory}
	}
	return &Public{m, names}, nil
}

// Config is for serving.
func (p *Public) Config() *tls.Config {
	config := base()
	config.GetCertificate = p.manager.GetCertificate
	config.NextProtos = append(config.NextProtos, acme.ALPNProto)
	return config
}

// Fetch gets what certificates are missing, while the server runs, as the
// authority calls it back. A visitor would wait for them as well, but for some
// seconds at most, which an authority may well exceed. until is the end of the
// first that ends; it is renewed before.
func (p *Public) Fetch() (until time.Time, err error) {
	for _, name := range p.names {
		// As a visitor of today asks. The suite stands for a key of elliptic
		// curves, which is what is asked for then.
		hello := &tls.ClientHelloInfo{ServerName: name, CipherSuites: []uint16{tls.TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256}}
		cert, err := p.manager.GetCertificate(hello)
		if err != nil {
			return time.Time{}, fmt.Errorf("get certificate for %s: %w", name, err)
		}
		if end := cert.Leaf.NotAfter; until.IsZero() || end.Before(until) {
			until = end
		}
	}
	return until, nil
}
