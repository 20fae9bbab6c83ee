package tlsconf

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// Life of what an Authority makes. Phones refuse certificates of servers that
// run for longer than 825 days, whoever made them (Apple, "Requirements for
// trusted certificates in iOS 13 and macOS 10.15", from memory).
const (
	authorityLife = 10 * 365 * 24 * time.Hour
	leafLife      = 397 * 24 * time.Hour
	renewBefore   = 60 * 24 * time.Hour
)

// Files of an Authority in its folder.
const (
	authorityCert = "authority.pem"
	authorityKey  = "authority-key.pem"
)

// ErrNotCovered says that the authority may not vouch for a host.
var ErrNotCovered = errors.New("the local authority was not made for this host")

// Authority vouches for the servers of one house. Whoever installs it on a
// phone trusts whoever holds its key, so it is bounded (RFC 5280, section
// 4.2.1.10) to names and addresses that only mean something on a network of
// one's own, and to the hosts that it was made for.
type Authority struct {
	now  func() time.Time
	cert *x509.Certificate
	key  crypto.Signer

	mu    sync.Mutex
	hosts []string
	leaf  *tls.Certificate
}

// localDomains mean something on a network of one's own alone (RFC 6762,
// 8375, 6761; ICANN resolution 2024.07.29.06 for "internal", from memory).
var localDomains = []string{"local", "home.arpa", "internal", "lan", "localhost"}

// localNetworks are private, link-local and loopback (RFC 1918, 3927, 4193,
// 4291).
var localNetworks = []string{"10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128"}

// OpenAuthority reads the authority in a folder, or makes it, for these hosts:
// names or addresses.
func OpenAuthority(folder string, hosts []string, now func() time.Time) (*Authority, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make folder of the local authority: %w", err)
	}
	a := &Authority{now: now, hosts: slices.Clone(hosts)}
	err := a.read(folder)
	if errors.Is(err, fs.ErrNotExist) {
		err = a.make(folder)
	}
	if err != nil {
		return nil, fmt.Errorf("local authority in %s: %w", folder, err)
	}
	if !now().Before(a.cert.NotAfter) {
		return nil, fmt.Errorf("local authority in %s ended on %s; remove the folder, start again, and install the new one on every phone", folder, a.cert.NotAfter.Format("2006-01-02"))
	}
	if _, err := a.certificate(); err != nil {
		return nil, fmt.Errorf("local authority in %s: %w", folder, err)
	}
	return a, nil
}

func (a *Authority) read(folder string) error {
	pair, err := tls.LoadX509KeyPair(filepath.Join(folder, authorityCert), filepath.Join(folder, authorityKey))
	if err != nil {
		return err
	}
	signer, ok := pair.PrivateKey.(crypto.Signer)
	if !ok || !pair.Leaf.IsCA {
		return errors.New("the certificate there is not that of an authority")
	}
	a.cert, a.key = pair.Leaf, signer
	return nil
}

// ErrClock: a computer that has lost its clock would make an authority that has
// ended once the clock is right.
var ErrClock = errors.New("the clock of this computer is wrong; set it and start again")

// earliest is before any day on which this version runs.
var earliest = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

func (a *Authority) make(folder string) error {
	if a.now().Before(earliest) {
		return fmt.Errorf("%w: it says %s", ErrClock, a.now().Format(time.DateOnly))
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return err
	}
	host, _ := os.Hostname()
	template := &x509.Certificate{
		SerialNumber: serial(),
		Subject:      pkix.Name{CommonName: "Dampstone at " + host, Organization: []string{"Dampstone local authority"}},
		NotBefore:    a.now().Add(-time.Hour), NotAfter: a.now().Add(authorityLife),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageCRLSign,
		// For servers alone: neither for mail nor for clients (RFC 5280,
		// section 4.2.1.12; verifiers take it as a bound on what is below).
		ExtKeyUsage:                 []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		PermittedDNSDomainsCritical: true,
		PermittedDNSDomains:         slices.Clone(localDomains),
	}
	for _, n := range localNetworks {
		_, network, err := net.ParseCIDR(n)
		if err != nil {
			return err
		}
		template.PermittedIPRanges = append(template.PermittedIPRanges, network)
	}
	for _, h := range a.hosts {
		if ip := net.ParseIP(h); ip == nil {
			template.PermittedDNSDomains = append(template.PermittedDNSDomains, h)
		} else if ip4 := ip.To4(); ip4 != nil {
			template.PermittedIPRanges = append(template.PermittedIPRanges, &net.IPNet{IP: ip4, Mask: net.CIDRMask(32, 32)})
		} else {
			template.PermittedIPRanges = append(template.PermittedIPRanges, &net.IPNet{IP: ip, Mask: net.CIDRMask(128, 128)})
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return err
	}
	if a.cert, err = x509.ParseCertificate(der); err != nil {
		return err
	}
	a.key = key
	raw, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return err
	}
	// The key first: without its certificate it is made anew.
	if err := writePEM(filepath.Join(folder, authorityKey), "PRIVATE KEY", raw); err != nil {
		return err
	}
	return writePEM(filepath.Join(folder, authorityCert), "CERTIFICATE", der)
}

// writePEM writes a file that only its owner can read, whole or not at all.
func writePEM(path, kind string, der []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".part-") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	err = pem.Encode(f, &pem.Block{Type: kind, Bytes: der})
	if err == nil {
		err = f.Sync()
	}
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

func serial() *big.Int {
	raw := make([]byte, 16)
	rand.Read(raw) // never fails
	raw[0] &= 0x7f // positive
	return new(big.Int).SetBytes(raw)
}

// Config serves the hosts with certificates that are made as they are needed
// and renewed before they end.
func (a *Authority) Config() *tls.Config {
	config := base()
	config.GetCertificate = func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return a.certificate() }
	return config
}

func (a *Authority) certificate() (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	if a.leaf != nil && now.Add(renewBefore).Before(a.leaf.Leaf.NotAfter) && now.After(a.leaf.Leaf.NotBefore) {
		return a.leaf, nil
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	template := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "Dampstone"},
		NotBefore: now.Add(-time.Hour), NotAfter: earlier(now.Add(leafLife), a.cert.NotAfter),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	for _, h := range append(slices.Clone(a.hosts), "localhost", "127.0.0.1", "::1") {
		if ip := net.ParseIP(h); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else {
			template.DNSNames = append(template.DNSNames, h)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, template, a.cert, key.Public(), a.key)
	if err != nil {
		return nil, err
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.cert)
	for _, h := range a.hosts {
		// The bounds of the authority show here rather than on a phone.
		if _, err := leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: h, CurrentTime: now}); err != nil {
			return nil, fmt.Errorf("%w: %s", ErrNotCovered, h)
		}
	}
	a.leaf = &tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}
	return a.leaf, nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// DER is the authority's certificate, to be installed on phones.
func (a *Authority) DER() []byte { return a.cert.Raw }

// Fingerprint is the SHA-256 of the certificate, as phones show it.
func (a *Authority) Fingerprint() string {
	sum := sha256.Sum256(a.cert.Raw)
	parts := make([]string, len(sum))
	for i, b := range sum {
		parts[i] = fmt.Sprintf("%02X", b)
	}
	return strings.Join(parts, " ")
}
