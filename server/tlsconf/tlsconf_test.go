package tlsconf

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"errors"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/crypto/acme/autocert"
)

var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

// handshake connects over loopback, asking for name, and gives back what the
// server showed.
func handshake(t *testing.T, config *tls.Config, name string, roots *x509.CertPool, at time.Time) (*x509.Certificate, error) {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", config)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			c.(*tls.Conn).Handshake()
			c.Close()
		}
	}()
	c, err := tls.Dial("tcp", l.Addr().String(), &tls.Config{ServerName: name, RootCAs: roots, Time: func() time.Time { return at }})
	if err != nil {
		return nil, err
	}
	defer c.Close()
	return c.ConnectionState().PeerCertificates[0], nil
}

func pool(t *testing.T, der []byte) *x509.CertPool {
	t.Helper()
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	p := x509.NewCertPool()
	p.AddCert(cert)
	return p
}

func TestALocalAuthorityVouchesForItsHosts(t *testing.T) {
	now := time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)
	clock := func() time.Time { return now }
	folder := filepath.Join(t.TempDir(), "authority")
	hosts := []string{"boat.local", "192.168.7.9", "river.example"}
	a, err := OpenAuthority(folder, hosts, clock)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range append(hosts, "localhost", "127.0.0.1", "::1") {
		if _, err := handshake(t, a.Config(), h, pool(t, a.DER()), now); err != nil {
			t.Errorf("%s: %v", h, err)
		}
	}
	for _, h := range []string{"elsewhere.example", "192.0.2.1", "boat.local.example"} {
		if _, err := handshake(t, a.Config(), h, pool(t, a.DER()), now); err == nil {
			t.Errorf("%s is vouched for", h)
		}
	}
	if _, err := handshake(t, a.Config(), "boat.local", x509.NewCertPool(), now); err == nil {
		t.Error("a phone without the authority trusts it")
	}
	if v := a.Config().MinVersion; v < tls.VersionTLS12 {
		t.Errorf("TLS of version %x is taken", v)
	}

	// It is kept, and readable by its owner alone.
	for _, name := range []string{authorityKey, authorityCert} {
		if info, err := os.Stat(filepath.Join(folder, name)); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", name, info.Mode(), err)
		}
	}
	again, err := OpenAuthority(folder, hosts, clock)
	if err != nil || again.Fingerprint() != a.Fingerprint() {
		t.Errorf("a second start made another authority (%v)", err)
	}

	// Its certificates are renewed in time, without installing anything anew.
	first, err := handshake(t, a.Config(), "boat.local", pool(t, a.DER()), now)
	if err != nil {
		t.Fatal(err)
	}
	if life := first.NotAfter.Sub(first.NotBefore); life > 825*24*time.Hour {
		t.Errorf("a certificate lives for %v", life)
	}
	for year := range 9 {
		now = now.Add(365 * 24 * time.Hour)
		if _, err := handshake(t, a.Config(), "boat.local", pool(t, a.DER()), now); err != nil {
			t.Errorf("after %d years: %v", year+1, err)
		}
	}
	now = now.Add(2 * 365 * 24 * time.Hour)
	if _, err := OpenAuthority(folder, hosts, clock); err == nil || !strings.Contains(err.Error(), "install the new one on every phone") {
		t.Errorf("after its end: %v", err)
	}
}

func TestAHostThatTheAuthorityIsNotFor(t *testing.T) {
	folder := t.TempDir()
	if _, err := OpenAuthority(folder, []string{"boat.local"}, time.Now); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenAuthority(folder, []string{"boat.local", "lodge.local", "10.1.2.3"}, time.Now); err != nil {
		t.Errorf("another host of the same network: %v", err)
	}
	if _, err := OpenAuthority(folder, []string{"river.example"}, time.Now); !errors.Is(err, ErrNotCovered) {
		t.Errorf("a public name: %v, want ErrNotCovered", err)
	}
}

