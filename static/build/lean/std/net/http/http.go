// Package http is as much of net/http as screens and an exchange need where
// requests and answers are messages: on the phone, whose browser speaks HTTP
// by itself. There it stands in for net/http (see package lean); names and
// behaviour are those of the original, to which the tests hold it.
package http

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"path"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Methods (RFC 9110, section 9.3).
const (
	MethodGet  = "GET"
	MethodHead = "HEAD"
	MethodPost = "POST"
)

// Statuses (RFC 9110, section 15; 507: RFC 4918, section 11.5).
const (
	StatusOK                    = 200
	StatusMultipleChoices       = 300
	StatusMovedPermanently      = 301
	StatusFound                 = 302
	StatusSeeOther              = 303
	StatusTemporaryRedirect     = 307
	StatusPermanentRedirect     = 308
	StatusBadRequest            = 400
	StatusUnauthorized          = 401
	StatusForbidden             = 403
	StatusNotFound              = 404
	StatusMethodNotAllowed      = 405
	StatusConflict              = 409
	StatusRequestEntityTooLarge = 413
	StatusUnprocessableEntity   = 422
	StatusInternalServerError   = 500
	StatusServiceUnavailable    = 503
	StatusInsufficientStorage   = 507
)

// StatusText is the name of a status that leads elsewhere; others are shown to
// nobody here and have none.
func StatusText(code int) string {
	switch code {
	case StatusMovedPermanently:
		return "Moved Permanently"
	case StatusFound:
		return "Found"
	case StatusSeeOther:
		return "See Other"
	case StatusTemporaryRedirect:
		return "Temporary Redirect"
	case StatusPermanentRedirect:
		return "Permanent Redirect"
	}
	return ""
}

// Errors of the original.
var (
	ErrAbortHandler    = errors.New("net/http: abort Handler")
	ErrNoCookie        = errors.New("http: named cookie not present")
	ErrNotMultipart    = errors.New("request Content-Type isn't multipart/form-data")
	ErrMissingBoundary = errors.New("no multipart boundary param in Content-Type")
)

// Handler answers a request.
type Handler interface {
	ServeHTTP(ResponseWriter, *Request)
}

// HandlerFunc is a function that answers a request.
type HandlerFunc func(ResponseWriter, *Request)

// ServeHTTP implements Handler.
func (f HandlerFunc) ServeHTTP(w ResponseWriter, r *Request) { f(w, r) }

// ResponseWriter takes an answer.
type ResponseWriter interface {
	Header() Header
	Write([]byte) (int, error)
	WriteHeader(status int)
}

// Request is a request.
type Request struct {
	Method        string
	URL           *url.URL
	Header        Header
	Body          io.ReadCloser
	ContentLength int64
	Host          string
	RemoteAddr    string
	RequestURI    string
	TLS           *struct{}  // nil: the browser has spoken to nobody
	Form          url.Values // of address and body, after ParseForm
	PostForm      url.Values // of the body alone

	ctx      context.Context
	asReader bool // MultipartReader was asked for
}

// Response is an answer that was fetched.
type Response struct {
	Status        string
	StatusCode    int
	Header        Header
	Body          io.ReadCloser
	ContentLength int64
	Request       *Request
}

// NoBody is a body without bytes.
var NoBody = noBody{}

type noBody struct{}

func (noBody) Read([]byte) (int, error) { return 0, io.EOF }
func (noBody) Close() error             { return nil }

// NewRequestWithContext makes a request that is to be sent.
func NewRequestWithContext(ctx context.Context, method, address string, body io.Reader) (*Request, error) {
	if method == "" {
		method = MethodGet
	}
	if !isToken(method) {
		return nil, fmt.Errorf("net/http: invalid method %q", method)
	}
	if ctx == nil {
		return nil, errors.New("net/http: nil Context")
	}
	u, err := url.Parse(address)
	if err != nil {
		return nil, err
	}
	if strings.HasSuffix(u.Host, ":") && !strings.Contains(u.Host[:len(u.Host)-1], ":") || strings.HasSuffix(u.Host, "]:") {
		u.Host = u.Host[:len(u.Host)-1]
	}
	r := &Request{Method: method, URL: u, Header: Header{}, Host: u.Host, ctx: ctx}
	if body != nil {
		closer, ok := body.(io.ReadCloser)
		if !ok {
			closer = io.NopCloser(body)
		}
		r.Body = closer
		if sized, ok := body.(interface{ Len() int }); ok {
			if r.ContentLength = int64(sized.Len()); r.ContentLength == 0 {
				r.Body = NoBody
			}
		}
	}
	return r, nil
}

// Context is what the request is bound to.
func (r *Request) Context() context.Context {
	if r.ctx == nil {
		return context.Background()
	}
	return r.ctx
}

// WithContext is the same request bound to another context.
func (r *Request) WithContext(ctx context.Context) *Request {
	if ctx == nil {
		panic("nil context")
	}
	other := *r
	other.ctx = ctx
	return &other
}

// Clone is a request that shares nothing but its body.
func (r *Request) Clone(ctx context.Context) *Request {
	other := r.WithContext(ctx)
	if r.URL != nil {
		u := *r.URL
		other.URL = &u
	}
	other.Header = r.Header.Clone()
	other.Form = url.Values(Header(r.Form).Clone())
	other.PostForm = url.Values(Header(r.PostForm).Clone())
	return other
}

// Error answers with a line of text.
func Error(w ResponseWriter, text string, status int) {
	h := w.Header()
	h.Del("Content-Length")
	h.Set("Content-Type", "text/plain; charset=utf-8")
	h.Set("X-Content-Type-Options", "nosniff")
	w.WriteHeader(status)
	io.WriteString(w, text+"\n")
}

// Redirect leads to an address, which may be relative to the one asked for.
func Redirect(w ResponseWriter, r *Request, to string, status int) {
	if u, err := url.Parse(to); err == nil && u.Scheme == "" && u.Host == "" {
		if to == "" || to[0] != '/' {
			folder, _ := path.Split(cmp.Or(r.URL.EscapedPath(), "/"))
			to = folder + to
		}
		query := ""
		if i := strings.IndexByte(to, '?'); i >= 0 {
			to, query = to[:i], to[i:]
		}
		clean := path.Clean(to)
		if strings.HasSuffix(to, "/") && !strings.HasSuffix(clean, "/") {
			clean += "/"
		}
		to = clean + query
	}
	h := w.Header()
	_, typed := h["Content-Type"]
	h.Set("Location", escapeNonASCII(to))
	if !typed && (r.Method == MethodGet || r.Method == MethodHead) {
		h.Set("Content-Type", "text/html; charset=utf-8")
	}
	w.WriteHeader(status)
	if !typed && r.Method == MethodGet {
		io.WriteString(w, `<a href="`+escaper.Replace(to)+`">`+StatusText(status)+"</a>.\n\n")
	}
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// escapeNonASCII writes bytes outside US-ASCII in hexadecimal.
func escapeNonASCII(s string) string {
	var b []byte
	for i := range len(s) {
		if s[i] < utf8.RuneSelf {
			b = append(b, s[i])
			continue
		}
		b = strconv.AppendInt(append(b, '%'), int64(s[i]), 16)
	}
	return string(b)
}
