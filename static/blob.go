package static

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/andybalholm/brotli"

	"dampstone/static/accept"
)

// blob is a body with its packed forms, which are made when first asked for.
type blob struct {
	mime  string
	plain []byte // nil if only the packed form is held
	br    []byte // made at build for large files

	packOnce, gzipOnce, sumOnce, openOnce sync.Once
	gz, opened                            []byte
	gzErr, openErr                        error
	hash                                  string
}

// packQuality is for bodies packed while serving; the engine is packed at
// build, slowly and best.
const packQuality = 9

// held are the bytes that the blob was made with.
func (b *blob) held() []byte {
	if b.plain != nil {
		return b.plain
	}
	return b.br
}

// fingerprint is a short hash of the content.
func (b *blob) fingerprint() string {
	b.sumOnce.Do(func() { b.hash = sum([]byte(b.mime), b.held()) })
	return b.hash[:12]
}

// packed is the brotli form.
func (b *blob) packed() []byte {
	b.packOnce.Do(func() {
		if b.br != nil {
			return
		}
		var buf bytes.Buffer
		w := brotli.NewWriterLevel(&buf, packQuality)
		w.Write(b.plain) // a bytes.Buffer does not fail
		w.Close()
		b.br = buf.Bytes()
	})
	return b.br
}

// open is the plain form. What is held packed is unpacked once for everybody:
// an engine of 16 MB for each of many readers would fill the memory.
func (b *blob) open() ([]byte, error) {
	if b.plain != nil {
		return b.plain, nil
	}
	b.openOnce.Do(func() {
		b.opened, b.openErr = io.ReadAll(brotli.NewReader(bytes.NewReader(b.br)))
		b.opened = bytes.Clone(b.opened) // without the room that reading has left
	})
	return b.opened, b.openErr
}

// gzipped is the form for clients that do not take brotli, which browsers
// leave out on plain HTTP.
func (b *blob) gzipped() ([]byte, error) {
	b.gzipOnce.Do(func() {
		var plain []byte
		if plain, b.gzErr = b.open(); b.gzErr != nil {
			return
		}
		var buf bytes.Buffer
		w := gzip.NewWriter(&buf)
		w.Write(plain) // a bytes.Buffer does not fail
		b.gzErr = w.Close()
		b.gz = buf.Bytes()
	})
	return b.gz, b.gzErr
}

// wireSize is what the body takes on a good connection.
func (b *blob) wireSize() int {
	if b.packs() {
		return len(b.packed())
	}
	return len(b.plain)
}

// packs tells whether packing makes the body smaller.
func (b *blob) packs() bool { return b.mime != mimeTypes[".png"] }

// serve answers GET and HEAD, in the smallest form that the client takes,
// with an ETag for each form. Cache-Control is the caller's.
func (b *blob) serve(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, http.StatusText(http.StatusMethodNotAllowed), http.StatusMethodNotAllowed)
		return
	}
	h := w.Header()
	h.Set("Content-Type", b.mime)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Content-Security-Policy", Policy)
	body, coding := b.plain, ""
	if b.packs() {
		h.Add("Vary", "Accept-Encoding")
		var err error
		switch coding = preferred(r.Header.Values("Accept-Encoding")); {
		case coding == "br":
			body = b.packed()
		case coding == "gzip":
			body, err = b.gzipped()
		case body == nil:
			body, err = b.open() // rare: a client that takes no packed form
		}
		if err != nil {
			http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
			return
		}
	}
	tag := b.fingerprint()
	if coding != "" {
		h.Set("Content-Encoding", coding)
		h.Set("Content-Length", strconv.Itoa(len(body)))
		tag += "-" + coding
	}
	h.Set("ETag", `"`+tag+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
}

// preferred picks "br", "gzip" or "" (as it is), by what the client likes
// better first and size second.
func preferred(headers []string) string {
	br, gz := accept.Coding(headers, "br"), accept.Coding(headers, "gzip")
	switch {
	case br > 0 && br >= gz:
		return "br"
	case gz > 0:
		return "gzip"
	}
	return ""
}
