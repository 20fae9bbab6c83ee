// Package recorder stands in for a connection where requests and answers are
// messages: it makes an http.Request of the one and takes down the other.
package recorder

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

// Recorder is an http.ResponseWriter that keeps what is written. The zero
// Recorder is ready; it is not safe for concurrent use.
type Recorder struct {
	status int
	header http.Header // as the handler sees it
	sent   http.Header // as it was when the status was written
	body   bytes.Buffer
}

// Header implements http.ResponseWriter.
func (rec *Recorder) Header() http.Header {
	if rec.header == nil {
		rec.header = http.Header{}
	}
	return rec.header
}

// WriteHeader implements http.ResponseWriter. As on a connection, the first
// call counts, and headers set later are lost.
func (rec *Recorder) WriteHeader(status int) {
	if rec.status != 0 {
		return
	}
	rec.status = status
	rec.sent = rec.Header().Clone()
}

// Write implements http.ResponseWriter.
func (rec *Recorder) Write(p []byte) (int, error) {
	rec.WriteHeader(http.StatusOK)
	return rec.body.Write(p)
}

// Result is what was written: status, headers and body. A handler that wrote
// nothing has answered 200, as on a connection.
func (rec *Recorder) Result() (status int, header http.Header, body []byte) {
	rec.WriteHeader(http.StatusOK)
	return rec.status, rec.sent, rec.body.Bytes()
}
