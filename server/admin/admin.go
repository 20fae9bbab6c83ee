// Package admin lets the command line speak to a running server, which
// alone has the data folder open. The server listens on a loopback port of
// its own and writes address and secret into a file of the folder that only
// its owner can read: whoever can read that file could read the ledgers too.
package admin

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"dampstone/server/accounts"
	"dampstone/server/backup"
	"dampstone/server/people"
)

// File is the name in the data folder.
const File = "control.json"

// Keeper is what can be asked for.
type Keeper interface {
	List(ctx context.Context) ([]accounts.Listing, error)
	Pair(ctx context.Context, name string) (accounts.Invitation, error)
	Revoke(ctx context.Context, device string) (people.Device, error)
	Purge(ctx context.Context, person string) (people.Person, error)
	Backup(ctx context.Context, w io.Writer) error
	Restore(ctx context.Context, r io.Reader) (backup.Report, error)
}

var (
	_ Keeper = (*accounts.Service)(nil)
	_ Keeper = (*Client)(nil)
)

// ErrNoServer says that no server answers for the folder.
var ErrNoServer = errors.New("no server answers for this folder")

type place struct {
	URL   string `json:"url"`
	Token string `json:"token"`
}

// Serve answers until close is called, which removes the file.
func Serve(folder string, keeper Keeper, log *slog.Logger) (close func(), err error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, fmt.Errorf("listen for the command line: %w", err)
	}
	secret := make([]byte, 32)
	rand.Read(secret) // never fails
	at := place{URL: "http://" + l.Addr().String(), Token: base64.RawURLEncoding.EncodeToString(secret)}
	path := filepath.Join(folder, File)
	if err := writeFile(path, at); err != nil {
		return nil, errors.Join(fmt.Errorf("listen for the command line: %w", err), l.Close())
	}
	s := &http.Server{Handler: handler(keeper, at.Token, log), ReadHeaderTimeout: 5 * time.Second, MaxHeaderBytes: 8 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	go s.Serve(l)
	return func() {
		s.Close()
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			log.Warn("remove control file", "err", err)
		}
	}, nil
}

// Forget removes the file that a server left behind which was killed. Whoever
// has the folder open may call it.
func Forget(folder string) error {
	if err := os.Remove(filepath.Join(folder, File)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

func writeFile(path string, at place) error {
	raw, err := json.Marshal(at)
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".control-") // mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(raw)
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

func handler(keeper Keeper, token string, log *slog.Logger) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /people", func(w http.ResponseWriter, r *http.Request) {
		list, err := keeper.List(r.Context())
		answer(w, list, err)
	})
	mux.HandleFunc("POST /pair", func(w http.ResponseWriter, r *http.Request) {
		inv, err := keeper.Pair(r.Context(), r.FormValue("name"))
		answer(w, inv, err)
	})
	mux.HandleFunc("POST /revoke", func(w http.ResponseWriter, r *http.Request) {
		d, err := keeper.Revoke(r.Context(), r.FormValue("name"))
		answer(w, d, err)
	})
	mux.HandleFunc("POST /purge", func(w http.ResponseWriter, r *http.Request) {
		p, err := keeper.Purge(r.Context(), r.FormValue("name"))
		answer(w, p, err)
	})
	mux.HandleFunc("GET /backup", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Trailer", lacksTrailer)
		err := keeper.Backup(r.Context(), w)
		if errors.Is(err, accounts.ErrPartly) {
			log.Error("backup", "err", err)
			w.Header().Set(lacksTrailer, strings.ReplaceAll(err.Error(), "\n", "; "))
			return
		}
		if err != nil {
			log.Error("backup", "err", err)
			panic(http.ErrAbortHandler) // the other side sees that it is not whole
		}
	})
	mux.HandleFunc("POST /restore", func(w http.ResponseWriter, r *http.Request) {
		report, err := keeper.Restore(r.Context(), r.Body)
		answer(w, report, err)
	})
	want := []byte("Bearer " + token)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if subtle.ConstantTimeCompare([]byte(r.Header.Get("Authorization")), want) != 1 {
			http.Error(w, http.StatusText(http.StatusForbidden), http.StatusForbidden)
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// reply carries what there is and what went wrong, as a restore may have
// both.
type reply struct {
	Result any    `json:"result"`
	Error  string `json:"error,omitempty"`
	Known  string `json:"known,omitempty"` // one of the errors below
}

// knownErrors survive the way.
var knownErrors = map[string]error{
	"unknown": people.ErrUnknown, "two": people.ErrTwo, "name": people.ErrName,
	"owner": accounts.ErrOwner, "not-ours": backup.ErrNotOurs, "newer": backup.ErrNewer,
}

func answer(w http.ResponseWriter, result any, err error) {
	out := reply{Result: result}
	if err != nil {
		out.Error = err.Error()
		for name, known := range knownErrors {
			if errors.Is(err, known) {
				out.Known = name
			}
		}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(out) // nobody is left to tell if the other side has gone
}

// Client speaks to a running server.
type Client struct {
	at place
}

// Dial finds the server that has the folder open, or ErrNoServer.
func Dial(ctx context.Context, folder string) (*Client, error) {
	raw, err := os.ReadFile(filepath.Join(folder, File))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNoServer
	}
	if err != nil {
		return nil, fmt.Errorf("find server: %w", err)
	}
	c := &Client{}
	if err := json.Unmarshal(raw, &c.at); err != nil {
		return nil, fmt.Errorf("%w: %s cannot be read", ErrNoServer, File)
	}
	if _, err := c.List(ctx); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoServer, err) // left behind by one that was killed
	}
	return c, nil
}

