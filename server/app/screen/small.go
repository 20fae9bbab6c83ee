package screen

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Clip shortens what was typed for a sentence that repeats it.
func Clip(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "…"
	}
	return s
}

// WithQuery puts the answers behind an address.
func WithQuery(path, query string) string {
	if query == "" {
		return path
	}
	return path + "?" + query
}

func ClipName(s string) string {
	if r := []rune(s); len(r) > flybox.MaxName {
		return string(r[:flybox.MaxName])
	}
	return s
}

func Or[S ~string](a, b S) S {
	if a == "" {
		return b
	}
	return a
}

func Itoa(n int) string { return strconv.Itoa(n) }

// Atoi reads digits that were checked before; anything else is 0.
func Atoi(s string) int {
	n, _ := strconv.Atoi(s)
	return n
}

// DayTime writes a moment on the person's clock.
func DayTime(page views.Page, at time.Time) string {
	return page.T.F("date.time", catalog.Data{"Day": at.Day(), "Month": page.T.S("month." + Itoa(int(at.Month()))), "Year": at.Year(), "Clock": at.Format("15:04")})
}

// maxSearch bounds what is searched for, in characters.
const maxSearch = 2 * flybox.MaxName

// Search is what an address searches for in q.
func Search(q url.Values) string {
	r := []rune(strings.TrimSpace(q.Get("q")))
	return string(r[:min(len(r), maxSearch)])
}
