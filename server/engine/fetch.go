//go:build js && wasm

package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"syscall/js"
)

// fetcher sends requests by the browser's fetch. It is here because the
// client of net/http brings a network stack of its own into the engine, which
// a browser never uses: a third more to download, when measured.
type fetcher struct{}

// Do implements sync.Doer. It reads the whole answer.
func (fetcher) Do(r *http.Request) (*http.Response, error) {
	var body any
	if r.Body != nil {
		raw, err := io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil {
			return nil, err
		}
		array := js.Global().Get("Uint8Array").New(len(raw))
		js.CopyBytesToJS(array, raw)
		body = array
		if packed, err := gzipped(array); err == nil {
			body = packed
			r.Header.Set("Content-Encoding", "gzip")
		}
	}
	header := map[string]any{}
	for name := range r.Header {
		header[name] = r.Header.Get(name)
	}
	stop := js.Global().Get("AbortController").New()
	stopped := make(chan struct{})
	defer close(stopped)
	go func() {
		select {
		case <-r.Context().Done():
			stop.Call("abort")
		case <-stopped:
		}
	}()
	answer, err := await(js.Global().Call("fetch", r.URL.String(), map[string]any{
		"method": r.Method, "headers": header, "body": body, "signal": stop.Get("signal"),
		"credentials": "same-origin", "cache": "no-store", "redirect": "error",
	}))
	if err != nil {
		return nil, fmt.Errorf("fetch: %w", errors.Join(err, r.Context().Err()))
	}
	buffer, err := await(answer.Call("arrayBuffer"))
	if err != nil {
		return nil, fmt.Errorf("fetch body: %w", errors.Join(err, r.Context().Err()))
	}
	got := bytesOf(js.Global().Get("Uint8Array").New(buffer))
	status := answer.Get("status").Int()
	return &http.Response{
		StatusCode: status, Status: fmt.Sprint(status), Header: http.Header{},
		Body: io.NopCloser(bytes.NewReader(got)), ContentLength: int64(len(got)), Request: r,
	}, nil
}

// gzipped packs bytes by the browser's own means (WHATWG Compression), which
// adds nothing to the engine. Small bodies, and browsers that cannot, get an
// error: then the body goes as it is.
func gzipped(array js.Value) (js.Value, error) {
	const worth = 1 << 10 // bytes
	stream := js.Global().Get("CompressionStream")
	if !stream.Truthy() || array.Length() < worth {
		return js.Undefined(), errNotPacked
	}
	packed := js.Global().Get("Blob").New([]any{array}).Call("stream").Call("pipeThrough", stream.New("gzip"))
	return await(js.Global().Get("Response").New(packed).Call("arrayBuffer"))
}

var errNotPacked = errors.New("body is not packed")

// await waits for a promise. It must not be called from a handler of the
// browser, which would stand still.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		value js.Value
		err   error
	}
	done := make(chan outcome, 1)
	fulfilled := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- outcome{value: args[0]}
		return nil
	})
	defer fulfilled.Release()
	rejected := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- outcome{err: js.Error{Value: args[0]}}
		return nil
	})
	defer rejected.Release()
	promise.Call("then", fulfilled, rejected)
	o := <-done
	return o.value, o.err
}
