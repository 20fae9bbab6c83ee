package accounts

import (
	"bytes"
	"errors"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"time"

	"github.com/a-h/templ"
	"github.com/skip2/go-qrcode"

	"golang.org/x/time/rate"

	"dampstone/flybox/journal"
	"dampstone/server/app"
	"dampstone/server/boltstore"
	"dampstone/server/people"
	"dampstone/server/sync"
	"dampstone/views"
	"dampstone/views/catalog"
)

const (
	pairPath   = "/pair"
	peoplePath = "/people"

	maxForm = 8 << 10 // bytes
)

// page is what every screen here needs. The screens run without a script, as
// no engine answers for them.
func (h *Service) page(r *http.Request) views.Page {
	p := app.PageFor(r, h.Asset)
	p.Section = "setup"
	return p
}

// titled is page with a title.
func (h *Service) titled(r *http.Request, title func(*catalog.Text) string) views.Page {
	p := h.page(r)
	p.Title = title(p.T)
	return p
}

func pairTitle(t *catalog.Text) string   { return t.S("pair.title") }
func peopleTitle(t *catalog.Text) string { return t.S("people.title") }
func inviteTitle(t *catalog.Text) string { return t.S("invite.title") }

func (h *Service) show(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	var body bytes.Buffer
	if err := c.Render(r.Context(), &body); err != nil {
		h.Log.Error("render", "err", err)
		http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
		return
	}
	head := w.Header()
	head.Set("Content-Type", "text/html; charset=utf-8")
	head.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(body.Bytes())
}

// say is a page of one sentence.
func (h *Service) say(w http.ResponseWriter, r *http.Request, status int, text func(*catalog.Text) (title, sentence string)) {
	p := h.page(r)
	title, sentence := text(p.T)
	p.Title = title
	h.show(w, r, status, views.Said(p, sentence))
}

// problem is one of the sentences that the screens have for what goes wrong.
func problem(id string) func(*catalog.Text) (string, string) {
	return func(t *catalog.Text) (string, string) { return t.S("problem." + id + ".title"), t.S("problem." + id) }
}

func tooFast(t *catalog.Text) (string, string)  { return t.S("pair.title"), t.S("pair.slow") }
func notYours(t *catalog.Text) (string, string) { return t.S("people.title"), t.S("people.notyours") }

func (h *Service) fault(w http.ResponseWriter, r *http.Request, err error) {
	h.Log.Error("people", "err", err)
	status, id := http.StatusInternalServerError, "fault"
	switch {
	case errors.Is(err, journal.ErrFull):
		status, id = http.StatusInsufficientStorage, "full"
	case errors.Is(err, boltstore.ErrDamaged):
		status, id = http.StatusServiceUnavailable, "damaged"
	case errors.Is(err, journal.ErrReadOnly):
		status, id = http.StatusServiceUnavailable, "readonly"
	}
	h.say(w, r, status, problem(id))
}

// unpaired refuses a device that this server does not know.
func (h *Service) unpaired(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("WWW-Authenticate", "Pairing") // RFC 9110, section 15.5.2, wants one
	if r.URL.Path == sync.Path {
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusUnauthorized)
		w.Write([]byte(`{"code":"` + sync.CodeNotPaired + `"}` + "\n"))
		return
	}
	h.show(w, r, http.StatusUnauthorized, views.Unpaired(views.PairView{Page: h.titled(r, pairTitle)}))
}

// tooMuch refuses what comes too fast.
func (h *Service) tooMuch(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Retry-After", "10")
	if r.URL.Path == sync.Path {
		w.Header().Set("Cache-Control", "no-store")
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(http.StatusTooManyRequests)
		w.Write([]byte(`{"code":"` + sync.CodeTooMuch + `"}` + "\n"))
		return
	}
	h.say(w, r, http.StatusTooManyRequests, tooFast)
}

// ---- pairing ----

