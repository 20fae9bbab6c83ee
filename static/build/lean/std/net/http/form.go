package http

import (
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/url"
)

// maxFormSize bounds the body of a form without a bound of its own, in bytes.
const maxFormSize = 10 << 20

var errNoBody = errors.New("missing form body")

// ParseForm reads the address and, of a post, the body into Form and PostForm.
func (r *Request) ParseForm() error {
	var err error
	if r.PostForm == nil {
		if r.Method == MethodPost {
			r.PostForm, err = r.postForm()
		}
		if r.PostForm == nil {
			r.PostForm = url.Values{}
		}
	}
	if r.Form == nil {
		r.Form = url.Values{}
		for name, values := range r.PostForm {
			r.Form[name] = append(r.Form[name], values...)
		}
		if r.URL != nil {
			of, e := url.ParseQuery(r.URL.RawQuery)
			for name, values := range of {
				r.Form[name] = append(r.Form[name], values...)
			}
			err = cmpErr(err, e)
		}
	}
	return err
}

func (r *Request) postForm() (url.Values, error) {
	if r.Body == nil {
		return nil, errNoBody
	}
	given := r.Header.Get("Content-Type")
	if given == "" {
		given = "application/octet-stream"
	}
	media, _, err := mime.ParseMediaType(given)
	if media != "application/x-www-form-urlencoded" {
		return nil, err
	}
	var from io.Reader = r.Body
	_, bound := r.Body.(*maxBytesReader)
	if !bound {
		from = io.LimitReader(r.Body, maxFormSize+1)
	}
	body, e := io.ReadAll(from)
	if e != nil {
		return nil, cmpErr(err, e)
	}
	if !bound && len(body) > maxFormSize {
		return nil, errors.New("http: POST too large")
	}
	values, e := url.ParseQuery(string(body))
	return values, cmpErr(err, e)
}

func cmpErr(first, second error) error {
	if first != nil {
		return first
	}
	return second
}

// PostFormValue is the first value of a field of the body.
func (r *Request) PostFormValue(name string) string {
	r.ParseForm()
	return r.PostForm.Get(name)
}

// MultipartReader reads a form of parts (RFC 7578) as it comes.
func (r *Request) MultipartReader() (*multipart.Reader, error) {
	if r.asReader {
		return nil, errors.New("http: MultipartReader called twice")
	}
	r.asReader = true
	given := r.Header.Get("Content-Type")
	if given == "" {
		return nil, ErrNotMultipart
	}
	if r.Body == nil {
		return nil, errNoBody
	}
	media, params, err := mime.ParseMediaType(given)
	if err != nil || media != "multipart/form-data" && media != "multipart/mixed" {
		return nil, ErrNotMultipart
	}
	boundary, ok := params["boundary"]
	if !ok {
		return nil, ErrMissingBoundary
	}
	return multipart.NewReader(r.Body, boundary), nil
}

// MaxBytesError tells that a body was larger than its bound.
type MaxBytesError struct{ Limit int64 }

func (*MaxBytesError) Error() string { return "http: request body too large" }

// MaxBytesReader reads at most limit bytes of a body, and then fails with a
// MaxBytesError.
func MaxBytesReader(_ ResponseWriter, body io.ReadCloser, limit int64) io.ReadCloser {
	limit = max(limit, 0)
	return &maxBytesReader{body: body, limit: limit, left: limit}
}

type maxBytesReader struct {
	body        io.ReadCloser
	limit, left int64
	err         error
}

func (m *maxBytesReader) Read(p []byte) (int, error) {
	if m.err != nil || len(p) == 0 {
		return 0, m.err
	}
	if int64(len(p))-1 > m.left {
		p = p[:m.left+1] // one more tells whether there is more
	}
	n, err := m.body.Read(p)
	if int64(n) <= m.left {
		m.left -= int64(n)
		m.err = err
		return n, err
	}
	n, m.left = int(m.left), 0
	m.err = &MaxBytesError{m.limit}
	return n, m.err
}

func (m *maxBytesReader) Close() error { return m.body.Close() }
