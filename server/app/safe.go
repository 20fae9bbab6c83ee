package app

import (
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"
	"time"

	"dampstone/flybox"
	"dampstone/server/backup"
	"dampstone/views"
	"dampstone/views/catalog"
)

// Addresses of the screen that takes the ledger out and in.
const (
	safePath = "/setup/safe"
	filePath = "/setup/safe/ledger"
)

// Bounds of a file that is read in, in bytes. A phone holds all of it in
// memory, together with the engine.
const (
	maxImport      = 64 << 20
	maxImportPhone = 16 << 20
	maxPasted      = 4 << 10 // of pasted text that is shown again
)

// MaxImport bounds the body of a request to ImportPath on a server.
const MaxImport = maxImport + formRoom

// formRoom is what a form adds to the file in it, in bytes.
const formRoom = 64 << 10

// IsImport tells whether a request brings a file, which may be larger than
// any other.
func IsImport(r *http.Request) bool {
	return r.Method == http.MethodPost && r.URL.Path == safePath
}

// transferTime bounds a file's way over a slow line.
const transferTime = 15 * time.Minute

func (a *App) maxImport() int64 {
	if a.Phone {
		return maxImportPhone
	}
	return maxImport
}

func (a *App) safe(r *http.Request, p prefs) (result, error) {
	return show(views.Safe(a.safeView(r, p))), nil
}

func (a *App) safeView(r *http.Request, p prefs) views.SafeView {
	page := a.view(r, p, "setup", catalog.For(p.lang).S("safe.title"))
	n := 0
	a.Ledger.View(func(s *flybox.State) { n = s.Len() })
	return views.SafeView{
		Page: page, Entries: page.T.N("sync.entries", n, nil), File: a.fileName(),
		MaxSize: page.T.F("safe.size", catalog.Data{"Size": a.maxImport() >> 20}),
	}
}

func (a *App) fileName() string { return "dampstone-" + a.Now().Format("2006-01-02") + ".jsonl" }

// ledgerFile is the whole ledger as a file.
func (a *App) ledgerFile(r *http.Request, _ prefs) (result, error) {
	return result{file: &file{
		name: a.fileName(), mime: backup.Type,
		write: func(w io.Writer) error { return backup.Write(r.Context(), w, a.Ledger.Store(), a.Now()) },
	}}, nil
}

// file is an answer to be kept as a file. write may fail on the way.
type file struct {
	name, mime string
	write      func(io.Writer) error
}

func (f *file) serve(w http.ResponseWriter, r *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", f.mime)
	h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": f.name}))
	h.Set("Cache-Control", "no-store")
	if r.Method == http.MethodHead {
		return nil
	}
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(transferTime)) // not every host has deadlines
	return f.write(w)
}

var errNoFile = errors.New("neither a file nor text was given")

// importFile reads a file, or pasted text, into the ledger.
func (a *App) importFile(r *http.Request, p prefs) (result, error) {
	v := a.safeView(r, p)
	report, pasted, err := a.readUpload(r)
	t := v.T
	tooLarge := (*http.MaxBytesError)(nil)
	switch {
	case err == nil:
	case errors.Is(err, errNoFile):
		v.Problem = t.S("safe.none")
	case errors.Is(err, backup.ErrNotOurs):
		v.Problem = t.S("safe.notours")
	case errors.Is(err, backup.ErrNewer):
		v.Problem = t.S("safe.newer")
	case errors.As(err, &tooLarge):
		v.Problem = t.F("safe.large", catalog.Data{"Size": a.maxImport() >> 20})
	default:
		return result{}, err
	}
	if err == nil || report.Read > 0 {
		v.Done = append(v.Done, t.N("safe.read", report.Read, nil), t.N("safe.added", report.Added, nil))
	}
	if report.Missing > 0 {
		v.Done = append(v.Done, t.N("safe.missing", report.Missing, nil))
	}
	if report.BadCount > 0 {
		v.Done = append(v.Done, t.N("safe.quarantine", report.BadCount, nil))
	}
	for _, b := range report.Bad {
		v.Bad = append(v.Bad, t.F("safe.bad", catalog.Data{"Line": b.Line, "Why": badLine(t, b)}))
	}
	a.Log.Info("import", "read", report.Read, "added", report.Added, "quarantine", report.BadCount, "missing", report.Missing, "err", err)
	if err != nil {
		v.Typed = pasted
		return retry(views.Safe(v)), nil
	}
	n := 0
	a.Ledger.View(func(s *flybox.State) { n = s.Len() })
	v.Entries = t.N("sync.entries", n, nil)
	return show(views.Safe(v)), nil
}

func badLine(t *catalog.Text, b backup.Bad) string {
	switch b.Code {
	case backup.CodeLedger:
		return t.S("safe.bad.ledger")
	case flybox.CodeTooLong:
		return t.S("safe.bad.long")
	case flybox.CodeNotJSON, flybox.CodeNotUTF8, flybox.CodeNotObject:
		return t.S("safe.bad.json")
	}
	return t.F("safe.bad.other", catalog.Data{"Code": b.Code})
}

// readUpload reads the parts of the form as they come, so that a large file
// is never whole in memory. pasted is the beginning of what was pasted.
func (a *App) readUpload(r *http.Request) (report backup.Report, pasted string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return report, "", errBadForm
	}
	given := false
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			if !given {
				return report, pasted, errNoFile
			}
			return report, pasted, nil
		}
		if err != nil {
			return report, pasted, uploadError(err)
		}
		var from io.Reader = part
		switch part.FormName() {
		case "file":
		case "text":
			begin := &strings.Builder{}
			from = io.TeeReader(part, &head{begin, maxPasted})
			defer func() { pasted = begin.String() }()
		default:
			continue
		}
		got, err := backup.Read(r.Context(), from, a.Ledger)
		report.Read += got.Read
		report.Added += got.Added
		report.BadCount += got.BadCount
		report.Missing += got.Missing
		report.Bad = append(report.Bad, got.Bad...)
		if err != nil {
			return report, pasted, uploadError(err)
		}
		given = given || got.Read+got.BadCount+got.Missing > 0
	}
}

// uploadError parts a form that broke off from a store that failed.
func uploadError(err error) error {
	tooLarge := (*http.MaxBytesError)(nil)
	switch {
	case errors.As(err, &tooLarge), errors.Is(err, backup.ErrNotOurs), errors.Is(err, backup.ErrNewer),
		errors.Is(err, flybox.ErrFull), errors.Is(err, flybox.ErrReadOnly):
		return err
	case errors.Is(err, io.ErrUnexpectedEOF), strings.Contains(err.Error(), "multipart: "):
		return fmt.Errorf("%w: %w", errBadForm, err)
	}
	return err
}

// head keeps the first bytes of what is written to it.
type head struct {
	to   *strings.Builder
	room int
}

func (h *head) Write(p []byte) (int, error) {
	n := min(len(p), h.room)
	h.room -= n
	h.to.Write(p[:n])
	return len(p), nil
}
