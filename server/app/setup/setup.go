package setup

import (
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gorilla/mux"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/hatchkeys"
	"dampstone/server/app/screen"
	"dampstone/server/app/words"
	"dampstone/views"
	"dampstone/views/catalog"
	"dampstone/views/draw"
	"dampstone/views/measure"
)

func (a *section) routes(r *mux.Router) {
	r.Handle("/setup", a.Page(a.setup)).Methods("GET", "HEAD")
	r.Handle("/setup", a.Page(a.saveSetup)).Methods("POST")
	r.Handle(screen.SafePath, a.Page(a.safe)).Methods("GET", "HEAD")
	r.Handle(screen.SafePath, a.Page(a.importFile)).Methods("POST")
	r.Handle(screen.FilePath, a.Page(a.ledgerFile)).Methods("GET", "HEAD")
	r.Handle(QuarantinePath, a.Page(a.quarantine)).Methods("GET", "HEAD")
	r.Handle(QuarantineFilePath, a.Page(a.quarantineFile)).Methods("GET", "HEAD")
	r.Handle(ledgerPath, a.Page(a.otherLedger)).Methods("GET", "HEAD")
	r.Handle(ledgerPath, a.Page(a.chooseLedger)).Methods("POST")
	r.Handle("/setup/size", a.Page(a.size)).Methods("GET", "HEAD")
	r.Handle("/setup/size", a.Page(a.saveSize)).Methods("POST")
}

func (a *section) setup(r *http.Request, p screen.Asked) (screen.Result, error) {
	if screen.AsksExchange(r) {
		return screen.Show(views.ExchangeParts(a.Exchange(r, catalog.For(p.Lang)))), nil
	}
	return screen.Show(views.Setup(a.setupView(r, p, nil, nil))), nil
}

// setupView is the screen, with what was typed if it could not be kept.
func (a *section) setupView(r *http.Request, p screen.Asked, typed url.Values, bad journal.Problems) views.SetupView {
	t := catalog.For(p.Lang)
	page := a.View(r, p, "setup", t.S("setup.title"))
	v := views.SetupView{Page: page}
	choices := func(name, now string, labels string, values ...string) views.Choices {
		if typed != nil {
			now = typed.Get(name)
		}
		c := views.Choices{Field: views.Field{Name: name, Label: t.S("setup." + name)}}
		for _, value := range values {
			c.Options = append(c.Options, views.Option{Value: value, Label: t.S(labels + value), Chosen: value == now})
		}
		return c
	}
	pick := func(second bool, a, b string) string {
		if second {
			return b
		}
		return a
	}
	v.Language = choices("lang", p.Lang, "lang.", catalog.Languages...)
	v.Lengths = choices("len", pick(p.Units.Inches, "mm", "in"), "unit.", "mm", "in")
	v.Degrees = choices("temp", pick(p.Units.Fahrenheit, "c", "f"), "unit.", "c", "f")
	v.Region = choices("region", p.Region, "region.", hatchkeys.Offered(p.Region)...)
	lat, alt := "", ""
	if p.Place != nil {
		lat, alt = page.U.Number(p.Place.Latitude, 2), page.U.HeightNumber(p.Place.Altitude)
	}
	if typed != nil {
		lat, alt = typed.Get("lat"), typed.Get("alt")
	}
	v.Latitude = screen.FormField(page, "place", "lat", lat, bad)
	v.Latitude.Unit = "°"
	v.Altitude = screen.FormField(page, "place", "alt", alt, bad)
	v.Altitude.Unit = page.U.HeightUnit()
	v.Problems = screen.ProblemList(page, "place", bad)
	v.SizeText = t.S("setup.size.unset")
	if p.Px > 0 {
		v.SizeText = t.F("setup.size.set", catalog.Data{"Px": page.U.Number(p.Px, 2)})
	}
	status := a.syncStatus(r)
	if quarantine := quarantinesOf(p.State, status); quarantine.count() > 0 {
		v.Quarantine = t.N("quarantine.go", quarantine.count(), nil)
	} else if quarantine.newer > 0 {
		v.Quarantine = t.N("quarantine.newer.go", quarantine.newer, nil)
	}
	v.Sync, v.SyncDo, v.People = a.syncText(p.State, status, page), a.Sync != nil, a.People && !page.Demo
	for _, id := range []string{"rising", "dams", "swept", "lightning", "dark", "hooks", "fish", "clean", "ice"} {
		v.Cares = append(v.Cares, t.S("care."+id))
	}
	v.About = []string{t.S("about.key"), t.S("about.data"), t.F("about.version", catalog.Data{"Version": a.Version})}
	if page.Demo {
		v.About = append(v.About, t.S("demo"))
	}
	if a.IsDemo() && !a.Phone {
		v.About = append(v.About, t.S("demo.open"))
	}
	return v
}

// syncStatus is what a phone knows about its exchange; nil on the binary.
func (a *section) syncStatus(r *http.Request) *screen.SyncStatus {
	if a.Sync == nil {
		return nil
	}
	s := a.Sync(r.Context())
	return &s
}

