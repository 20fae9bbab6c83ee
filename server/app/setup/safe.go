package setup

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"dampstone/flybox/journal"
	"dampstone/server/app/screen"
	"dampstone/server/backup"
	"dampstone/views"
	"dampstone/views/catalog"
)

func (a *section) safe(r *http.Request, p screen.Asked) (screen.Result, error) {
	return screen.Show(views.Safe(a.safeView(r, p))), nil
}

func (a *section) safeView(r *http.Request, p screen.Asked) views.SafeView {
	page := a.View(r, p, "setup", catalog.For(p.Lang).S("safe.title"))
	return views.SafeView{
		Page: page, Entries: page.T.N("sync.entries", p.State.Len(), nil), File: a.fileName(),
		MaxSize: page.T.F("safe.size", catalog.Data{"Size": a.MaxImport() >> 20}),
	}
}

func (a *section) fileName() string { return "dampstone-" + a.Now().Format("2006-01-02") + ".jsonl" }

// ledgerFile is the whole ledger as a file.
func (a *section) ledgerFile(r *http.Request, p screen.Asked) (screen.Result, error) {
	return screen.Result{File: &screen.File{
		Name: a.fileName(), Mime: backup.Type,
		Write: func(w io.Writer) error { return backup.Write(r.Context(), w, a.Ledger.Store(), a.IsDemo(), a.Now()) },
	}}, nil
}

var errNoFile = errors.New("neither a file nor text was given")

// importFile reads a file, or pasted text, into the ledger.
func (a *section) importFile(r *http.Request, p screen.Asked) (screen.Result, error) {
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
	case errors.Is(err, backup.ErrDemo):
		v.Problem = t.S("safe.demo")
	case errors.Is(err, backup.ErrNewer):
		v.Problem = t.S("safe.newer")
	case errors.As(err, &tooLarge):
		v.Problem = t.F("safe.large", catalog.Data{"Size": a.MaxImport() >> 20})
	default:
		return screen.Result{}, err
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
		return screen.Retry(views.Safe(v)), nil
	}
	n := 0
	n = p.State.Len()
	v.Entries = t.N("sync.entries", n, nil)
	return screen.Show(views.Safe(v)), nil
}

func badLine(t *catalog.Text, b backup.Bad) string {
	switch b.Code {
	case backup.CodeLedger:
		return t.S("safe.bad.ledger")
	case journal.CodeTooLong:
		return t.S("safe.bad.long")
	case journal.CodeNotJSON, journal.CodeNotUTF8, journal.CodeNotObject:
		return t.S("safe.bad.json")
	}
	return t.F("safe.bad.other", catalog.Data{"Code": b.Code})
}

// readUpload reads the parts of the form as they come, so that a large file
// is never whole in memory. pasted is the beginning of what was pasted.
func (a *section) readUpload(r *http.Request) (report backup.Report, pasted string, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return report, "", screen.ErrBadForm
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
			from = io.TeeReader(part, &head{begin, screen.MaxPasted})
			defer func() { pasted = begin.String() }()
		default:
			continue
		}
		got, err := backup.Read(r.Context(), from, a.Ledger, a.IsDemo())
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
		errors.Is(err, journal.ErrFull), errors.Is(err, journal.ErrShare), errors.Is(err, journal.ErrToday), errors.Is(err, journal.ErrReadOnly):
		return err
	case errors.Is(err, io.ErrUnexpectedEOF), strings.Contains(err.Error(), "multipart: "):
		return fmt.Errorf("%w: %w", screen.ErrBadForm, err)
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
