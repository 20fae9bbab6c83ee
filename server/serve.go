package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	stdlog "log"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"time"

	"golang.org/x/net/netutil"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/accounts"
	"dampstone/server/admin"
	"dampstone/server/app"
	"dampstone/server/app/screen"
	"dampstone/server/boltstore"
	"dampstone/server/figures"
	"dampstone/server/middleware"
	"dampstone/server/people"
	"dampstone/server/sync"
	"dampstone/static"
	"dampstone/views/catalog"
)

// journalFile is the owner's ledger in the data folder.
const journalFile = accounts.JournalFile

// defaultFolder is the data folder where none is named.
const defaultFolder = "data/local"

// Addresses where none is named. The demo has another than a ledger of one's
// own, since a browser keeps what it holds by the address.
const (
	ownAddr  = "localhost:8420"
	demoAddr = "localhost:8430"
)

// serveCommand serves the application until ctx ends.
func serveCommand(ctx context.Context, args []string, log *slog.Logger, errs io.Writer) error {
	flags := flag.NewFlagSet("server", flag.ContinueOnError)
	flags.SetOutput(errs)
	isDemo := flags.Bool("demo", false, "serve invented data, open to everybody on this computer, from a folder that is removed at the end")
	folder := flags.String("data", defaultFolder, "folder of the ledgers")
	store := flags.String("store", "", storeUsage)
	addr := flags.String("addr", "", "address to listen on, "+ownAddr+" if not said, "+demoAddr+" for the demo; other than loopback needs a certificate")
	each := flags.Bool("log-requests", false, "log every request, not only those that went wrong")
	withdraw := flags.Bool("withdraw", false, "take the app off every phone that comes, where a release is so broken that no update gets through; what people wrote stays, and screens need this server until it is started without")
	memory := flags.Int64("memory", accounts.DefaultMemory>>20, "what open ledgers may take together, in MB; those that nobody uses are closed and opened again when wanted")
	quota := accounts.Quota{}
	flags.IntVar(&quota.Entries, "quota-entries", 0, "entries that each person but the owner may keep here; 0 is no bound")
	quotaMB := flags.Int64("quota-mb", 0, "the same in MB of their file")
	flags.IntVar(&quota.Day, "quota-day", 0, "entries that each may add in a day")
	health := flags.Bool("health", false, "answer /healthz and /readyz to everybody, not only to this computer")
	figuresAddr := flags.String("figures", "", "address at which to give figures at /metrics in the text format of Prometheus, such as localhost:8490; nothing personal is in them")
	var ways tlsFlags
	ways.register(flags)
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return errUsage
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(errs, "unknown command %q; the commands are: %s\n", flags.Arg(0), strings.Join(commandNames(), ", "))
		return errUsage
	}
	if *isDemo && *store != "" {
		fmt.Fprintln(errs, "-demo keeps invented data in a folder of its own, and nothing in a database")
		return errUsage
	}
	if *addr == "" {
		*addr = ownAddr
		if *isDemo {
			*addr = demoAddr
		}
	}
	front, err := ways.open(*addr, *folder, *isDemo, log)
	if err != nil {
		return err
	}
	l, err := listen(*addr)
	if err != nil {
		return err
	}
	l = netutil.LimitListener(l, maxConnections)
	defer l.Close() // a second time does nothing
	base := front.base(l, *addr)
	assets, release, err := makeRelease(ctx, log)
	if err != nil {
		return err
	}
	if *withdraw {
		if err := release.Withdraw(); err != nil {
			return err
		}
		fmt.Fprintln(errs, "Phones that come drop the app they keep, and nothing else. Start without -withdraw once a good release is in place.")
	}
	log.Info("release", "screens", release.Version(), "engine", packing())
	ready := func() error { return nil }
	var stats func() figures.Stats
	var handler http.Handler
	if *isDemo {
		var end func() error
		if handler, end, err = serveDemo(ctx, assets, release, log); err != nil {
			return err
		}
		defer closing(log, end)
	} else {
		config := accountsConfig(*folder, assets.URL, release.Version(), log)
		config.Memory = *memory << 20
		quota.Bytes = *quotaMB << 20
		config.Quota = quota
		log.Info("memory", "ledgers_mb", *memory)
		var h *accounts.Service
		if *store != "" {
			h, err = serveStore(ctx, *store, config, log)
		} else if h, err = accounts.Open(ctx, config); err != nil {
			err = explainFolder(*folder, err)
		}
		if err != nil {
			return err
		}
		defer closing(log, h.Close)
		h.SetBase(base)
		if *store == "" { // otherwise commands go to the database
			end, err := admin.Serve(*folder, h, log)
			if err != nil {
				return err
			}
			defer end()
		}
		if front.authority != nil {
			install, err := listen(ways.installAddr)
			if err != nil {
				return err
			}
			defer install.Close()
			host, _, _ := net.SplitHostPort(strings.TrimPrefix(base, "https://"))
			_, port, _ := net.SplitHostPort(install.Addr().String())
			fmt.Fprintf(errs, "Install the authority on each phone first, at http://%s; its SHA-256 is\n%s\n", net.JoinHostPort(host, port), front.authority.Fingerprint())
			page := newServer(installPage(front.authority, assets, base, log), log)
			defer page.Close()
			go page.Serve(install)
		}
		if empty, err := h.Empty(); err != nil {
			return err
		} else if empty {
			if err := firstLink(ctx, h, errs); err != nil {
				return err
			}
		}
		handler = middleware.Guard(release.Over(h), http.HandlerFunc(h.CrossOrigin), maxBody, log)
		ready, stats = h.Ready, h.Stats
	}
	var count *figures.Figures
	if *figuresAddr != "" {
		l, err := listen(*figuresAddr)
		if err != nil {
			return err
		}
		defer l.Close()
		count = figures.New(stats)
		mux := http.NewServeMux()
		mux.Handle("GET /metrics", count)
		own := newServer(mux, log)
		defer own.Close()
		go own.Serve(l)
		log.Info("figures", "at", "http://"+l.Addr().String()+"/metrics")
	}
	fmt.Fprintf(errs, "Dampstone is at %s (stop it with Ctrl-C)\n", base)
	if front.config != nil {
		l = tls.NewListener(l, front.config)
	}
	go front.fetch(log)
	handler = middleware.Health(front.wrap(handler), func(*http.Request) error {
		return errors.Join(ctx.Err(), ready()) // one that is stopping takes nobody on
	}, *health)
	if count != nil {
		handler = middleware.Count(handler, count.Request)
	}
	return serve(ctx, l, middleware.Log(handler, *each, time.Now, log), log)
}

