package e2e

import (
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"sync/atomic"
	"testing"
)

// line stands between the phone and a server, at the address that the phone
// knows, and does to answers what a test wants.
type line struct {
	server *http.Server
	change atomic.Pointer[func(*http.Response) error]
}

// lineTo starts a line at an address that the server before has left.
func lineTo(t *testing.T, at, to string) *line {
	t.Helper()
	u, err := url.Parse(at)
	if err != nil {
		t.Fatal(err)
	}
	target, err := url.Parse(to)
	if err != nil {
		t.Fatal(err)
	}
	listener, err := net.Listen("tcp", u.Host)
	if err != nil {
		t.Fatal(err)
	}
	quiet := log.New(io.Discard, "", 0)
	l := &line{}
	l.server = &http.Server{ErrorLog: quiet, Handler: &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(target)
			r.Out.Host = r.In.Host
			r.Out.Header.Del("Accept-Encoding") // answers are read on the way; the transport packs and unpacks by itself
		},
		ModifyResponse: func(res *http.Response) error {
			if change := l.change.Load(); change != nil {
				return (*change)(res)
			}
			return nil
		},
		ErrorLog: quiet,
	}}
	go l.server.Serve(listener)
	t.Cleanup(func() { l.server.Close() })
	return l
}

// behindLine starts the server anew at another address, with a line at the one
// that phones know.
func (s *server) behindLine(t *testing.T) (at string, l *line) {
	t.Helper()
	at = s.url
	s.stop()
	s.start("127.0.0.1:0")
	return at, lineTo(t, at, s.url)
}

// does sets what the line does to answers.
func (l *line) does(change func(*http.Response) error) { l.change.Store(&change) }

// cutOff breaks an answer off after its beginning.
func cutOff(res *http.Response) {
	res.Body = struct {
		io.Reader
		io.Closer
	}{io.MultiReader(io.LimitReader(res.Body, 500), broken{}), res.Body}
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errors.New("line broke") }
