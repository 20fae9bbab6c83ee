// Package reply stands in for a connection where requests and answers are
// messages: it makes an http.Request of the one and takes down the other.
package reply

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/url"
)

// Request is a request as a server's handler sees it. target is an absolute
// address; a body that is nil is empty.
func Request(ctx context.Context, method, target string, header http.Header, body []byte) (*http.Request, error) {
	u, err := url.Parse(target)
	if err != nil {
		return nil, fmt.Errorf("read address: %w", err)
	}
	r, err := http.NewRequestWithContext(ctx, method, target, bytes.NewReader(body))
	if err != nil {
		return nil, fmt.Errorf("make request: %w", err)
	}
	r.Header = header
	r.Host = u.Host
	r.RequestURI = u.RequestURI()
	// Servers see path and query alone.
	r.URL = &url.URL{Path: u.Path, RawPath: u.RawPath, RawQuery: u.RawQuery}
	return r, nil
}

// Answer is an http.ResponseWriter that keeps what is written. The zero
// Answer is ready; it is not safe for concurrent use.
type Answer struct {
	status int
	header http.Header // as the handler sees it
	sent   http.Header // as it was when the status was written
	body   bytes.Buffer
}

// Header implements http.ResponseWriter.
func (a *Answer) Header() http.Header {
	if a.header == nil {
		a.header = http.Header{}
	}
	return a.header
}

// WriteHeader implements http.ResponseWriter. As on a connection, the first
// call counts, and headers set later are lost.
func (a *Answer) WriteHeader(status int) {
	if a.status != 0 {
		return
	}
	a.status = status
	a.sent = a.Header().Clone()
}

// Write implements http.ResponseWriter.
func (a *Answer) Write(p []byte) (int, error) {
	a.WriteHeader(http.StatusOK)
	return a.body.Write(p)
}

// Result is what was written: status, headers and body. A handler that wrote
// nothing has answered 200, as on a connection.
func (a *Answer) Result() (status int, header http.Header, body []byte) {
	a.WriteHeader(http.StatusOK)
	if body := a.body.Bytes(); len(body) > 0 && a.sent.Get("Content-Type") == "" {
		a.sent.Set("Content-Type", http.DetectContentType(body))
	}
	return a.status, a.sent, a.body.Bytes()
}