func closing(log *slog.Logger, end func() error) {
	if err := end(); err != nil {
		log.Error("close", "err", err)
	}
}

// firstLink shows how the first device is paired.
func firstLink(ctx context.Context, h *accounts.Service, out io.Writer) error {
	inv, err := h.Pair(ctx, "")
	if err != nil {
		return err
	}
	return showInvitation(out, inv)
}

// serveStore opens a database for a server, and says what its confirmations
// are worth.
func serveStore(ctx context.Context, address string, config accounts.Config, log *slog.Logger) (*accounts.Service, error) {
	h, store, err := openStore(ctx, address, config)
	if err != nil {
		return nil, err
	}
	standby, err := store.Standby(ctx)
	if err != nil {
		return nil, explainStore(errors.Join(err, h.Close()))
	}
	if standby {
		log.Info("database", "confirmed", "on the disk of the primary and of a standby")
	} else {
		log.Warn("database", "confirmed", "on the disk of the primary alone: where that is lost, so is what no standby or backup has; set synchronous_standby_names")
	}
	return h, nil
}

// accountsConfig is how this program opens a data folder.
func accountsConfig(folder string, asset func(string) string, version string, log *slog.Logger) accounts.Config {
	return accounts.Config{Folder: folder, Log: log, Now: time.Now, OpenStore: openFile, Asset: asset, Version: version}
}

