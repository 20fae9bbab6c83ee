package app

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

// prefsCookie holds how a person wants things shown, on this device only. It
// is readable by the page script, which keeps a copy for use offline.
const prefsCookie = "prefs"

// prefs is how a person wants things shown.
type prefs struct {
	lang   string
	units  measure.Units
	region string
	px     float64 // CSS px per mm, 0 if never calibrated
	// place of the home water; nil if never given.
	place *hatchkeys.Place
}

// answers reads the key's form for somebody with these prefs.
func (p prefs) answers(q url.Values) evidenceForm {
	a := readAnswers(q, p.units)
	a.evidence.Place = p.place
	return a
}

// Bounds of a calibration, in CSS px per mm: no screen in use is outside.
const minPx, maxPx = 2.0, 12.0

func readPrefs(r *http.Request) prefs {
	p := prefs{region: hatchkeys.Regions()[0]}
	var v url.Values
	if c, err := r.Cookie(prefsCookie); err == nil {
		v, _ = url.ParseQuery(c.Value)
	}
	p.lang = v.Get("lang")
	if !slices.Contains(catalog.Languages, p.lang) {
		p.lang = catalog.Match(r.Header.Get("Accept-Language"))
	}
	p.units = measure.Units{
		Inches:     v.Get("len") == "in",
		Fahrenheit: v.Get("temp") == "f",
		CubicMetre: v.Get("flow") == "m3s",
		Comma:      p.lang == "es",
	}
	if slices.Contains(hatchkeys.Regions(), v.Get("region")) {
		p.region = v.Get("region")
	}
	if px, err := strconv.ParseFloat(v.Get("px"), 64); err == nil && px >= minPx && px <= maxPx {
		p.px = px
	}
	lat, errLat := strconv.ParseFloat(v.Get("lat"), 64)
	alt, errAlt := strconv.ParseFloat(v.Get("alt"), 64)
	if place := (hatchkeys.Place{Latitude: lat, Altitude: alt}); errLat == nil && errAlt == nil && (&hatchkeys.Evidence{Place: &place}).Check() == nil {
		p.place = &place
	}
	return p
}

// String is the text of the cookie.
func (p prefs) String() string {
	parts := []string{"lang=" + p.lang, "len=mm", "temp=c", "flow=cfs", "region=" + url.QueryEscape(p.region)}
	if p.units.Inches {
		parts[1] = "len=in"
	}
	if p.units.Fahrenheit {
		parts[2] = "temp=f"
	}
	if p.units.CubicMetre {
		parts[3] = "flow=m3s"
	}
	if p.px > 0 {
		parts = append(parts, "px="+short(p.px))
	}
	if p.place != nil {
		parts = append(parts, "lat="+short(p.place.Latitude), "alt="+short(p.place.Altitude))
	}
	return strings.Join(parts, "&")
}

// short writes x to three decimals at most.
func short(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64) }

func (p prefs) setOn(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: prefsCookie, Value: p.String(), Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode})
}
