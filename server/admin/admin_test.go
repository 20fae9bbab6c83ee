package admin

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dampstone/server/accounts"
	"dampstone/server/backup"
	"dampstone/server/people"
)

// keeper notes what it is asked and answers with err.
type keeper struct {
	asked []string
	err   error
	file  string
}

func (k *keeper) List(context.Context) ([]accounts.Listing, error) {
	return []accounts.Listing{{Person: people.Person{ID: "p", Name: "Ana"}}}, nil
}

func (k *keeper) Pair(_ context.Context, name string) (accounts.Invitation, error) {
	k.asked = append(k.asked, "pair "+name)
	return accounts.Invitation{Person: name, Code: "secret-code", Until: time.Unix(1, 0).UTC()}, k.err
}

func (k *keeper) Revoke(_ context.Context, name string) (people.Device, error) {
	k.asked = append(k.asked, "revoke "+name)
	return people.Device{Name: name}, k.err
}

func (k *keeper) Purge(_ context.Context, name string) (people.Person, error) {
	k.asked = append(k.asked, "purge "+name)
	return people.Person{Name: name}, k.err
}

func (k *keeper) Backup(_ context.Context, w io.Writer) error {
	if _, err := io.WriteString(w, k.file); err != nil {
		return err
	}
	return k.err
}

func (k *keeper) Restore(_ context.Context, r io.Reader) (backup.Report, error) {
	raw, err := io.ReadAll(r)
	k.asked = append(k.asked, "restore "+string(raw))
	return backup.Report{Read: len(raw)}, errors.Join(err, k.err)
}

func serving(t *testing.T, k *keeper) (folder string) {
	t.Helper()
	folder = t.TempDir()
	end, err := Serve(folder, k, slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(end)
	return folder
}

func dial(t *testing.T, folder string) *Client {
	t.Helper()
	c, err := Dial(t.Context(), folder)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestTheServerIsAskedInPlaceOfTheFolder(t *testing.T) {
	k := &keeper{file: strings.Repeat("line\n", 100_000)}
	folder := serving(t, k)
	if info, err := os.Stat(filepath.Join(folder, File)); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("others can read the secret: %v, %v", info.Mode(), err)
	}
	c := dial(t, folder)
	if list, err := c.List(t.Context()); err != nil || len(list) != 1 || list[0].Person.Name != "Ana" {
		t.Errorf("list: %+v, %v", list, err)
	}
	name := "Bo & Cy=1 é"
	if inv, err := c.Pair(t.Context(), name); err != nil || inv.Person != name || inv.Code != "secret-code" {
		t.Errorf("pair: %+v, %v", inv, err)
	}
	if d, err := c.Revoke(t.Context(), name); err != nil || d.Name != name {
		t.Errorf("revoke: %+v, %v", d, err)
	}
	var out bytes.Buffer
	if err := c.Backup(t.Context(), &out); err != nil || out.String() != k.file {
		t.Errorf("backup: %d bytes, %v", out.Len(), err)
	}
	if report, err := c.Restore(t.Context(), strings.NewReader("lines")); err != nil || report.Read != 5 {
		t.Errorf("restore: %+v, %v", report, err)
	}
}

func TestErrorsSurviveTheWay(t *testing.T) {
	k := &keeper{}
	c := dial(t, serving(t, k))
	for _, want := range []error{people.ErrUnknown, people.ErrTwo, people.ErrName, backup.ErrNotOurs, backup.ErrNewer} {
		k.err = want
		if _, err := c.Pair(t.Context(), "x"); !errors.Is(err, want) {
			t.Errorf("got %v, want %v", err, want)
		}
	}
	k.err = errors.New("something else")
	if report, err := c.Restore(t.Context(), strings.NewReader("half")); err == nil || !strings.Contains(err.Error(), "something else") || report.Read != 4 {
		t.Errorf("what was done is not told beside the error: %+v, %v", report, err)
	}
	k.file = "the first lines\n"
	if err := c.Backup(t.Context(), io.Discard); err == nil {
		t.Error("a backup that broke off counts as whole")
	}
}

func TestWithoutTheSecretNothingIsDone(t *testing.T) {
	k := &keeper{file: "all ledgers"}
	c := dial(t, serving(t, k))
	for _, token := range []string{"", "Bearer ", "Bearer x", c.at.Token, "bearer " + c.at.Token, "Bearer " + c.at.Token + "x"} {
		for _, what := range [][2]string{{"GET", "/people"}, {"POST", "/pair"}, {"POST", "/revoke"}, {"GET", "/backup"}, {"POST", "/restore"}, {"GET", "/"}} {
			r, err := http.NewRequest(what[0], c.at.URL+what[1], strings.NewReader("name=x"))
			if err != nil {
				t.Fatal(err)
			}
			r.Header.Set("Content-Type", formType)
			if token != "" {
				r.Header.Set("Authorization", token)
			}
			res, err := http.DefaultClient.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			body, err := io.ReadAll(res.Body)
			res.Body.Close()
			if err != nil || res.StatusCode != http.StatusForbidden || strings.Contains(string(body), "ledgers") || strings.Contains(string(body), "secret") {
				t.Errorf("%s with %q: %s %q, %v", what, token, res.Status, body, err)
			}
		}
	}
	if len(k.asked) != 0 {
		t.Errorf("it did %v", k.asked)
	}
}

func TestNoServerAnswers(t *testing.T) {
	folder := t.TempDir()
	if _, err := Dial(t.Context(), folder); !errors.Is(err, ErrNoServer) {
		t.Errorf("an empty folder: %v", err)
	}
	for _, left := range []string{"", "{", "{}", `{"url":"http://127.0.0.1:1","token":"x"}`, `{"url":"::","token":"x"}`} {
		if err := os.WriteFile(filepath.Join(folder, File), []byte(left), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Dial(t.Context(), folder); !errors.Is(err, ErrNoServer) {
			t.Errorf("a file %q that a killed server left: %v", left, err)
		}
	}
	// A server takes its file with it.
	end, err := Serve(folder, &keeper{}, slog.New(slog.NewTextHandler(io.Discard, nil)))
	if err != nil {
		t.Fatal(err)
	}
	end()
	if _, err := os.Stat(filepath.Join(folder, File)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the file is still there: %v", err)
	}
}
