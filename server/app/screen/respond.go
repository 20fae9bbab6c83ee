package screen

import (
	"bytes"
	"encoding/hex"
	"errors"
	"log/slog"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/gorilla/mux"

	"dampstone/flybox/acts"
	"dampstone/flybox/journal"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Result is what a screen gives back: a component to show, or an address to
// go to after something was saved.
type Result struct {
	Status int
	show   templ.Component
	GoTo   string
	File   *File  // in place of a component
	Prefs  *Prefs // to be kept on the device
	// Restart says that the application has to start anew to show what follows.
	Restart bool
}

func Show(c templ.Component) Result { return Result{Status: http.StatusOK, show: c} }

// Retry shows a form again with what is wrong in it.
func Retry(c templ.Component) Result {
	return Result{Status: http.StatusUnprocessableEntity, show: c}
}

// GoTo leads on after a save, with the id of the sentence to show there.
func GoTo(address, flash string, n int) Result {
	u, err := url.Parse(address)
	if err != nil {
		return Result{GoTo: address}
	}
	q := u.Query()
	if flash != "" {
		q.Set("did", flash)
		if n != 0 {
			q.Set("n", strconv.Itoa(n))
		}
	}
	u.RawQuery = q.Encode()
	return Result{GoTo: u.String()}
}

// Errors that become pages of their own.
var (
	ErrNotFound = errors.New("not found")
	ErrMethod   = errors.New("method not allowed")
	errTooLarge = errors.New("form too large")
	errUnread   = errors.New("ledger could not be read")
	errNoStore  = errors.New("nothing can be kept on this device")
	ErrBadForm  = errors.New("form cannot be read")
	ErrCross    = errors.New("post from another site")
)

// MaxForm bounds a posted form in bytes; a fly has a note of 4,000 characters
// at most.
const MaxForm = 64 << 10

type screen func(*http.Request, Asked) (Result, error)

// Page turns a screen into a handler. It alone decides status, log line and
// error page.
func (a *Host) Page(s screen) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		p := Asked{ReadPrefs(r), a.Ledger.State()}
		ans, err := a.run(s, w, r, p)
		if err != nil {
			ans = a.problem(r, p, err)
		}
		if ans.Prefs != nil {
			ans.Prefs.setOn(w, r)
		}
		if ans.Restart {
			w.Header().Set(RestartHeader, "1")
		}
		if ans.GoTo != "" {
			http.Redirect(w, r, ans.GoTo, http.StatusSeeOther)
			return
		}
		if ans.File != nil {
			if err := ans.File.serve(w, r); err != nil {
				a.Log.Error("send file", "err", err)
				panic(http.ErrAbortHandler) // so that nobody takes half a file for the whole
			}
			return
		}
		var body bytes.Buffer
		if err := ans.show.Render(r.Context(), &body); err != nil {
			a.Log.Error("render", "path", r.URL.Path, "err", err)
			http.Error(w, catalog.For(p.Lang).S("problem.fault"), http.StatusInternalServerError)
			return
		}
		h := w.Header()
		h.Set("Content-Type", "text/html; charset=utf-8")
		h.Set("Cache-Control", "no-store")
		h.Set("Content-Language", p.Lang)
		w.WriteHeader(ans.Status)
		w.Write(body.Bytes())
	})
}

func (a *Host) run(s screen, w http.ResponseWriter, r *http.Request, p Asked) (Result, error) {
	if len(r.URL.RawQuery) > MaxQuery {
		return Result{}, errTooLarge
	}
	if r.Header.Get(ShellHeader) != "" && r.RemoteAddr != "" {
		r.Header.Del(ShellHeader) // only the host itself prerenders
	}
	if a.Unread && !withoutLedger(r) {
		return Result{}, errUnread
	}
	if r.Method == http.MethodPost {
		if a.NoStore && !isPrefs(r) {
			return Result{}, errNoStore
		}
		if IsImport(r) {
			r.Body = http.MaxBytesReader(w, r.Body, a.MaxImport()+formRoom)
			return s(r, p) // reads the form as it comes
		}
		r.Body = http.MaxBytesReader(w, r.Body, MaxForm)
		if err := r.ParseForm(); err != nil {
			if tooLarge := (*http.MaxBytesError)(nil); errors.As(err, &tooLarge) {
				return Result{}, errTooLarge
			}
			return Result{}, ErrBadForm
		}
	}
	return s(r, p)
}