func (h *Service) pairing(w http.ResponseWriter, r *http.Request) {
	code := strings.TrimPrefix(strings.TrimPrefix(r.URL.Path, pairPath), "/")
	switch r.Method {
	case http.MethodGet, http.MethodHead:
		if code == "" {
			h.show(w, r, http.StatusOK, views.Unpaired(views.PairView{Page: h.titled(r, pairTitle)}))
			return
		}
	case http.MethodPost:
		if !h.form(w, r) {
			return
		}
		code = r.PostForm.Get("code")
	default:
		w.Header().Set("Allow", "GET, HEAD, POST")
		h.say(w, r, http.StatusMethodNotAllowed, problem("method"))
		return
	}
	if !h.mayTry(r) {
		w.Header().Set("Retry-After", "10")
		h.say(w, r, http.StatusTooManyRequests, tooFast)
		return
	}
	v := views.PairView{Page: h.titled(r, pairTitle), Code: code, Device: deviceName(r)}
	person, until, err := h.people.Invited(code, h.Now())
	switch {
	case errors.Is(err, people.ErrCode):
		v.Code, v.Problem = "", v.T.S("pair.code.bad")
		h.show(w, r, http.StatusForbidden, views.Unpaired(v))
		return
	case err != nil:
		h.fault(w, r, err)
		return
	}
	v.Person = v.T.F("pair.whose", catalog.Data{"Name": person.Name})
	v.Until = v.T.F("pair.until", catalog.Data{"When": app.DayTime(v.Page, until.In(h.Now().Location()))})
	if r.Method != http.MethodPost || !r.PostForm.Has("device") {
		// Nothing is used up yet: something that only looks at links, as mail
		// programs do, must not spend them.
		h.show(w, r, http.StatusOK, views.PairForm(v))
		return
	}
	token, device, err := h.people.Pair(code, r.PostForm.Get("device"), h.Now())
	switch {
	case errors.Is(err, people.ErrName):
		v.Device, v.Problem = "", v.T.F("people.name.bad", catalog.Data{"Max": people.MaxName})
		h.show(w, r, http.StatusUnprocessableEntity, views.PairForm(v))
	case errors.Is(err, people.ErrCode):
		v.Code, v.Problem = "", v.T.S("pair.code.bad")
		h.show(w, r, http.StatusForbidden, views.Unpaired(v))
	case err != nil:
		h.fault(w, r, err)
	default:
		h.Log.Info("device paired", "device", device.ID)
		http.SetCookie(w, h.cookie(r, token))
		http.Redirect(w, r, "/", http.StatusSeeOther)
	}
}

// What may be tried of codes: by one visitor little more than a hand types, by
// all together far less than it takes to guess one of 80 bits.
const (
	triesPerSecond, triesBurst       = 1, 10
	allTriesPerSecond, allTriesBurst = 100, 500
	maxVisitors                      = 10_000 // that are told apart; then it begins anew
)

// mayTry tells whether a visitor may try a code, and counts it. Strangers who
// try without end hold up nobody else.
func (h *Service) mayTry(r *http.Request) bool {
	h.mu.Lock()
	at := visitor(r)
	l := h.visitors[at]
	if l == nil {
		if len(h.visitors) >= maxVisitors {
			h.visitors = map[string]*rate.Limiter{}
		}
		l = rate.NewLimiter(triesPerSecond, triesBurst)
		h.visitors[at] = l
	}
	h.mu.Unlock()
	return l.Allow() && h.tries.Allow()
}

// visitor is the address that a request came from; of IPv6 the network, which
// one visitor has whole.
func visitor(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return host
	}
	if ip = ip.Unmap(); ip.Is6() {
		network, _ := ip.WithZone("").Prefix(64) // 64 bits are no error
		return network.String()
	}
	return ip.String()
}

// deviceName guesses what to call a device; the person may write another.
func deviceName(r *http.Request) string {
	agent := r.UserAgent()
	for _, kind := range []struct{ has, name string }{
		{"iPhone", "iPhone"}, {"iPad", "iPad"}, {"Android", "Android"}, {"Macintosh", "Mac"}, {"Windows", "PC"}, {"Linux", "PC"},
	} {
		if strings.Contains(agent, kind.has) {
			return kind.name
		}
	}
	return ""
}

