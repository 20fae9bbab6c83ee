package main

import (
	"bytes"
	"cmp"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"dampstone/server/accounts"
	"dampstone/server/app"
	"dampstone/server/middleware"
	"dampstone/server/tlsconf"
	"dampstone/static"
	"dampstone/views"
)

// Folders in the data folder.
const (
	authorityFolder = "authority" // of the local authority: its key is in there
	publicFolder    = "acme"      // certificates of a public authority
)

// tlsFlags say how the server proves who it is.
type tlsFlags struct {
	cert, key, names, directory, email, hosts, installAddr, public string
	localCA                                                        bool
}

func (f *tlsFlags) register(flags *flag.FlagSet) {
	flags.StringVar(&f.cert, "cert", "", "file of the server's certificate chain (PEM)")
	flags.StringVar(&f.key, "key", "", "file of the certificate's key (PEM)")
	flags.StringVar(&f.names, "acme", "", "public names, with commas, to get certificates for by ACME, which accepts the authority's terms; it must reach this server on port 443")
	flags.StringVar(&f.directory, "acme-directory", "", "address of the ACME directory of another authority than Let's Encrypt")
	flags.StringVar(&f.email, "acme-email", "", "address that the authority may write to")
	flags.BoolVar(&f.localCA, "local-ca", false, "make an authority for the own network, to be installed on each phone")
	flags.StringVar(&f.hosts, "host", "", "names and addresses, with commas, by which phones reach this server; the first goes into links")
	flags.StringVar(&f.public, "public", "", "address by which phones reach this server through a proxy on this computer that ends TLS, such as https://river.example")
	flags.StringVar(&f.installAddr, "install-addr", ":8480", "with -local-ca: address of the page that hands out the authority's certificate, and nothing else, over plain HTTP")
}

// front is how the server meets its visitors.
type front struct {
	config    *tls.Config // nil for plain HTTP
	host      string      // for links; "" for what was listened on
	authority *tlsconf.Authority
	public    *tlsconf.Public
	strict    bool // browsers may be told to use nothing but TLS
	// hosts are names that are answered over plain HTTP, beside those of this
	// computer.
	hosts []string
	proxy *url.URL // address in front of a proxy; nil if there is none
}

// open makes the front, or says why there can be none.
func (f *tlsFlags) open(addr, folder string, isDemo bool, log *slog.Logger) (*front, error) {
	ways := 0
	for _, given := range []bool{f.cert != "" || f.key != "", f.names != "", f.localCA} {
		if given {
			ways++
		}
	}
	hosts := list(f.hosts)
	proxy, err := publicAddress(f.public)
	switch {
	case err != nil:
		return nil, err
	case isDemo && (ways > 0 || proxy != nil):
		return nil, errors.New("the demo is for this computer alone: leave -cert, -key, -acme, -local-ca and -public away")
	case proxy != nil && ways > 0:
		return nil, errors.New("-public is for a proxy that ends TLS: leave -cert, -key, -acme and -local-ca away")
	case ways > 1:
		return nil, errors.New("choose one of -cert with -key, -acme, and -local-ca")
	case (f.cert == "") != (f.key == ""):
		return nil, errors.New("-cert and -key belong together: name both files")
	case ways == 0:
		if proxy != nil {
			hosts = append(hosts, proxy.Hostname())
		}
		return &front{host: first(hosts), hosts: hosts, proxy: proxy}, loopbackOnly(addr, isDemo)
	case f.cert != "":
		config, names, err := tlsconf.Files(f.cert, f.key, log)
		if err != nil {
			return nil, err
		}
		return &front{config: config, host: first(hosts, names), strict: true}, nil
	case f.names != "":
		names := list(f.names)
		public, err := tlsconf.OpenPublic(filepath.Join(folder, publicFolder), f.directory, f.email, names...)
		if err != nil {
			return nil, err
		}
		return &front{config: public.Config(), host: first(hosts, names), public: public, strict: true}, nil
	}
	if len(hosts) == 0 {
		hosts = ownHosts()
	}
	authority, err := tlsconf.OpenAuthority(filepath.Join(folder, authorityFolder), hosts, time.Now)
	if errors.Is(err, tlsconf.ErrNotCovered) {
		return nil, fmt.Errorf("%w; remove %s, start again, and install the new one on every phone", err, filepath.Join(folder, authorityFolder))
	}
	if err != nil {
		return nil, err
	}
	return &front{config: authority.Config(), host: first(hosts), authority: authority}, nil
}

// publicAddress reads the address in front of a proxy, nil if none is given.
func publicAddress(text string) (*url.URL, error) {
	if text == "" {
		return nil, nil
	}
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" || u.Hostname() == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		return nil, fmt.Errorf("-public %q: want an address such as https://river.example", text)
	}
	return &url.URL{Scheme: u.Scheme, Host: u.Host}, nil
}

func list(text string) []string {
	return slices.DeleteFunc(strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }), func(s string) bool { return s == "" })
}

func first(lists ...[]string) string {
	for _, l := range lists {
		for _, s := range l {
			if !strings.HasPrefix(s, "*") {
				return s
			}
		}
	}
	return ""
}

