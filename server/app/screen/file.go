package screen

import (
	"io"
	"mime"
	"net/http"
)

// Addresses of the screen that takes the ledger out and in.
const (
	SafePath = "/setup/safe"
	FilePath = "/setup/safe/ledger"
)

// Bounds of a file that is read in, in bytes. A phone holds all of it in
// memory, together with the engine.
const (
	maxImport      = 64 << 20
	MaxImportPhone = 16 << 20
	MaxPasted      = 4 << 10 // of pasted text that is shown again
)

// MaxImport bounds the body of a request to ImportPath on a server.
const MaxImport = maxImport + formRoom

// formRoom is what a form adds to the file in it, in bytes.
const formRoom = 64 << 10

// IsImport tells whether a request brings a file, which may be larger than
// any other.
func IsImport(r *http.Request) bool {
	return r.Method == http.MethodPost && r.URL.Path == SafePath
}

func (a *Host) MaxImport() int64 {
	if a.Phone {
		return MaxImportPhone
	}
	return maxImport
}

// File is an answer to be kept as a file. write may fail on the way.
type File struct {
	Name, Mime string
	Write      func(io.Writer) error
}

func (f *File) serve(w http.ResponseWriter, r *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", f.Mime)
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": f.Name}))
	h.Set("Cache-Control", "no-store")
	if r.Method == http.MethodHead {
		return nil
	}
	return f.Write(w)
}

func TextFile(name, mime, text string) *File {
	return &File{Name: name, Mime: mime, Write: func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}}
}