// explainFolder says what to do about a folder that cannot be opened.
func explainFolder(folder string, err error) error {
	path := filepath.Join(folder, accounts.PeopleFile)
	switch {
	case errors.Is(err, people.ErrInUse):
		return fmt.Errorf("%s is in use: another Dampstone serves this folder; stop it, or name another folder with -data", path)
	case errors.Is(err, people.ErrNewer):
		return fmt.Errorf("%s was written by a newer Dampstone; use that version", path)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("%s cannot be written; check its permissions", path)
	}
	return err
}

// serveDemo makes a handler over invented data, without pairing. end removes
// what it made.
func serveDemo(ctx context.Context, assets *static.Assets, release *static.Release, log *slog.Logger) (h http.Handler, end func() error, err error) {
	folder, err := os.MkdirTemp("", "dampstone-demo-")
	if err != nil {
		return nil, nil, fmt.Errorf("make demo folder: %w", err)
	}
	end = func() error { return os.RemoveAll(folder) }
	defer func() {
		if err != nil {
			err = errors.Join(err, end())
		}
	}()
	store, err := openFile(filepath.Join(folder, journalFile))
	if err != nil {
		return nil, nil, err
	}
	end = func() error { return errors.Join(store.Close(), os.RemoveAll(folder)) }
	entries, err := demo.Entries()
	if err != nil {
		return nil, nil, fmt.Errorf("read demo data: %w", err)
	}
	if _, err := store.Append(ctx, entries); err != nil {
		return nil, nil, fmt.Errorf("load demo data: %w", err)
	}
	ledger, err := flybox.Open(ctx, store, flybox.Options{Device: "server", Now: time.Now, NewID: flybox.RandomID})
	if err != nil {
		return nil, nil, fmt.Errorf("read ledger: %w", err)
	}
	screens := app.New(app.Config{Ledger: ledger, Now: time.Now, NewID: flybox.RandomID, Asset: assets.URL, Log: log, Version: release.Version(), Demo: func() bool { return true }})
	mux := http.NewServeMux()
	mux.Handle("/sync", &sync.Handler{Into: ledger, Journal: string(demo.Journal()), Kind: journal.DemoJournal, Failed: func(err error) { log.Error("sync", "err", err) }})
	mux.Handle("/", screens)
	return middleware.Guard(release.Over(mux), http.HandlerFunc(screens.CrossOrigin), maxBody, log), end, nil
}

// openFile opens the file of one ledger, and says what to do where it cannot.
func openFile(path string) (*boltstore.Store, error) {
	store, err := boltstore.Open(path, time.Second)
	switch {
	case err == nil:
		return store, nil
	case errors.Is(err, boltstore.ErrInUse):
		return nil, fmt.Errorf("%s is in use: another Dampstone serves this folder; stop it, or name another folder with -data", path)
	case errors.Is(err, boltstore.ErrNotOurs):
		return nil, fmt.Errorf("%s is not a Dampstone ledger; name another folder with -data", path)
	case errors.Is(err, boltstore.ErrNewer):
		return nil, fmt.Errorf("%s was written by a newer Dampstone; use that version", path)
	case errors.Is(err, boltstore.ErrReadOnly):
		return nil, fmt.Errorf("%s cannot be written; check its permissions", path)
	}
	return nil, err
}

// makeRelease is everything that is public: files, and screens that need no
// data.
func makeRelease(ctx context.Context, log *slog.Logger) (*static.Assets, *static.Release, error) {
	assets, err := static.NewAssets()
	if err != nil {
		return nil, nil, err
	}
	if !assets.HasEngine() {
		log.Warn("the phone's engine is not built in, so screens work only while this server can be reached; run: go generate ./...")
	}
	release, err := prerender(ctx, app.Config{Now: time.Now, NewID: flybox.RandomID, Asset: assets.URL, Log: log}, assets)
	if err != nil {
		return nil, nil, fmt.Errorf("prerender screens: %w", err)
	}
	return assets, release, nil
}