// ownHosts are the names and addresses of this computer on its own network.
func ownHosts() (hosts []string) {
	if name, err := os.Hostname(); err == nil && name != "" && !accounts.Loopback(name) {
		name, _, _ = strings.Cut(strings.ToLower(name), ".")
		hosts = append(hosts, name+".local") // multicast DNS, RFC 6762
	}
	addrs, _ := net.InterfaceAddrs()
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsPrivate() {
			hosts = append(hosts, n.IP.String())
		}
	}
	return hosts
}

// fetch gets certificates from a public authority, which calls the server back
// meanwhile, and tells the owner how that went.
func (f *front) fetch(log *slog.Logger) {
	if f.public == nil {
		return
	}
	until, err := f.public.Fetch()
	if err != nil {
		log.Error("there is no certificate; the authority must reach this server on port 443 under its name; it is asked again when somebody visits", "err", err)
		return
	}
	log.Info("certificate is there", "until", until.Format(time.DateOnly))
}

// base is the address that phones are given.
func (f *front) base(l net.Listener, asked string) string {
	if f.proxy != nil {
		return f.proxy.String()
	}
	if f.config == nil {
		host, port, _ := net.SplitHostPort(shown(l.Addr(), asked))
		return "http://" + net.JoinHostPort(cmp.Or(f.host, host), port)
	}
	host, port, _ := net.SplitHostPort(shown(l.Addr(), asked))
	if f.host != "" {
		host = f.host
	}
	if port == "443" {
		if strings.Contains(host, ":") {
			host = "[" + host + "]"
		}
		return "https://" + host
	}
	return "https://" + net.JoinHostPort(host, port)
}

// wrap tells browsers to come back by TLS alone, for a year (RFC 6797), where
// nothing of ours is on plain HTTP under the same name. Over plain HTTP it
// answers to names that are known alone.
func (f *front) wrap(next http.Handler) http.Handler {
	if f.config == nil {
		return middleware.Hosts(f.behindProxy(next), func(host string) bool {
			return accounts.Loopback(host) || slices.ContainsFunc(f.hosts, func(known string) bool { return middleware.HostName(known) == host })
		})
	}
	if !f.strict {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Strict-Transport-Security", "max-age=31536000")
		next.ServeHTTP(w, r)
	})
}

// behindProxy takes what a proxy passes on, which comes under its name, as
// having come by TLS: cookies are for TLS alone.
func (f *front) behindProxy(next http.Handler) http.Handler {
	if f.proxy == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !accounts.Loopback(middleware.HostName(r.Host)) {
			r = r.Clone(r.Context())
			r.TLS = &tls.ConnectionState{}
			if at := forwarded(r); at != "" {
				r.RemoteAddr = net.JoinHostPort(at, "0")
			}
		}
		next.ServeHTTP(w, r)
	})
}

// forwarded is the visitor's address as the proxy on this computer says: the
// last one, since those before it are what the visitor says.
func forwarded(r *http.Request) string {
	all := r.Header.Values("X-Forwarded-For")
	if len(all) == 0 {
		return ""
	}
	parts := strings.Split(all[len(all)-1], ",")
	at := strings.TrimSpace(parts[len(parts)-1])
	if net.ParseIP(at) == nil {
		return ""
	}
	return at
}

// loopbackOnly refuses an address that other machines could reach over plain
// HTTP: whoever listens on the way would read the ledger and the secret of the
// phone, and a phone runs no service worker there.
func loopbackOnly(addr string, isDemo bool) error {
	host, _, err := net.SplitHostPort(addr)
	switch {
	case err != nil:
		return fmt.Errorf("address %q: want host:port, such as %s", addr, ownAddr)
	case accounts.Loopback(host):
		return nil
	case isDemo:
		return fmt.Errorf("address %q can be reached from other machines, which is refused for the demo, as it is open to everybody; use %s", addr, demoAddr)
	}
	return fmt.Errorf("address %q can be reached from other machines, which is refused over plain HTTP; use %s, or give a certificate with -cert and -key, -acme NAME, or -local-ca", addr, ownAddr)
}

const authorityFile = "/dampstone-authority.crt"

// installPage hands out the authority's certificate, what to do with it, and
// nothing else. It runs over plain HTTP: a phone that does not have the
// certificate yet cannot do better, which is why people compare fingerprints.
func installPage(a *tlsconf.Authority, assets *static.Assets, link string, log *slog.Logger) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+authorityFile, func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/x-x509-ca-cert")
		w.Write(a.DER())
	})
	mux.Handle("GET "+assets.URL("app.css"), assets)
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		p := app.PageFor(r, assets.URL)
		p.Title = p.T.S("install.title")
		var body bytes.Buffer
		if err := views.Install(p, a.Fingerprint(), authorityFile, link).Render(r.Context(), &body); err != nil {
			log.Error("render", "err", err)
			http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Header().Set("Cache-Control", "no-store")
		w.Write(body.Bytes())
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", static.Policy)
		w.Header().Set("X-Content-Type-Options", "nosniff")
		w.Header().Set("Referrer-Policy", "same-origin")
		mux.ServeHTTP(w, r)
	})
}
