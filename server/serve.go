package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"github.com/google/uuid"

	"dampstone/data/demo"
	"dampstone/flybox"
	"dampstone/flybox/memstore"
	"dampstone/server/app"
	"dampstone/server/boltstore"
	"dampstone/server/safe"
	"dampstone/server/sync"
	"dampstone/static"
	"dampstone/views/catalog"
)

// journalFile is the ledger's file in the data folder.
const journalFile = "journal.bolt"

// serveCommand serves the application until ctx ends.
func serveCommand(ctx context.Context, args []string, log *slog.Logger, errs io.Writer) error {
	flags := flag.NewFlagSet("server", flag.ContinueOnError)
	flags.SetOutput(errs)
	isDemo := flags.Bool("demo", false, "serve invented data from a folder that is removed at the end")
	folder := flags.String("data", "data/local", "folder of the ledger")
	addr := flags.String("addr", "localhost:8420", "address to listen on; loopback only until phones can be paired")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return errUsage
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(errs, "unknown command %q; the commands are: key\n", flags.Arg(0))
		return errUsage
	}
	if err := loopbackOnly(*addr); err != nil {
		return err
	}
	if *isDemo {
		tmp, err := os.MkdirTemp("", "dampstone-demo-")
		if err != nil {
			return fmt.Errorf("make demo folder: %w", err)
		}
		defer os.RemoveAll(tmp)
		*folder = tmp
	}
	store, err := openStore(*folder)
	if err != nil {
		return err
	}
	defer func() {
		if err := store.Close(); err != nil {
			log.Error("close ledger", "err", err)
		}
	}()
	if *isDemo {
		entries, err := demo.Entries()
		if err != nil {
			return fmt.Errorf("read demo data: %w", err)
		}
		if _, err := store.Append(ctx, entries); err != nil {
			return fmt.Errorf("load demo data: %w", err)
		}
	}
	handler, err := newHandler(ctx, store, log)
	if err != nil {
		return err
	}
	return listen(ctx, *addr, handler, log, errs)
}

// loopbackOnly refuses an address that other machines could reach: without
// pairing anybody there could read and write the ledger.
func loopbackOnly(addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return fmt.Errorf("address %q: want host:port, such as localhost:8420", addr)
	}
	if ip := net.ParseIP(host); host == "localhost" || ip != nil && ip.IsLoopback() {
		return nil
	}
	return fmt.Errorf("address %q can be reached from other machines, which is refused until phones can be paired; use localhost:8420", addr)
}

func openStore(folder string) (*boltstore.Store, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, fmt.Errorf("make data folder: %w", err)
	}
	path := filepath.Join(folder, journalFile)
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

// journalStore is a store whose journal has an id, for sync.
type journalStore interface {
	flybox.Store
	Journal() string
}

// newHandler is everything the binary serves.
func newHandler(ctx context.Context, store journalStore, log *slog.Logger) (http.Handler, error) {
	ledger, err := flybox.Open(ctx, store, flybox.Options{Device: "server", Now: time.Now, NewID: uuid.NewString})
	if err != nil {
		return nil, fmt.Errorf("read ledger: %w", err)
	}
	assets, err := static.NewAssets()
	if err != nil {
		return nil, err
	}
	if !assets.HasEngine() {
		log.Warn("the phone's engine is not built in, so screens work only while this server can be reached; run: go generate ./...")
	}
	config := app.Config{Ledger: ledger, Now: time.Now, NewID: uuid.NewString, Asset: assets.URL, Log: log}
	release, err := prerender(ctx, config, assets)
	if err != nil {
		return nil, fmt.Errorf("prerender screens: %w", err)
	}
	config.Version = release.Version()
	screens := app.New(config)
	mux := http.NewServeMux()
	mux.Handle("/sync", &sync.Handler{Ledger: ledger, Journal: store.Journal(), Failed: func(err error) { log.Error("sync", "err", err) }})
	mux.Handle("/", screens)
	return safe.Guard(release.Over(mux), http.HandlerFunc(screens.CrossOrigin), maxBody, log), nil
}

// maxBody lets a ledger's file be larger than anything else.
func maxBody(r *http.Request) int64 {
	if app.IsImport(r) {
		return app.MaxImport
	}
	return 0
}

// prerender makes the release: the screens that need no data of the user, in
// every language and unit.
func prerender(ctx context.Context, config app.Config, assets *static.Assets) (*static.Release, error) {
	empty, err := flybox.Open(ctx, &memstore.Store{}, flybox.Options{Device: "server", Now: time.Now, NewID: uuid.NewString})
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
			for _, temp := range []string{"c", "f"} {
				prefs := "lang=" + lang + "&len=" + length + "&temp=" + temp
				if err := add("/shell/bank/"+lang+"-"+length+"-"+temp, "/", prefs, "bank"); err != nil {
					return nil, err
				}
			}
		}
	}
	return assets.Release(pages, texts...)
}

// listen serves until ctx ends, then lets running requests finish.
func listen(ctx context.Context, addr string, h http.Handler, log *slog.Logger, errs io.Writer) error {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		if errors.Is(err, syscall.EADDRINUSE) {
			return fmt.Errorf("address %s is taken: another program, perhaps another Dampstone, listens there; stop it, or choose another with -addr localhost:8421", addr)
		}
		return fmt.Errorf("listen: %w", err)
	}
	s := &http.Server{
		Handler: h, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 16 << 10,
	}
	fmt.Fprintf(errs, "Dampstone is at http://%s (stop it with Ctrl-C)\n", shown(l.Addr(), addr))
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	select {
	case err := <-done:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	if err := s.Shutdown(end); err != nil {
		return fmt.Errorf("stop: %w", err)
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