// form reads a posted form; where it cannot, it has answered.
func (h *Service) form(w http.ResponseWriter, r *http.Request) bool {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	err := r.ParseForm()
	if err == nil && len(r.URL.RawQuery) <= maxForm {
		return true
	}
	if large := (*http.MaxBytesError)(nil); errors.As(err, &large) || err == nil {
		h.say(w, r, http.StatusRequestEntityTooLarge, problem("large"))
		return false
	}
	h.say(w, r, http.StatusBadRequest, problem("form"))
	return false
}

// ---- people and phones ----

func (h *Service) peopleScreens(w http.ResponseWriter, r *http.Request, device people.Device, person people.Person) {
	do := strings.TrimPrefix(strings.TrimPrefix(r.URL.Path, peoplePath), "/")
	if do == "" && (r.Method == http.MethodGet || r.Method == http.MethodHead) {
		v, err := h.peopleView(r, device, person)
		if err != nil {
			h.fault(w, r, err)
			return
		}
		h.show(w, r, http.StatusOK, views.People(v))
		return
	}
	act, known := map[string]func(*http.Request, people.Person) (string, error){
		"add": h.doAdd, "invite": h.doInvite, "share": h.doShare, "name": h.doName, "rename": h.doRename, "revoke": h.doRevoke,
	}[do]
	switch {
	case !known && do != "":
		h.say(w, r, http.StatusNotFound, problem("missing"))
		return
	case r.Method != http.MethodPost || do == "":
		w.Header().Set("Allow", http.MethodPost)
		h.say(w, r, http.StatusMethodNotAllowed, problem("method"))
		return
	case !h.form(w, r):
		return
	}
	code, err := act(r, person)
	switch {
	case errors.Is(err, people.ErrName):
		v, err := h.peopleView(r, device, person)
		if err != nil {
			h.fault(w, r, err)
			return
		}
		v.Problem = v.T.F("people.name.bad", catalog.Data{"Max": people.MaxName})
		h.show(w, r, http.StatusUnprocessableEntity, views.People(v))
	case errors.Is(err, people.ErrUnknown):
		h.say(w, r, http.StatusNotFound, problem("missing"))
	case errors.Is(err, errNotYours):
		h.say(w, r, http.StatusForbidden, notYours)
	case err != nil:
		h.fault(w, r, err)
	case code != "":
		h.showInvite(w, r, code)
	default:
		http.Redirect(w, r, peoplePath, http.StatusSeeOther)
	}
}

// errNotYours says that only the owner may do that to others.
var errNotYours = errors.New("only the owner may change other people")

// mine finds the person that a form is about, who must be the one asking
// unless that is the owner.
func (h *Service) mine(r *http.Request, asking people.Person) (people.Person, error) {
	p, ok, err := h.people.Person(r.PostForm.Get("person"))
	switch {
	case err != nil:
		return p, err
	case !ok:
		return p, people.ErrUnknown
	case p.ID != asking.ID && !asking.Owner:
		return p, errNotYours
	}
	return p, nil
}

// myDevice finds the device that a form is about, likewise.
func (h *Service) myDevice(r *http.Request, asking people.Person) (people.Device, error) {
	d, err := h.people.FindDevice(r.PostForm.Get("device"))
	if err != nil || d.ID != r.PostForm.Get("device") {
		return d, people.ErrUnknown
	}
	if d.Person != asking.ID && !asking.Owner {
		return d, errNotYours
	}
	return d, nil
}

func (h *Service) doAdd(r *http.Request, asking people.Person) (string, error) {
	if !asking.Owner {
		return "", errNotYours
	}
	p, err := h.people.Add("", r.PostForm.Get("name"), h.Now())
	if err != nil {
		return "", err
	}
	code, _, err := h.people.Invite(p.ID, h.Now())
	return code, err
}

func (h *Service) doInvite(r *http.Request, asking people.Person) (string, error) {
	p, err := h.mine(r, asking)
	if err != nil {
		return "", err
	}
	code, _, err := h.people.Invite(p.ID, h.Now())
	return code, err
}

// doShare is for oneself alone: nobody else may give one's sightings away.
func (h *Service) doShare(r *http.Request, asking people.Person) (string, error) {
	return "", h.setShares(r.Context(), asking.ID, r.PostForm.Get("shares") == "yes")
}

