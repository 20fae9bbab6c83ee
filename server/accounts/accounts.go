// Package accounts serves the people of one data folder: each has a ledger of
// their own, reached only from devices that were paired with them.
package accounts

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	gosync "sync"
	"sync/atomic"
	"time"

	"golang.org/x/time/rate"

	"dampstone/flybox/memstore"
	"dampstone/server/app"
	"dampstone/server/boltstore"
	"dampstone/server/people"
	"dampstone/server/sync"
)

// Files in the data folder.
const (
	PeopleFile  = "people.bolt"
	JournalFile = "journal.bolt" // the owner's ledger
	ledgersDir  = "ledgers"      // the others', each under its person's id
)

// firstName is the owner's name until they choose one.
const firstName = "Owner"

// Config is what a Service needs.
type Config struct {
	Folder string
	Log    *slog.Logger
	Now    func() time.Time
	// OpenStore opens one ledger's file, where they are files.
	OpenStore func(path string) (*boltstore.Store, error)
	// Asset gives the address of a static file by its name.
	Asset   func(name string) string
	Version string // of the release
	// Memory bounds what open ledgers take, in bytes; 0: DefaultMemory. One
	// that is in use stays open whatever it takes.
	Memory int64
	// Elsewhere is where people and ledgers are kept instead of the folder, in
	// which nothing is then; nil: in the folder.
	Elsewhere *Elsewhere
	// Quota bounds what each person but the owner may keep here.
	Quota Quota
}

// Elsewhere keeps people and ledgers, for several servers at once.
type Elsewhere struct {
	People  people.KV
	Ledgers Ledgers
	Close   func() error
}

// Service is an open data folder. It is safe for concurrent use.
type Service struct {
	Config
	people  *people.Registry
	ledgers Ledgers
	tries   *rate.Limiter // of codes, all together
	outer   *rate.Limiter // of devices that are not paired, all together
	shared  chan struct{} // something may have to be shared
	done    chan struct{} // closed when sharing has stopped
	stop    context.CancelFunc

	sharing gosync.Mutex      // held while sightings go around and while the crew changes
	looked  map[string]looked // by person; guarded by sharing
	held    map[string]bool   // of whom there is more to share than could be; likewise

	// screens answer where no ledger is at hand: of nobody, without entries.
	screens *app.App

	mu      gosync.Mutex
	wrote   map[string]bool    // who may have something new to share
	base    string             // address to give to phones
	tenants map[string]*tenant // that are open, by person
	// openings are those on their way.
	openings map[string]*opening
	turns    uint64                   // how often a ledger was let go of
	limits   map[string]*rate.Limiter // by device
	visitors map[string]*rate.Limiter // who try codes, by address
	today    daily                    // entries by person, see Quota

	addedEntries, refusedEntries atomic.Int64 // since the start
}

// Open opens the folder: who may use it, and the owner's ledger. Where nobody
// is known yet, it makes the owner.
func Open(ctx context.Context, c Config) (*Service, error) {
	registry, err := openPeople(c)
	if err != nil {
		return nil, err
	}
	h := &Service{
		Config: c, people: registry, tenants: map[string]*tenant{}, openings: map[string]*opening{}, looked: map[string]looked{}, held: map[string]bool{}, wrote: map[string]bool{},
		tries: rate.NewLimiter(allTriesPerSecond, allTriesBurst), visitors: map[string]*rate.Limiter{}, outer: rate.NewLimiter(20, 100), limits: map[string]*rate.Limiter{}, shared: make(chan struct{}, 1), done: make(chan struct{}),
	}
	if h.ledgers = (folder{h}); c.Elsewhere != nil {
		h.ledgers = c.Elsewhere.Ledgers
	}
	nobody, err := h.screensOver(ctx, &memstore.Store{})
	if err != nil {
		return nil, errors.Join(err, registry.Close())
	}
	h.screens = nobody.screens
	sharing, stop := context.WithCancel(context.WithoutCancel(ctx))
	h.stop = stop
	err = registry.Found(firstName, c.Now())
	if h.Memory <= 0 {
		h.Memory = DefaultMemory
	}
	if err == nil {
		err = h.look(ctx)
	}
	if err != nil {
		close(h.done)
		return nil, errors.Join(err, h.Close())
	}
	go h.shareLoop(sharing)
	h.wakeSharing("")
	return h, nil
}

func openPeople(c Config) (*people.Registry, error) {
	if c.Elsewhere != nil {
		return people.New(c.Elsewhere.People)
	}
	if err := os.MkdirAll(c.Folder, 0o700); err != nil {
		return nil, fmt.Errorf("make data folder: %w", err)
	}
	return people.Open(filepath.Join(c.Folder, PeopleFile), time.Second)
}

