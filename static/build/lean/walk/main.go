// Command walk shows every screen of the demo and sends every form that it
// finds, with what stands in it, and writes down what came: the same in every
// program that is compiled from the same sources.
package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	"golang.org/x/net/html"

	"dampstone/flybox"
	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/server/app"
	"dampstone/server/app/screen"
	"dampstone/server/engine/recorder"
)

// ledger is the demo, an entry a line, in base64; the linker sets it.
var ledger string

// bounds keep the walk to a few seconds where the program is slow.
const (
	maxScreens = 260 // of each language
	maxForms   = 160
)

func main() {
	w, err := begin()
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for _, lang := range []string{"en", "es"} {
		w.prefs = "lang=" + lang + "&len=" + map[string]string{"en": "in", "es": "mm"}[lang]
		w.screens()
	}
	w.send()
	fmt.Println("screens", w.shown, "forms", w.sent)
}

type walk struct {
	app         http.Handler
	prefs       string
	forms       []form
	known       map[string]bool // of forms
	shown, sent int
}

// form is a form with what stands in it.
type form struct {
	action, kind string
	values       url.Values
}

// begin opens the ledger, at a time and with ids that are always the same.
func begin() (*walk, error) {
	now := time.Date(2026, 6, 14, 17, 30, 0, 0, time.UTC)
	n := 0
	newID := func() journal.ID {
		n++
		return journal.ID(fmt.Sprintf("00000000-0000-4000-8000-%012d", n))
	}
	store := &memstore.Store{}
	lines, err := base64.StdEncoding.DecodeString(ledger)
	if err != nil {
		return nil, err
	}
	var entries []journal.Entry
	for line := range bytes.Lines(lines) {
		e, err := journal.ParseEntry(bytes.TrimSpace(line))
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	if _, err := store.Append(context.Background(), entries); err != nil {
		return nil, err
	}
	opened, err := flybox.Open(context.Background(), store, flybox.Options{Device: "walk", Now: func() time.Time { return now }, NewID: newID})
	if err != nil {
		return nil, err
	}
	return &walk{known: map[string]bool{}, app: app.New(app.Config{
		Ledger: opened, Now: func() time.Time { return now }, NewID: newID, Phone: true, People: true,
		Log:   slog.New(slog.NewTextHandler(io.Discard, nil)),
		Asset: func(name string) string { return "/static/" + name },
	})}, nil
}

// ask notes and gives an answer.
func (w *walk) ask(method, address, kind string, body []byte) *html.Node {
	header := http.Header{"Cookie": {screen.PrefsCookie + "=" + w.prefs}}
	if kind != "" {
		header.Set("Content-Type", kind)
	}
	a, err := recorder.Follow(context.Background(), w.app, method, "https://phone"+address, header, body)
	if err != nil {
		fmt.Println(method, address, err)
		return nil
	}
	at := strings.TrimPrefix(a.URL, "https://phone")
	var set []string
	for _, header := range a.Way {
		set = append(set, header.Values("Set-Cookie")...)
	}
	fmt.Println(method, address, at, a.Status, a.Header.Get("Content-Type"), a.Header.Get("Content-Disposition"), set, len(a.Body), fmt.Sprintf("%x", sha256.Sum256(a.Body)))
	if !strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
		return nil
	}
	root, err := html.Parse(strings.NewReader(string(a.Body)))
	if err != nil {
		fmt.Println(err)
	}
	return root
}

// screens shows what links lead to, one after the other.
func (w *walk) screens() {
	seen := map[string]bool{"/": true}
	queue := []string{"/", "/?month=9&trend=falling&shucks=dry-rocks&wings=none&mm=30", "/nothing", "/box?q=" + url.QueryEscape("dun's & <b>")}
	for i := 0; len(queue) > 0 && i < maxScreens; i++ {
		at := queue[0]
		queue = queue[1:]
		root := w.ask("GET", at, "", nil)
		w.shown++
		if root == nil {
			continue
		}
		base, _ := url.Parse(at)
		for n := range root.Descendants() {
			if n.Data == "a" {
				to, err := base.Parse(attr(n, "href"))
				if err == nil && to.Host == "" && strings.HasPrefix(to.Path, "/") {
					to.Fragment = ""
					if s := to.String(); !seen[s] {
						seen[s] = true
						queue = append(queue, s)
					}
				}
			}
			if n.Data == "form" && attr(n, "method") == "post" {
				w.note(base, n)
			}
		}
	}
}

// note keeps a form that is to be sent; of those that lead to one address, two.
func (w *walk) note(base *url.URL, n *html.Node) {
	to, err := base.Parse(attr(n, "action"))
	if err != nil {
		return
	}
	f := form{to.String(), attr(n, "enctype"), url.Values{}}
	for d := range n.Descendants() {
		name, value := attr(d, "name"), attr(d, "value")
		switch d.Data {
		case "input":
			if kind := attr(d, "type"); (kind == "radio" || kind == "checkbox") && !has(d, "checked") {
				continue
			}
		case "textarea":
			if d.FirstChild != nil {
				value = d.FirstChild.Data
			}
		case "option":
			if has(d, "selected") {
				for p := d.Parent; p != nil; p = p.Parent {
					if p.Data == "select" {
						name = attr(p, "name")
						break
					}
				}
			}
		case "button":
		default:
			continue
		}
		if name != "" {
			f.values.Add(name, value)
		}
	}
	key := f.action + f.values.Encode()
	for _, once := range []string{f.action + " 1", f.action + " 2"} {
		if !w.known[once] && !w.known[key] {
			w.known[once], w.known[key] = true, true
			w.forms = append(w.forms, f)
			return
		}
	}
}

// send sends the forms: as they stand, changed, and broken.
func (w *walk) send() {
	for i, f := range w.forms {
		if i == maxForms {
			return
		}
		w.sent++
		switch {
		case f.kind == "multipart/form-data":
			body := "--Ab'c\r\nContent-Disposition: form-data; name=\"text\"\r\n\r\nnonsense \x00\r\n--Ab'c--\r\n"
			w.ask("POST", f.action, "multipart/form-data; boundary=\"Ab'c\"", []byte(body))
		case i%7 == 3:
			w.ask("POST", f.action, "application/x-www-form-urlencoded", []byte("%zz="+f.values.Encode()))
		case i%3 == 1:
			for name, values := range f.values {
				if name != "form" && values[0] != "" {
					f.values[name] = []string{values[0] + " é<&>'\""}
				}
			}
			fallthrough
		default:
			w.ask("POST", f.action, "application/x-www-form-urlencoded", []byte(f.values.Encode()))
		}
		w.ask("PUT", f.action, "", nil)
	}
}

func attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, name string) bool {
	for _, a := range n.Attr {
		if a.Key == name {
			return true
		}
	}
	return false
}