// withoutLedger tells whether a screen is of use without the ledger: the key,
// and how things are shown.
func withoutLedger(r *http.Request) bool {
	return r.URL.Path == "/" || isPrefs(r) || strings.HasPrefix(r.URL.Path, "/shell/")
}

// isPrefs tells whether a post only changes how things are shown.
func isPrefs(r *http.Request) bool {
	return r.URL.Path == "/setup" || r.URL.Path == "/setup/size"
}

// problem is the page for an error.
func (a *Host) problem(r *http.Request, p Asked, err error) Result {
	t := catalog.For(p.Lang)
	status, id := http.StatusInternalServerError, "fault"
	var bad journal.Problems
	switch {
	case errors.Is(err, ErrNotFound), errors.Is(err, acts.ErrUnknown):
		status, id = http.StatusNotFound, "missing"
	case errors.Is(err, ErrMethod):
		status, id = http.StatusMethodNotAllowed, "method"
	case errors.Is(err, errTooLarge):
		status, id = http.StatusRequestEntityTooLarge, "large"
	case errors.Is(err, ErrCross):
		status, id = http.StatusForbidden, "cross"
	case errors.Is(err, errUnread):
		status, id = http.StatusServiceUnavailable, "unread"
	case errors.Is(err, errNoStore):
		status, id = http.StatusServiceUnavailable, "nostore"
	case errors.Is(err, ErrBadForm), errors.As(err, &bad):
		status, id = http.StatusBadRequest, "form"
	case errors.Is(err, journal.ErrShare):
		status, id = http.StatusInsufficientStorage, "share"
	case errors.Is(err, journal.ErrToday):
		status, id = http.StatusInsufficientStorage, "today"
	case errors.Is(err, journal.ErrFull):
		status, id = http.StatusInsufficientStorage, "full"
	case errors.Is(err, journal.ErrReadOnly):
		status, id = http.StatusServiceUnavailable, "readonly"
	}
	v := views.ProblemView{
		Page:     a.View(r, p, "", t.S("problem."+id+".title")),
		Heading:  t.S("problem." + id + ".title"),
		Sentence: t.S("problem." + id),
	}
	level := slog.LevelInfo
	if status >= 500 {
		level = slog.LevelError
		v.Ref = shortRef(a.NewID())
	}
	a.Log.Log(r.Context(), level, "problem", "problem", id, "status", status, "method", r.Method, "route", route(r), "ref", v.Ref, "err", err)
	return Result{Status: status, show: views.Problem(v)}
}

// route is the template of the address asked for, which holds no id that
// somebody's ledger knows; it is empty where no route matched.
func route(r *http.Request) string {
	at := mux.CurrentRoute(r)
	if at == nil {
		return ""
	}
	template, err := at.GetPathTemplate()
	if err != nil {
		return "" // a route that matches by something else
	}
	return template
}

// shortRef is a short name for an error, on the page and in the log.
func shortRef(id journal.ID) string {
	sum := uint32(2166136261) // FNV-1a
	for i := range len(id) {
		sum = (sum ^ uint32(id[i])) * 16777619
	}
	return hex.EncodeToString([]byte{byte(sum >> 24), byte(sum >> 16), byte(sum >> 8)})
}

// flash is the sentence about what was just done.
func (a *Host) flash(t *catalog.Text, r *http.Request) string {
	did := r.URL.Query().Get("did")
	if !Flashes[did] {
		return ""
	}
	n, _ := strconv.Atoi(r.URL.Query().Get("n"))
	return t.N("did."+did, n, nil)
}

// Flashes are the sentences that an address may ask for.
var Flashes = map[string]bool{
	"saved": true, "added": true, "counted": true, "taken": true, "back": true, "lost": true, "removed": true, "prefs": true, "noted": true, "given": true,
	"packed": true, "unpacked": true, "back-counted": true,
	"started": true, "ended": true, "had-ended": true, "joined": true, "rigged": true, "rig-full": true, "said": true, "take": true, "refusal": true, "follow": true, "lost-fish": true, "fly-gone": true, "undone": true,
	"tied": true, "untied": true, "handed": true,
}
