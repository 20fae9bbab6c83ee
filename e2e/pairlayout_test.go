package e2e

import (
	"strings"
	"testing"
)

// TestLayoutPairing looks over the screens that only the server has: before a
// device is paired, while it is, and the people and devices after.
func TestLayoutPairing(t *testing.T) {
	needBrowser(t)
	s := &server{t: t, binary: binary, args: []string{"-data", ""}, folder: emptyFolder(t), unpaired: true}
	s.args[1] = s.folder
	s.start("127.0.0.1:0")
	if s.link == "" {
		t.Fatal("the server shows no link to pair the first device")
	}
	_, path, _ := strings.Cut(strings.TrimPrefix(s.link, "http://"), "/")
	p := newPage(t, freshContext(t))
	look := func(name, has string) {
		t.Helper()
		for _, lang := range []string{"en", "es"} {
			p.sub(t, name+"/"+lang, func(t *testing.T) {
				at := p.eval(`() => location.href`).Value.Str()
				p.setLanguage(s, lang)
				p.goTo(at)
				p.untilThere(has)
				lookOver(t, p, name, lang)
			})
		}
		p.setLanguage(s, "en")
	}
	p.goTo(s.url + "/")
	look("unpaired", "#f-code")
	p.goTo(s.url + "/pair/0000-0000")
	look("pair-wrong-code", "#main h1")
	p.goTo(s.url + "/" + path)
	look("pair", "#f-device")

	p.goTo(s.url + "/" + path)
	p.set("#f-device", "A phone with quite a long name of its own")
	p.tap("form.long button[type=submit]")
	p.until("the phone is paired", `async () => (await fetch("/people")).status === 200`)
	p.goTo(s.url + "/people")
	look("people", ".device")

	// An invitation answers a post, so each language asks for its own.
	for _, lang := range []string{"en", "es"} {
		p.sub(t, "invite/"+lang, func(t *testing.T) {
			p.setLanguage(s, lang)
			p.goTo(s.url + "/people")
			p.tap(`form[action="/people/invite"] button`)
			p.untilThere(".qr")
			lookOver(t, p, "invite", lang)
		})
	}
}
