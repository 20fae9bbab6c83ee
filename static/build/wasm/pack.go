package wasm

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"github.com/andybalholm/brotli"
)

// Qualities of Pack.
const (
	Quick = 9
	Best  = brotli.BestCompression
)

// Pack is brotli, which at its best takes most of a minute for an engine: the
// result is kept by the hash of what went in.
func Pack(raw []byte, quality int) ([]byte, error) {
	const window = 24 // 16 MB: the whole engine
	digest := sha256.Sum256(raw)
	name := fmt.Sprintf("%s-q%d-w%d.br", hex.EncodeToString(digest[:]), quality, window)
	var kept string
	if cache, err := os.UserCacheDir(); err == nil {
		kept = filepath.Join(cache, "dampstone", "engine", name)
		if packed, err := os.ReadFile(kept); err == nil {
			return packed, nil
		}
	}
	var buf bytes.Buffer
	w := brotli.NewWriterOptions(&buf, brotli.WriterOptions{Quality: quality, LGWin: window})
	if _, err := w.Write(raw); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	if kept != "" {
		keep(kept, buf.Bytes())
	}
	return buf.Bytes(), nil
}

// keep writes a file of the cache. That it cannot be kept only costs time.
func keep(name string, body []byte) {
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		log.Printf("keep packed engine: %v", err)
		return
	}
	if err := os.WriteFile(name+".part", body, 0o644); err != nil {
		log.Printf("keep packed engine: %v", err)
		return
	}
	if err := os.Rename(name+".part", name); err != nil { // never half a file
		log.Printf("keep packed engine: %v", err)
	}
}