// maxBody lets a ledger's file be larger than anything else.
func maxBody(r *http.Request) int64 {
	if screen.IsImport(r) {
		return screen.MaxImport
	}
	return 0
}

// prerender makes the release: the screens that need no data of the user, in
// every language and unit.
func prerender(ctx context.Context, config app.Config, assets *static.Assets) (*static.Release, error) {
	empty, err := flybox.Open(ctx, &memstore.Store{}, flybox.Options{Device: "server", Now: time.Now, NewID: flybox.RandomID})
	if err != nil {
		return nil, err
	}
	config.Ledger = empty // nothing of a user goes into a release
	screens := app.New(config)
	var pages []static.Page
	add := func(path, from, prefs, shell string) error {
		body, err := app.Prerender(screens, from, prefs, shell)
		if err != nil {
			return err
		}
		pages = append(pages, static.Page{Path: path, Body: body})
		return nil
	}
	var texts []static.Text
	for _, lang := range catalog.Languages {
		t := catalog.For(lang)
		texts = append(texts, static.Text{Lang: lang, Name: "Dampstone", Short: "Dampstone", Description: t.S("manifest.description")})
		if err := add("/shell/blank/"+lang, "/shell/blank", "lang="+lang, "blank"); err != nil {
			return nil, err
		}
		for _, length := range []string{"mm", "in"} {
			if err := add("/shell/bank/"+lang+"-"+length, "/", "lang="+lang+"&len="+length, "bank"); err != nil {
				return nil, err
			}
		}
	}
	return assets.Release(pages, texts...)
}

func listen(addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, fmt.Errorf("address %s is taken: another program, perhaps another Dampstone, listens there; stop it, or choose another with -addr localhost:8440", addr)
	}
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	return l, nil
}

// nameless logs what net/http reports, without the addresses of visitors,
// which are personal data.
type nameless struct{ log *slog.Logger }

var visitor = regexp.MustCompile(`(?:\[[0-9a-fA-F:.%a-z]*\]|\b[0-9]{1,3}(?:\.[0-9]{1,3}){3}):[0-9]+`)

func (n nameless) Write(p []byte) (int, error) {
	n.log.Warn("http", "err", string(visitor.ReplaceAll(bytes.TrimSpace(p), []byte("visitor"))))
	return len(p), nil
}

// What one connection, and all together, may hold open: more than a lodge full
// of phones does, less than it takes to fill the memory.
const (
	maxStreams     = 32 // at once over one HTTP/2 connection
	maxConnections = 1000
)

func newServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler: middleware.Pace(h, time.Now), ErrorLog: stdlog.New(nameless{log}, "", 0),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 16 << 10,
		HTTP2:          &http.HTTP2Config{MaxConcurrentStreams: maxStreams},
	}
}

// stopTime is how long requests that run have to end when the server stops.
const stopTime = 5 * time.Second

// serve serves until ctx ends, then lets running requests finish.
func serve(ctx context.Context, l net.Listener, h http.Handler, log *slog.Logger) error {
	s := newServer(h, log)
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	select {
	case err := <-done:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), stopTime)
	defer cancel()
	if err := s.Shutdown(end); err != nil {
		// Somebody stalls: what was not confirmed they offer again.
		log.Warn("cut off requests that did not end", "err", err)
		if err := s.Close(); err != nil {
			return fmt.Errorf("stop: %w", err)
		}
	}
	log.Info("stopped")
	return nil
}

// shown keeps the host as it was asked for, with the port that was taken.
func shown(at net.Addr, asked string) string {
	host, _, _ := net.SplitHostPort(asked)
	_, port, _ := net.SplitHostPort(at.String())
	return net.JoinHostPort(host, port)
}
