//go:build !js

package sync

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/andybalholm/brotli"

	"dampstone/static/accept"
)

// encodings are the packings of a body that the server reads (RFC 9110,
// section 8.4.1; RFC 7932).
const encodings = "gzip, br"

var errEncoding = errors.New("body is packed in an unknown way")

// unpacked reads a request's body, packed or not. Neither form may be larger
// than MaxBody: a small body that grows without end is stopped while it does.
func unpacked(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	body := http.MaxBytesReader(w, r.Body, MaxBody)
	var from io.Reader
	switch strings.ToLower(strings.TrimSpace(r.Header.Get("Content-Encoding"))) {
	case "", "identity":
		return io.ReadAll(body)
	case "gzip":
		z, err := gzip.NewReader(body)
		if err != nil {
			return nil, err
		}
		from = z
	case "br":
		from = brotli.NewReader(body)
	default:
		return nil, errEncoding
	}
	raw, err := io.ReadAll(io.LimitReader(from, MaxBody+1))
	if err == nil && len(raw) > MaxBody {
		err = &http.MaxBytesError{Limit: MaxBody}
	}
	return raw, err
}

// packedFrom is the size in bytes from which packing an answer is worth it.
const packedFrom = 1 << 10

// pack packs an answer where the device takes that.
func pack(h http.Header, takes string, raw []byte) []byte {
	h.Add("Vary", "Accept-Encoding")
	if len(raw) < packedFrom || accept.Coding([]string{takes}, "gzip") == 0 {
		return raw
	}
	var buf bytes.Buffer
	z, err := gzip.NewWriterLevel(&buf, gzip.BestSpeed)
	if err != nil {
		return raw
	}
	if _, err := z.Write(raw); err != nil {
		return raw
	}
	if err := z.Close(); err != nil {
		return raw
	}
	h.Set("Content-Encoding", "gzip")
	return buf.Bytes()
}
