package screen

import (
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"dampstone/hatchkeys"
	"dampstone/views/catalog"
	"dampstone/views/measure"
)

// PrefsCookie holds how a person wants things shown, on this device only. It
// is readable by the page script, which keeps a copy for use offline.
const PrefsCookie = "prefs"

// Prefs is how a person wants things shown.
type Prefs struct {
	Lang   string
	Units  measure.Units
	Region string
	Px     float64 // CSS px per mm, 0 if never calibrated
	// place of the home water; nil if never given.
	Place *hatchkeys.Place
}

// Answers reads the key's form for somebody with these prefs.
func (p Prefs) Answers(q url.Values) EvidenceForm {
	a := readAnswers(q, p.Units)
	a.Evidence.Place = p.Place
	return a
}

// Bounds of a calibration, in CSS px per mm: no screen in use is outside.
const MinPx, MaxPx = 2.0, 12.0

func ReadPrefs(r *http.Request) Prefs {
	p := Prefs{Region: hatchkeys.Regions()[0]}
	var v url.Values
	if c, err := r.Cookie(PrefsCookie); err == nil {
		v, _ = url.ParseQuery(c.Value)
	}
	p.Lang = v.Get("lang")
	if !slices.Contains(catalog.Languages, p.Lang) {
		p.Lang = catalog.Match(r.Header.Get("Accept-Language"))
	}
	p.Units = measure.Units{
		Inches:     v.Get("len") == "in",
		Fahrenheit: v.Get("temp") == "f",
		Comma:      p.Lang == "es",
	}
	if slices.Contains(hatchkeys.Regions(), v.Get("region")) {
		p.Region = v.Get("region")
	}
	if px, err := strconv.ParseFloat(v.Get("px"), 64); err == nil && px >= MinPx && px <= MaxPx {
		p.Px = px
	}
	lat, errLat := strconv.ParseFloat(v.Get("lat"), 64)
	alt, errAlt := strconv.ParseFloat(v.Get("alt"), 64)
	if place := (hatchkeys.Place{Latitude: lat, Altitude: alt}); errLat == nil && errAlt == nil && (&hatchkeys.Evidence{Place: &place}).Check() == nil {
		p.Place = &place
	}
	return p
}

// String is the text of the cookie.
func (p Prefs) String() string {
	parts := []string{"lang=" + p.Lang, "len=mm", "temp=c", "region=" + url.QueryEscape(p.Region)}
	if p.Units.Inches {
		parts[1] = "len=in"
	}
	if p.Units.Fahrenheit {
		parts[2] = "temp=f"
	}
	if p.Px > 0 {
		parts = append(parts, "px="+Short(p.Px))
	}
	if p.Place != nil {
		parts = append(parts, "lat="+Short(p.Place.Latitude), "alt="+Short(p.Place.Altitude))
	}
	return strings.Join(parts, "&")
}

// Short writes x to three decimals at most.
func Short(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64) }

func (p Prefs) setOn(w http.ResponseWriter, r *http.Request) {
	http.SetCookie(w, &http.Cookie{Name: PrefsCookie, Value: p.String(), Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode, Secure: r.TLS != nil})
}
