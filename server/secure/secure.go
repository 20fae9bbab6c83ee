// Package secure makes the TLS side of the server: certificates from files,
// from a public authority by ACME (RFC 8555), or from an authority of the
// house's own, for a network that no public authority vouches for.
package secure

import (
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

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

// Public serves certificates that a public authority gives for the names; it
// calls back on port 443 (RFC 8737). They are kept in the folder. email, which
// may be empty, is told to the authority for what it has to say.
func Public(folder, email string, names ...string) (*tls.Config, error) {
	if len(names) == 0 {
		return nil, errors.New("no name to ask a certificate for")
	}
	m := &autocert.Manager{Prompt: autocert.AcceptTOS, HostPolicy: autocert.HostWhitelist(names...), Cache: autocert.DirCache(folder), Email: email}
	config := base()
	config.GetCertificate = m.GetCertificate
	config.NextProtos = append(config.NextProtos, "acme-tls/1")
	return config, nil
}
