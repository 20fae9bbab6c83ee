// Package rand is as much of crypto/rand as the engine needs: the browser's
// source of random bytes (Web Cryptography API, section 10.1.1).
package rand

import (
	"io"
	"syscall/js"
)

// Reader gives random bytes.
var Reader io.Reader = reader{}

type reader struct{}

func (reader) Read(b []byte) (int, error) { return Read(b) }

// most is how much the browser gives at once, in bytes.
const most = 1 << 16

// Read fills b; it does not fail.
func Read(b []byte) (int, error) {
	source := js.Global().Get("crypto")
	for rest := b; len(rest) > 0; {
		some := rest[:min(len(rest), most)]
		array := js.Global().Get("Uint8Array").New(len(some))
		js.CopyBytesToGo(some, source.Call("getRandomValues", array))
		rest = rest[len(some):]
	}
	return len(b), nil
}