// look opens the owner's ledger. If it is damaged, the others are served all
// the same.
func (h *Service) look(ctx context.Context) error {
	owner, err := h.Owner()
	if err != nil {
		return err
	}
	t, err := h.tenant(ctx, owner.ID)
	if errors.Is(err, boltstore.ErrDamaged) {
		h.Log.Error("a ledger is damaged; it is left as it is, and the others are served", "file", h.ledgers.Name(owner), "err", err)
		return nil
	}
	if err == nil {
		h.release(t)
	}
	return err
}

// Close lets go of all files.
func (h *Service) Close() error {
	h.stop()
	<-h.done
	h.mu.Lock()
	defer h.mu.Unlock()
	var errs []error
	for _, t := range h.tenants {
		errs = append(errs, t.store.Close())
	}
	h.tenants = map[string]*tenant{}
	errs = append(errs, h.people.Close())
	if h.Elsewhere != nil {
		errs = append(errs, h.Elsewhere.Close())
	}
	return errors.Join(errs...)
}

// Owner is the person whom the first device is paired with.
func (h *Service) Owner() (p people.Person, err error) {
	everybody, err := h.people.People()
	if err != nil || len(everybody) == 0 {
		return p, errors.Join(err, people.ErrUnknown)
	}
	return everybody[0], nil
}

// SetBase sets the address under which phones reach this server.
func (h *Service) SetBase(url string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.base = url
}

func (h *Service) baseURL() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.base
}

// Link is the address that pairs a device by a code.
func (h *Service) Link(code string) string { return h.baseURL() + "/pair/" + code }

// Empty tells whether no device is paired.
func (h *Service) Empty() (bool, error) {
	devices, err := h.people.Devices("")
	return len(devices) == 0, err
}

// ServeHTTP answers paired devices, and lets others pair themselves.
func (h *Service) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == pairPath || strings.HasPrefix(r.URL.Path, pairPath+"/") {
		h.pairing(w, r)
		return
	}
	device, person, err := h.who(r)
	if errors.Is(err, people.ErrToken) {
		if !h.outer.Allow() {
			h.tooMuch(w, r)
			return
		}
		h.unpaired(w, r)
		return
	}
	if err != nil {
		h.fault(w, r, err)
		return
	}
	if !h.limit(device.ID).Allow() {
		h.tooMuch(w, r)
		return
	}
	t, err := h.tenant(r.Context(), person.ID)
	if err != nil {
		h.fault(w, r, err)
		return
	}
	defer h.release(t)
	h.sawDevice(device)
	switch {
	case r.URL.Path == sync.Path:
		h.keepCookie(w, r) // what is in use does not run out
		t.sync.ServeHTTP(w, r)
	case r.URL.Path == peoplePath || strings.HasPrefix(r.URL.Path, peoplePath+"/"):
		h.peopleScreens(w, r, device, person)
	default:
		select {
		case t.busy <- struct{}{}:
		case <-r.Context().Done():
			return
		}
		defer func() { <-t.busy }()
		s, err := h.shown(r.Context(), t)
		if err != nil {
			h.fault(w, r, err)
			return
		}
		s.screens.ServeHTTP(w, r)
	}
}

// What one device may ask for: far more than a hand or an exchange does, far
// less than it takes to keep others out.
const (
	devicePerSecond = 50
	deviceBurst     = 500
)

func (h *Service) limit(device string) *rate.Limiter {
	h.mu.Lock()
	defer h.mu.Unlock()
	l := h.limits[device]
	if l == nil {
		l = rate.NewLimiter(devicePerSecond, deviceBurst)
		h.limits[device] = l
	}
	return l
}

// CrossOrigin answers a post that another site sent.
func (h *Service) CrossOrigin(w http.ResponseWriter, r *http.Request) {
	h.screens.CrossOrigin(w, r)
}

// ---- the device's cookie ----

// cookieAge is as long as browsers keep a cookie at most (RFC 6265bis,
// section 5.5, from memory); each exchange starts it anew.
const cookieAge = 400 * 24 * time.Hour

// cookieName differs between servers on one host, whose ports share cookies
// (RFC 6265, section 8.5).
func (h *Service) cookieName() string { return "dampstone-" + h.people.ID()[:8] }

func (h *Service) cookie(r *http.Request, token string) *http.Cookie {
	return &http.Cookie{
		Name: h.cookieName(), Value: token, Path: "/", MaxAge: int(cookieAge.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: r.TLS != nil,
	}
}

func (h *Service) who(r *http.Request) (people.Device, people.Person, error) {
	c, err := r.Cookie(h.cookieName())
	if err != nil {
		return people.Device{}, people.Person{}, people.ErrToken
	}
	return h.people.Check(c.Value)
}

func (h *Service) keepCookie(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(h.cookieName()); err == nil {
		http.SetCookie(w, h.cookie(r, c.Value))
	}
}