// syncText says how safe the ledger is.
func (a *section) syncText(st *flybox.State, s *screen.SyncStatus, page views.Page) []string {
	t := page.T
	out := []string{t.N("sync.entries", st.Len(), nil)}
	if a.NoStore {
		return append(out, t.S("nostore"))
	}
	if s == nil {
		return append(out, t.S("sync.here"))
	}
	out = append(out, t.N("sync.unconfirmed", s.Waiting, nil))
	if s.Used >= screen.ShareWarning {
		out = append(out, t.F("sync.used", catalog.Data{"Percent": words.Percent(page, s.Used)}))
	}
	if s.Last.IsZero() {
		return append(out, t.S("sync.never"))
	}
	return append(out, t.F("sync.last", catalog.Data{"When": screen.DayTime(page, s.Last)}))
}

func (a *section) saveSetup(r *http.Request, p screen.Asked) (screen.Result, error) {
	f := r.PostForm
	bad := func(name string, values ...string) bool { return !slices.Contains(values, f.Get(name)) }
	if bad("lang", catalog.Languages...) || bad("len", "mm", "in") || bad("temp", "c", "f") || bad("region", hatchkeys.Regions()...) {
		return screen.Result{}, screen.ErrBadForm
	}
	// What was typed is in the unit that stood beside it, whatever is chosen
	// now or was in another tab.
	typedIn := p
	typedIn.Units.Inches = f.Get("alt_unit") == "ft"
	if f.Get("alt_unit") == "" {
		typedIn.Units.Inches = p.Units.Inches
	}
	place, problems := readPlace(f, typedIn.Units, f.Get("region"))
	if len(problems) > 0 {
		return screen.Retry(views.Setup(a.setupView(r, typedIn, f, problems))), nil
	}
	p.Lang, p.Region, p.Place = f.Get("lang"), f.Get("region"), place
	p.Units.Inches, p.Units.Fahrenheit = f.Get("len") == "in", f.Get("temp") == "f"
	ans := screen.GoTo("/setup", "prefs", 0)
	ans.Prefs = &p.Prefs
	return ans, nil
}

// readPlace reads where the home water lies. What is left empty is that of the
// region's pack; with both empty there is no place.
func readPlace(f url.Values, u measure.Units, region string) (*hatchkeys.Place, journal.Problems) {
	place, _ := hatchkeys.Home(region)
	var bad journal.Problems
	given := false
	read := func(name string, parse func(string) (float64, error), min, max float64, into *float64) {
		text := strings.TrimSpace(f.Get(name))
		if text == "" {
			return
		}
		given = true
		x, err := parse(text)
		switch {
		case err != nil:
			bad = append(bad, journal.Problem{Field: name, Code: screen.CodeNotNumber, Detail: journal.Detail{Got: journal.Of(screen.Clip(text))}})
		case x < min || x > max:
			bad = append(bad, journal.Problem{Field: name, Code: journal.CodeRange, Detail: journal.Detail{Min: journal.Of(min), Max: journal.Of(max), Got: journal.Of(x)}})
		}
		*into = x
	}
	latitude := func(s string) (float64, error) {
		x, err := measure.Parse(s)
		return math.Abs(x), err // south counts as north
	}
	read("lat", latitude, hatchkeys.MinLatitude, hatchkeys.MaxLatitude, &place.Latitude)
	read("alt", u.ParseHeight, hatchkeys.MinAltitude, hatchkeys.MaxAltitude, &place.Altitude)
	if !given || len(bad) > 0 {
		return nil, bad
	}
	return &place, nil
}

func (a *section) size(r *http.Request, p screen.Asked) (screen.Result, error) {
	return screen.Show(views.Size(a.sizeView(r, p, "", ""))), nil
}

func (a *section) sizeView(r *http.Request, p screen.Asked, typed, problem string) views.SizeView {
	t := catalog.For(p.Lang)
	page := a.View(r, p, "setup", t.S("size.title"))
	px := page.Scale()
	v := views.SizeView{Page: page, Px: views.Field{Name: "px", Label: t.S("field.size.px"), Hint: t.S("field.size.px.hint"), Error: problem}}
	v.Px.Value = strconv.FormatFloat(px, 'f', 3, 64)
	if problem != "" {
		v.Px.Value = typed
		v.Problems = []string{v.Px.Label + ": " + problem}
	}
	v.CardCm = strconv.FormatFloat(10*px, 'f', 2, 64)
	v.Sample = words.Drawn(draw.Insect{Group: "stonefly", Stage: "adult", Wings: "flat", Tails: 2, LengthMM: 25}, draw.Options{PxPerMM: px, Title: t.F("size.sample", catalog.Data{"Length": page.U.Length(25)})})
	return v
}

func (a *section) saveSize(r *http.Request, p screen.Asked) (screen.Result, error) {
	t := catalog.For(p.Lang)
	typed := r.PostForm.Get("px")
	px, err := measure.Parse(typed)
	page := a.View(r, p, "setup", "")
	var problem string
	switch {
	case err != nil:
		problem = t.F("bad.not-a-number", catalog.Data{"Value": screen.Clip(typed)})
	case px < screen.MinPx || px > screen.MaxPx:
		problem = t.F("bad.out-of-range", catalog.Data{"Value": screen.Clip(typed), "Min": page.U.Number(screen.MinPx, 0), "Max": page.U.Number(screen.MaxPx, 0)})
	}
	if problem != "" {
		return screen.Retry(views.Size(a.sizeView(r, p, typed, problem))), nil
	}
	p.Px = px
	ans := screen.GoTo("/setup", "prefs", 0)
	ans.Prefs = &p.Prefs
	return ans, nil
}
