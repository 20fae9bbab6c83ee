package app

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"dampstone/server/app/screen"
)

// upload posts the form of the safe screen as a browser does: both fields,
// one of them empty.
func (b *fixture) upload(file, text string) (int, *doc) {
	b.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "ledger.jsonl")
	if err != nil {
		b.Fatal(err)
	}
	part.Write([]byte(file))
	if err := form.WriteField("text", text); err != nil {
		b.Fatal(err)
	}
	form.Close()
	r := httptest.NewRequest("POST", screen.SafePath, &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	w := b.do(r)
	return w.Code, parse(b.T, w.Body.String())
}

func (b *fixture) ledgerFile() string {
	b.Helper()
	w := b.do(httptest.NewRequest("GET", screen.FilePath, nil))
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Disposition"), "attachment; filename=dampstone-2026-09-12.jsonl") {
		b.Fatalf("status %d, %v", w.Code, w.Header())
	}
	return w.Body.String()
}

func TestALedgerGoesOutAndInAgain(t *testing.T) {
	from := newFixture(t, true)
	file, all := from.ledgerFile(), from.entries()
	for name, give := range map[string][2]string{"as a file": {file, ""}, "as text": {"", file}} {
		t.Run(name, func(t *testing.T) {
			to := newFixture(t, false)
			status, page := to.upload(give[0], give[1])
			if status != http.StatusOK || !strings.Contains(page.text(), fmt.Sprintf("%d entries were read", all)) || !strings.Contains(page.text(), fmt.Sprintf("%d of them are new here", all)) {
				t.Errorf("status %d: %s", status, page.text())
			}
			digest := func(b *fixture) string {
				return b.ledger.State().Digest()
			}
			if digest(to) != digest(from) {
				t.Error("the ledgers differ")
			}
			if _, page := to.upload(give[0], give[1]); !strings.Contains(page.text(), "0 of them are new here") {
				t.Errorf("again: %s", page.text())
			}
		})
	}
}

func TestAFileWithADamagedLine(t *testing.T) {
	from := newFixture(t, true)
	lines := strings.Split(from.ledgerFile(), "\n")
	lines[7] = lines[7][:20] + `<b onclick="x">`
	b := newFixture(t, false)
	status, page := b.upload(strings.Join(lines[:100], "\n"), "")
	text := page.text()
	if status != http.StatusOK || b.entries() != 98 {
		t.Errorf("status %d, %d entries; want 200 and 98", status, b.entries())
	}
	for _, want := range []string{"98 entries were read", fmt.Sprintf("%d entries are missing", from.entries()-99), "1 line cannot be right", "Line 8: damaged"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not said: %s", want, text)
		}
	}
}

func TestWhatIsNoLedgerFile(t *testing.T) {
	for _, tc := range []struct{ name, file, text, want string }{
		{"nothing chosen", "", "", "Choose a file, or paste its lines."},
		{"another program's file", "\xff\xd8\xff\xe0 photograph", "", "This is not a ledger file."},
		{"a newer version's", `{"dampstone":"ledger","v":9}`, "", "written by a newer version"},
		{"markup pasted", "", "<script>alert(1)</script>", "This is not a ledger file."},
	} {
		t.Run(tc.name, func(t *testing.T) {
			b := newFixture(t, false)
			status, page := b.upload(tc.file, tc.text)
			if status != http.StatusUnprocessableEntity || !strings.Contains(page.text(), tc.want) {
				t.Errorf("status %d: %s", status, page.text())
			}
			if strings.Contains(page.raw, "<script>alert") {
				t.Error("what was pasted became markup")
			}
		})
	}
	t.Run("no form with files", func(t *testing.T) {
		if w := newFixture(t, false).send(screen.SafePath, "text", "x"); w.Code != http.StatusBadRequest {
			t.Errorf("status %d, want 400", w.Code)
		}
	})
}

func TestAFileThatIsTooLargeForAPhone(t *testing.T) {
	b := newFixture(t, false)
	b.app.Phone = true
	status, page := b.upload(`{"dampstone":"ledger","v":1}`+strings.Repeat("\n", screen.MaxImportPhone+1<<20), "")
	if status != http.StatusUnprocessableEntity || !strings.Contains(page.text(), "larger than 16 MB") {
		t.Errorf("status %d: %.300s", status, page.text())
	}
}