func (c *Client) do(ctx context.Context, method, path string, body io.Reader, media string) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, method, c.at.URL+path, body)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Authorization", "Bearer "+c.at.Token)
	if media != "" {
		r.Header.Set("Content-Type", media)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, err
	}
	if res.StatusCode != http.StatusOK {
		res.Body.Close()
		return nil, fmt.Errorf("server answered %s", res.Status)
	}
	return res, nil
}

func (c *Client) ask(ctx context.Context, method, path string, body io.Reader, media string, into any) error {
	res, err := c.do(ctx, method, path, body, media)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	got := reply{Result: into}
	if err := json.NewDecoder(res.Body).Decode(&got); err != nil {
		return fmt.Errorf("answer of the server: %w", err)
	}
	if got.Error != "" {
		return remote{got.Error, knownErrors[got.Known]}
	}
	return nil
}

// remote is an error of the server.
type remote struct {
	text string
	is   error
}

func (e remote) Error() string { return e.text }
func (e remote) Unwrap() error { return e.is }

const formType = "application/x-www-form-urlencoded"

// List implements Keeper.
func (c *Client) List(ctx context.Context) (list []accounts.Listing, err error) {
	err = c.ask(ctx, http.MethodGet, "/people", nil, "", &list)
	return list, err
}

// Pair implements Keeper.
func (c *Client) Pair(ctx context.Context, name string) (inv accounts.Invitation, err error) {
	err = c.ask(ctx, http.MethodPost, "/pair", form("name", name), formType, &inv)
	return inv, err
}

// Revoke implements Keeper.
func (c *Client) Revoke(ctx context.Context, name string) (d people.Device, err error) {
	err = c.ask(ctx, http.MethodPost, "/revoke", form("name", name), formType, &d)
	return d, err
}

// Purge implements Keeper.
func (c *Client) Purge(ctx context.Context, name string) (p people.Person, err error) {
	err = c.ask(ctx, http.MethodPost, "/purge", form("name", name), formType, &p)
	return p, err
}

// lacksTrailer comes behind a backup that is whole and lacks ledgers: says
// which.
const lacksTrailer = "Dampstone-Lacks"

// Backup implements Keeper.
func (c *Client) Backup(ctx context.Context, w io.Writer) error {
	res, err := c.do(ctx, http.MethodGet, "/backup", nil, "")
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if _, err := io.Copy(w, res.Body); err != nil {
		return fmt.Errorf("back up: %w", err)
	}
	if lacks := res.Trailer.Get(lacksTrailer); lacks != "" {
		return fmt.Errorf("%w (the server says: %s)", accounts.ErrPartly, lacks)
	}
	return nil
}

// Restore implements Keeper.
func (c *Client) Restore(ctx context.Context, r io.Reader) (report backup.Report, err error) {
	err = c.ask(ctx, http.MethodPost, "/restore", r, backup.Type, &report)
	return report, err
}

func form(name, value string) io.Reader {
	return strings.NewReader(url.Values{name: {value}}.Encode())
}
