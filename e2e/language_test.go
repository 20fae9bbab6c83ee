package e2e

import (
	"testing"

	"github.com/go-rod/rod/lib/proto"

	"dampstone/views/catalog"
)

// TestTheFrameSpeaksTheLanguageToo: what stands around a screen is in its
// language, when that is chosen in Setup and when a cookie says so of which
// the worker does not know yet.
func TestTheFrameSpeaksTheLanguageToo(t *testing.T) {
	needBrowser(t)
	folder, entries := demoFolder(t)
	s := serveFolder(t, folder)
	p := newPage(t, freshContext(t))
	p.install(s, len(entries))
	says := func(lang string) {
		t.Helper()
		want := catalog.For(lang)
		for id, attribute := range map[string]string{"notice.offline": "data-text-offline", "notice.again": "data-text-again"} {
			p.until("the frame speaks "+lang, `(name, text) => document.getElementById("notice")?.getAttribute(name) === text`, attribute, want.S(id))
		}
		p.untilText("#update", want.S("update.take"))
		p.untilText("#nav", want.S("nav.trip"))
	}
	s.kill()
	p.do(p.SetCookies([]*proto.NetworkCookieParam{{Name: "prefs", Value: "lang=es", URL: s.url, Expires: 4e9}}))
	p.open(s, "/box")
	p.untilText("#main h1", catalog.For("es").S("box.title"))
	says("es")

	p.open(s, "/setup")
	p.untilThere(`input[name=lang][value=en]`)
	p.eval(`() => document.querySelector("input[name=lang][value=en]").click()`)
	p.send(`form[action="/setup"]`)
	p.untilText("#main h1", catalog.For("en").S("setup.title"))
	says("en")
}