// Whoever steals the key can pose as nobody outside.
func TestAStolenAuthorityIsNoUseOutside(t *testing.T) {
	a, err := OpenAuthority(t.TempDir(), []string{"boat.local"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	for _, outside := range []string{"bank.example", "203.0.113.7"} {
		template := &x509.Certificate{SerialNumber: serial(), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
		if ip := net.ParseIP(outside); ip != nil {
			template.IPAddresses = []net.IP{ip}
		} else {
			template.DNSNames = []string{outside}
		}
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		der, err := x509.CreateCertificate(rand.Reader, template, a.cert, key.Public(), a.key)
		if err != nil {
			t.Fatal(err)
		}
		config := &tls.Config{Certificates: []tls.Certificate{{Certificate: [][]byte{der}, PrivateKey: key}}}
		if _, err := handshake(t, config, outside, pool(t, a.DER()), time.Now()); err == nil {
			t.Errorf("it vouches for %s", outside)
		}
	}
}

// pair writes a certificate that vouches for itself, and its key.
func pair(t *testing.T, dir, name string) (cert, key string, der []byte) {
	t.Helper()
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: serial(), Subject: pkix.Name{CommonName: name}, DNSNames: []string{name}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour)}
	if der, err = x509.CreateCertificate(rand.Reader, template, template, k.Public(), k); err != nil {
		t.Fatal(err)
	}
	raw, err := x509.MarshalPKCS8PrivateKey(k)
	if err != nil {
		t.Fatal(err)
	}
	cert, key = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	if err := errors.Join(writePEM(cert, "CERTIFICATE", der), writePEM(key, "PRIVATE KEY", raw)); err != nil {
		t.Fatal(err)
	}
	return cert, key, der
}

func TestCertificateFiles(t *testing.T) {
	dir := t.TempDir()
	cert, key, first := pair(t, dir, "boat.example")
	config, names, err := Files(cert, key, quiet)
	if err != nil || len(names) != 1 || names[0] != "boat.example" {
		t.Fatal(names, err)
	}
	if _, err := handshake(t, config, "boat.example", pool(t, first), time.Now()); err != nil {
		t.Error(err)
	}
	// A renewal is taken up; half a renewal is not.
	_, _, second := pair(t, dir, "boat.example")
	older := time.Now().Add(-time.Minute) // the clock of the file system may be coarse
	if err := errors.Join(os.Chtimes(cert, older, older), os.Chtimes(key, older, older)); err != nil {
		t.Fatal(err)
	}
	if _, err := handshake(t, config, "boat.example", pool(t, second), time.Now()); err != nil {
		t.Errorf("after the renewal: %v", err)
	}
	if err := os.WriteFile(cert, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := handshake(t, config, "boat.example", pool(t, second), time.Now()); err != nil {
		t.Errorf("in the middle of a renewal: %v", err)
	}
	if _, _, err := Files(cert, key, quiet); err == nil {
		t.Error("half a certificate was taken at the start")
	}
	if _, _, err := Files(filepath.Join(dir, "none"), key, quiet); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no certificate: %v", err)
	}
}

// The public authority cannot be asked from a test: what it gave before is
// served from the folder, and other names are refused.
func TestPublicNamesAreServedFromTheFolder(t *testing.T) {
	dir := t.TempDir()
	cert, key, der := pair(t, dir, "river.example")
	var both []byte
	for _, path := range []string{key, cert} {
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		both = append(both, raw...)
	}
	block, _ := pem.Decode(both)
	k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	ec, err := x509.MarshalECPrivateKey(k.(*ecdsa.PrivateKey))
	if err != nil {
		t.Fatal(err)
	}
	both = append(pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: ec}), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})...)
	folder := t.TempDir()
	if err := autocert.DirCache(folder).Put(t.Context(), "river.example", both); err != nil {
		t.Fatal(err)
	}
	public, err := OpenPublic(folder, "", "", "river.example")
	if err != nil {
		t.Fatal(err)
	}
	if until, err := public.Fetch(); err != nil || !until.After(time.Now()) {
		t.Errorf("certificate until %v, %v", until, err)
	}
	config := public.Config()
	if _, err := handshake(t, config, "river.example", pool(t, der), time.Now()); err != nil {
		t.Errorf("river.example: %v", err)
	}
	if _, err := handshake(t, config, "other.example", pool(t, der), time.Now()); err == nil {
		t.Error("another name was served")
	}
	if _, err := OpenPublic(folder, "", ""); err == nil {
		t.Error("no name was taken")
	}
	for _, directory := range []string{"http://authority.example/directory", "authority.example", "https://"} {
		if _, err := OpenPublic(folder, directory, "", "river.example"); err == nil {
			t.Errorf("directory %q was taken", directory)
		}
	}
}

// nameConstraints is the extension of RFC 5280, section 4.2.1.10, which "MUST
// be marked as critical": verifiers that do not know it have to refuse.
var nameConstraints = asn1.ObjectIdentifier{2, 5, 29, 30}

func TestTheAuthorityIsForServersOfTheOwnNetworkAlone(t *testing.T) {
	now := time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)
	a, err := OpenAuthority(t.TempDir(), []string{"boat.local"}, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	cert, err := x509.ParseCertificate(a.DER())
	if err != nil {
		t.Fatal(err)
	}
	critical := false
	for _, e := range cert.Extensions {
		critical = critical || e.Id.Equal(nameConstraints) && e.Critical
	}
	if !critical {
		t.Error("its name constraints are not critical")
	}
	if len(cert.ExtKeyUsage) != 1 || cert.ExtKeyUsage[0] != x509.ExtKeyUsageServerAuth || len(cert.UnknownExtKeyUsage) > 0 {
		t.Errorf("it may vouch for %v", cert.ExtKeyUsage)
	}
}

func TestAClockThatIsLostMakesNoAuthority(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "authority")
	now := time.Unix(0, 0)
	clock := func() time.Time { return now }
	if _, err := OpenAuthority(folder, []string{"boat.local"}, clock); !errors.Is(err, ErrClock) {
		t.Errorf("in 1970: %v", err)
	}
	now = time.Date(2026, 8, 14, 5, 0, 0, 0, time.UTC)
	if _, err := OpenAuthority(folder, []string{"boat.local"}, clock); err != nil {
		t.Errorf("once the clock is right: %v", err)
	}
}