func (h *Service) doName(r *http.Request, asking people.Person) (string, error) {
	p, err := h.mine(r, asking)
	if err != nil {
		return "", err
	}
	return "", h.people.RenamePerson(p.ID, r.PostForm.Get("name"), asking.Owner)
}

func (h *Service) doRename(r *http.Request, asking people.Person) (string, error) {
	d, err := h.myDevice(r, asking)
	if err != nil {
		return "", err
	}
	return "", h.people.Rename(d.ID, r.PostForm.Get("name"))
}

func (h *Service) doRevoke(r *http.Request, asking people.Person) (string, error) {
	d, err := h.myDevice(r, asking)
	if err != nil {
		return "", err
	}
	h.Log.Info("device revoked", "device", d.ID)
	return "", h.people.Revoke(d.ID, h.Now())
}

func (h *Service) peopleView(r *http.Request, device people.Device, asking people.Person) (views.PeopleView, error) {
	v := views.PeopleView{Page: h.titled(r, peopleTitle), Owner: asking.Owner, Shares: asking.Shares}
	t := v.T
	everybody, err := h.people.People()
	if err != nil {
		return v, err
	}
	devices, err := h.people.Devices("")
	if err != nil {
		return v, err
	}
	for _, p := range everybody {
		if p.ID != asking.ID && p.Shares {
			v.Crew = append(v.Crew, p.Name)
		}
		if p.ID != asking.ID && !asking.Owner {
			continue
		}
		pv := views.PersonView{ID: p.ID, Name: p.Name, Self: p.ID == asking.ID}
		for _, d := range devices {
			if d.Person != p.ID {
				continue
			}
			pv.Devices = append(pv.Devices, views.DeviceView{
				ID: d.ID, Name: d.Name, Here: d.ID == device.ID,
				Paired: t.F("people.paired", catalog.Data{"When": app.DayTime(v.Page, d.Paired.In(h.Now().Location()))}),
			})
		}
		v.People = append(v.People, pv)
	}
	return v, nil
}

func (h *Service) showInvite(w http.ResponseWriter, r *http.Request, code string) {
	p := h.titled(r, inviteTitle)
	person, until, err := h.people.Invited(code, h.Now())
	if err != nil {
		h.fault(w, r, err)
		return
	}
	link := h.Link(code)
	v := views.InviteView{
		Page: p, Link: link, Code: code,
		Whose: p.T.F("invite.whose", catalog.Data{"Name": person.Name}),
		Until: p.T.F("pair.until", catalog.Data{"When": app.DayTime(p, until.In(h.Now().Location()))}),
		Here:  onlyHere(link),
	}
	if v.QR, v.QRSize, err = QRPath(link); err != nil {
		h.fault(w, r, err)
		return
	}
	h.show(w, r, http.StatusOK, views.Invite(v))
}

// onlyHere tells whether a link reaches this computer alone.
func onlyHere(link string) bool {
	u, err := url.Parse(link)
	return err != nil || Loopback(u.Hostname())
}

// QRPath draws a text as a QR code (ISO/IEC 18004): the outline of its dark
// modules, each 1 wide, in a square of size by size with its quiet zone.
func QRPath(text string) (path string, size int, err error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return "", 0, err
	}
	bits := q.Bitmap()
	var b strings.Builder
	for y, row := range bits {
		for x := 0; x < len(row); x++ {
			if !row[x] {
				continue
			}
			run := 1
			for x+run < len(row) && row[x+run] {
				run++
			}
			b.WriteString("M" + strconv.Itoa(x) + " " + strconv.Itoa(y) + "h" + strconv.Itoa(run) + "v1h-" + strconv.Itoa(run) + "z")
			x += run
		}
	}
	return b.String(), len(bits), nil
}

// QRText draws a text as a QR code in half blocks, two modules to a letter.
// It is light on dark where the terminal is dark; readers take both.
func QRText(text string) (string, error) {
	q, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return "", err
	}
	return q.ToSmallString(false), nil
}

// ---- times ----

// CodeLife is how long a link that pairs a device works.
const CodeLife time.Duration = people.CodeLife
